//! The verdict that a plan leads one to expect.

use nalgebra::DMatrix;

use super::assess::assess_by;
use super::{DecisionRule, Evidence, Verdict, check};
use crate::deadline::Deadline;
use crate::error::Error;
use crate::length::Length;
use crate::shim::{ShimPlan, ShimProblem};

/// What lies on the tops of a plan, where it is not as high as they are.
pub(crate) struct OnTops {
    /// Its height at each point.
    pub(crate) heights: Vec<Length>,
    /// What each of these gains with each top.
    pub(crate) by_tops: DMatrix<f64>,
}

impl OnTops {
    /// The covariance of its heights from that of the tops, both row by row.
    fn covariance(&self, of_tops: Vec<f64>) -> Vec<f64> {
        let count = self.heights.len();
        let of_tops = DMatrix::from_row_slice(count, count, &of_tops);
        let covariance = &self.by_tops * of_tops * self.by_tops.transpose();
        // Symmetric to the last bit, as a covariance has to be.
        let both = |row: usize, column: usize| {
            0.5 * (covariance[(row, column)] + covariance[(column, row)])
        };
        (0..count * count).map(|at| both(at / count, at % count)).collect()
    }
}

impl ShimPlan {
    /// The verdict that this plan for a problem leads one to expect once it is carried out: with the
    /// covariance of the heights that the problem states, and the uncertainties of the pieces that
    /// are put in or taken out. A guard band plays no part in it.
    ///
    /// # Errors
    /// A plan of another problem; those of [`assess`](crate::assess).
    pub fn predict(&self, problem: &ShimProblem, rule: DecisionRule) -> Result<Verdict, Error> {
        self.predict_with(problem, &rule.into())
    }

    /// The same verdict with further evidence. What the problem's
    /// [`self_check`](ShimProblem::self_check) says of the readings counts too.
    ///
    /// A floor is uneven by much more than its readings are uncertain, so what a plan leads one to
    /// expect is known by the probability alone, and that decides both ways: the test of
    /// [`Verdict::excess_p`] is for heights that were read.
    ///
    /// # Errors
    /// A plan of another problem; those of [`assess_with`](crate::assess_with).
    pub fn predict_with(
        &self,
        problem: &ShimProblem,
        evidence: &Evidence,
    ) -> Result<Verdict, Error> {
        self.predict_until(problem, evidence, None, &Deadline::never())
    }

    /// The same, but stopped where its time is over.
    pub(crate) fn predict_until(
        &self,
        problem: &ShimProblem,
        evidence: &Evidence,
        on_tops: Option<&OnTops>,
        deadline: &Deadline<'_>,
    ) -> Result<Verdict, Error> {
        self.check_for(problem)?;
        let (xy, limits, joints) = (problem.places(), &problem.limits, &problem.joints);
        // Of a bed that was levelled before, heights that were read again are no better known than they
        // were read; see `README.md` of this room.
        let foreseen = problem.placed.is_none();
        let mut evidence = Evidence { foreseen, prediction: None, ..evidence.clone() };
        evidence.global_test = evidence.global_test.or(problem.self_check.global_test);
        let doubts = &problem.self_check.doubts;
        let further = doubts.iter().filter(|doubt| !evidence.doubts.contains(doubt)).copied();
        let further: Vec<_> = further.collect();
        evidence.doubts.extend(further);
        let heights = on_tops.map_or(&self.tops, |on_tops| &on_tops.heights);
        match self.covariance_after(problem) {
            Some(covariance) => {
                let covariance = match on_tops {
                    Some(on_tops) => on_tops.covariance(covariance),
                    None => covariance,
                };
                assess_by(&xy, heights, &covariance, limits, joints, &evidence, deadline)
            }
            None => {
                evidence.check_evidence()?;
                check(&xy, heights, limits, joints)
            }
        }
    }

    /// Covariance of the tops, mm², n × n row by row: that of the heights with the covariance of the
    /// pieces. None where both are exact, and of another problem.
    pub fn covariance_after(&self, problem: &ShimProblem) -> Option<Vec<f64>> {
        self.check_for(problem).ok()?;
        let count = problem.supports.len();
        let pieces = self.covariance_of_pieces(problem);
        if problem.covariance_mm2.is_none() && pieces.iter().all(|&value| value == 0.0) {
            return None;
        }
        let exact = || vec![0.0; count * count];
        let mut covariance = problem.covariance_mm2.clone().unwrap_or_else(exact);
        covariance.iter_mut().zip(&pieces).for_each(|(value, &pieces)| *value += pieces);
        Some(covariance)
    }
}
