//! Every list of a job has an end: the schema says where, and what is longer is refused.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use truebed::Job;
use truebed_tests::schema::{all, walk};

fn schema() -> Value {
    serde_json::from_str(&Job::json_schema()).unwrap()
}

fn is_list(schema: &Value) -> bool {
    let is = |kind: &Value| kind == "array";
    is(&schema["type"]) || schema["type"].as_array().is_some_and(|all| all.iter().any(is))
}

/// Lists of the schema whose length is not fixed, with their ends.
fn lists(root: &Value) -> BTreeMap<String, Option<u64>> {
    let mut lists = BTreeMap::new();
    let mut see = |place: &str, schema: &Value| {
        let most = schema["maxItems"].as_u64();
        if is_list(schema) && (most.is_none() || schema["minItems"].as_u64() != most) {
            lists.insert(place.to_owned(), most);
        }
    };
    all(root, "", root, &mut BTreeSet::new(), &mut see);
    lists
}

#[test]
fn every_list_of_the_schema_has_an_end() {
    let lists = lists(&schema());
    let endless: Vec<_> = lists.iter().filter(|(_, most)| most.is_none()).collect();
    assert!(endless.is_empty(), "{endless:#?}");
    assert!(lists.len() > 40, "{lists:#?}");
}

/// With room for real use.
#[test]
fn the_ends_leave_room() {
    let schema = schema();
    for (list, least) in [("points", 500), ("readings", 5000), ("candidates", 100), ("stock", 100)]
    {
        let most = schema["properties"][list]["maxItems"].as_u64().unwrap();
        assert!(most >= least, "{list}: {most}");
    }
}

/// A good vector with each list in turn one longer than the schema says.
#[test]
fn what_is_longer_is_refused_by_its_field() {
    let schema = schema();
    let mut open = lists(&schema);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good");
    let paths = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let jobs = paths.filter(|path| path.to_str().unwrap().ends_with(".job.json"));
    let mut texts: Vec<String> = jobs.map(|path| fs::read_to_string(path).unwrap()).collect();
    texts.sort_by_key(|text| (text.len(), text.clone()));
    for text in texts {
        let mut document: Value = serde_json::from_str(&text).unwrap();
        // What no vector has.
        if let Some(visit) = document.get_mut("visit") {
            visit["steps"] = json!([{"id": "own", "text": "Sweep the floor."}]);
        }
        if let Some(first) = document.pointer("/points/0/id").cloned() {
            document["survey"]["datum"] = json!([first]);
        }
        if let Some(estimate) = document.get_mut("estimate") {
            let places = json!([["0 mm", "0 mm"], ["1 m", "0 mm"], ["0 mm", "1 m"]]);
            let heights = json!(["0 mm", "1 mm", "2 mm"]);
            estimate["floor"] = json!({"measured": [{"places": places, "heights": heights}]});
        }
        let mut here = Vec::new();
        let mut see = |place: &str, _: &Value, pointer: &str, value: &Value| {
            if value.as_array().is_some_and(|items| !items.is_empty())
                && let Some(most) = open.remove(place)
            {
                here.push((pointer.to_owned(), most.unwrap()));
            }
        };
        let mut bare = document.clone();
        bare.as_object_mut().unwrap().remove("outcome");
        walk(&schema, ("", &schema), ("", &bare), &mut see);
        for (pointer, most) in here {
            let mut long = document.clone();
            let items = long.pointer_mut(&pointer).unwrap().as_array_mut().unwrap();
            let last = items.last().unwrap().clone();
            items.resize(most as usize + 1, last);
            let refused = Job::from_json(&long.to_string()).and_then(Job::run).unwrap_err();
            let field = field(&pointer);
            let told = refused
                .problems()
                .iter()
                .any(|it| it.field == field && it.got.contains(&(most + 1).to_string()));
            assert!(told, "{field} of {}: {refused}", most + 1);
        }
    }
    assert!(open.is_empty(), "no good vector has {open:#?}");
}

/// The path by which an error names what a pointer points at.
fn field(pointer: &str) -> String {
    pointer.split('/').skip(1).fold(String::new(), |path, part| {
        if part.parse::<usize>().is_ok() {
            format!("{path}[{part}]")
        } else if path.is_empty() {
            part.to_owned()
        } else {
            format!("{path}.{part}")
        }
    })
}

/// Even where nothing else is wrong: many lists of one job, none of which costs anything by itself.
#[test]
fn a_job_made_in_rust_is_refused_too() {
    let text = json!({"version": 1, "visit": {"done": ["a"]}, "stock": []}).to_string();
    let mut job = Job::from_json(&text).unwrap();
    job.visit.as_mut().unwrap().done.resize(101, "a".to_owned());
    let error = job.run().unwrap_err();
    assert_eq!(error.to_string(), "visit.done: got 101, expected at most 100");
}
