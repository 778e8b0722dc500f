//! All plans between the fewest pieces and the flattest.

use super::asked::Asked;
use super::budget::{Meter, NEVER};
use super::levels::Levels;
use super::plan::{ShimPlan, Status};
use super::problem::{Order, ShimProblem};
use super::solver::{plan, plan_guarded};
use super::tilted;
use crate::error::Error;
use crate::length::Length;
use crate::tilt::LEVEL;

/// The whole trade-off between pieces and flatness: the plan with the fewest pieces, and then every
/// plan that is flatter than all with no more pieces than it has, up to the flattest. Pieces rise
/// and worst deviations fall strictly from each to the next.
///
/// The order of goals is not asked for; ties go as in [`plan_shims`](crate::plan_shims). Where the limits cannot be
/// met there is one plan, as there. Where the budget, which is for all plans together, runs out,
/// the last one has that status.
///
/// # Errors
/// Those of [`plan_shims`](crate::plan_shims).
pub fn tradeoff(problem: &ShimProblem) -> Result<Vec<ShimPlan>, Error> {
    tradeoff_until(problem, NEVER)
}

/// Finds the trade-off as [`tradeoff`] does, until `stop` says true: see [`plan_shims_until`](crate::plan_shims_until).
///
/// # Errors
/// Those of [`plan_shims`](crate::plan_shims).
pub fn tradeoff_until(
    problem: &ShimProblem,
    stop: &dyn Fn() -> bool,
) -> Result<Vec<ShimPlan>, Error> {
    let mut problem = problem.clone();
    problem.options.order = Order::FewestPieces;
    let mut meter = Meter::new(&problem.options.budget, stop);
    let asked = Asked::new(&problem, meter.deadline())?;
    let model = asked.model()?;
    let first = plan(&asked, &model, &mut meter)?;
    if first.status != Status::Proven {
        return Ok(vec![first]);
    }
    if problem.limits.allow_tilt() {
        return tilted::tradeoff(&asked, first, meter);
    }
    let mut plans = vec![first];
    if asked.guard.is_some() {
        while let Some(last) = plans.last()
            && last.status == Status::Proven
            && last.range() > Length::ZERO
            && let Some(next) = plan_guarded(&asked, Some(last.range().nm() - 1), &mut meter)?
            && next.meets_limits
        {
            plans.push(next);
        }
        return Ok(plans);
    }
    let mut levels = Levels::new(&model, meter);
    while let Some(last) = plans.last()
        && last.range() > Length::ZERO
    {
        // Whatever is flatter than the last plan takes more pieces; the fewest of them, and the
        // flattest with those, is the next.
        levels.best = None;
        let flatter = levels.least_cost(last.range().nm() - 1);
        let next =
            match flatter.and_then(|least| least.map(|least| levels.narrow(least)).transpose()) {
                Ok(None) => break,
                Ok(Some(next)) => (Status::Proven, Some(next)),
                Err(_) => (Status::Budget, levels.best.take()),
            };
        let (status, Some(stacking)) = next else { break };
        let bound = (levels.floor / model.costs.unit) as f64;
        let nodes = levels.meter.nodes;
        plans.push(ShimPlan { status, bound, nodes, ..asked.plan(&model, &stacking, LEVEL) });
        if status != Status::Proven {
            break;
        }
    }
    Ok(plans)
}
