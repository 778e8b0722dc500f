//! The outcome that a document brings along, as far as this version knows it.
//!
//! A run writes the outcome and the next run ignores it, so an outcome of a later version must not
//! stop this one: what it has more is left out and listed.

use serde_json::Value;
use serde_path_to_error::Segment;

use super::document::Job;
use super::outcome::JobOutcome;

/// So many parts are left out one by one; an outcome with more is left out as a whole.
const MOST: usize = 50;

/// A job whose text could not be read because its outcome has what this version does not know: the
/// job, with the outcome as far as it is known. Nothing where that is not why.
pub(super) fn with_outcome_of_later(text: &str, error: &serde_json::Error) -> Option<Job> {
    // In a tree of values the last of two fields would win without a word.
    if !error.is_data() || error.to_string().starts_with("duplicate field") {
        return None;
    }
    let mut document: Value = serde_json::from_str(text).ok()?;
    let outcome = document.as_object_mut()?.remove("outcome")?;
    let mut job: Job = serde_json::from_value(document).ok()?;
    job.outcome = Some(known(outcome));
    Some(job)
}

/// The known part of an outcome, with the paths of the rest.
fn known(mut outcome: Value) -> JobOutcome {
    let mut unread = Vec::new();
    while unread.len() < MOST {
        let read: Result<JobOutcome, _> = serde_path_to_error::deserialize(&outcome);
        let Err(error) = read else {
            return read.map(|known| JobOutcome { unread, ..known }).unwrap_or_default();
        };
        let path: Vec<Segment> = error.path().iter().cloned().collect();
        match remove(&mut outcome, &path) {
            Some(field) => unread.push(field),
            None => break,
        }
    }
    JobOutcome { unread: vec!["outcome".to_owned()], ..JobOutcome::default() }
}

/// Takes the deepest part that a path leads to out of an outcome; where it was.
fn remove(outcome: &mut Value, path: &[Segment]) -> Option<String> {
    let (mut part, mut field) = (outcome, "outcome".to_owned());
    for (at, segment) in path.iter().enumerate() {
        let is_last = at + 1 == path.len() || matches!(path[at + 1], Segment::Enum { .. });
        match (segment, part) {
            (Segment::Map { key }, Value::Object(fields)) => {
                field = format!("{field}.{key}");
                if is_last {
                    return fields.remove(key).map(|_| field);
                }
                part = fields.get_mut(key)?;
            }
            (Segment::Seq { index }, Value::Array(items)) => {
                field = format!("{field}[{index}]");
                if is_last {
                    return (*index < items.len()).then(|| items.remove(*index)).map(|_| field);
                }
                part = items.get_mut(*index)?;
            }
            _ => return None,
        }
    }
    None
}
