//! Whether limits are met, how sure that is, and what further readings would do.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::limits::LimitKind;
use crate::verify::{
    Axis, Basis, Beforehand, Conformity, DecisionRule, Finding, NextReading, NextReadings,
    NextStatus, SlopeFinding, Verdict, VerdictReason,
};

/// Whether a limit is met over the points that it binds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FindingOutcome {
    /// The kind of limit.
    pub limit: LimitKind,
    /// The name that the job gives to a limit on named points. It is left out where it has none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The ids of the points that the limit binds.
    pub points: Vec<String>,
    /// The difference between the highest and the lowest of the points, mm.
    pub found_mm: f64,
    /// The largest difference allowed, mm: twice a ± limit, once a joint step.
    pub allowed_mm: f64,
    /// What is left to the limit, mm. It is below zero where the limit is exceeded.
    #[serde(default)]
    pub margin_mm: f64,
    /// Whether the limit is met as read, without regard to uncertainty.
    pub met: bool,
    /// The standard uncertainty of the difference, mm. There is none where everything counts as
    /// exact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sigma_mm: Option<f64>,
    /// The probability that this limit by itself is met. There is none where everything counts as
    /// exact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub probability: Option<f64>,
    /// The verdict on this limit by itself. There is none where everything counts as exact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conformity: Option<Conformity>,
}

/// How sure it is that the limits are met.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VerdictOutcome {
    /// The verdict on all limits together.
    pub conformity: Conformity,
    /// Why the verdict is `cannot-tell` whatever the probability, the first reason first; or what was
    /// overruled.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub reasons: Vec<VerdictReason>,
    /// The probability that all limits are met.
    pub probability: f64,
    /// The standard error of the probability, which a simulation with fixed draws leaves. It is 0
    /// where the probability is computed by formula.
    pub probability_error: f64,
    /// What the probability takes to be known of the heights before they were read.
    #[serde(default, skip_serializing_if = "Beforehand::is_nothing")]
    pub beforehand: Beforehand,
    /// What the verdict rests on.
    pub basis: Basis,
    /// The rule by which the verdict is reached.
    pub decision: DecisionRule,
    /// The verdict on the slope of the target, for each axis along which the limits allow one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub slopes: Vec<SlopeOutcome>,
}

/// Whether a limit on the slope of the target is met.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SlopeOutcome {
    /// The axis of the slope.
    pub axis: Axis,
    /// The least slope along the axis above which the limits on heights are met, mm/m. It is null
    /// where no slope meets them.
    pub found_mm_per_m: Option<f64>,
    /// The greatest slope allowed, mm/m.
    pub allowed_mm_per_m: f64,
    /// Whether the least slope is within the allowed one as read, without regard to uncertainty.
    pub met: bool,
    /// The probability that the limit is met.
    pub probability: f64,
    /// The verdict on this limit.
    pub conformity: Conformity,
}

/// What further readings would do for the verdict.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NextReadingsOutcome {
    /// The probability of being wrong about the limits by the readings at hand.
    pub doubt: f64,
    /// Whether the readings are enough: the verdict is settled.
    pub enough: bool,
    /// Whether to read on; null in outcomes of older versions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub status: Option<NextStatus>,
    /// The candidates, the one that leaves the least doubt first.
    pub readings: Vec<NextReading>,
}

impl FindingOutcome {
    /// What was found of a limit as the tops are, with how sure that is where it is not exact.
    pub(in crate::job) fn new(
        finding: &Finding,
        sure: Option<&Finding>,
        name: Option<&str>,
        ids: &[&str],
    ) -> Self {
        Self {
            limit: finding.limit,
            name: name.map(str::to_owned),
            points: finding.points.iter().map(|&at| ids[at].to_owned()).collect(),
            found_mm: finding.found.mm(),
            allowed_mm: finding.allowed.mm(),
            margin_mm: finding.margin().mm(),
            met: finding.meets_limits,
            sigma_mm: sure.map(|sure| sure.sigma_mm),
            probability: sure.map(|sure| sure.probability),
            conformity: sure.map(|sure| sure.conformity),
        }
    }
}

impl VerdictOutcome {
    /// A verdict that was reached by a rule.
    pub(in crate::job) fn new(verdict: &Verdict, decision: DecisionRule) -> Self {
        Self {
            conformity: verdict.conformity,
            probability: verdict.probability,
            probability_error: verdict.probability_error,
            reasons: verdict.reasons.clone(),
            beforehand: verdict.beforehand,
            basis: verdict.basis,
            decision,
            slopes: verdict.slopes.iter().map(SlopeOutcome::new).collect(),
        }
    }
}

impl SlopeOutcome {
    fn new(slope: &SlopeFinding) -> Self {
        Self {
            axis: slope.axis,
            found_mm_per_m: Some(slope.found_mm_per_m).filter(|found| found.is_finite()),
            allowed_mm_per_m: slope.allowed_mm_per_m,
            met: slope.meets_limits,
            probability: slope.probability,
            conformity: slope.conformity,
        }
    }
}

impl NextReadingsOutcome {
    /// What candidates would do, by where each stands in the job.
    pub(in crate::job) fn new(next: &NextReadings, in_job: &[usize]) -> Self {
        let reading = |reading: &NextReading| NextReading {
            candidate: in_job[reading.candidate],
            ..*reading
        };
        Self {
            doubt: next.doubt,
            enough: next.enough(),
            status: Some(next.status),
            readings: next.readings.iter().map(reading).collect(),
        }
    }
}
