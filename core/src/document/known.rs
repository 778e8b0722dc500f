//! Leaves out of a part of a document what this version does not know.

use std::collections::BTreeSet;

use schemars::JsonSchema;
use serde_json::Value;

use super::shape::{Form, field, problems_of_part};
use crate::error::Problems;

/// Takes out of the part of a document that stands at `path` all that its schema does not have, and
/// gives the paths of it: nothing where too much is unknown, or the part itself.
///
/// A part that lacks what it must have is left out too.
pub(crate) fn leave_out_unknown<T: JsonSchema>(
    part: &mut Value,
    path: &str,
    forms: &[Form],
) -> Option<Vec<String>> {
    let mut left_out = Vec::new();
    while left_out.len() < Problems::MOST {
        let wrong = problems_of_part::<T>(part, path, path, forms);
        let Err(error) = wrong.into_result() else { return Some(left_out) };
        let wrong = error.problems().iter().map(|it| it.field.clone()).collect();
        if must_go(part, path, &wrong, &mut left_out) {
            return None;
        }
    }
    None
}

/// Whether a value cannot be read; takes out what cannot be read below one that can.
fn must_go(
    value: &mut Value,
    path: &str,
    wrong: &BTreeSet<String>,
    left_out: &mut Vec<String>,
) -> bool {
    if wrong.contains(path) {
        return true;
    }
    let mut keep = |path: String, value: &mut Value| {
        let gone = must_go(value, &path, wrong, left_out);
        if gone {
            left_out.push(path);
        }
        !gone
    };
    match value {
        Value::Object(fields) => {
            let there: BTreeSet<String> = fields.keys().map(|name| field(path, name)).collect();
            if wrong.iter().any(|it| is_field_of(it, path) && !there.contains(it)) {
                return true;
            }
            fields.retain(|name, value| keep(field(path, name), value));
        }
        Value::Array(items) => {
            let mut at = 0..;
            items.retain_mut(|item| {
                keep(format!("{path}[{}]", at.next().unwrap_or_default()), item)
            });
        }
        _ => {}
    }
    false
}

/// Whether a path leads to a field of the object at another one.
fn is_field_of(path: &str, object: &str) -> bool {
    let field = path.strip_prefix(object).and_then(|rest| rest.strip_prefix('.'));
    field.is_some_and(|name| !name.contains(['.', '[']))
}
