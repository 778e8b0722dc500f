//! The shim solver: which shims under which support.
//!
//! [`plan_shims`] settles the goals one level after the other: the least cost (`levels`, over
//! `region`s of the level priced by multipliers), then the narrowest range of tops, the fewest
//! kinds, and the tie rule, each by exact searches (`search`) in `windows` of height over `lists`
//! of reachable `stacks`.

mod budget;
mod greedy;
mod kinds;
mod levels;
mod lists;
mod model;
mod plan;
mod problem;
mod region;
mod search;
mod stacks;
mod windows;

pub use plan::{ShimPlan, Status};
pub(crate) use problem::check_joints;
pub use problem::{Budget, Order, PlanOptions, ShimProblem, Support};

use crate::error::Error;
use budget::{Budgeted, Meter};
use greedy::greedy;
use levels::{Levels, Stacking};
use model::Model;

/// Finds the best plan for one problem, with proof.
///
/// The goals of the problem's [`Order`] are settled one after the other. Plans that are equal in
/// all of them are told apart by the tie rule: the lowest target first; then, from the lowest
/// support upwards (equal heights in the order given), the first difference decides for the stack
/// of fewer pieces, and for the one with more of the thickest kind, of the next thickest, and so
/// on (equal thicknesses in the order given). So the same problem gets the same plan in every
/// language, on every run, however its supports and kinds are listed.
///
/// # Errors
/// Bad input, with every problem found: see [`ShimProblem`]. That the stock cannot do it, or that
/// the budget ran out, is no error but the plan's [`Status`].
pub fn plan_shims(problem: &ShimProblem) -> Result<ShimPlan, Error> {
    problem.check()?;
    let model = Model::new(problem)?;
    let mut levels = Levels::new(&model, Meter::new(&problem.options.budget));
    let solved = solve(&mut levels, problem.options.order);
    let floor = levels.floor;
    let plan = match solved {
        Ok(Some(solved)) => {
            let bound = match problem.options.order {
                Order::Flattest => solved.range() as f64 / 2e6,
                _ => (solved.cost / model.cost_unit) as f64,
            };
            ShimPlan { status: Status::Proven, bound, ..plan(problem, &model, &solved) }
        }
        Err(_) => {
            let bound = match problem.options.order {
                Order::Flattest => levels.range_floor as f64 / 2e6,
                _ => (floor / model.cost_unit) as f64,
            };
            let best = levels.best.take().or_else(|| greedy(&model));
            let best = best.map(|best| plan(problem, &model, &best));
            let best = best.unwrap_or_else(|| {
                ShimPlan::from_stacks(problem, vec![Vec::new(); problem.supports.len()])
            });
            ShimPlan { status: Status::Budget, bound, ..best }
        }
        Ok(None) => {
            let unreachable = levels.unreachable();
            return flattest_without_limits(problem, levels.meter, unreachable);
        }
    };
    Ok(ShimPlan { nodes: levels.meter.nodes, ..plan })
}

/// The plan that is best in the order of goals; none where the limits cannot be met.
fn solve(levels: &mut Levels<'_>, order: Order) -> Budgeted<Option<Stacking>> {
    let width = levels.model.width;
    let Some(least) = levels.least_cost(width)? else {
        return Ok(None);
    };
    let least = if order == Order::Flattest { levels.flattest(least, 0)? } else { least };
    levels.narrow(least).map(Some)
}

/// What is left to say where the limits cannot be met: the flattest plan that the stock allows.
fn flattest_without_limits(
    problem: &ShimProblem,
    mut meter: Meter,
    unreachable: Vec<usize>,
) -> Result<ShimPlan, Error> {
    let model = Model::without_limits(problem)?;
    meter.share(20);
    let mut levels = Levels::new(&model, meter);
    let solved = solve(&mut levels, Order::Flattest);
    let stacking = solved.ok().flatten().or(levels.best.take());
    let best = match stacking {
        Some(stacking) => plan(problem, &model, &stacking),
        None => ShimPlan::from_stacks(problem, vec![Vec::new(); problem.supports.len()]),
    };
    let bound = levels.range_floor as f64 / 2e6;
    Ok(ShimPlan {
        status: Status::Infeasible,
        bound,
        unreachable,
        nodes: levels.meter.nodes,
        ..best
    })
}

/// The plan in the terms of the problem.
fn plan(problem: &ShimProblem, model: &Model, stacking: &Stacking) -> ShimPlan {
    let mut stacks = vec![Vec::new(); problem.supports.len()];
    for (counts, &support) in stacking.counts.iter().zip(&model.supports) {
        for (&count, &kind) in counts.iter().zip(&model.kinds) {
            stacks[support].extend(std::iter::repeat_n(kind, count as usize));
        }
    }
    ShimPlan::from_stacks(problem, stacks)
}
