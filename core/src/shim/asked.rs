//! A checked problem, with what all its searches share.

use super::guard::Guard;
use super::model::Model;
use super::placed::Placed;
use super::plan::ShimPlan;
use super::problem::ShimProblem;
use super::stacking::Stacking;
use crate::deadline::Deadline;
use crate::error::Error;
use crate::length::{self, Length};
use crate::limits::Span;
use crate::tilt::{LEVEL, Tilt, Tilts};

/// A checked problem. Its limits and their guard bands are computed once.
pub(super) struct Asked<'a> {
    pub(super) problem: &'a ShimProblem,
    /// The limits as spans,
    pub(super) limits: Vec<Span>,
    /// and with the guard bands that every plan needs.
    pub(super) spans: Vec<Span>,
    /// What the guard bands rest on, where they also depend on the plan or the risk is a joint one.
    pub(super) guard: Option<Guard>,
    /// The time at which a simulation of a plan must end.
    pub(super) deadline: Deadline<'a>,
}

impl<'a> Asked<'a> {
    /// Checks a problem. Simulations of its plans end at the deadline.
    ///
    /// # Errors
    /// Those of [`plan_shims`](crate::plan_shims), but for what [`Model::above`] finds.
    pub(super) fn new(problem: &'a ShimProblem, deadline: Deadline<'a>) -> Result<Self, Error> {
        let guard = problem.checked_fields(&deadline)?;
        let limits = problem.limits.spans(&problem.places(), &problem.joints);
        let spans = match &guard {
            Some(guard) => guard.tighten(&limits)?,
            None => limits.clone(),
        };
        let guard = guard.filter(Guard::rests_on_the_plan);
        Ok(Self { problem, limits, spans, guard, deadline })
    }

    /// The operations that computing all guard bands takes.
    pub(super) fn bands(&self) -> u64 {
        /// For each pair: a quantile, and some error functions.
        const A_BAND: u64 = 1_000;
        let pairs = |span: &Span| (span.members.len() * span.members.len() / 2) as u64;
        let bands: u64 = self.limits.iter().map(pairs).sum();
        if self.problem.options.risk.is_some() { bands.saturating_mul(A_BAND) } else { 0 }
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
        for (at, (counts, &support)) in stacking.stacks().zip(&model.supports).enumerate() {
            for (&count, &kind) in counts.iter().zip(&model.kinds) {
                stacks[support].extend(std::iter::repeat_n(kind, count as usize));
            }
            let setting = stacking.tops[at] - model.heights[at] - model.plain_lift(counts);
            settings[support] = (setting > 0).then(|| Length::from_nm(setting));
        }
        self.held(ShimPlan::from_stacks(self.problem, stacks, settings, tilt))
    }

    /// A plan that has been held against the limits, with the guard bands that it needs.
    fn held(&self, mut plan: ShimPlan) -> ShimPlan {
        plan.meets_limits = self.spans.iter().all(|span| span.found(&plan.above) <= span.width);
        if let (Some(guard), true) = (&self.guard, plan.meets_limits) {
            let of_pieces = plan.covariance_of_pieces(self.problem);
            plan.meets_limits = guard.beyond(&self.limits, &plan.above, &of_pieces).is_empty()
                && (!guard.is_joint()
                    || guard.is_sure(&self.limits, &plan.above, &of_pieces, &self.deadline));
        }
        plan
    }

    /// The greatest difference that the limits allow between any two tops, or the greatest between
    /// the supports as they stand, where that is more.
    ///
    /// # Errors
    /// Those of [`Model::above`].
    pub(super) fn spread(&self) -> Result<Length, Error> {
        let width = Length::from_nm(self.model()?.width);
        let everywhere: Vec<usize> = (0..self.problem.supports.len()).collect();
        let slope = Tilts::new(&self.problem.limits).allowance(&self.problem.places(), &everywhere);
        let bare = length::range(self.problem.bare_heights().into_iter());
        Ok(width.max(bare + slope))
    }

    /// What is in place, be it nothing.
    pub(super) fn standing(&self) -> ShimPlan {
        self.held(standing(self.problem))
    }
}

/// What is in place, not held against the limits.
pub(super) fn standing(problem: &ShimProblem) -> ShimPlan {
    let supports = problem.supports.len();
    let nothing = || Placed { stacks: vec![Vec::new(); supports], settings: vec![None; supports] };
    let Placed { stacks, settings } = problem.placed.clone().unwrap_or_else(nothing);
    ShimPlan::from_stacks(problem, stacks, settings, LEVEL)
}
