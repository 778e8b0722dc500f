//! From a text to a job, and back to a text in the same words.

use serde::Deserialize;
use serde_json::Value;

use super::check;
use super::document::Job;
use super::stored;
use crate::document::{Form, check_depth, explain, keep_texts};
use crate::error::{Error, ProblemKind};
use crate::length::{self, Length};
use crate::survey::{Mm, SLOPE, Slope};

impl Job {
    /// Reads a job from JSON text.
    ///
    /// # Errors
    /// Text that is not JSON, another version; every field that is missing, unknown or of the wrong
    /// type, by its path, with what is wrong with the sections beside it.
    pub fn from_json(text: &str) -> Result<Self, Error> {
        // Some editors put a byte-order mark in front.
        let text = text.trim_start_matches('\u{feff}');
        if !text.trim_start().starts_with('{') {
            let start: String = text.chars().take(20).collect();
            let expected = "the text of a job, a JSON object (not the name of its file)";
            return Err(Error::new(ProblemKind::Document, "job", format!("{start:?}"), expected));
        }
        check_depth(text, "job")?;
        check_version(text)?;
        let error = match serde_json::from_str(text) {
            Ok(job) => return Ok(job),
            Err(error) => error,
        };
        if let Some(job) = stored::with_outcome_of_later(text, &error, &FORMS) {
            return Ok(job);
        }
        let error = explain::<Self>(text, &error, "job", &FORMS);
        Err(check::with_other_problems(text, error))
    }

    /// The job as JSON text, its lengths and slopes in the words of a document that it came from, where
    /// that has the same in the same place.
    pub fn to_json_like(&self, original: &str) -> String {
        let same = |a: &str, b: &str| {
            let lengths = [a, b].map(str::parse::<Length>);
            let read = [a, b].map(str::parse::<Mm>);
            let slopes = [a, b].map(str::parse::<Slope>);
            lengths[0].is_ok() && lengths[0] == lengths[1]
                || read[0].is_ok() && read[0] == read[1]
                || slopes[0].is_ok() && slopes[0] == slopes[1]
        };
        keep_texts(&self.to_json(), original, same)
    }
}

/// The texts of a job that have a form of their own.
pub(super) const FORMS: [Form; 3] = [
    ("Length", |text| text.parse::<Length>().map(drop), length::FORM),
    ("Mm", |text| text.parse::<Mm>().map(drop), length::FORM),
    ("Slope", |text| text.parse::<Slope>().map(drop), SLOPE),
];

/// Refuses another version, whatever else there is in the text.
fn check_version(text: &str) -> Result<(), Error> {
    /// The version alone.
    #[derive(Deserialize)]
    struct Head {
        #[serde(default)]
        version: Value,
    }
    // A text that cannot be read so far is refused as a whole.
    let Ok(Head { version }) = serde_json::from_str(text) else { return Ok(()) };
    if version.is_null() {
        let expected = format!("the number {}", Job::VERSION);
        return Err(Error::new(ProblemKind::Document, "version", "none", expected));
    }
    if version != Job::VERSION {
        let expected = format!("{}", Job::VERSION);
        return Err(Error::new(ProblemKind::Version, "version", version, expected));
    }
    Ok(())
}
