//! What a run of a job gives: plain values for people and programs, in millimetres.

mod floor;
mod plan;
mod plate;
mod shortfall;
mod survey;
mod verdict;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use floor::{FloorFindingOutcome, FloorOutcome};
pub use plan::{PlanOutcome, PointHeight, StackOutcome, StockOutcome, Surface};
pub use plate::{CentreLines, PlateOutcome};
pub use shortfall::{AddedShim, AdditionOutcome, ConflictLimitOutcome, ShortfallOutcome};
pub use survey::{ReadingOutcome, SurveyOutcome};
pub use verdict::{FindingOutcome, NextReadingsOutcome, SlopeOutcome, VerdictOutcome};

use crate::roll::Play;

/// What came out of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JobOutcome {
    /// The legs on the floor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub legs: Option<StageOutcome>,
    /// The slates on the frame; none either where the legs could not be levelled, since they come
    /// first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slates: Option<StageOutcome>,
    /// The surface plates, in the job's order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub plates: Vec<PlateOutcome>,
    /// What anyone who lifts by this plan must know.
    pub cautions: Vec<String>,
}

/// What came out of one stage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StageOutcome {
    /// The heights that the plan starts from, in the order of the job's points.
    pub heights: Vec<PointHeight>,
    /// How well the readings of the stage check each other; none where they are just a height
    /// typed in for each point.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub survey: Option<SurveyOutcome>,
    /// The support or supports that stand highest.
    pub highest: Vec<String>,
    /// How the points lie before shimming.
    pub before: Surface,
    /// How they lie by the plan.
    pub after: Surface,
    /// Whether the floor is as even as a class asks; none unless asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor: Option<FloorOutcome>,
    /// What they do to slow balls by the plan; none unless asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub play: Option<Play>,
    /// The plan as a whole.
    pub plan: PlanOutcome,
    /// The plan support by support, in the order in which a crew works: slate by slate as they
    /// are laid, else in the order of the job's points.
    pub stacks: Vec<StackOutcome>,
    /// What a person should look at before working by the plan.
    pub notes: Vec<String>,
    /// What the plan takes from the stock and what it leaves, in the order of the stock; a plan
    /// that does not meet the limits takes nothing.
    pub stock: Vec<StockOutcome>,
    /// Whether the plan's tops meet all limits.
    pub met: bool,
    /// Each limit over each set of points that it binds.
    pub limits: Vec<FindingOutcome>,
    /// How sure it is that the limits are met once the plan is worked by; none where all heights and
    /// pieces count as exact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<VerdictOutcome>,
    /// What further readings would do; none without candidates.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read_next: Option<NextReadingsOutcome>,
    /// Why no plan meets the limits and what would help; null unless the plan is infeasible.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shortfall: Option<ShortfallOutcome>,
}
