//! What the bubble of a spirit level shows.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Divisions that a bubble shows: one number, or one for each step along the line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Divisions {
    /// One reading.
    One(f64),
    /// One reading a step, from the first to the last.
    Steps(#[schemars(length(max = Divisions::MOST_STEPS))] Vec<f64>),
}

impl Divisions {
    /// The most steps of one reading of a job.
    pub const MOST_STEPS: usize = 1_000;

    /// The readings, one a step.
    pub fn steps(&self) -> &[f64] {
        match self {
            Self::One(one) => std::slice::from_ref(one),
            Self::Steps(steps) => steps,
        }
    }
}
