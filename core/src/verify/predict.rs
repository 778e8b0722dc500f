//! The verdict that a plan leads one to expect.

use super::assess::assess_until;
use super::{DecisionRule, Evidence, Verdict, check};
use crate::deadline::Deadline;
use crate::error::Error;
use crate::shim::{ShimPlan, ShimProblem};

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

    /// The same verdict with what else is known of the readings, such as whether they contradict each
    /// other.
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
        self.predict_until(problem, evidence, &Deadline::never())
    }

    /// The same, but stopped where its time is over.
    pub(crate) fn predict_until(
        &self,
        problem: &ShimProblem,
        evidence: &Evidence,
        deadline: &Deadline<'_>,
    ) -> Result<Verdict, Error> {
        self.check_for(problem)?;
        let (xy, limits, joints) = (problem.places(), &problem.limits, &problem.joints);
        // Of a bed that was levelled before, heights that were read again are no better known than they
        // were read; see `README.md` of this room.
        let foreseen = problem.placed.is_none();
        let evidence = Evidence { foreseen, prediction: None, ..evidence.clone() };
        match self.covariance_after(problem) {
            Some(covariance) => {
                assess_until(&xy, &self.tops, &covariance, limits, joints, &evidence, deadline)
            }
            None => {
                evidence.check_evidence()?;
                check(&xy, &self.tops, limits, joints)
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
