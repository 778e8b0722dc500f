//! How even the floor is.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::plane::{FloorClass, FloorFinding};
use crate::verify::{Conformity, FloorVerdict};

/// Whether the floor is as even as a class of evenness asks, by the readings of the stage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FloorOutcome {
    /// The class of evenness.
    pub class: FloorClass,
    /// Whether the heights as read meet everything that the class asks and the readings can tell. It is
    /// false where the readings tell nothing of it, and `findings` is then empty: a line needs three
    /// points.
    pub met: bool,
    /// The probability that the floor is as even as the class asks. There is none where all heights
    /// count as exact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub probability: Option<f64>,
    /// The standard error of the probability, which a simulation leaves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub probability_error: Option<f64>,
    /// The verdict, by the decision rule of the stage.
    pub conformity: Conformity,
    /// What the class asks and what the floor has, line by line.
    pub findings: Vec<FloorFindingOutcome>,
}

/// One thing that a class of evenness asks, and what the floor has.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FloorFindingOutcome {
    /// What is asked: `"gap"`, in mm, or an F-number of the whole floor (`"FF"`, `"FL"`) or of one
    /// line (`"line FF"`, `"line FL"`).
    pub what: String,
    /// What was found. There is none where the readings cannot tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub found: Option<f64>,
    /// What is allowed: the greatest gap, or the smallest F-number.
    pub limit: f64,
    /// Whether the limit is met as read. There is none where the readings cannot tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub met: Option<bool>,
    /// The ids of the points where it was found. For a gap: the two points that the edge rests on
    /// and the one between them. For an F-number: the points of the line, or none for the whole
    /// floor.
    pub points: Vec<String>,
}

impl FloorOutcome {
    /// A floor of which the readings tell nothing.
    pub(in crate::job) fn untold(class: FloorClass) -> Self {
        let (probability, probability_error) = (None, None);
        let conformity = Conformity::CannotTell;
        Self { class, met: false, probability, probability_error, conformity, findings: Vec::new() }
    }

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
