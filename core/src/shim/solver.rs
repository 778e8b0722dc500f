//! The driver: from a problem to its plan, goal by goal.

use super::asked::{Asked, standing};
use super::budget::{Budgeted, Exhausted, Meter, NEVER};
use super::goals::solve;
use super::greedy::greedy;
use super::guarded::{Ended, Guarded};
use super::levels::Levels;
use super::model::Model;
use super::plan::{ShimPlan, Status};
use super::problem::{Order, ShimProblem};
use super::tilted::Tilted;
use crate::deadline::Deadline;
use crate::error::Error;
use crate::tilt::LEVEL;

impl ShimProblem {
    /// Finds what is wrong with the problem, without solving it.
    ///
    /// # Errors
    /// Those of [`plan_shims`].
    pub fn check(&self) -> Result<(), Error> {
        Asked::new(self, Deadline::never())?.model().map(drop)
    }
}

/// Finds the best plan for one problem, with proof.
///
/// The goals of the problem's [`Order`] are settled one after the other. Plans that are equal in
/// all of them are told apart by the tie rule: the lowest target first; then, from the lowest
/// support upwards (equal heights in the order given), the first difference decides for the stack
/// of fewer pieces, and for the one with more of the thickest kind, of the next thickest, and so
/// on (equal thicknesses in the order given, adjustable kinds after the others), then for the lower
/// setting. So the same problem gets the same plan in every
/// language, on every run, however its supports and kinds are listed.
///
/// # Errors
/// Bad input, with every problem found: see [`ShimProblem`]. That the stock cannot do it, or that
/// the budget ran out, is no error but the plan's [`Status`].
pub fn plan_shims(problem: &ShimProblem) -> Result<ShimPlan, Error> {
    plan_shims_until(problem, NEVER)
}

/// Finds the best plan as [`plan_shims`] does, until `stop` says true: it is asked every few
/// thousand nodes, and may look at what another thread has set, or at the user's keyboard. A
/// search stopped so ends as one whose budget has run out.
///
/// # Errors
/// Those of [`plan_shims`].
pub fn plan_shims_until(problem: &ShimProblem, stop: &dyn Fn() -> bool) -> Result<ShimPlan, Error> {
    let mut meter = Meter::new(&problem.options.budget, stop);
    let asked = match Asked::new(problem, meter.deadline()) {
        // The covariance of many supports takes long to check.
        Err(error) if error.is_stopped() => {
            return Ok(ShimPlan { meets_limits: false, bound: 0.0, ..standing(problem) });
        }
        asked => asked?,
    };
    let model = asked.model()?;
    plan(&asked, &model, &mut meter)
}

/// The best plan, or what the budget allowed; none where the limits cannot be met. That is known
/// sooner than the flattest plan, which [`plan_shims`] looks for then.
pub(crate) fn plan_if_possible(
    problem: &ShimProblem,
    stop: &dyn Fn() -> bool,
) -> Result<Option<ShimPlan>, Error> {
    let mut meter = Meter::new(&problem.options.budget, stop);
    let asked = Asked::new(problem, meter.deadline())?;
    let model = asked.model()?;
    plan_within_limits(&asked, &model, &mut meter)
}

/// The answer to a problem, whatever it is: the best plan, what the budget allowed, or the flattest
/// plan where the limits cannot be met.
pub(super) fn plan(
    asked: &Asked<'_>,
    model: &Model,
    meter: &mut Meter<'_>,
) -> Result<ShimPlan, Error> {
    if let Some(plan) = plan_within_limits(asked, model, meter)? {
        return Ok(plan);
    }
    meter.aside(aside(asked.problem, meter.nodes));
    flattest_without_limits(asked, model, meter)
}

/// The best plan, or what the budget allowed; none where the limits cannot be met.
pub(super) fn plan_within_limits(
    asked: &Asked<'_>,
    model: &Model,
    meter: &mut Meter<'_>,
) -> Result<Option<ShimPlan>, Error> {
    match asked.problem.limits.allow_tilt() {
        true => plan_tilted(asked, meter),
        false if asked.guard.is_some() => plan_guarded(asked, None, meter),
        false => Ok(plan_level(asked, model, meter)),
    }
}

/// Whether a problem has a plan.
pub(super) fn has_plan(asked: &Asked<'_>, model: &Model, meter: &mut Meter<'_>) -> Budgeted<bool> {
    if asked.problem.limits.allow_tilt() || asked.guard.is_some() {
        return match plan_within_limits(asked, model, meter) {
            Ok(Some(plan)) if plan.meets_limits => Ok(true),
            Ok(Some(_)) => Err(Exhausted),
            Ok(None) => Ok(false),
            // What is no problem by itself.
            Err(_) => Ok(true),
        };
    }
    let mut levels = Levels::new(model, meter.clone());
    let least = levels.least_cost(model.width);
    meter.spent(&levels.meter);
    Ok(least?.is_some())
}

