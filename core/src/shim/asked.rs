//! A problem without faults, with what all its searches share.

use super::model::Model;
use super::placed::Placed;
use super::plan::ShimPlan;
use super::problem::ShimProblem;
use super::stacking::Stacking;
use crate::error::Error;
use crate::length::Length;
use crate::limits::Span;
use crate::tilt::{LEVEL, Tilt};

/// A problem without faults. Its limits, with their guard bands, are worked out once.
pub(super) struct Asked<'a> {
    pub(super) problem: &'a ShimProblem,
    /// The limits as spans, with the guard bands that are asked for.
    pub(super) spans: Vec<Span>,
}

impl<'a> Asked<'a> {
    /// Checks a problem.
    ///
    /// # Errors
    /// Those of [`plan_shims`](crate::plan_shims), but for what [`Model::above`] finds.
    pub(super) fn new(problem: &'a ShimProblem) -> Result<Self, Error> {
        let guard = problem.check_fields()?;
        let spans = problem.limits.spans(&problem.places(), &problem.joints);
        let spans = guard.map_or(Ok(spans.clone()), |guard| guard.tighten(spans))?;
        Ok(Self { problem, spans })
    }

    /// The problem in the form that the search works on, on a level target.
    ///
    /// # Errors
    /// Those of [`Model::above`].
    pub(super) fn model(&self) -> Result<Model, Error> {
        Model::above(self.problem, LEVEL, self.spans.clone(), self.problem.options.order)
    }

    /// A plan of the search in the terms of the problem.
    pub(super) fn plan(&self, model: &Model, stacking: &Stacking, tilt: Tilt) -> ShimPlan {
        let supports = self.problem.supports.len();
        let mut stacks = vec![Vec::new(); supports];
        let mut settings = vec![None; supports];
        for (at, (counts, &support)) in stacking.counts.iter().zip(&model.supports).enumerate() {
            for (&count, &kind) in counts.iter().zip(&model.kinds) {
                stacks[support].extend(std::iter::repeat_n(kind, count as usize));
            }
            let setting = stacking.tops[at] - model.heights[at] - model.plain_lift(counts);
            settings[support] = (setting > 0).then(|| Length::from_nm(setting));
        }
        ShimPlan::from_stacks(self.problem, &self.spans, stacks, settings, tilt)
    }

    /// What is in place, be it nothing.
    pub(super) fn standing(&self) -> ShimPlan {
        let supports = self.problem.supports.len();
        let nothing =
            || Placed { stacks: vec![Vec::new(); supports], settings: vec![None; supports] };
        let Placed { stacks, settings } = self.problem.placed.clone().unwrap_or_else(nothing);
        ShimPlan::from_stacks(self.problem, &self.spans, stacks, settings, LEVEL)
    }
}
