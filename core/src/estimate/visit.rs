//! One visit to a floor that was drawn: the plan, and the pass after it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::draws::{Draws, Sample};
use super::floor_model::Floors;
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

/// What a first pass takes, the slates included where they are planned.
#[derive(Debug, Clone)]
pub(super) struct FirstPass {
    pub(super) pieces: usize,
    pub(super) lifted: usize,
    pub(super) moved: usize,
    /// How far each leg is lifted.
    pub(super) lifts: Vec<Length>,
    pub(super) thickest: Length,
    /// Pieces of each kind.
    pub(super) used: Vec<u32>,
}

/// The slates of a job: their problem, and the frames under them.
pub(super) type Slates = (ShimProblem, Floors);

impl Visit {
    /// Plans the job of a seed and a number: the legs on the floor that is drawn for it, and then the
    /// slates from what the legs leave.
    pub(super) fn new(
        (legs, floors): (&ShimProblem, &Floors),
        slates: Option<&Slates>,
        again: Option<Again>,
        [seed, job]: [u64; 2],
        stop: &dyn Fn() -> bool,
    ) -> Result<Self, Error> {
        let problem = on_floor(legs, &floors.draw(seed, Sample::Floors, job))?;
        let plan = match first_pass(&problem, stop)? {
            Ok(plan) => plan,
            Err(reason) => return Ok(Self { done: Err(reason), again: None }),
        };
        let on_frame = match slates {
            Some((slates, frames)) => {
                let mut slates = on_floor(slates, &frames.draw(seed, Sample::Frames, job))?;
                for (shim, left) in slates.stock.iter_mut().zip(&plan.left) {
                    shim.count = *left;
                }
                match first_pass(&slates, stop)? {
                    Ok(plan) => Some(plan),
                    Err(reason) => return Ok(Self { done: Err(reason), again: None }),
                }
            }
            None => None,
        };
        let again = match again {
            Some(after) => {
                let draws = Draws::new(seed, Sample::After, job);
                second_pass(&problem, &plan, after, draws, stop)?
            }
            None => None,
        };
        Ok(Self { done: Ok(FirstPass::new(plan, on_frame)), again })
    }

    /// How much the job takes, both passes together.
    pub(super) fn quantities(
        &self,
        legs: &ShimProblem,
        on_frame: Option<&Slates>,
        slates: usize,
    ) -> Option<Quantities> {
        let first = self.done.as_ref().ok()?;
        let [lifts, moved] = self.again.unwrap_or_default();
        let repeats = usize::from(self.again.is_some());
        let points = on_frame.map_or(0, |(slates, _)| slates.supports.len());
        let joints = on_frame.map_or(0, |(slates, _)| slates.joints.len());
        Some(Quantities {
            readings: legs.supports.len() * (1 + repeats) + points,
            lifts: first.lifted + lifts,
            pieces: first.moved + moved,
            slates,
            joints: legs.joints.len() + joints,
            repeats,
        })
    }
}

impl FirstPass {
    fn new(legs: ShimPlan, slates: Option<ShimPlan>) -> Self {
        let thickest = legs.lifts.iter().max().copied().unwrap_or_default();
        let ShimPlan { pieces, lifted, moved, lifts, used, .. } = legs;
        let lifted = lifted.len();
        let mut pass = Self { pieces, lifted, moved, lifts, thickest, used };
        if let Some(slates) = slates {
            pass.pieces += slates.pieces;
            pass.lifted += slates.lifted.len();
            pass.moved += slates.moved;
            pass.thickest = slates.lifts.iter().copied().fold(thickest, Length::max);
            pass.used.iter_mut().zip(&slates.used).for_each(|(used, more)| *used += more);
        }
        pass
    }
}

/// The plan of a first pass, or why there is none.
fn first_pass(
    problem: &ShimProblem,
    stop: &dyn Fn() -> bool,
) -> Result<Result<ShimPlan, Reason>, Error> {
    Ok(match plan_if_possible(problem, stop)? {
        Some(plan) if plan.meets_limits => Ok(plan),
        Some(_) => Err(Reason::Unsettled),
        None => Err(reason(problem, stop)?),
    })
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::{FloorModel, SlatesOnFrame};
    use crate::limits::Limits;
    use crate::shim::{Support, plan_shims};
    use crate::stock::Shim;

    /// Each job is two plans: the legs on their floor, and the slates on their frame from what the legs
    /// leave.
    #[test]
    fn slates_are_planned_from_what_the_legs_leave() {
        let mm = |mm: f64| Length::from_mm(mm).unwrap();
        let at = |(x, y)| Support { x: mm(x), y: mm(y), height: Length::ZERO };
        let legs = [(0.0, 0.0), (2134.0, 0.0), (2134.0, 1016.0)].map(at).to_vec();
        let points = [(100.0, 80.0), (1034.0, 936.0), (2034.0, 80.0), (1500.0, 80.0)].map(at);
        let kind = |thickness, count| Shim::new(mm(thickness), Some(count));
        let stock = vec![kind(2.0, 2), kind(0.5, 3), kind(0.2, 2)];
        let legs = ShimProblem::new(legs, stock, Limits::overall(mm(0.3)));
        let bed = ShimProblem::new(points.to_vec(), Vec::new(), Limits::overall(mm(0.2)));
        let model = |sigma| FloorModel::from_sigma(sigma).unwrap();
        let floors = Floors::under(&model(0.8), &legs).unwrap();
        let slates = SlatesOnFrame { problem: bed, frame: model(0.4) }.under(&legs).unwrap();
        let (mut done, mut legs_alone) = (0, 0);
        for job in 0..200 {
            let drawn = [7, job];
            let visit =
                Visit::new((&legs, &floors), Some(&slates), None, drawn, &|| false).unwrap();
            let heights = floors.draw(7, Sample::Floors, job);
            let of_legs = plan_shims(&on_floor(&legs, &heights).unwrap()).unwrap();
            if !of_legs.meets_limits {
                assert!(visit.done.is_err());
                continue;
            }
            let frame = slates.1.draw(7, Sample::Frames, job);
            let mut bed = on_floor(&slates.0, &frame).unwrap();
            for (kind, shim) in bed.stock.iter_mut().enumerate() {
                shim.count = Some(legs.stock[kind].count.unwrap() - of_legs.used[kind]);
            }
            let of_bed = plan_shims(&bed).unwrap();
            let Ok(pass) = visit.done else {
                assert!(!of_bed.meets_limits);
                legs_alone += 1;
                continue;
            };
            done += 1;
            assert!(of_bed.meets_limits);
            assert_eq!(pass.pieces, of_legs.pieces + of_bed.pieces);
            assert_eq!(pass.moved, pass.pieces);
            assert_eq!(pass.lifted, of_legs.lifted.len() + of_bed.lifted.len());
            assert_eq!(pass.lifts, of_legs.lifts);
            let thickest = of_legs.lifts.iter().chain(&of_bed.lifts).max();
            assert_eq!(Some(&pass.thickest), thickest);
            let used: Vec<u32> =
                of_legs.used.iter().zip(&of_bed.used).map(|(legs, bed)| legs + bed).collect();
            assert_eq!(pass.used, used);
        }
        assert!(done > 20 && legs_alone > 20, "{done} {legs_alone}");
    }
}