/// The best plan on a level target where guard bands depend on the plan, with tops within a range if
/// one is given.
pub(super) fn plan_guarded(
    asked: &Asked<'_>,
    range: Option<i64>,
    meter: &mut Meter<'_>,
) -> Result<Option<ShimPlan>, Error> {
    let Some(guard) = &asked.guard else { return Ok(None) };
    let order = asked.problem.options.order;
    let Ended { best, floor, proven } =
        Guarded::new(asked, guard, LEVEL, range, order, meter).run()?;
    let Some([first, ..]) = floor else { return Ok(None) };
    let bound = match order {
        Order::Flattest => first as f64 / 2e6,
        _ => first as f64,
    };
    let status = if proven { Status::Proven } else { Status::Budget };
    let plan = best.map_or_else(|| asked.standing(), |found| found.plan);
    Ok(Some(ShimPlan { status, bound, nodes: meter.nodes, ..plan }))
}

/// The best plan on a level target, or what the budget allowed; none where the limits cannot be met.
fn plan_level(asked: &Asked<'_>, model: &Model, meter: &mut Meter<'_>) -> Option<ShimPlan> {
    let order = asked.problem.options.order;
    let bound = |cost: i64, range: i64| match order {
        Order::Flattest => range as f64 / 2e6,
        _ => (cost / model.costs.unit) as f64,
    };
    let mut levels = Levels::new(model, meter.clone());
    let solved = solve(&mut levels, order);
    meter.spent(&levels.meter);
    let [floor, range_floor] = [levels.floor, levels.range_floor];
    let found = levels.best.take();
    // Of many supports that is much memory.
    drop(levels);
    let (status, bound, best) = match solved {
        Ok(None) => return None,
        Ok(Some(best)) => (Status::Proven, bound(best.cost, best.range()), Some(best)),
        Err(_) => {
            let found = found.or_else(|| greedy(model, model.width));
            (Status::Budget, bound(floor, range_floor), found)
        }
    };
    let plan = best.map(|best| asked.plan(model, &best, LEVEL));
    let plan = plan.unwrap_or_else(|| asked.standing());
    Some(ShimPlan { status, bound, nodes: meter.nodes, ..plan })
}

/// The same on a target that may slope.
fn plan_tilted(asked: &Asked<'_>, meter: &mut Meter<'_>) -> Result<Option<ShimPlan>, Error> {
    let order = asked.problem.options.order;
    let search = Tilted::new(asked, asked.spans.clone(), order, meter.clone()).guarded(None);
    let (plan, spent) = search.plan()?;
    meter.spent(&spent);
    Ok(plan)
}

/// The nodes that the flattest plan may take once it is known that no plan meets the limits: as many
/// as the proof took, and some more. For few supports that settles it in most cases. For many it is a
/// search of less than a millisecond, since the answer must come at once; [`shortfall`](crate::shortfall)
/// has the time for more.
fn aside(problem: &ShimProblem, proof: u64) -> u64 {
    const TILTED: u64 = 2_000_000;
    let fifth = (problem.supports.len() as u64).saturating_pow(5).max(1);
    let more = match problem.limits.allow_tilt() {
        true => TILTED,
        false => (35_000_000_000 / fifth).clamp(4_000, 8_000_000),
    };
    more.saturating_add(proof)
}

/// The answer where the limits cannot be met: the flattest plan that the stock allows, and the
/// supports that no stack brings within the limits of a level target. `model` is that of the problem
/// as it is asked.
pub(super) fn flattest_without_limits(
    asked: &Asked<'_>,
    model: &Model,
    meter: &mut Meter<'_>,
) -> Result<ShimPlan, Error> {
    let problem = asked.problem;
    let spans = Model::no_limits(problem);
    let status = Status::Infeasible;
    if problem.limits.allow_tilt() {
        let flattest = Tilted::new(asked, spans, Order::Flattest, meter.clone());
        let (plan, spent) = flattest.plan()?;
        meter.spent(&spent);
        let plan = plan.unwrap_or_else(|| asked.standing());
        return Ok(ShimPlan { status, nodes: meter.nodes, ..plan });
    }
    let mut levels = Levels::new(model, meter.clone());
    let unreachable = levels.unreachable();
    let model = Model::above(problem, LEVEL, spans, Order::Flattest)?;
    let mut levels = Levels::new(&model, levels.meter);
    if asked.guard.is_none() {
        // A plan whose tops are no further apart than the least limit allows would meet all limits.
        let least = asked.spans.iter().map(|span| span.width.nm()).min().unwrap_or(0);
        levels.range_floor = least.saturating_add(1).min(model.width);
    }
    let solved = solve(&mut levels, Order::Flattest);
    meter.spent(&levels.meter);
    let best = solved.ok().flatten().or(levels.best.take());
    let plan = best.map_or_else(|| asked.standing(), |best| asked.plan(&model, &best, LEVEL));
    let bound = levels.range_floor as f64 / 2e6;
    Ok(ShimPlan { status, bound, unreachable, nodes: meter.nodes, ..plan })
}
