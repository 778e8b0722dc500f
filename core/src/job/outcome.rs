//! What a run of a job gives: plain values for people and programs, in millimetres.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::floor::FloorOutcome;
use crate::length::Length;
use crate::limits::LimitKind;
use crate::roll::Play;
use crate::shim::Status;
use crate::survey::UnionJackLines;
use crate::verify::{Axis, Basis, Conformity, DecisionRule};

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

/// The height of a point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PointHeight {
    /// Id of the point.
    pub id: String,
    /// Its height, mm.
    pub height_mm: f64,
    /// Standard uncertainty, mm; null where no reading states one.
    pub sigma_mm: Option<f64>,
}

/// How well the readings of a stage check each other. Readings go by their index in the job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SurveyOutcome {
    /// Degrees of freedom: how many readings there are beyond those needed.
    pub dof: usize,
    /// Sum of the weighted squares of the residuals over `dof`; null without any.
    pub variance_factor: Option<f64>,
    /// Global test: the probability of residuals at least so large if the uncertainties are right
    /// and no reading is mistaken; null without degrees of freedom.
    pub p_value: Option<f64>,
    /// The critical value of the test for mistaken readings; null where there is none.
    pub critical: Option<f64>,
    /// Readings that the others speak against, worst first.
    pub suspects: Vec<usize>,
    /// Readings left out.
    pub left_out: Vec<usize>,
    /// Reading by reading.
    pub readings: Vec<ReadingOutcome>,
    /// The loops of readings that close worst for their uncertainty, at most 20, worst first.
    pub closures: Vec<LoopOutcome>,
    /// Heights of the set-ups, mm.
    pub setups: Vec<OffsetOutcome>,
    /// Zero errors of the levels, mm/m.
    pub zero_errors: Vec<OffsetOutcome>,
}

/// How well the others check one reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingOutcome {
    /// Index of the reading.
    pub reading: usize,
    /// Adjusted less read, mm.
    pub residual_mm: f64,
    /// Redundancy number, 0 to 1.
    pub redundancy: f64,
    /// Baarda's w; null where nothing checks the reading.
    pub normalised: Option<f64>,
    /// Pope's τ; null where nothing checks the reading.
    pub tau: Option<f64>,
    /// The smallest mistake that the test finds with the stated power, mm; null where nothing
    /// checks the reading.
    pub detectable_mm: Option<f64>,
}

/// A loop of readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LoopOutcome {
    /// Indices of its readings, in order.
    pub readings: Vec<usize>,
    /// What it fails to close by, mm.
    pub mm: f64,
    /// Standard uncertainty of that, mm.
    pub sigma_mm: f64,
}

/// What the readings tell of an instrument.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OffsetOutcome {
    /// Name of the set-up or level.
    pub name: String,
    /// Its height, mm, or its zero error, mm/m.
    pub value: f64,
    /// Standard uncertainty of that.
    pub sigma: f64,
}

/// How points lie: the least-squares plane through them and what they do about it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Surface {
    /// Slope of the plane along the bed, mm/m.
    pub slope_along_mm_per_m: f64,
    /// Slope of the plane across the bed, mm/m.
    pub slope_across_mm_per_m: f64,
    /// Peak-to-valley about the plane, mm.
    pub flatness_mm: f64,
    /// Largest distance of a point from the best level line, mm: half the difference between the
    /// highest and the lowest.
    pub worst_mm: f64,
}

/// A plan as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanOutcome {
    /// How the search ended.
    pub status: Status,
    /// Pieces in all.
    pub pieces: usize,
    /// Proven lower bound of the first goal, in its own unit; see
    /// [`ShimPlan::bound`](crate::ShimPlan::bound).
    pub bound: f64,
    /// The level that the supports are brought to, mm.
    pub target_mm: f64,
    /// Points that have to be lifted: whose stack is not what is in place.
    pub lifted: Vec<String>,
    /// Pieces to put in, take out or set anew.
    pub moved: usize,
    /// The slope of the target along, mm/m; 0 where the limits allow none.
    pub slope_along_mm_per_m: f64,
    /// The slope of the target across, mm/m.
    pub slope_across_mm_per_m: f64,
    /// Supports that no stack from the stock brings within the limits.
    pub unreachable: Vec<String>,
    /// Search nodes spent.
    pub nodes: u64,
}

/// The stack of one support.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StackOutcome {
    /// Id of the point.
    pub id: String,
    /// The slate piece that it belongs to; null for a leg.
    pub piece: Option<String>,
    /// Thickness of each piece, thickest first, an adjustable one last and as it is set; none where
    /// the support is bare.
    pub shims: Vec<Length>,
    /// What is in place, the same way; null in a first pass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before: Option<Vec<Length>>,
    /// What the stack lifts by, mm.
    pub lift_mm: f64,
    /// Height on the stack, mm.
    pub top_mm: f64,
    /// Height on the stack above the target, mm.
    pub deviation_mm: f64,
}

