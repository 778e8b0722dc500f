//! The slates of a job, on its frame.

use super::floor_model::{FloorModel, Floors};
use crate::error::Error;
use crate::shim::ShimProblem;

/// The slates that each job lays on its frame, planned as points: how a slate bends is not looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct SlatesOnFrame {
    /// The points of the slates with their limits, joints and options. Their heights do not matter, and
    /// their stock is that of the legs.
    pub problem: ShimProblem,
    /// How the heights of the bare frame under the slates may differ once its legs are level.
    pub frame: FloorModel,
}

impl SlatesOnFrame {
    /// The problem of the slates with the stock of the legs, and the frames under it.
    pub(super) fn under(&self, legs: &ShimProblem) -> Result<(ShimProblem, Floors), Error> {
        let problem = ShimProblem { stock: legs.stock.clone(), ..self.problem.clone() };
        problem.check()?;
        let frames = Floors::under(&self.frame, &problem)?;
        Ok((problem, frames))
    }
}
