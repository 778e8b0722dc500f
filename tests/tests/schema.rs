//! The published JSON Schema: what its readers can rely on, and that its sentences stand alone.

use serde_json::Value;
use truebed::Job;

fn schema() -> Value {
    serde_json::from_str(&Job::json_schema()).unwrap()
}

/// Visits every schema with its place.
fn visit(place: &str, schema: &Value, see: &mut impl FnMut(&str, &Value)) {
    see(place, schema);
    match schema {
        Value::Object(fields) => {
            for (name, value) in fields {
                visit(&format!("{place}/{name}"), value, see);
            }
        }
        Value::Array(items) => {
            for (at, value) in items.iter().enumerate() {
                visit(&format!("{place}/{at}"), value, see);
            }
        }
        _ => {}
    }
}

#[test]
fn it_has_an_id_and_a_constant_version() {
    let schema = schema();
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    assert_eq!(schema["$id"], format!("urn:truebed:job:{}", Job::VERSION));
    assert_eq!(schema["properties"]["version"]["const"], Job::VERSION);
}

/// A description is read without its neighbours, by someone who has no Rust.
#[test]
fn every_description_stands_alone() {
    const CODE: [&str; 4] = ["[`", "crate::", "::", "`]"];
    const VAGUE: [&str; 7] = [
        "from memory",
        "unless told",
        "is told",
        "worked by",
        "one's own",
        " of that.",
        "as it takes",
    ];
    const LEANING: [&str; 11] = [
        "And ",
        "Its ",
        "It ",
        "They ",
        "Their ",
        "The same ",
        "That ",
        "Those ",
        "How many.",
        "Which.",
        "Row ",
    ];
    let mut wrong = Vec::new();
    visit("", &schema(), &mut |place, schema| {
        let Some(text) = schema.get("description").and_then(Value::as_str) else { return };
        let first = text.chars().next().unwrap_or(' ');
        let starts = first.is_uppercase() || first.is_numeric() || first == '±';
        let ends = text.ends_with(['.', '|']);
        let said = CODE.iter().chain(&VAGUE).find(|words| text.contains(**words));
        let leans = LEANING.iter().find(|words| text.starts_with(**words));
        if !starts || !ends || said.is_some() || leans.is_some() {
            wrong.push(format!("{place}: {text:?} ({:?})", said.or(leans)));
        }
    });
    assert!(wrong.is_empty(), "{} descriptions:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn every_field_is_described() {
    let mut bare = Vec::new();
    visit("", &schema(), &mut |place, schema| {
        let Some(fields) = schema.get("properties").and_then(Value::as_object) else { return };
        for (name, field) in fields {
            let is_tag = field.get("const").is_some();
            // The only field of a variant is described by the variant.
            let is_variant = fields.len() == 1 && schema.get("description").is_some();
            if field.get("description").is_none() && !is_tag && !is_variant {
                bare.push(format!("{place}: {name}"));
            }
        }
    });
    assert!(bare.is_empty(), "fields without a description:\n{}", bare.join("\n"));
}

#[test]
fn every_variant_of_a_union_has_a_title() {
    let mut bare = Vec::new();
    visit("", &schema(), &mut |place, schema| {
        for key in ["oneOf", "anyOf"] {
            let variants = schema.get(key).and_then(Value::as_array).into_iter().flatten();
            for variant in variants {
                let is_named = variant.get("title").is_some() || variant.get("$ref").is_some();
                let is_null = variant.get("type").is_some_and(|it| it == "null");
                if !is_named && !is_null {
                    bare.push(format!("{place}: {variant}"));
                }
            }
        }
    });
    assert!(bare.is_empty(), "variants without a title:\n{}", bare.join("\n"));
}

/// What a stranger may ask for has an end, and the schema says where.
#[test]
fn the_counts_have_an_end() {
    let schema = schema();
    for (list, most) in [
        ("points", Job::MOST_POINTS),
        ("readings", Job::MOST_READINGS),
        ("candidates", Job::MOST_CANDIDATES),
        ("plates", Job::MOST_PLATES),
        ("stock", 128),
    ] {
        assert_eq!(schema["properties"][list]["maxItems"], most, "{list}");
    }
}