/// What becomes of one kind of the stock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StockOutcome {
    /// Thickness of the kind, of an adjustable one its least,
    pub thickness: Length,
    /// and its greatest; null for a plain one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<Length>,
    /// Pieces that the plan has, those in place included.
    pub used: u32,
    /// Pieces left; null where there are as many as it takes.
    pub left: Option<u32>,
}

/// Whether a limit is met over the points that it binds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FindingOutcome {
    /// Which limit.
    pub limit: LimitKind,
    /// Ids of the points that it binds.
    pub points: Vec<String>,
    /// The difference between the highest and the lowest of them, mm.
    pub found_mm: f64,
    /// The largest difference that is allowed, mm: twice a ± limit, once a joint step.
    pub allowed_mm: f64,
    /// What is left to the limit, mm: below zero beyond it.
    #[serde(default)]
    pub margin_mm: f64,
    /// Whether the limit is met.
    pub met: bool,
    /// Standard uncertainty of the difference, mm; none, as what follows, where all counts as exact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sigma_mm: Option<f64>,
    /// The probability that this limit by itself is met.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub probability: Option<f64>,
    /// The verdict on this limit by itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conformity: Option<Conformity>,
}

/// How sure it is that the limits are met.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VerdictOutcome {
    /// The verdict on all limits together.
    pub conformity: Conformity,
    /// The probability that all limits are met.
    pub probability: f64,
    /// Standard error of that number, which a simulation with fixed draws leaves; 0 where it is
    /// computed outright.
    pub probability_error: f64,
    /// What the verdict rests on.
    pub basis: Basis,
    /// How it is reached.
    pub decision: DecisionRule,
    /// One for each axis along which the limits allow the target to slope.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub slopes: Vec<SlopeOutcome>,
}

/// Whether a limit on the slope of the target is met.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SlopeOutcome {
    /// Along which axis.
    pub axis: Axis,
    /// The least slope along it above which the limits on heights are met, mm/m; null where they are
    /// met above none.
    pub found_mm_per_m: Option<f64>,
    /// The greatest slope that is allowed, mm/m.
    pub allowed_mm_per_m: f64,
    /// Whether the one is at most the other.
    pub met: bool,
    /// The probability of that.
    pub probability: f64,
    /// The verdict on this limit.
    pub conformity: Conformity,
}

/// What further readings would do for the verdict.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NextReadingsOutcome {
    /// The probability of being wrong about the limits by the readings that there are.
    pub doubt: f64,
    /// Whether no candidate is likely to change the verdict.
    pub enough: bool,
    /// The candidates, the one that leaves the least doubt first.
    pub readings: Vec<NextReadingOutcome>,
}

/// What a further reading would do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NextReadingOutcome {
    /// Index of the candidate.
    pub candidate: usize,
    /// The doubt that it is expected to leave.
    pub doubt: f64,
    /// The probability that the verdict is another one after it.
    pub changes: f64,
}

/// Why no plan meets the limits, and what would help.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShortfallOutcome {
    /// Ids of points that no plan levels by themselves, held to the limits below alone.
    pub points: Vec<String>,
    /// The limits that stand in the way.
    pub limits: Vec<ConflictLimitOutcome>,
    /// Thicknesses of the kinds of which there are too few.
    pub scarce: Vec<Length>,
    /// Whether the most pieces under one point stand in the way.
    pub max_pieces: bool,
    /// Whether the thickest stack stands in the way.
    pub max_stack: bool,
    /// Whether nothing of this can be left out.
    pub minimal: bool,
    /// The cheapest pieces that make a plan possible; null where nothing of the catalogue does.
    pub addition: Option<AdditionOutcome>,
}

/// A limit that stands in the way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ConflictLimitOutcome {
    /// Which limit.
    pub limit: LimitKind,
    /// Ids of the points that it binds.
    pub points: Vec<String>,
    /// The largest difference that it allows, mm.
    pub allowed_mm: f64,
}

/// Pieces to get.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AdditionOutcome {
    /// Pieces of each kind.
    pub pieces: Vec<AddedShim>,
    /// The sum of their prices, or where no kind has one, their number.
    pub price: u64,
    /// Whether no other pieces that make a plan possible cost less.
    pub proven: bool,
}

/// How flat a surface plate is: heights about the plane through its centre in which both diagonals
/// lie level from end to end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlateOutcome {
    /// What the plate is called.
    pub name: String,
    /// Heights of the stations of each line, mm, one more than it has readings.
    pub lines_mm: UnionJackLines,
    /// Where each centre line misses the centre, mm; above it where more than zero.
    pub closures_mm: CentreLines,
    /// The highest station above the lowest, mm.
    pub flatness_mm: f64,
}

/// A number for each centre line of a plate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CentreLines {
    /// From east to west.
    pub e_w: f64,
    /// From north to south.
    pub n_s: f64,
}

/// Pieces of one kind to get.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AddedShim {
    /// Thickness of the kind.
    pub thickness: Length,
    /// How many.
    pub count: u32,
}
