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
    Steps(Vec<f64>),
}

impl Divisions {
    /// The readings, one a step.
    pub fn steps(&self) -> &[f64] {
        match self {
            Self::One(one) => std::slice::from_ref(one),
            Self::Steps(steps) => steps,
        }
    }
}
