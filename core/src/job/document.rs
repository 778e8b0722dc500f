//! What a job says, and how it is read and written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::ball::RollingBall;
use super::estimate::EstimateBlock;
use super::expected::ExpectedHeights;
use super::lines::{LevelGrid, LevelLine};
use super::outcome::JobOutcome;
use super::plates::Plate;
use super::schema;
use super::slates::{SlatePiece, TestLoad};
use super::visit::Visit;
use crate::error::{Error, ProblemKind};
use crate::length::Length;
use crate::limits::{Limits, Preset};
use crate::plane::FloorClass;
use crate::points::{self, Point};
use crate::shim::PlanOptions;
use crate::stock::{MOST_KINDS, Shim, StockIs};
use crate::survey::{self, Reading, SurveySettings};
use crate::units::Units;
use crate::verify::{DecisionRule, Trust};

/// The document of a job: what is on site, what was read, what counts as level, and, after a run,
/// what came out.
///
/// A run plans the legs first and then the slates, with the stock that the legs leave. A job may
/// have either stage, both, or none where it has plates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// The version of the document, which is 1.
    #[schemars(extend("const" = Job::VERSION))]
    pub version: u32,
    /// The title of the sheet and the picture.
    #[serde(default)]
    pub title: String,
    /// The units of the sheet and the picture. The default is both.
    #[serde(default, skip_serializing_if = "Units::is_default")]
    pub units: Units,
    /// The shims in the van. A job with a stage needs at least one kind.
    #[serde(default)]
    #[schemars(length(max = MOST_KINDS))]
    pub stock: Vec<Shim>,
    /// What the counts of the stock mean where stacks are in place. The default is what is left on
    /// hand beside the pieces in place.
    #[serde(default, skip_serializing_if = "StockIs::is_default")]
    pub stock_is: StockIs,
    /// Shims that could be bought where the stock does not suffice. Their counts do not matter. The
    /// default is more of the kinds in the stock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(max = MOST_KINDS))]
    pub catalogue: Option<Vec<Shim>>,
    /// The legs and the slate points, by their positions in plan.
    #[serde(default)]
    #[schemars(length(max = Job::MOST_POINTS))]
    pub points: Vec<Point>,
    /// The readings. Each point of a stage needs one: a leg point a reading of the floor, a slate
    /// point a reading of the bed as it was laid, without shims.
    #[serde(default)]
    #[schemars(length(max = Job::MOST_READINGS))]
    pub readings: Vec<Reading>,
    /// Lines of level steps. A run turns each step into a reading and appends it to the readings:
    /// first the lines, in their order, then the grids.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Job::MOST_LINES))]
    pub lines: Vec<LevelLine>,
    /// Grids of level steps. A run turns each step into a reading, first along the rows, then
    /// across them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Job::MOST_LINES))]
    pub grids: Vec<LevelGrid>,
    /// What else is known of the readings. All readings that name a point of a stage are adjusted
    /// together.
    #[serde(default, skip_serializing_if = "is_default")]
    pub survey: SurveySettings,
    /// Readings that could be taken next. Their values do not matter, their uncertainties do. Each
    /// stage reports what the candidates that name its points would do for its verdict.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Job::MOST_CANDIDATES))]
    pub candidates: Vec<Reading>,
    /// The stage that shims the legs on the floor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub legs: Option<Stage>,
    /// The stage that shims the slates on the frame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slates: Option<Stage>,
    /// Surface plates whose flatness is to be computed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Job::MOST_PLATES))]
    pub plates: Vec<Plate>,
    /// The visit around the levelling: room, way in, frame, consent, steps.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub visit: Option<Visit>,
    /// An estimate of the legs on a floor that nobody has measured. It needs no readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estimate: Option<EstimateBlock>,
    /// Whatever you keep with the job. A run leaves it as it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meta: Option<Value>,
    /// What came out. A run writes it; the next run ignores it. Parts that a later version wrote are
    /// left out and listed in its `unread`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("readOnly" = true))]
    pub outcome: Option<JobOutcome>,
}

