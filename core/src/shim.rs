//! The shim solver: which shims under which support.
//!
//! [`plan_shims`] settles the goals one after the other: the least cost (`levels`, over `region`s of
//! the level priced by multipliers), then the narrowest range of tops, the fewest kinds and the tie
//! rule (`narrowing`), each by exact searches (`search`) in `windows` of height over `lists` of
//! reachable `stacks`.

mod budget;
mod greedy;
mod groups;
mod guard;
mod kinds;
mod levels;
mod lists;
mod model;
mod narrowing;
mod placed;
mod plan;
mod problem;
mod region;
mod search;
mod shortfall;
mod stacking;
mod stacks;
mod tilted;
mod windows;

pub(crate) use guard::check_risk;
pub use placed::Placed;
pub use plan::{ShimPlan, Status};
pub(crate) use problem::check_joints;
pub use problem::{Budget, OnlyUnder, Order, PlanOptions, ShimProblem, Support};

pub use shortfall::{Addition, Conflict, Shortfall, shortfall, shortfall_until};

use std::num::NonZero;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering::Relaxed};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use crate::error::Error;
use crate::length::Length;
use crate::tilt::{LEVEL, Tilt};
use budget::{Budgeted, Meter, NEVER};
use greedy::greedy;
use levels::Levels;
use model::Model;
use stacking::Stacking;
use tilted::Tilted;

/// How many nodes may be spent on the flattest plan once it is known that none meets the limits. Of
/// few supports that settles it in most cases; of many it is a look for a millisecond or two, since
/// the answer is to come at once, and [`shortfall`] has the time for more.
fn aside(supports: usize) -> u64 {
    let cubed = (supports as u64).saturating_pow(3);
    (550_000_000 / cubed).clamp(40_000, 8_000_000)
}

/// The same where the target may slope.
const ASIDE_TILTED: u64 = 2_000_000;

impl ShimProblem {
    /// Finds what is wrong with the problem, without solving it.
    ///
    /// # Errors
    /// Those of [`plan_shims`].
    pub fn check(&self) -> Result<(), Error> {
        model(self).map(drop)
    }
}

