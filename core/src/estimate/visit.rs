//! One visit to a floor that was drawn: the plan, and the pass after it.

use super::draws::{Draws, Sample};
use super::floor_model::Floors;
use super::on_frame::{Slates, on_plates};
use super::rates::Quantities;
use super::reason::Reason;
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
            Some(Slates { problem, frames, slabs }) => {
                let mut slates = on_floor(problem, &frames.draw(seed, Sample::Frames, job))?;
                for (shim, left) in slates.stock.iter_mut().zip(&plan.left) {
                    shim.count = *left;
                }
                let plan = match first_pass(&slates, stop)? {
                    Ok(plan) => on_plates(slabs, &slates, plan, stop)?,
                    Err(reason) => Err(reason),
                };
                match plan {
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
        let points = on_frame.map_or(0, |slates| slates.problem.supports.len());
        let joints = on_frame.map_or(0, |slates| slates.problem.joints.len());
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
    use crate::bed::{BearSettings, BedProblem, LaidSlab, NoBed, Slab, SlabSupport, plan_bed};
    use crate::estimate::{FloorModel, SlabOnFrame, SlatesOnFrame};
    use crate::limits::Limits;
    use crate::shim::{Status, Support, plan_shims};
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
        let slates = SlatesOnFrame { problem: bed, frame: model(0.4), slabs: Vec::new() };
        let slates = slates.under(&legs).unwrap();
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
            let frame = slates.frames.draw(7, Sample::Frames, job);
            let mut bed = on_floor(&slates.problem, &frame).unwrap();
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

    /// Slates that are plates take what a plan of the slab alone takes, and are refused where that finds
    /// none.
    #[test]
    fn plates_lie_on_all_their_stacks() {
        let mm = |mm: f64| Length::from_mm(mm).unwrap();
        let at = |[x, y]: [f64; 2]| Support { x: mm(x), y: mm(y), height: Length::ZERO };
        let places = [[50.0, 50.0], [650.0, 50.0], [650.0, 450.0], [50.0, 450.0]];
        let kind = |thickness, count| Shim::new(mm(thickness), Some(count));
        let legs = ShimProblem::new(
            places[..3].iter().copied().map(at).collect(),
            vec![kind(0.5, 4), kind(0.2, 3), kind(0.05, 3)],
            Limits::overall(mm(0.3)),
        );
        let bed = places.iter().copied().map(at).collect();
        let bed = ShimProblem::new(bed, Vec::new(), Limits::overall(mm(0.2)));
        // So small and thick that it rocks where points would do.
        let slab = Slab::new([0.0, 700.0], [0.0, 500.0], 60.0, 48.36, 0.25, 2794.0);
        let supports = places.map(SlabSupport::at);
        let laid = LaidSlab::new(&slab, &supports, &[], BearSettings::default()).unwrap();
        let floors = Floors::under(&FloorModel::from_sigma(0.3).unwrap(), &legs).unwrap();
        let frame = FloorModel::from_sigma(0.3).unwrap();
        let slabs = vec![SlabOnFrame { laid, least_force_n: 20.0 }];
        let slates = SlatesOnFrame { problem: bed, frame, slabs };
        let plates = slates.under(&legs).unwrap();
        let points = SlatesOnFrame { slabs: Vec::new(), ..slates.clone() }.under(&legs).unwrap();
        let (mut same, mut more, mut loose) = (0, 0, 0);
        for job in 0..200 {
            let visit = |slates| {
                Visit::new((&legs, &floors), Some(slates), None, [7, job], &|| false).unwrap().done
            };
            let (as_points, as_plates) = (visit(&points), visit(&plates));
            let Ok(as_points) = as_points else {
                assert!(as_plates.is_err());
                continue;
            };
            let drawn = on_floor(&legs, &floors.draw(7, Sample::Floors, job)).unwrap();
            let of_legs = plan_shims(&drawn).unwrap();
            let frame = plates.frames.draw(7, Sample::Frames, job);
            let mut stock = legs.stock.clone();
            stock.iter_mut().zip(&of_legs.left).for_each(|(shim, left)| shim.count = *left);
            let frame = frame.iter().map(|&height| mm(height)).collect();
            let limits = Limits::overall(mm(0.2));
            let mut alone = BedProblem::new(slab, supports.to_vec(), frame, stock, limits);
            alone.least_force_n = 20.0;
            let alone = plan_bed(&alone).unwrap();
            match as_plates {
                Ok(pass) => {
                    assert_eq!(alone.status, Status::Proven);
                    assert_eq!(pass.pieces, of_legs.pieces + alone.pieces);
                    same += usize::from(pass.pieces == as_points.pieces);
                    more += usize::from(pass.pieces > as_points.pieces);
                }
                Err(reason) => {
                    assert_eq!((reason, alone.why), (Reason::Loose, Some(NoBed::NotCarried)));
                    loose += 1;
                }
            }
        }
        assert!(same > 5 && more > 5 && loose > 5, "{same} {more} {loose}");

        let problem = |slabs| {
            let slates = SlatesOnFrame { slabs, ..slates.clone() };
            slates.under(&legs).err().unwrap().problems()[0].field.clone()
        };
        let [one, other] = [0.0, -1.0]
            .map(|least_force_n| SlabOnFrame { laid: slates.slabs[0].laid.clone(), least_force_n });
        assert_eq!(problem(vec![one.clone(), one]), "slabs[1].supports[0]");
        assert_eq!(problem(vec![other]), "slabs[0].least_force_n");
    }
}
