//! Reading a JSON document, and saying what is wrong at which of its fields.

use serde::de::DeserializeOwned;

use crate::error::{Error, ProblemKind};

/// Reads a document, or says what is wrong at which of its fields; `noun` is what the document is
/// called where it is wrong as a whole.
pub(crate) fn read<T: DeserializeOwned>(text: &str, noun: &str) -> Result<T, Error> {
    if let Some(at) = too_deep(text) {
        let got = format!("more than {DEEPEST} brackets inside each other, at byte {at}");
        let expected = format!("a {noun} as its JSON Schema has it");
        return Err(Error::new(ProblemKind::Document, noun, got, expected));
    }
    let mut reader = serde_json::Deserializer::from_str(text);
    let read: Result<T, _> = serde_path_to_error::deserialize(&mut reader);
    let (path, error) = match read.map_err(|error| (error.path().to_string(), error.into_inner())) {
        Ok(document) => match reader.end() {
            Ok(()) => return Ok(document),
            Err(error) => (String::new(), error),
        },
        Err(refused) => refused,
    };
    // A text that is no JSON is wrong as a whole; what it says of a field may be cut short.
    let named = error.is_data() && path.contains(char::is_alphanumeric);
    let field = if named { &path } else { noun };
    let message = error.to_string();
    let (got, expected) = in_words(&message, noun);
    Err(Error::new(ProblemKind::Document, field, got, expected))
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
    let expected = match expected {
        "u32" => "a whole number from 0 to 4294967295",
        "u64" => "a whole number of at least 0",
        "a sequence" => "an array",
        other => other,
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
        let error = read::<serde_json::Value>(&nested(1000), "job").unwrap_err();
        assert_eq!(error.problems()[0].field, "job");
    }
}
