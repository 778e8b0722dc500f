//! The slates of a job, on its frame.

use super::floor_model::{FloorModel, Floors};
use super::reason::Reason;
use crate::bed::{LaidSlab, Lain, Load, OnPoints, lain};
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::shim::{ShimPlan, ShimProblem, Support};

/// The slates that each job lays on its frame. Those that `slabs` describes are plates, which must lie on
/// all their stacks; the others are planned as points.
#[derive(Debug, Clone, PartialEq)]
pub struct SlatesOnFrame {
    /// The points of the slates with their limits, joints and options. Their heights do not matter, and
    /// their stock is that of the legs.
    pub problem: ShimProblem,
    /// How the heights of the bare frame under the slates may differ once its legs are level.
    pub frame: FloorModel,
    /// The slates that are plates.
    pub slabs: Vec<SlabOnFrame>,
}

/// A slate that each job lays on its frame, as a plate.
#[derive(Debug, Clone, PartialEq)]
pub struct SlabOnFrame {
    /// The slab on its supports, each of which is at a point of the slates.
    pub laid: LaidSlab,
    /// What each of its supports should carry at the least, N, with what its screw can add; at 0 more than
    /// nothing.
    pub least_force_n: f64,
}

/// Slates that nothing is wrong with.
pub(super) struct Slates {
    pub(super) problem: ShimProblem,
    pub(super) frames: Floors,
    pub(super) slabs: Vec<OnPoints>,
}

impl SlatesOnFrame {
    /// The slates with the stock of the legs, and the frames under them.
    pub(super) fn under(&self, legs: &ShimProblem) -> Result<Slates, Error> {
        let problem = ShimProblem { stock: legs.stock.clone(), ..self.problem.clone() };
        problem.check()?;
        let slabs = self.on_points()?;
        let frames = Floors::under(&self.frame, &problem)?;
        Ok(Slates { problem, frames, slabs })
    }

    /// Finds the point under each support.
    fn on_points(&self) -> Result<Vec<OnPoints>, Error> {
        let mut found = Problems::default();
        let mut taken = vec![false; self.problem.supports.len()];
        let mut slabs = Vec::new();
        for (at, SlabOnFrame { laid, least_force_n }) in self.slabs.iter().enumerate() {
            if !(0.0..=Load::MOST_N).contains(least_force_n) {
                let (field, expected) =
                    (format!("slabs[{at}].least_force_n"), "a force from 0 to 1e9 N");
                found.add(ProblemKind::Value, field, *least_force_n, expected);
            }
            let mut points = Vec::new();
            for (support, [x, y]) in laid.supports().iter().map(|it| it.xy_mm).enumerate() {
                let place = [x, y].map(|mm| Length::from_mm(mm).ok());
                let is_there = |it: &Support| [Some(it.x), Some(it.y)] == place;
                let point = self.problem.supports.iter().position(is_there);
                match point.filter(|&point| !taken[point]) {
                    Some(point) => {
                        taken[point] = true;
                        points.push(point);
                    }
                    None => {
                        let field = format!("slabs[{at}].supports[{support}]");
                        let expected = "the place of a point that is under no other slab";
                        found.add(ProblemKind::Value, field, format!("x = {x}, y = {y}"), expected);
                    }
                }
            }
            slabs.push(OnPoints { laid: laid.clone(), points, least_force_n: *least_force_n });
        }
        found.into_result().map(|()| slabs)
    }
}

/// The plan on which the slabs lie on all their stacks, the one for points if that does; why there is none.
pub(super) fn on_plates(
    slabs: &[OnPoints],
    problem: &ShimProblem,
    of_points: ShimPlan,
    stop: &dyn Fn() -> bool,
) -> Result<Result<ShimPlan, Reason>, Error> {
    if slabs.is_empty() {
        return Ok(Ok(of_points));
    }
    let (plan, lain) = lain(slabs, problem, of_points, stop)?;
    Ok(match lain {
        None | Some(Lain::Instead { .. }) => Ok(plan),
        Some(Lain::Tips | Lain::Loose { proven: true }) => Err(Reason::Loose),
        Some(Lain::Loose { proven: false }) => Err(Reason::Unsettled),
    })
}
