//! The floor under the legs, held against a class of evenness.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::survey::Surveyed;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::plane::{FloorClass, FloorFinding};
use crate::points::Point;
use crate::verify::{Conformity, DecisionRule, assess_floor};

/// Whether the floor is as even as a class asks, by the readings of the stage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FloorOutcome {
    /// The class.
    pub class: FloorClass,
    /// Whether the heights as they are keep all that the class asks and the readings tell.
    pub met: bool,
    /// The probability of that; none where all heights count as exact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub probability: Option<f64>,
    /// Its standard error.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub probability_error: Option<f64>,
    /// The verdict, by the decision of the stage.
    pub conformity: Conformity,
    /// What the class asks and what the floor has, line by line.
    pub findings: Vec<FloorFindingOutcome>,
}

/// One thing that a floor class asks, and what the floor has.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FloorFindingOutcome {
    /// `"gap"`, mm, or an F-number, of the whole floor or of one line: `"FF"`, `"FL"`, `"line FF"`,
    /// `"line FL"`.
    pub what: String,
    /// What was found; none where the readings do not tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<f64>,
    /// What is allowed: at most, for a gap; at least, for an F-number.
    pub limit: f64,
    /// Whether it is kept; none where the readings do not tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub met: Option<bool>,
    /// The points that it was found at: for a gap, the two that the edge rests on and the one between
    /// them; for an F-number, those of the line, or none for the whole floor.
    pub points: Vec<String>,
}

/// Notes what keeps a stage from telling of a floor.
pub(super) fn check(stage: &str, has_stacks: bool, found: &mut Problems) {
    let field = format!("{stage}.floor");
    if stage == "slates" {
        let got = "a class of floors among slates";
        found.add(ProblemKind::Value, &field, got, "none: legs stand on a floor");
    }
    if has_stacks {
        let got = "a class, and stacks in place";
        let expected = "none: what was read is the tops of the stacks and not the floor";
        found.add(ProblemKind::Value, &field, got, expected);
    }
}

/// Holds the floor under legs against a class, by what was read of it.
pub(super) fn outcome(
    class: FloorClass,
    points: &[&Point],
    surveyed: &Surveyed,
    line_width: Length,
    rule: DecisionRule,
) -> Result<FloorOutcome, Error> {
    let xy: Vec<_> = points.iter().map(|point| [point.x.mm(), point.y.mm()]).collect();
    let z: Vec<_> = surveyed.heights.iter().map(|height| height.height.mm()).collect();
    let covariance_mm2 = surveyed.covariance_mm2.as_deref();
    let exact = vec![0.0; z.len() * z.len()];
    let covariance = covariance_mm2.unwrap_or(&exact);
    let verdict = assess_floor(&xy, &z, covariance, class, line_width.mm(), rule)?;
    let by_readings = |number: f64| covariance_mm2.map(|_| number);
    let finding = |finding: FloorFinding| FloorFindingOutcome {
        what: finding.what.to_owned(),
        found: finding.found.is_finite().then_some(finding.found),
        limit: finding.limit,
        met: finding.met,
        points: finding.points.iter().map(|&at| points[at].id.clone()).collect(),
    };
    Ok(FloorOutcome {
        class,
        met: verdict.meets_limits,
        probability: by_readings(verdict.probability),
        probability_error: by_readings(verdict.probability_error),
        conformity: verdict.conformity,
        findings: verdict.findings.into_iter().map(finding).collect(),
    })
}
