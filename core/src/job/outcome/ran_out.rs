//! What a run had to leave out because its budget ran out or its caller stopped it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::error::Error;

/// A step of a stage or of the visit that the budget or the caller cut short.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RanOut {
    /// The stage, `legs` or `slates`, or `visit`.
    pub stage: String,
    /// The step that was cut short.
    pub step: Step,
}

/// A step of the run of a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Step {
    /// The heights. Without them the stage has no result.
    Survey,
    /// Whether the floor is as even as its class asks.
    Floor,
    /// Why no plan meets the limits, and what would help.
    Shortfall,
    /// How sure it is that the limits are met.
    Verdict,
    /// What further readings would do.
    ReadNext,
    /// How the slates bear on their stacks.
    Bearing,
    /// What the finished bed does to a slow ball.
    #[serde(alias = "play")]
    Ball,
    /// Where the table stands in the room, a step of the visit.
    Place,
    /// Whether its pieces get in, a step of the visit.
    WayIn,
    /// The jobs of the estimate, of which fewer were drawn than asked for.
    Estimate,
}

/// The answer of a step, or none and a note of it where the step had to stop.
pub(in crate::job) fn unless_stopped<T>(
    answer: Result<T, Error>,
    step: Step,
    ran_out: &mut Vec<Step>,
) -> Result<Option<T>, Error> {
    match answer {
        Err(error) if error.is_stopped() => {
            ran_out.push(step);
            Ok(None)
        }
        answer => answer.map(Some),
    }
}
