//! Reading a JSON document, and saying what is wrong at which of its fields.

mod known;
mod shape;
mod texts;

use schemars::JsonSchema;
use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::error::{Error, ProblemKind};
pub(crate) use known::leave_out_unknown;
pub(crate) use shape::Form;
pub(crate) use texts::keep_texts;

/// Reads a document, or says what is wrong at which of its fields; `noun` is what the document is
/// called where it is wrong as a whole, `forms` the kinds of text with a form of their own.
pub(crate) fn read<T: DeserializeOwned + JsonSchema>(
    text: &str,
    noun: &str,
    forms: &[Form],
) -> Result<T, Error> {
    check_depth(text, noun)?;
    serde_json::from_str(text).map_err(|error| explain::<T>(text, &error, noun, forms))
}

/// Everything that is wrong with a text that could not be read.
pub(crate) fn explain<T: JsonSchema>(
    text: &str,
    error: &serde_json::Error,
    noun: &str,
    forms: &[Form],
) -> Error {
    let by_shape = match serde_json::from_str::<Value>(text) {
        Ok(document) => shape::problems::<T>(&document, noun, forms).into_result(),
        Err(_) => Ok(()),
    };
    // A text that is no JSON is wrong as a whole, as is one that has a field twice.
    by_shape.err().unwrap_or_else(|| {
        let (got, expected) = in_words(&error.to_string(), noun);
        Error::new(ProblemKind::Document, noun, got, expected)
    })
}

/// Refuses a text with more brackets inside each other than any document of ours needs.
pub(crate) fn check_depth(text: &str, noun: &str) -> Result<(), Error> {
    let Some(at) = too_deep(text) else { return Ok(()) };
    let got = format!("more than {DEEPEST} brackets inside each other, at byte {at}");
    Err(Error::new(ProblemKind::Document, noun, got, format!("a {noun} as its JSON Schema has it")))
}

/// How many brackets may stand inside each other. No document of ours needs a third of it; a reader
/// calls itself for each, and its stack may be small.
const DEEPEST: usize = 32;

/// Where a text opens one bracket too many.
fn too_deep(text: &str) -> Option<usize> {
    let (mut depth, mut quoted, mut escaped) = (0_usize, false, false);
    text.bytes().position(|byte| {
        match byte {
            _ if escaped => escaped = false,
            b'\\' => escaped = quoted,
            b'"' => quoted = !quoted,
            b'[' | b'{' if !quoted => depth += 1,
            b']' | b'}' if !quoted => depth = depth.saturating_sub(1),
            _ => {}
        }
        depth > DEEPEST
    })
}

/// Takes a reader's message apart into what was got and what was expected.
fn in_words(message: &str, noun: &str) -> (String, String) {
    let (what, place) = message.split_once(" at line ").unwrap_or((message, ""));
    let place = if place.is_empty() { String::new() } else { format!(" at line {place}") };
    let by_schema = format!("a {noun} as its JSON Schema has it");
    let (got, expected) = match (what.split_once(", expected "), what.strip_prefix("expected ")) {
        (Some((got, expected)), _) => (got, expected),
        (None, Some(expected)) => ("other text", expected),
        (None, None) => (what, by_schema.as_str()),
    };
    (format!("{got}{place}"), expected.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_document_may_not_be_nested_without_end() {
        let nested = |depth| format!("{}{}", "[".repeat(depth), "]".repeat(depth));
        assert_eq!(too_deep(&nested(DEEPEST)), None);
        assert_eq!(too_deep(&nested(DEEPEST + 1)), Some(DEEPEST));
        assert_eq!(too_deep(&"{\"a\":[]}".repeat(100)), None);
        assert_eq!(too_deep(&format!("\"{}\\\"{}\"", nested(50), "[".repeat(50))), None);
        let error = check_depth(&nested(1000), "job").unwrap_err();
        assert_eq!(error.problems()[0].field, "job");
    }
}
