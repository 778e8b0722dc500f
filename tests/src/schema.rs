//! A walk through the JSON Schema of a job, and through documents beside it.

use std::collections::BTreeSet;

use serde_json::Value;

/// Follows references and unions to all that a value may be.
fn meanings<'a>(
    root: &'a Value,
    place: &str,
    schema: &'a Value,
    found: &mut Vec<(String, &'a Value)>,
) {
    if let Some(name) = schema["$ref"].as_str() {
        let name = name.trim_start_matches('#');
        meanings(root, name, root.pointer(name).unwrap(), found);
    }
    for key in ["anyOf", "oneOf"] {
        for (at, choice) in schema[key].as_array().into_iter().flatten().enumerate() {
            meanings(root, &format!("{place}/{key}/{at}"), choice, found);
        }
    }
    found.push((place.to_owned(), schema));
}

/// Visits all that the schema lets a document have, each place once, but for the outcome of a run.
pub fn all(
    root: &Value,
    place: &str,
    schema: &Value,
    seen: &mut BTreeSet<String>,
    see: &mut impl FnMut(&str, &Value),
) {
    let mut found = Vec::new();
    meanings(root, place, schema, &mut found);
    for (place, schema) in found {
        if !seen.insert(place.clone()) {
            continue;
        }
        see(&place, schema);
        for (name, of) in schema["properties"].as_object().into_iter().flatten() {
            if place.is_empty() && name == "outcome" {
                continue;
            }
            all(root, &format!("{place}/properties/{name}"), of, seen, see);
        }
        for key in ["items", "additionalProperties"] {
            if schema[key].is_object() {
                all(root, &format!("{place}/{key}"), &schema[key], seen, see);
            }
        }
        for (at, of) in schema["prefixItems"].as_array().into_iter().flatten().enumerate() {
            all(root, &format!("{place}/prefixItems/{at}"), of, seen, see);
        }
    }
}

/// Visits the values of a document with their places in the schema: place, schema, pointer, value.
pub fn walk(
    root: &Value,
    (place, schema): (&str, &Value),
    (pointer, value): (&str, &Value),
    see: &mut impl FnMut(&str, &Value, &str, &Value),
) {
    let mut all = Vec::new();
    meanings(root, place, schema, &mut all);
    for (place, schema) in all {
        see(&place, schema, pointer, value);
        match value {
            Value::Object(fields) => {
                for (name, value) in fields {
                    let inner = format!("{pointer}/{name}");
                    if let Some(of) = schema["properties"].get(name) {
                        let place = format!("{place}/properties/{name}");
                        walk(root, (&place, of), (&inner, value), see);
                    } else if schema["additionalProperties"].is_object() {
                        let place = format!("{place}/additionalProperties");
                        walk(root, (&place, &schema["additionalProperties"]), (&inner, value), see);
                    }
                }
            }
            Value::Array(items) => {
                for (at, value) in items.iter().enumerate() {
                    let inner = format!("{pointer}/{at}");
                    let (key, of) = match schema["prefixItems"].get(at) {
                        Some(of) => (format!("prefixItems/{at}"), of),
                        None => ("items".to_owned(), &schema["items"]),
                    };
                    walk(root, (&format!("{place}/{key}"), of), (&inner, value), see);
                }
            }
            _ => {}
        }
    }
}
