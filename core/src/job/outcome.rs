//! What a run of a job gives: plain values for people and programs, in millimetres.

mod estimate;
mod floor;
mod plan;
mod plate;
mod ran_out;
mod shortfall;
mod slate;
mod survey;
mod verdict;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use estimate::{
    ActualFigureOutcome, ActualOutcome, DistributionOutcome, EstimateOutcome, HeaviestLiftOutcome,
    LegLiftOutcome, LegLoadOutcome, MaterialOutcome, OperationOutcome, ReadingsNeededOutcome,
    ReasonOutcome, SlateWeightOutcome, WeightsOutcome,
};
pub(super) use estimate::{ActualLegs, ReadyEstimate};
pub use floor::{FloorFindingOutcome, FloorOutcome};
pub use plan::{PlanOutcome, PointHeight, StackOutcome, StockOutcome, Surface};
pub use plate::{CentreLines, PlateOutcome};
pub(in crate::job) use ran_out::unless_stopped;
pub use ran_out::{RanOut, Step};
pub use shortfall::{AddedShim, AdditionOutcome, ConflictLimitOutcome, ShortfallOutcome};
pub use slate::{JointStepOutcome, SlateOutcome, SlateSupportOutcome, TestLoadOutcome};
pub use survey::{ReadingOutcome, SurveyOutcome, SuspectGroupOutcome};
pub use verdict::{FindingOutcome, NextReadingsOutcome, SlopeOutcome, VerdictOutcome};

use super::expected::ExpectedHeights;
use super::visit::VisitOutcome;
use crate::roll::BallRolls;

/// What came out of a job.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JobOutcome {
    /// The result for the legs on the floor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub legs: Option<StageOutcome>,
    /// The result for the slates on the frame. There is none where the legs could not be levelled,
    /// since the legs come first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slates: Option<StageOutcome>,
    /// The results for the surface plates, in the order of the job.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub plates: Vec<PlateOutcome>,
    /// What the budget or the caller cut short. A plan that was cut short says so in its status.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ran_out: Vec<RanOut>,
    /// The result of the visit around the levelling. There is none unless the job has a visit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub visit: Option<VisitOutcome>,
    /// What the legs will take on a floor that nobody has measured. There is none unless the job has an
    /// estimate.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estimate: Option<EstimateOutcome>,
    /// The parts of the outcome that the document had before, by path, that this version does not
    /// know: a later version wrote them. They are left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unread: Vec<String>,
    /// What everyone who lifts by this plan must know.
    pub cautions: Vec<String>,
}

/// What came out of one stage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StageOutcome {
    /// The heights that the plan starts from, in the order of the job's points.
    pub heights: Vec<PointHeight>,
    /// How well the readings of the stage check each other. There is none where the readings are
    /// just a height typed in for each point.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub survey: Option<SurveyOutcome>,
    /// The ids of the supports that stand highest.
    pub highest: Vec<String>,
    /// How the points lie before shimming.
    pub before: Surface,
    /// How the points lie once the plan is carried out; where all pieces are described, how their whole
    /// surface lies.
    pub after: Surface,
    /// What the plan predicts of the heights once it is carried out, where the stage asks for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prediction: Option<ExpectedHeights>,
    /// Whether the floor is as even as the class that the stage names.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor: Option<FloorOutcome>,
    /// What the finished bed does to a slow ball, where the stage asks for it.
    #[serde(default, skip_serializing_if = "Option::is_none", alias = "play")]
    pub ball: Option<BallRolls>,
    /// What each slate does on the stacks of the plan, for the pieces that the stage describes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub slates: Vec<SlateOutcome>,
    /// The largest step along each joint of two pieces that the stage describes, from edge to edge as both
    /// lie.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub joint_steps: Vec<JointStepOutcome>,
    /// The plan as a whole.
    pub plan: PlanOutcome,
    /// The plan support by support, in the order of work: slate by slate in the order of laying,
    /// legs in the order of the job's points.
    pub stacks: Vec<StackOutcome>,
    /// What a person should look at before carrying out the plan.
    pub notes: Vec<String>,
    /// What the plan takes from the stock and what it leaves, in the order of the stock. A plan
    /// that does not meet the limits takes nothing.
    pub stock: Vec<StockOutcome>,
    /// Whether the tops of the plan meet all limits as read, without regard to uncertainty. The
    /// verdict takes uncertainty into account.
    pub met: bool,
    /// Each limit over each set of points that it binds.
    pub limits: Vec<FindingOutcome>,
    /// How sure it is that the limits are met once the plan is carried out. There is none where all
    /// heights and pieces count as exact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<VerdictOutcome>,
    /// What further readings would do. There is none without candidates.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read_next: Option<NextReadingsOutcome>,
    /// Why no plan meets the limits and what would help. There is none unless the plan is
    /// infeasible.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shortfall: Option<ShortfallOutcome>,
}
