//! The verdict that a plan leads one to expect.

use super::{DecisionRule, Verdict, assess, check};
use crate::error::Error;
use crate::shim::{ShimPlan, ShimProblem};

impl ShimPlan {
    /// The verdict that this plan for a problem leads one to expect once it is worked by: with the
    /// covariance of the heights that the problem states, and the uncertainties of the pieces that
    /// are put in or taken out. A guard band plays no part in it.
    ///
    /// # Errors
    /// A plan of another problem; those of [`assess`].
    pub fn predict(&self, problem: &ShimProblem, rule: DecisionRule) -> Result<Verdict, Error> {
        let count = problem.supports.len();
        self.check_for(problem)?;
        let (xy, limits, joints) = (problem.places(), &problem.limits, &problem.joints);
        let pieces: Vec<f64> = (0..count).map(|at| self.variance_of_pieces(problem, at)).collect();
        if problem.covariance_mm2.is_none() && pieces.iter().all(|&variance| variance == 0.0) {
            rule.check_risk()?;
            return check(&xy, &self.tops, limits, joints);
        }
        let exact = || vec![0.0; count * count];
        let mut covariance = problem.covariance_mm2.clone().unwrap_or_else(exact);
        for (own, pieces) in covariance.iter_mut().step_by(count + 1).zip(pieces) {
            *own += pieces;
        }
        assess(&xy, &self.tops, &covariance, limits, joints, rule)
    }
}