/// One stage of a job: what counts as level, how to plan, and what is already in place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stage {
    /// What counts as level.
    #[serde(default)]
    pub limits: Limits,
    /// A published document of limits. It supplies every limit that the stage does not state.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub preset: Option<Preset>,
    /// How to choose the plan.
    #[serde(default)]
    pub options: PlanOptions,
    /// The rule by which the verdict on the limits is reached.
    #[serde(default, skip_serializing_if = "is_default_rule")]
    pub decision: DecisionRule,
    /// How far readings that contradict each other are trusted.
    #[serde(default, skip_serializing_if = "Trust::is_default")]
    pub trust: Trust,
    /// What the plan of the visit before predicted of the heights that are read now. It is combined with
    /// the readings, so that a bed that was just levelled is not judged as if nothing were known of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected: Option<ExpectedHeights>,
    /// Whether the outcome holds what the plan predicts of the heights, to be the `expected` of the job of
    /// the next visit. The default is false.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub write_prediction: bool,
    /// Pairs of slate points, by id, on the two sides of a joint. Legs have none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Job::MOST_LIMITS))]
    pub joints: Vec<[String; 2]>,
    /// Limits on points of the stage that are named: a pair, or a line of your own.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Job::MOST_LIMITS))]
    pub named_limits: Vec<NamedPoints>,
    /// Kinds of the stock that may go under some points only.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = MOST_KINDS))]
    pub only_under: Vec<ShimPoints>,
    /// The stacks in place, where this is not the first pass. Points that are not named are bare.
    /// The readings are then readings of the tops as they stand, and the pieces in place do not
    /// count as pieces in the van.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(max = Job::MOST_POINTS))]
    pub placed: Option<Vec<PlacedStack>>,
    /// The slate pieces in the order of laying. The default is from the middle of the bed outwards,
    /// the centre piece first (common practice).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Job::MOST_PIECES))]
    pub laying: Vec<String>,
    /// The slate pieces as elastic plates. A run reports how each bears on the stacks of the plan:
    /// forces, loose shims, sag and stress. Legs have none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Job::MOST_PIECES))]
    pub pieces: Vec<SlatePiece>,
    /// A load by which to try the finished bed on paper. It stands on one of the pieces.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub test_load: Option<TestLoad>,
    /// The class of evenness to hold the floor under the legs against, by the line width of the
    /// limits and the decision rule of the stage. Slates have none, nor do legs with stacks in
    /// place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor: Option<FloorClass>,
    /// The ball to simulate on the finished bed. Legs have none, nor does a stage of more than 500
    /// points.
    #[serde(default, skip_serializing_if = "Option::is_none", alias = "play")]
    pub ball: Option<RollingBall>,
}

/// A limit on the difference of height between any two of some points.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NamedPoints {
    /// What a person calls the limit. It stands beside its verdict wherever that is shown. The default
    /// is no name.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// The ids of two or more points.
    #[schemars(length(max = Job::MOST_POINTS))]
    pub points: Vec<String>,
    /// The largest difference allowed: twice a ± limit.
    pub within: Length,
}

/// A kind of the stock that may go under some points only.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShimPoints {
    /// The kind, by its index in the stock, from 0.
    pub shim: usize,
    /// The ids of the points.
    #[schemars(length(max = Job::MOST_POINTS))]
    pub points: Vec<String>,
}

/// A stack that is in place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlacedStack {
    /// The id of the point.
    pub id: String,
    /// The thickness of each piece; of an adjustable piece, its setting. Each piece counts as one
    /// of the first kind in the stock that can have its thickness. A kind that has run out stays in
    /// the stock with the count 0.
    #[schemars(length(max = PlanOptions::MOST_PIECES))]
    pub shims: Vec<Length>,
}

fn is_default(settings: &SurveySettings) -> bool {
    *settings == SurveySettings::default()
}

fn is_default_rule(rule: &DecisionRule) -> bool {
    *rule == DecisionRule::default()
}

impl Job {
    /// The version of the document that this library reads and writes.
    pub const VERSION: u32 = 1;
    /// The most points of a job, legs and slate points together.
    pub const MOST_POINTS: usize = points::MOST_POINTS;
    /// The most readings of a job, the steps of its lines and grids among them.
    pub const MOST_READINGS: usize = survey::MOST_READINGS;
    /// The most lines of level steps, and the most grids.
    pub const MOST_LINES: usize = 1_000;
    /// The most readings that could be taken next.
    pub const MOST_CANDIDATES: usize = 200;
    /// The most set-ups and levels that the readings of a job name.
    pub const MOST_INSTRUMENTS: usize = survey::MOST_INSTRUMENTS;
    /// The most surface plates.
    pub const MOST_PLATES: usize = 100;
    /// The most joints of a stage, and the most limits on named points.
    pub const MOST_LIMITS: usize = 1_000;
    /// The most slate pieces of a stage.
    pub const MOST_PIECES: usize = 100;

    /// Reads a job that has been run from JSON text, with its outcome.
    ///
    /// # Errors
    /// Those of [`from_json`](Self::from_json); a job without an outcome.
    pub fn done_from_json(text: &str) -> Result<Self, Error> {
        let job = Self::from_json(text)?;
        if job.outcome.is_none() {
            let expected = "the outcome of a job that has been run";
            return Err(Error::new(ProblemKind::Document, "outcome", "none", expected));
        }
        Ok(job)
    }

    /// The job as JSON text, indented by two spaces.
    pub fn to_json(&self) -> String {
        // A job has string keys and no number that is not finite, so there is nothing that JSON
        // cannot hold.
        serde_json::to_string_pretty(self).unwrap_or_default()
    }

    /// The JSON Schema of the document (draft 2020-12).
    pub fn json_schema() -> String {
        schema::of::<Self>()
    }
}
