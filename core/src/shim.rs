//! The shim solver: which shims under which support.

mod plan;
mod problem;

pub use plan::{ShimPlan, Status};
pub(crate) use problem::check_joints;
pub use problem::{Budget, Order, PlanOptions, ShimProblem, Support};

use crate::error::Error;

/// Finds a plan for one problem. (The search is not built yet: every support stays bare.)
///
/// # Errors
/// Bad input, with every problem found: see [`ShimProblem`]. That the stock cannot do it, or that
/// the budget ran out, is no error but the plan's [`Status`].
pub fn plan_shims(problem: &ShimProblem) -> Result<ShimPlan, Error> {
    problem.check()?;
    Ok(ShimPlan::from_stacks(problem, vec![Vec::new(); problem.supports.len()]))
}
