//! Nothing that a document says becomes structure: characters of every general category, through every
//! string and every field name of the schema, into every output.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use serde_json::{Map, Value, json};
use truebed::{Error, Job};
use truebed_tests::schema::{all, walk};
use unicode_general_category::{GeneralCategory, get_general_category};

/// Where documents have strings: the place in the schema, and each place in each document.
type Places = BTreeMap<String, Vec<(usize, String)>>;

fn is_text(schema: &Value) -> bool {
    let named = schema.get("enum").is_some() || schema.get("const").is_some();
    let is = |kind: &Value| kind == "string";
    !named
        && (is(&schema["type"]) || schema["type"].as_array().is_some_and(|all| all.iter().any(is)))
}

/// The good vectors, the small ones first, with searches that end soon.
fn documents() -> Vec<Value> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good");
    let paths = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut texts: Vec<String> = paths
        .filter(|path| path.to_str().unwrap().ends_with(".job.json"))
        .map(|path| fs::read_to_string(path).unwrap())
        .collect();
    texts.sort_by_key(|text| (text.len(), text.clone()));
    let mut all: Vec<Value> =
        texts.iter().map(|text| serde_json::from_str(text).unwrap()).collect();
    for job in &mut all {
        // What no vector has.
        if let Some(visit) = job.get_mut("visit") {
            visit["steps"] = json!([{"id": "start"}, {"id": "own", "text": "Sweep the floor."}]);
            visit["done"] = json!(["start"]);
        }
        if let Some(first) = job.pointer("/points/0/id").cloned()
            && job.get("lines").is_some()
        {
            job["survey"]["datum"] = json!([first]);
        }
        let readings = job.get_mut("readings").and_then(Value::as_array_mut);
        for reading in readings.into_iter().flatten() {
            reading["note"] = json!("by hand");
        }
        if let Some(kind) = job.pointer_mut("/stock/0") {
            kind["name"] = json!("plain");
        }
        if let Some(estimate) = job.get_mut("estimate") {
            estimate["jobs"] = json!(20);
        }
        for stage in ["legs", "slates"] {
            if let Some(stage) = job.get_mut(stage).and_then(Value::as_object_mut) {
                let options = stage.entry("options").or_insert_with(|| json!({}));
                options["budget"] = json!({ "nodes": 2000 });
                if let Some(first) = stage.get_mut("named_limits") {
                    first[0]["name"] = json!("mine");
                }
            }
        }
    }
    all
}

/// A few characters of each category, in texts no longer than a name may be, controls by themselves.
fn texts() -> Vec<String> {
    let mut by_category: BTreeMap<String, Vec<char>> = BTreeMap::new();
    for c in char::MIN..=char::MAX {
        by_category.entry(format!("{:?}", get_general_category(c))).or_default().push(c);
    }
    assert!(by_category.len() >= 29, "{:?}", by_category.keys());
    let mut plain: Vec<char> = Vec::new();
    for of in by_category.values() {
        let last = of.len() - 1;
        plain.extend([0, 1, last / 2, last.saturating_sub(1), last].map(|at| of[at.min(last)]));
    }
    // What has done harm elsewhere.
    plain.extend("\u{202e}\u{2066}\u{200f}\u{2028}\u{2029}\u{ad}\u{200b}\u{200d}\u{feff}".chars());
    plain.extend("\u{fdfd}\u{2e3b}\u{3164}\u{fe0f}\u{e0041}\u{fffe}\u{ffff}台<>&\"'".chars());
    let (control, plain): (Vec<char>, Vec<char>) = plain.into_iter().partition(|c| c.is_control());
    let mut texts: Vec<String> = plain.chunks(28).map(twice).collect();
    texts.extend(control.chunks(20).map(twice));
    texts.push("x\u{301}".to_owned() + &"\u{301}\u{20dd}".repeat(30));
    texts.push("A1\n[ ] S2      +0.000    0.000        0.000  none\n\u{1b}[31m".to_owned());
    let row = "[ ] S2 +0.000 0.000 0.000 none";
    texts.push(format!("{}{row} {row} </text><script>alert(1)</script>", "w ".repeat(38)));
    texts
}

