//! A floor held against a class of evenness by what is known of its heights.

use super::rule::{Conformity, DecisionRule};
use crate::covariance;
use crate::deadline::Deadline;
use crate::error::{Error, Problems};
use crate::plane::{FloorClass, FloorFinding, check_floor};
use crate::simulation::{self, Chance, root};

/// Whether a floor is as even as a class asks.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct FloorVerdict {
    /// The findings for the heights as they are given.
    pub findings: Vec<FloorFinding>,
    /// Whether they meet all that the class asks and the survey tells.
    pub meets_limits: bool,
    /// The probability of that, by simulation.
    pub probability: f64,
    /// Its standard error; the draws are the same on every run.
    pub probability_error: f64,
    /// The verdict.
    pub conformity: Conformity,
}

/// Holds a survey of a floor against a class of evenness, as [`check_floor`] does, by the covariance
/// of its heights, mm², n × n row by row: with what probability does it meet the class?
///
/// The probability is simulated: floors are drawn from the heights and their covariance, and each is
/// held against the class. The standard error is 1e-3 or, where the verdict depends on it, less (5e-4
/// at ½).
///
/// # Errors
/// Those of [`check_floor`] and of the covariance and the rule in [`assess`](crate::assess).
pub fn assess_floor(
    xy: &[[f64; 2]],
    z: &[f64],
    covariance_mm2: &[f64],
    class: FloorClass,
    line_width_mm: f64,
    rule: DecisionRule,
) -> Result<FloorVerdict, Error> {
    let never = Deadline::never();
    assess_floor_by(xy, z, covariance_mm2, class, line_width_mm, rule, &never)
}

/// Holds a floor against a class as [`assess_floor`] does, until `stop` says true, which is asked every few
/// milliseconds.
///
/// # Errors
/// Those of [`assess_floor`]; [`ProblemKind::Stopped`](crate::ProblemKind::Stopped) once `stop` has said
/// true.
pub fn assess_floor_until(
    xy: &[[f64; 2]],
    z: &[f64],
    covariance_mm2: &[f64],
    class: FloorClass,
    line_width_mm: f64,
    rule: DecisionRule,
    stop: &dyn Fn() -> bool,
) -> Result<FloorVerdict, Error> {
    let deadline = Deadline::new(None, stop);
    assess_floor_by(xy, z, covariance_mm2, class, line_width_mm, rule, &deadline)
}

/// The same, but stopped where its time is over.
pub(crate) fn assess_floor_by(
    xy: &[[f64; 2]],
    z: &[f64],
    covariance_mm2: &[f64],
    class: FloorClass,
    line_width_mm: f64,
    rule: DecisionRule,
    deadline: &Deadline<'_>,
) -> Result<FloorVerdict, Error> {
    let mut found = Problems::default();
    let findings = found.take(check_floor(xy, z, class, line_width_mm));
    let covariance = found.take(covariance::semidefinite_until(covariance_mm2, z.len(), deadline));
    found.take(rule.check_risk());
    found.into_result()?;
    let (findings, covariance) = (findings.unwrap_or_default(), covariance.unwrap_or_default());
    let are_met = |findings: &[FloorFinding]| findings.iter().all(|it| it.met != Some(false));
    let met = are_met(&findings);
    let chance = if covariance.iter().all(|&value| value == 0.0) {
        Chance::exact(f64::from(u8::from(met)))
    } else {
        // Whether a survey is one does not depend on its heights.
        let meets = |heights: &[f64]| {
            let findings = check_floor(xy, heights, class, line_width_mm);
            findings.is_ok_and(|findings| are_met(&findings))
        };
        let settled = |chance| rule.is_settled(chance);
        simulation::frequency(z, &root(&covariance, deadline), deadline, settled, meets)
    };
    deadline.spend(u64::MAX)?;
    Ok(FloorVerdict {
        findings,
        meets_limits: met,
        probability: chance.probability,
        probability_error: chance.error,
        conformity: rule.conformity(met, chance, None),
    })
}
