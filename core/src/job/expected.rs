//! What a plan predicted of heights, from the outcome of one job to the next.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::length::Length;

/// Heights that a plan predicted, with what is known of their errors.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ExpectedHeights {
    /// Ids of the points of the stage, each once.
    pub points: Vec<String>,
    /// Height of each of them, mm; only differences count.
    pub heights_mm: Vec<f64>,
    /// Covariance of the heights, mm², row by row in the order of `points`.
    pub covariance_mm2: Vec<f64>,
    /// By how much each point may have settled since, as a standard uncertainty. The default is 0.
    #[serde(default)]
    pub settlement: Length,
}