fn twice(part: &[char]) -> String {
    part.iter().flat_map(|&c| [c, c]).collect()
}

/// No character that steers, hides or piles up.
fn is_plain(text: &str) -> bool {
    use GeneralCategory as Is;
    let mut marks = 0;
    text.lines().all(|line| {
        line.chars().all(|c| {
            let category = get_general_category(c);
            let is_mark = matches!(category, Is::NonspacingMark | Is::EnclosingMark);
            marks = if is_mark { marks + 1 } else { 0 };
            let steers = matches!(
                category,
                Is::Control
                    | Is::Format
                    | Is::LineSeparator
                    | Is::ParagraphSeparator
                    | Is::PrivateUse
                    | Is::Unassigned
            );
            !steers && marks <= 3 && !matches!(c, '\u{3164}' | '\u{fe0f}' | '\u{fdfd}')
        })
    }) && !text.contains('\r')
}

fn check_error(error: &Error, what: &str) {
    let text = error.to_string();
    assert!(is_plain(&text), "{what}: {text:?}");
    assert_eq!(text.split('\n').count(), error.problems().len(), "{what}: {text:?}");
    for problem in error.problems() {
        let all = [&problem.field, &problem.got, &problem.expected];
        assert!(
            all.iter().all(|text| !text.contains('\n') && is_plain(text)),
            "{what}: {problem:?}"
        );
    }
    assert!(text.len() < 60_000, "{what}: {} bytes", text.len());
}

/// The texts of a picture or page, parsed.
fn check_markup(text: &str, elements: &BTreeMap<String, usize>, what: &str) {
    let text = text.strip_prefix("<!DOCTYPE html>").unwrap_or(text);
    let parsed = roxmltree::Document::parse(text).unwrap_or_else(|error| panic!("{error}: {what}"));
    for node in parsed.descendants().filter(roxmltree::Node::is_text) {
        let is_style = node.parent().is_some_and(|it| it.has_tag_name("style"));
        let text = node.text().unwrap();
        assert!(is_style || is_plain(text), "{what}: {text:?}");
    }
    for node in parsed.descendants().filter(roxmltree::Node::is_element) {
        assert!(node.attributes().all(|it| is_plain(it.value())), "{what}: {node:?}");
        assert!(!["script", "a", "img", "iframe"].contains(&node.tag_name().name()), "{what}");
    }
    // Long texts take more lines, and letters from right to left an element of their own; nothing else
    // is there that was not.
    let now = counted(&parsed);
    for (name, count) in elements {
        if !["text", "line", "polygon", "bdi"].contains(&name.as_str()) {
            assert_eq!(now.get(name), Some(count), "{name} of {what}");
        }
    }
    let known = |name: &String| name == "bdi" || elements.contains_key(name);
    assert!(now.keys().all(known), "{what}: {now:?}");
}

fn counted(document: &roxmltree::Document<'_>) -> BTreeMap<String, usize> {
    let mut count = BTreeMap::new();
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        *count.entry(node.tag_name().name().to_owned()).or_default() += 1;
    }
    count
}

fn elements(text: &str) -> BTreeMap<String, usize> {
    let text = text.strip_prefix("<!DOCTYPE html>").unwrap_or(text);
    counted(&roxmltree::Document::parse(text).unwrap())
}

/// Rows to tick, warnings and headings of a sheet.
fn rows(sheet: &str) -> [usize; 3] {
    let lines = || sheet.split('\n');
    let is_rule = |line: &&str| !line.is_empty() && line.chars().all(|c| c == '-' || c == '=');
    [
        lines().filter(|line| line.starts_with("[ ]")).count(),
        lines().filter(|line| line.starts_with('!')).count(),
        lines().filter(is_rule).count(),
    ]
}

struct Plain {
    rows: [usize; 3],
    picture: BTreeMap<String, usize>,
    page: BTreeMap<String, usize>,
}

