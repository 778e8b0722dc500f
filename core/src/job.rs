//! The document that holds a whole job, as versioned JSON.

mod outcome;
mod pipeline;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

pub use outcome::{
    FindingOutcome, JobOutcome, PlanOutcome, PointHeight, StackOutcome, StageOutcome, StockOutcome,
    Surface,
};

use crate::error::{Error, ProblemKind};
use crate::limits::Limits;
use crate::points::Point;
use crate::shim::PlanOptions;
use crate::stock::Shim;
use crate::survey::Reading;

/// A job: what is on site, what was read, what counts as level; and, once run, what came out.
///
/// The legs are levelled first; the slates are then planned with the stock that the legs leave.
/// Either stage may be left out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// Version of the document: 1.
    pub version: u32,
    /// What the sheet is headed with.
    #[serde(default)]
    pub title: String,
    /// The shims in the van.
    pub stock: Vec<Shim>,
    /// Legs and slate points in plan.
    pub points: Vec<Point>,
    /// What was read. Each point of a stage needs a reading: a leg point that of the floor, a
    /// slate point that of the bed as it was laid, without shims.
    pub readings: Vec<Reading>,
    /// The stage that shims the legs on the floor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub legs: Option<Stage>,
    /// The stage that shims the slates on the frame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slates: Option<Stage>,
    /// What came out; written by a run, ignored by the next.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outcome: Option<JobOutcome>,
}

/// One stage of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stage {
    /// What counts as level.
    pub limits: Limits,
    /// How to choose the plan.
    #[serde(default)]
    pub options: PlanOptions,
    /// Pairs of slate points, by id, on the two sides of a joint; none among legs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub joints: Vec<[String; 2]>,
    /// The slate pieces in the order in which they are laid. Unless told: from the middle of the
    /// bed outwards, the centre piece first (common practice).
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub laying: Vec<String>,
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
        let document: Value = serde_json::from_str(text)
            .map_err(|error| Error::new(ProblemKind::Document, "job", error, "a JSON document"))?;
        match document.get("version") {
            Some(version) if *version == Self::VERSION => {}
            Some(version) => {
                let expected = format!("{}", Self::VERSION);
                return Err(Error::new(ProblemKind::Version, "version", version, expected));
            }
            None => {
                let expected = format!("an object with \"version\": {}", Self::VERSION);
                return Err(Error::new(ProblemKind::Document, "job", kind_of(&document), expected));
            }
        }
        serde_path_to_error::deserialize(document).map_err(|error| {
            let field = match error.path().to_string().as_str() {
                "." => "job".to_owned(),
                path => path.to_owned(),
            };
            Error::new(
                ProblemKind::Document,
                field,
                error.inner(),
                "what the job's JSON Schema says",
            )
        })
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

    /// Runs the job: heights, planes, plans and verdicts for each of its stages. Returns the job
    /// with its outcome.
    ///
    /// # Errors
    /// Everything that is wrong with the job, by field: ids that are empty, unknown or given
    /// twice, points without a reading, stages without points, fewer than three points or all on
    /// one line, and what [`ShimProblem`](crate::ShimProblem) refuses.
    pub fn run(mut self) -> Result<Self, Error> {
        self.outcome = Some(pipeline::run(&self)?);
        Ok(self)
    }
}

fn kind_of(document: &Value) -> &'static str {
    match document {
        Value::Null => "null",
        Value::Bool(_) => "a boolean",
        Value::Number(_) => "a number",
        Value::String(_) => "a string",
        Value::Array(_) => "an array",
        Value::Object(_) => "an object without a version",
    }
}

/// Reads a job from JSON text, runs it, and writes it with its outcome.
///
/// # Errors
/// Those of [`Job::from_json`] and [`Job::run`].
pub fn run_job(text: &str) -> Result<String, Error> {
    Ok(Job::from_json(text)?.run()?.to_json())
}
