//! Job documents: the good vectors, changed by a mutator that knows the schema.

use std::fs;
use std::path::Path;

use serde_json::{Map, Value, json};
use truebed::{Conformity, EstimateOutcome, Job, run_job};
use truebed_tests::random::Random;

/// What documents are made from.
pub(crate) struct Pool {
    jobs: Vec<Value>,
    schema: Value,
}

impl Pool {
    pub(crate) fn new() -> Self {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good");
        let mut paths: Vec<_> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.to_str().unwrap().ends_with(".job.json"))
            .collect();
        paths.sort();
        let read = |path| serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
        let jobs: Vec<Value> = paths.iter().map(read).collect();
        assert!(jobs.len() > 20);
        Self { jobs, schema: serde_json::from_str(&Job::json_schema()).unwrap() }
    }
}

fn pick<'a, T>(random: &mut Random, items: &'a [T]) -> &'a T {
    &items[random.between(0, items.len() as i64 - 1) as usize]
}

/// The schema of a node, with references and choices resolved by chance.
fn resolved<'a>(pool: &'a Pool, mut schema: &'a Value, random: &mut Random) -> &'a Value {
    for _ in 0..20 {
        let choices = ["anyOf", "oneOf"].iter().find_map(|key| schema[*key].as_array());
        if let Some(name) = schema["$ref"].as_str() {
            schema = pool.schema.pointer(name.trim_start_matches('#')).unwrap();
        } else if let Some(choices) = choices.filter(|choices| !choices.is_empty()) {
            schema = pick(random, choices);
        } else {
            break;
        }
    }
    schema
}

const TEXTS: [&str; 22] = [
    "",
    " ",
    "A1",
    "leg NE",
    "0",
    "a\nb",
    "\u{202e}x",
    "\u{1b}[31m",
    "\u{0}",
    "</svg><script>",
    "1/64 in",
    "0.25 mm",
    "-3 um",
    "1e400 mm",
    "9223372036854775807 nm",
    "1/170141183460469231731687303735884105728 in",
    "0.1 mm/m",
    "10 arcsec",
    "1/0 in",
    "DIN 18202 row 3",
    "🎱 one",
    "e\u{301}\u{200b}",
];

const NUMBERS: [f64; 16] = [
    0.0,
    -0.0,
    1.0,
    -1.0,
    0.5,
    3.0,
    12.0,
    1e-12,
    1e-300,
    1e12,
    -1e12,
    1e308,
    4294967295.0,
    4294967296.0,
    9007199254740993.0,
    0.05,
];

/// A value that fits the schema of a node, or nearly.
fn made(pool: &Pool, schema: &Value, random: &mut Random, depth: usize) -> Value {
    let schema = resolved(pool, schema, random);
    if let Some(constant) = schema.get("const") {
        return constant.clone();
    }
    if let Some(names) = schema["enum"].as_array().filter(|names| !names.is_empty()) {
        return pick(random, names).clone();
    }
    let kind = match &schema["type"] {
        Value::Array(kinds) if !kinds.is_empty() => pick(random, kinds).clone(),
        kind => kind.clone(),
    };
    match kind.as_str() {
        _ if depth > 5 => Value::Null,
        Some("object") => {
            let mut object = Map::new();
            let empty = Map::new();
            let required = schema["required"].as_array();
            for (name, of) in schema["properties"].as_object().unwrap_or(&empty) {
                let must = required.is_some_and(|all| all.iter().any(|it| it == name));
                if must || random.once_in(3) {
                    object.insert(name.clone(), made(pool, of, random, depth + 1));
                }
            }
            Value::Object(object)
        }
        Some("array") => {
            let count = random.between(0, 3);
            let items = schema.get("items").unwrap_or(&Value::Null);
            (0..count).map(|_| made(pool, items, random, depth + 1)).collect()
        }
        Some("integer") => json!(random.between(-1, 5)),
        Some("number") => number(random),
        Some("boolean") => json!(random.once_in(2)),
        Some("string") => text(random),
        _ => Value::Null,
    }
}

fn number(random: &mut Random) -> Value {
    match random.once_in(2) {
        true => json!(pick(random, &NUMBERS)),
        false => json!((random.normal() * 1000.0).round() / 1000.0),
    }
}

