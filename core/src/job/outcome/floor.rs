//! How even the floor is.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::plane::{FloorClass, FloorFinding};
use crate::verify::{Conformity, FloorVerdict};

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

impl FloorOutcome {
    /// What a verdict on a floor says, by the ids of the points; it has no probability where the
    /// heights are exact.
    pub(in crate::job) fn new(
        class: FloorClass,
        verdict: FloorVerdict,
        exact: bool,
        ids: &[&str],
    ) -> Self {
        let finding = |finding| FloorFindingOutcome::new(finding, ids);
        Self {
            class,
            met: verdict.meets_limits,
            probability: (!exact).then_some(verdict.probability),
            probability_error: (!exact).then_some(verdict.probability_error),
            conformity: verdict.conformity,
            findings: verdict.findings.into_iter().map(finding).collect(),
        }
    }
}

impl FloorFindingOutcome {
    fn new(finding: FloorFinding, ids: &[&str]) -> Self {
        Self {
            what: finding.what.name().to_owned(),
            found: finding.found.is_finite().then_some(finding.found),
            limit: finding.limit,
            met: finding.met,
            points: finding.points.iter().map(|&at| ids[at].to_owned()).collect(),
        }
    }
}
