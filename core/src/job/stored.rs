//! The outcome that a document brings along, as far as this version knows it.
//!
//! A run writes the outcome and the next run ignores it, so an outcome of a later version must not
//! stop this one: what it has more is left out and listed.

use serde_json::Value;

use super::document::Job;
use super::outcome::JobOutcome;
use crate::document::{Form, leave_out_unknown};

/// A job whose text could not be read because its outcome has what this version does not know: the
/// job, with the outcome as far as it is known. Nothing where that is not why.
pub(super) fn with_outcome_of_later(
    text: &str,
    error: &serde_json::Error,
    forms: &[Form],
) -> Option<Job> {
    // In a tree of values the last of two fields would win without a word.
    if !error.is_data() || error.to_string().starts_with("duplicate field") {
        return None;
    }
    let mut document: Value = serde_json::from_str(text).ok()?;
    let outcome = document.as_object_mut()?.get_mut("outcome")?;
    let unread = leave_out_unknown::<JobOutcome>(outcome, "outcome", forms);
    // Read as a text again, as every document is.
    let read = |document: &Value| serde_json::from_str::<Job>(&document.to_string()).ok();
    let known = unread.and_then(|unread| Some((read(&document)?, unread)));
    let (mut job, unread) = match known {
        Some(known) => known,
        None => {
            document.as_object_mut()?.remove("outcome");
            (read(&document)?, vec!["outcome".to_owned()])
        }
    };
    job.outcome.get_or_insert_default().unread = unread;
    Some(job)
}