fn text(random: &mut Random) -> Value {
    match random.once_in(2) {
        true => json!(pick(random, &TEXTS)),
        false => json!(format!("{} mm", random.between(-500, 500) as f64 / 100.0)),
    }
}

/// Changes one node of a document, whose schema is known as far as it goes.
fn change(pool: &Pool, value: &mut Value, schema: &Value, random: &mut Random) {
    let schema = resolved(pool, schema, random);
    // Go on downwards in most cases.
    match value {
        Value::Object(object) if !object.is_empty() && !random.once_in(5) => {
            let names: Vec<String> = object.keys().cloned().collect();
            let name = pick(random, &names).clone();
            let of = schema["properties"].get(&name).unwrap_or(&Value::Null);
            if let Some(inner) = object.get_mut(&name) {
                change(pool, inner, of, random);
            }
            return;
        }
        Value::Array(items) if !items.is_empty() && !random.once_in(4) => {
            let at = random.between(0, items.len() as i64 - 1) as usize;
            change(pool, &mut items[at], schema.get("items").unwrap_or(&Value::Null), random);
            return;
        }
        _ => {}
    }
    match value {
        Value::Object(object) => match random.between(0, 3) {
            0 => {
                let names: Vec<String> = object.keys().cloned().collect();
                if let Some(name) = names.first().map(|_| pick(random, &names)) {
                    object.remove(name);
                }
            }
            1 => {
                object.insert(TEXTS[random.between(0, 21) as usize].to_owned(), number(random));
            }
            _ => {
                // Something that the schema has and the document not yet, or has otherwise.
                let known: Vec<&String> =
                    schema["properties"].as_object().into_iter().flat_map(Map::keys).collect();
                if let Some(name) = known.first().map(|_| *pick(random, &known)) {
                    let of = &schema["properties"][name];
                    object.insert(name.clone(), made(pool, of, random, 0));
                }
            }
        },
        Value::Array(items) => match (random.between(0, 3), items.len()) {
            (0, 1..) => {
                items.remove(random.between(0, items.len() as i64 - 1) as usize);
            }
            (1, 1..40) => {
                items.push(pick(random, items).clone());
            }
            (2, 2..) => {
                let last = items.len() - 1;
                items.swap(random.between(0, last as i64) as usize, last);
            }
            _ => {
                let of = schema.get("items").unwrap_or(&Value::Null);
                items.push(made(pool, of, random, 0));
            }
        },
        other => {
            *other = match random.between(0, 6) {
                0 => Value::Null,
                1 => number(random),
                2 => text(random),
                3 => json!([other.clone()]),
                _ => made(pool, schema, random, 0),
            };
        }
    }
}

/// A search that ends after so many nodes ends alike on every machine.
fn bounded(job: &mut Value) {
    for stage in ["legs", "slates"] {
        if let Some(stage) = job.get_mut(stage).and_then(Value::as_object_mut) {
            let options = stage.entry("options").or_insert_with(|| json!({}));
            if let Some(options) = options.as_object_mut() {
                options.insert("budget".to_owned(), json!({ "nodes": 3000 }));
            }
        }
    }
    // More jobs than a document may ask for stay as many.
    if let Some(estimate) = job.get_mut("estimate").and_then(Value::as_object_mut)
        && estimate.get("jobs").is_none_or(|it| it.as_u64().is_some_and(|it| it <= 100_000))
    {
        let jobs = estimate.get("jobs").and_then(Value::as_u64).map_or(30, |it| it.min(30));
        estimate.insert("jobs".to_owned(), json!(jobs));
    }
}

/// Changes a good document some times, and checks what must hold of any.
pub(crate) fn round(pool: &Pool, random: &mut Random) {
    let mut job = pick(random, &pool.jobs).clone();
    for _ in 0..random.between(1, 4) {
        change(pool, &mut job, &pool.schema, random);
    }
    bounded(&mut job);
    holds(&job.to_string());
}

/// Changes the estimate of a good document some times, and checks what must hold of any; whether the job
/// still has an estimate.
pub(crate) fn estimate_round(pool: &Pool, random: &mut Random) -> bool {
    let with: Vec<&Value> = pool.jobs.iter().filter(|job| job.get("estimate").is_some()).collect();
    let mut job = (*pick(random, &with)).clone();
    let schema = &pool.schema["properties"]["estimate"];
    // Most changes are refused, so a round makes few.
    for _ in 0..random.between(0, 2) {
        change(pool, &mut job["estimate"], schema, random);
    }
    bounded(&mut job);
    holds(&job.to_string());
    run_job(&job.to_string()).is_ok_and(|done| done.contains("\"served_jobs\""))
}