fn plain(document: &Value) -> Option<Plain> {
    let job = Job::from_json(&document.to_string()).ok()?.run().ok()?;
    Some(Plain {
        rows: rows(&job.sheet_of_outcome()),
        picture: elements(&job.picture_of_outcome()),
        page: elements(&job.page().unwrap()),
    })
}

/// Whether a document is taken; what comes of it is looked through either way.
fn check(document: &Value, plain: Option<&Plain>, what: &str) -> bool {
    let run = Job::from_json(&document.to_string()).and_then(Job::run);
    let job = match run {
        Ok(job) => job,
        Err(error) => {
            check_error(&error, what);
            return false;
        }
    };
    let Some(plain) = plain else { return true };
    let sheet = job.sheet_of_outcome();
    assert!(is_plain(&sheet), "{what}:\n{sheet:?}");
    assert_eq!(rows(&sheet), plain.rows, "{what}:\n{sheet}");
    check_markup(&job.picture_of_outcome(), &plain.picture, what);
    check_markup(&job.page().unwrap(), &plain.page, what);
    let outcome = job.outcome.as_ref().unwrap();
    let stages = [&outcome.legs, &outcome.slates].into_iter().flatten();
    stages
        .flat_map(|stage| &stage.notes)
        .for_each(|note| assert!(is_plain(note), "{what}: {note:?}"));
    true
}

/// Puts a text wherever another stands, so that names still name what they named.
fn replaced(value: &Value, old: &str, new: &str) -> Value {
    match value {
        Value::String(text) if text == old => json!(new),
        Value::Array(items) => items.iter().map(|it| replaced(it, old, new)).collect(),
        Value::Object(fields) => {
            let field =
                |(name, value): (&String, &Value)| (name.clone(), replaced(value, old, new));
            Value::Object(fields.iter().map(field).collect::<Map<_, _>>())
        }
        other => other.clone(),
    }
}

#[test]
fn every_string_of_the_schema_stays_text() {
    let schema: Value = serde_json::from_str(&Job::json_schema()).unwrap();
    let documents = documents();
    let mut places = Places::new();
    for (at, document) in documents.iter().enumerate() {
        let mut see = |place: &str, schema: &Value, pointer: &str, value: &Value| {
            if value.is_string() && is_text(schema) {
                places.entry(place.to_owned()).or_default().push((at, pointer.to_owned()));
            }
        };
        let mut bare = document.clone();
        bare.as_object_mut().unwrap().remove("outcome");
        walk(&schema, ("", &schema), ("", &bare), &mut see);
    }
    let mut strings = BTreeSet::new();
    let mut see = |place: &str, schema: &Value| {
        if is_text(schema) {
            strings.insert(place.to_owned());
        }
    };
    all(&schema, "", &schema, &mut BTreeSet::new(), &mut see);
    let never: Vec<_> = strings.iter().filter(|place| !places.contains_key(*place)).collect();
    assert!(never.is_empty(), "no good vector has a string at {never:#?}");
    assert!(strings.len() > 20, "{strings:?}");

    let (texts, mut taken) = (texts(), 0);
    for (place, at) in &places {
        let (document, pointer) = &at[0];
        let document = &documents[*document];
        let old = document.pointer(pointer).unwrap().as_str().unwrap();
        // What a harmless name makes of the same document.
        let plain = plain(&replaced(document, old, "harmless"));
        for text in &texts {
            let changed = replaced(document, old, text);
            taken += usize::from(check(&changed, plain.as_ref(), &format!("{place}: {text:?}")));
        }
    }
    assert!(taken > 100, "only {taken} documents were taken");
}

#[test]
fn every_field_name_stays_text() {
    let document = &documents()[documents().len() - 1];
    for text in texts() {
        let mut objects = vec![String::new()];
        objects.extend(
            ["/stock/0", "/points/0", "/readings/0", "/legs", "/legs/limits"].map(str::to_owned),
        );
        for pointer in objects {
            let mut changed = document.clone();
            let Some(object) = changed.pointer_mut(&pointer).and_then(Value::as_object_mut) else {
                continue;
            };
            object.insert(text.clone(), json!(text));
            assert!(!check(&changed, None, &format!("{pointer}: {text:?}")));
        }
    }
}
