//! One visit to a floor that was drawn: the plan, and the pass after it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::draws::{Draws, Sample};
use super::rates::Quantities;
use crate::error::Error;
use crate::length::Length;
use crate::shim::{Placed, ShimPlan, ShimProblem, Status, plan_if_possible};

/// What may go wrong after the shims are in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Again {
    /// Standard deviation of how far each support settles, mm, independent of the others.
    pub settlement_sigma_mm: f64,
    /// Standard uncertainty of each reading of the tops, mm.
    pub reading_sigma_mm: f64,
}

/// Why a job cannot be done with the stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Reason {
    /// More pieces of the same kinds would do.
    Counts,
    /// A limit on stacks: they may not be as thick, or have as many pieces, as the floor asks.
    Stacks,
    /// The thicknesses: no sums of them keep the limits, even with pieces without end.
    Kinds,
    /// The search ended before it was known whether the stock does.
    Unsettled,
}

impl Reason {
    /// Its name in every language.
    pub fn name(self) -> &'static str {
        match self {
            Self::Counts => "counts",
            Self::Stacks => "stacks",
            Self::Kinds => "kinds",
            Self::Unsettled => "unsettled",
        }
    }
}

/// What one job came to.
#[derive(Debug, Clone)]
pub(super) struct Visit {
    /// What its first pass takes; why there is no plan.
    pub(super) done: Result<FirstPass, Reason>,
    /// Supports lifted and pieces moved by a second pass; none where the first will do.
    pub(super) again: Option<[usize; 2]>,
}

/// What a first pass takes.
#[derive(Debug, Clone)]
pub(super) struct FirstPass {
    pub(super) pieces: usize,
    pub(super) lifted: usize,
    pub(super) moved: usize,
    /// How far each support is lifted.
    pub(super) lifts: Vec<Length>,
    /// Pieces of each kind.
    pub(super) used: Vec<u32>,
}

impl Visit {
    /// Plans a job for heights that were drawn, mm.
    pub(super) fn new(
        problem: &ShimProblem,
        heights_mm: &[f64],
        again: Option<Again>,
        draws: impl FnOnce(Sample) -> Draws,
        stop: &dyn Fn() -> bool,
    ) -> Result<Self, Error> {
        let problem = on_floor(problem, heights_mm)?;
        let plan = plan_if_possible(&problem, stop)?;
        let plan = match plan {
            Some(plan) if plan.meets_limits => plan,
            Some(_) => return Ok(Self { done: Err(Reason::Unsettled), again: None }),
            None => return Ok(Self { done: Err(reason(&problem, stop)?), again: None }),
        };
        let again = match again {
            Some(after) => second_pass(&problem, &plan, after, draws(Sample::After), stop)?,
            None => None,
        };
        let ShimPlan { pieces, lifted, moved, lifts, used, .. } = plan;
        let lifted = lifted.len();
        Ok(Self { done: Ok(FirstPass { pieces, lifted, moved, lifts, used }), again })
    }

    /// How much the job takes, both passes together.
    pub(super) fn quantities(&self, problem: &ShimProblem, slates: usize) -> Option<Quantities> {
        let first = self.done.as_ref().ok()?;
        let [lifts, moved] = self.again.unwrap_or_default();
        let repeats = usize::from(self.again.is_some());
        Some(Quantities {
            readings: problem.supports.len() * (1 + repeats),
            lifts: first.lifted + lifts,
            pieces: first.moved + moved,
            slates,
            joints: problem.joints.len(),
            repeats,
        })
    }
}

/// The problem on another floor.
pub(super) fn on_floor(problem: &ShimProblem, heights_mm: &[f64]) -> Result<ShimProblem, Error> {
    let mut problem = problem.clone();
    for (support, &height) in problem.supports.iter_mut().zip(heights_mm) {
        support.height = Length::from_mm(height)?;
    }
    Ok(problem)
}

/// Why a problem has no plan: gives up one restriction after the other until it has one.
fn reason(problem: &ShimProblem, stop: &dyn Fn() -> bool) -> Result<Reason, Error> {
    let mut problem = problem.clone();
    problem.stock.iter_mut().for_each(|shim| shim.count = None);
    match plan_if_possible(&problem, stop)? {
        Some(plan) if plan.meets_limits => return Ok(Reason::Counts),
        Some(_) => return Ok(Reason::Unsettled),
        None => {}
    }
    (problem.options.max_pieces, problem.options.max_stack) = (None, None);
    Ok(match plan_if_possible(&problem, stop)? {
        Some(plan) if plan.meets_limits => Reason::Stacks,
        Some(_) => Reason::Unsettled,
        None => Reason::Kinds,
    })
}

/// Lets a table settle, reads it again, and plans what that asks for.
fn second_pass(
    problem: &ShimProblem,
    plan: &ShimPlan,
    after: Again,
    mut draws: Draws,
    stop: &dyn Fn() -> bool,
) -> Result<Option<[usize; 2]>, Error> {
    let mut again = problem.clone();
    for (support, top) in again.supports.iter_mut().zip(&plan.tops) {
        let settled = after.settlement_sigma_mm * draws.normal();
        let read = after.reading_sigma_mm * draws.normal();
        support.height = Length::from_mm(top.mm() + settled + read)?;
    }
    for (shim, used) in again.stock.iter_mut().zip(&plan.used) {
        shim.count = shim.count.map(|count| count.saturating_sub(*used));
    }
    let settings = plan.settings.clone();
    again.placed = Some(Placed { stacks: plan.stacks.clone(), settings });
    let plan = plan_if_possible(&again, stop)?;
    // What cannot be mended from this stock needs a lift all the same: of what is not known.
    Ok(match plan {
        Some(plan) if plan.status == Status::Proven && plan.lifted.is_empty() => None,
        Some(plan) => Some([plan.lifted.len(), plan.moved]),
        None => Some([0, 0]),
    })
}