fn holds(text: &str) {
    let answer = run_job(text);
    assert_eq!(answer, run_job(text), "not the same twice: {text}");
    let done = match answer {
        Ok(done) => done,
        Err(error) => {
            assert!((1..=50).contains(&error.problems().len()), "{text}");
            return;
        }
    };
    // What was written is read, and says the same once more.
    let job = Job::from_json(&done).unwrap_or_else(|error| panic!("{error}\nof {text}"));
    assert_eq!(job.to_json_like(&done), done, "{text}");
    assert_eq!(run_job(&done).as_ref(), Ok(&done), "{text}");
    let (sheet, picture) = (job.sheet().unwrap(), job.picture().unwrap());
    assert!(roxmltree::Document::parse(&picture).is_ok(), "{text}");
    is_modest(&job, &sheet, text);
    let page = job.page().unwrap();
    let body = page.strip_prefix("<!DOCTYPE html>").unwrap();
    assert!(roxmltree::Document::parse(body).is_ok(), "{text}");
    if let Some(estimate) = &job.outcome.as_ref().unwrap().estimate {
        adds_up(estimate, text);
    }
}

/// The figures of an estimate fit together.
fn adds_up(estimate: &EstimateOutcome, text: &str) {
    let others: usize = estimate.reasons.iter().map(|it| it.jobs).sum();
    assert_eq!(estimate.served_jobs + others, estimate.jobs, "{text}");
    let [least, most] = estimate.interval;
    assert!(0.0 <= least && least <= most && most <= 1.0, "{text}");
    let all = [
        &estimate.pieces,
        &estimate.lifts,
        &estimate.thickest_mm,
        &estimate.cost,
        &estimate.minutes,
    ];
    for of in all.into_iter().flatten() {
        assert!(of.p05 <= of.p50 && of.p50 <= of.p95 && of.p95 <= of.most, "{text}");
        let drawn: usize = of.histogram.iter().map(|(_, jobs)| jobs).sum();
        assert_eq!(drawn, estimate.served_jobs, "{text}");
    }
    for it in &estimate.materials {
        let within = it.on_hand.zip(it.most).is_none_or(|(hand, most)| most <= f64::from(hand));
        assert!(within, "{text}");
    }
    if let Some(needed) = &estimate.readings_needed {
        assert!(needed.rounds >= 1 && (0.0..=0.5).contains(&needed.doubt), "{text}");
    }
}

/// The sheet never says that limits are met where the outcome doesn't.
fn is_modest(job: &Job, sheet: &str, text: &str) {
    let words = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    let outcome = job.outcome.as_ref().unwrap();
    let asked = [(&job.legs, &outcome.legs), (&job.slates, &outcome.slates)];
    let stages: Vec<_> = asked.iter().filter(|(asked, _)| asked.is_some()).map(|it| it.1).collect();
    let all_met = stages.iter().copied().flatten().filter(|stage| stage.met).count();
    let said = words.matches("Limits by the plan").count();
    assert!(said <= all_met, "{said} stages are said to meet their limits, {all_met} do: {text}");
    let is_sure = |conformity| conformity == Conformity::Met;
    let verdicts = stages.iter().copied().flatten().filter_map(|stage| stage.verdict.as_ref());
    let sure = verdicts.filter(|verdict| is_sure(verdict.conformity)).count();
    // Where it is not sure, other words stand before these.
    let said = words.matches("MET: by this plan all limits are met with").count();
    assert!(said <= sure, "{said} stages are said to be sure, {sure} are: {text}");
}

#[test]
fn the_sheet_is_not_believed_blindly() {
    let pool = Pool::new();
    let text = pool.jobs[0].to_string();
    let job = Job::from_json(&run_job(&text).unwrap()).unwrap();
    let boast = format!("{} Limits by the plan Limits by the plan ", job.sheet().unwrap());
    let caught =
        std::panic::catch_unwind(|| is_modest(&job, &(boast.clone() + &boast + &boast), &text));
    assert!(caught.is_err());
}
