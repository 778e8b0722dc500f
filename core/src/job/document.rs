//! What a job says, and how it is read and written.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::lines::{LevelGrid, LevelLine};
use super::outcome::JobOutcome;
use super::plates::Plate;
use super::play::RollingBall;
use crate::document::read;
use crate::error::{Error, ProblemKind};
use crate::length::Length;
use crate::limits::{Limits, Preset};
use crate::plane::FloorClass;
use crate::points::Point;
use crate::shim::PlanOptions;
use crate::stock::Shim;
use crate::survey::{Reading, SurveySettings};
use crate::units::Units;
use crate::verify::DecisionRule;

/// A job: what is on site, what was read, what counts as level; and, once run, what came out.
///
/// The legs are levelled first; the slates are then planned with the stock that the legs leave.
/// Either stage may be left out, or both, where there are plates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// Version of the document: 1.
    pub version: u32,
    /// What the sheet is headed with.
    #[serde(default)]
    pub title: String,
    /// The units that the sheet and the picture are written in: both, unless told.
    #[serde(default, skip_serializing_if = "Units::is_default")]
    pub units: Units,
    /// The shims in the van; at least one kind where there is a stage.
    #[serde(default)]
    pub stock: Vec<Shim>,
    /// Shims that could be bought, should the stock not do; counts do not matter here. Unless told,
    /// more of the kinds of the stock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub catalogue: Option<Vec<Shim>>,
    /// Legs and slate points in plan.
    #[serde(default)]
    pub points: Vec<Point>,
    /// What was read. Each point of a stage needs a reading: a leg point that of the floor, a
    /// slate point that of the bed as it was laid, without shims.
    #[serde(default)]
    pub readings: Vec<Reading>,
    /// Lines of level steps. A run writes each step out as a reading, behind the others: first
    /// these, line by line, then those of the grids.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lines: Vec<LevelLine>,
    /// Grids of level steps, each written out along its rows, then across them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub grids: Vec<LevelGrid>,
    /// What else is known of the readings. The readings that name a point of a stage are adjusted
    /// together.
    #[serde(default, skip_serializing_if = "is_default")]
    pub survey: SurveySettings,
    /// Readings that could be taken next; what value they have does not matter. Each stage tells what
    /// those that name its points would do for its verdict.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub candidates: Vec<Reading>,
    /// The stage that shims the legs on the floor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub legs: Option<Stage>,
    /// The stage that shims the slates on the frame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slates: Option<Stage>,
    /// Surface plates to work out, beside the stages.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub plates: Vec<Plate>,
    /// What came out; written by a run, ignored by the next.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outcome: Option<JobOutcome>,
}

/// One stage of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stage {
    /// What counts as level.
    #[serde(default)]
    pub limits: Limits,
    /// A document that says what else does: limits that are not stated are taken from it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub preset: Option<Preset>,
    /// How to choose the plan.
    #[serde(default)]
    pub options: PlanOptions,
    /// How the verdict on the limits is reached.
    #[serde(default, skip_serializing_if = "is_default_rule")]
    pub decision: DecisionRule,
    /// Pairs of slate points, by id, on the two sides of a joint; none among legs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub joints: Vec<[String; 2]>,
    /// Limits on points of the stage that are named: a pair, or a line of one's own.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub named_limits: Vec<NamedPoints>,
    /// Kinds of the stock that may go under some points only.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub only_under: Vec<ShimPoints>,
    /// The stacks in place, where this is not the first pass; points that are not named are bare.
    /// The readings are then those of the tops as they stand, and pieces in place are not among
    /// those in the van.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub placed: Option<Vec<PlacedStack>>,
    /// The slate pieces in the order in which they are laid. Unless told: from the middle of the
    /// bed outwards, the centre piece first (common practice).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub laying: Vec<String>,
    /// A class of evenness to hold the floor under the legs against, by the line width of the limits and
    /// the decision of the stage; none among slates, nor where stacks are in place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub floor: Option<FloorClass>,
    /// A ball by which to tell what the bed, once the plan is worked by, does to play; none among
    /// legs, nor on more than 500 points.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub play: Option<RollingBall>,
}

/// The largest difference of height between any of some points.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NamedPoints {
    /// Ids of two or more points.
    pub points: Vec<String>,
    /// The largest difference that is allowed: twice a ± limit.
    pub within: Length,
}

/// A kind of the stock that may go under some points only.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShimPoints {
    /// The kind, by its place in the stock, from 0 on.
    pub shim: usize,
    /// Ids of the points.
    pub points: Vec<String>,
}

/// A stack that is in place.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlacedStack {
    /// Id of the point.
    pub id: String,
    /// Thickness of each piece, of an adjustable one as it is set. Each is of the first kind of the
    /// stock that can be so thick; a kind that has run out stays in the stock with the count 0.
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

    /// Reads a job from JSON text.
    ///
    /// # Errors
    /// Text that is not JSON, another version, a field that is missing, unknown or of the wrong
    /// type; each named with its place.
    pub fn from_json(text: &str) -> Result<Self, Error> {
        // Some editors put a byte-order mark in front.
        let text = text.trim_start_matches('\u{feff}');
        if !text.trim_start().starts_with('{') {
            let start: String = text.chars().take(20).collect();
            let expected = "the text of a job, a JSON object (not the name of its file)";
            return Err(Error::new(ProblemKind::Document, "job", format!("{start:?}"), expected));
        }
        /// The version alone, whatever else there is.
        #[derive(Deserialize)]
        struct Head {
            #[serde(default)]
            version: Value,
        }
        let head: Head = read(text, "job")?;
        if head.version.is_null() {
            let expected = format!("the number {}", Self::VERSION);
            return Err(Error::new(ProblemKind::Document, "version", "none", expected));
        }
        if head.version != Self::VERSION {
            let expected = format!("{}", Self::VERSION);
            return Err(Error::new(ProblemKind::Version, "version", head.version, expected));
        }
        read(text, "job")
    }

    /// The job as JSON text, indented by two spaces.
    pub fn to_json(&self) -> String {
        // A job has string keys and no number that is not finite, so there is nothing that JSON
        // cannot hold.
        serde_json::to_string_pretty(self).unwrap_or_default()
    }

    /// The JSON Schema of the document (draft 2020-12).
    pub fn json_schema() -> String {
        let schema = schemars::schema_for!(Self);
        serde_json::to_string_pretty(&schema).unwrap_or_default()
    }
}