fn model(problem: &ShimProblem) -> Result<Model, Error> {
    problem.check_fields()?;
    Model::new(problem)
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
    let model = model(problem)?;
    let meter = Meter::new(&problem.options.budget, stop);
    if problem.limits.allow_tilt() {
        let tilted = Tilted::new(problem, problem.spans(), problem.options.order, meter);
        return match tilted.plan()? {
            (Some(plan), _) => Ok(plan),
            (None, mut meter) => {
                meter.aside(ASIDE_TILTED);
                flattest_without_limits(problem, &model, meter)
            }
        };
    }
    let mut levels = Levels::new(&model, meter);
    let solved = solve(&mut levels, problem.options.order);
    let plan = match solved {
        Ok(Some(solved)) => {
            let bound = match problem.options.order {
                Order::Flattest => solved.range() as f64 / 2e6,
                _ => (solved.cost / model.cost_unit) as f64,
            };
            ShimPlan { status: Status::Proven, bound, ..plan(problem, &model, &solved, LEVEL) }
        }
        Err(_) => {
            let bound = match problem.options.order {
                Order::Flattest => levels.range_floor as f64 / 2e6,
                _ => (levels.floor / model.cost_unit) as f64,
            };
            let best = levels.best.take().or_else(|| greedy(&model));
            let best = best.map(|best| plan(problem, &model, &best, LEVEL));
            let best = best.unwrap_or_else(|| ShimPlan::standing(problem));
            ShimPlan { status: Status::Budget, bound, ..best }
        }
        Ok(None) => {
            levels.meter.aside(aside(problem.supports.len()));
            return flattest_without_limits(problem, &model, levels.meter);
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
    let least = if order == Order::Flattest { levels.flattest(least)? } else { least };
    levels.narrow(least).map(Some)
}

/// What is left to say where the limits cannot be met: the flattest plan that the stock allows, and
/// which supports are out of reach of a level target.
fn flattest_without_limits(
    problem: &ShimProblem,
    asked: &Model,
    meter: Meter<'_>,
) -> Result<ShimPlan, Error> {
    let spans = Model::no_limits(problem);
    if problem.limits.allow_tilt() {
        let (plan, meter) = Tilted::new(problem, spans, Order::Flattest, meter).plan()?;
        let plan = plan.unwrap_or_else(|| ShimPlan::standing(problem));
        return Ok(ShimPlan { status: Status::Infeasible, nodes: meter.nodes, ..plan });
    }
    let mut levels = Levels::new(asked, meter);
    let unreachable = levels.unreachable();
    let model = Model::above(problem, LEVEL, spans, Order::Flattest)?;
    let mut levels = Levels::new(&model, levels.meter);
    let solved = solve(&mut levels, Order::Flattest);
    let stacking = solved.ok().flatten().or(levels.best.take());
    let best = match stacking {
        Some(stacking) => plan(problem, &model, &stacking, LEVEL),
        None => ShimPlan::standing(problem),
    };
    let bound = levels.range_floor as f64 / 2e6;
    let nodes = levels.meter.nodes;
    Ok(ShimPlan { status: Status::Infeasible, bound, unreachable, nodes, ..best })
}

/// The whole trade-off between pieces and flatness: the plan with the fewest pieces, and then every
/// plan that is flatter than all with no more pieces than it has, up to the flattest. Pieces rise
/// and worst deviations fall strictly from each to the next.
///
/// The order of goals is not asked for; ties go as in [`plan_shims`]. Where the limits cannot be
/// met there is one plan, as there. Where the budget, which is for all plans together, runs out,
/// the last one has that status.
///
/// # Errors
/// Those of [`plan_shims`].
pub fn tradeoff(problem: &ShimProblem) -> Result<Vec<ShimPlan>, Error> {
    tradeoff_until(problem, NEVER)
}

/// Finds the trade-off as [`tradeoff`] does, until `stop` says true: see [`plan_shims_until`].
///
/// # Errors
/// Those of [`plan_shims`].
pub fn tradeoff_until(
    problem: &ShimProblem,
    stop: &dyn Fn() -> bool,
) -> Result<Vec<ShimPlan>, Error> {
    let mut problem = problem.clone();
    problem.options.order = Order::FewestPieces;
    let first = plan_shims_until(&problem, stop)?;
    if first.status != Status::Proven {
        return Ok(vec![first]);
    }
    let mut meter = Meter::new(&problem.options.budget, stop);
    meter.nodes = first.nodes;
    if problem.limits.allow_tilt() {
        return tilted::tradeoff(&problem, first, meter);
    }
    let model = Model::new(&problem)?;
    let mut levels = Levels::new(&model, meter);
    let mut plans = vec![first];
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
        let bound = (levels.floor / model.cost_unit) as f64;
        let nodes = levels.meter.nodes;
        plans.push(ShimPlan { status, bound, nodes, ..plan(&problem, &model, &stacking, LEVEL) });
        if status != Status::Proven {
            break;
        }
    }
    Ok(plans)
}

/// Plans many problems on all cores; the answers come in the order of the problems and are those
/// of [`plan_shims`].
pub fn plan_many(problems: &[ShimProblem]) -> Vec<Result<ShimPlan, Error>> {
    plan_many_until(problems, &|_| false)
}

/// Plans many problems as [`plan_many`] does, until `stop` says true. It is asked from the thread of
/// this call, some fifty times a second, with the number of problems that are done. Once it has said
/// true, searches under way end as if their budgets had run out, and problems not begun get what is
/// in place (no shims, in a first pass) with [`Status::Budget`].
pub fn plan_many_until(
    problems: &[ShimProblem],
    stop: &dyn Fn(usize) -> bool,
) -> Vec<Result<ShimPlan, Error>> {
    const PAUSE: Duration = Duration::from_millis(20);
    let threads = thread::available_parallelism().map_or(1, NonZero::get).min(problems.len());
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let stopped = AtomicBool::new(false);
    let is_stopped = || stopped.load(Relaxed);
    let (ended, all_ended) = mpsc::channel::<()>();
    let work = || {
        let mut answers = Vec::new();
        while let at = next.fetch_add(1, Relaxed)
            && let Some(problem) = problems.get(at)
        {
            let answer = match is_stopped() {
                true => problem.check().map(|()| ShimPlan::standing(problem)),
                false => plan_shims_until(problem, &is_stopped),
            };
            answers.push((at, answer));
            done.fetch_add(1, Relaxed);
        }
        answers
    };
    let mut answers: Vec<_> = thread::scope(|scope| {
        let (work, mut workers) = (&work, Vec::new());
        for _ in 0..threads {
            let ended = ended.clone();
            workers.push(scope.spawn(move || {
                let _ended = ended;
                work()
            }));
        }
        drop(ended);
        // Nothing is ever sent: the channel closes when the last of the workers is done.
        while all_ended.recv_timeout(PAUSE) == Err(mpsc::RecvTimeoutError::Timeout) {
            stopped.fetch_or(stop(done.load(Relaxed)), Relaxed);
        }
        workers.into_iter().filter_map(|worker| worker.join().ok()).flatten().collect()
    });
    answers.sort_unstable_by_key(|&(at, _)| at);
    answers.into_iter().map(|(_, answer)| answer).collect()
}

/// The plan in the terms of the problem.
fn plan(problem: &ShimProblem, model: &Model, stacking: &Stacking, tilt: Tilt) -> ShimPlan {
    let mut stacks = vec![Vec::new(); problem.supports.len()];
    let mut settings = vec![None; problem.supports.len()];
    for (at, (counts, &support)) in stacking.counts.iter().zip(&model.supports).enumerate() {
        for (&count, &kind) in counts.iter().zip(&model.kinds) {
            stacks[support].extend(std::iter::repeat_n(kind, count as usize));
        }
        let setting = stacking.tops[at] - model.heights[at] - model.plain_lift(counts);
        settings[support] = (setting > 0).then(|| Length::from_nm(setting));
    }
    ShimPlan::from_stacks(problem, stacks, settings, tilt)
}
