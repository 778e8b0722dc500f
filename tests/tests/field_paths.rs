//! Whatever is wrong with a field of a job is said under the path of that field, and all of it at once.
//!
//! A walk over the published schema breaks each field of the good vectors in turn: a value of the wrong
//! type, a text of another form, a field that is missing, one that nobody knows, numbers and lengths
//! out of range. The error must name that very path.

use std::collections::{BTreeSet, HashMap};
use std::fs;
use std::path::Path;

use serde_json::{Value, json};
use truebed::{Budget, Error, Job, ProblemKind, run_job, run_job_until};

/// The good vectors, by name.
fn jobs() -> Vec<(String, Value)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good");
    let paths = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut paths: Vec<_> =
        paths.filter(|path| path.to_str().unwrap().ends_with(".job.json")).collect();
    paths.sort();
    let read = |path: &Path| serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    let name = |path: &Path| path.file_name().unwrap().to_str().unwrap().to_owned();
    let own = [("more".to_owned(), more()), ("measured".to_owned(), like_one_measured())];
    paths.iter().map(|path| (name(path), read(path))).chain(own).collect()
}

/// What the vectors lack.
fn more() -> Value {
    let corners = [("A", 0, 0), ("B", 2000, 0), ("C", 0, 900), ("D", 2000, 900)];
    let points: Vec<Value> = corners
        .iter()
        .map(|(id, x, y)| json!({"id": id, "x": format!("{x} mm"), "y": format!("{y} mm"), "role": {"slate": "bed"}, "meta": {"any": [1, "b"]}}))
        .chain([json!({"id": "M", "x": "1000 mm", "y": "0 mm", "role": {"slate": "bed"}})])
        .collect();
    let readings = json!([
        {"kind": "height", "point": "A", "value": "1 mm", "sigma": "0.1 mm", "note": "a"},
        {"kind": "height", "point": "C", "value": "1 mm", "sigma": "0.1 mm", "setup": "S", "instrument": "indicator", "note": "a"},
        {"kind": "height", "point": "A", "value": "1 mm", "sigma": "0.1 mm", "setup": "S", "instrument": "indicator"},
        {"kind": "rise", "a": "A", "b": "D", "value": "1 mm", "sigma": "0.1 mm", "note": "a"},
        {"kind": "bubble", "a": "A", "b": "B", "divisions": [1, 2], "sensitivity": "0.02 mm/m", "base": "1 m",
         "span": "2 m", "level": "long", "turned": true, "sigma": 0.2},
        {"kind": "slope", "a": "A", "b": "B", "value": "0.1 deg", "span": "2 m", "level": "digital", "turned": true, "sigma": "0.1 deg"},
        {"kind": "gap", "point": "M", "a": "A", "b": "B", "value": "1 mm", "at": 0.5, "sigma": "0.1 mm"},
    ]);
    json!({
        "version": 1,
        "meta": {"order": 12},
        "stock": [{"thickness": "1 mm", "meta": "tin 3", "adjusts": null}],
        "points": points,
        "readings": readings,
        "slates": {
            "limits": {"overall": "1 mm"},
            "pieces": [{"name": "bed", "x": ["0 mm", "2 m"], "y": ["0 mm", "900 mm"], "thickness": "25 mm",
                "material": {"e_gpa": 48.36, "nu": 0.25, "density_kg_per_m3": 2800, "strength_mpa": 40, "strength_factor": 4}}],
        },
        "visit": {
            "steps": [{"id": "sweep", "text": "Sweep the room."}],
            "boxes": [{"name": "a", "size": ["1 m", "0.5 m", "0.1 m"], "density": 2800}],
            "ways": [
                {"kind": "corner", "name": "hall", "widths": ["1 m", "1.2 m"], "height": "2 m", "turn_deg": 90},
                {"kind": "landing", "name": "top", "size": ["2 m", "2 m"], "height": "2 m"},
            ],
        },
    })
}

/// An estimate on a floor like one that was measured, before anything was read.
fn like_one_measured() -> Value {
    let leg = |at| json!({"id": format!("L{at}"), "x": format!("{} m", at % 2), "y": format!("{} m", at / 2), "role": "leg"});
    let points: Vec<Value> = (0..4).map(leg).collect();
    let place = |at| json!([format!("{} m", at % 4), format!("{} m", at / 4)]);
    let places: Vec<Value> = (0..12).map(place).collect();
    let heights = [0, 1, 3, 2, 1, 0, 4, 3, -2, 0, 2, 5].map(|mm| format!("{mm} mm"));
    json!({
        "version": 1,
        "stock": [{"thickness": "1 mm"}],
        "points": points,
        "legs": {"limits": {"overall": "1 mm"}},
        "estimate": {
            "floor": {"measured": [{"places": places, "heights": heights}]},
            "jobs": 10,
        },
    })
}

/// A walk over a job and its schema side by side.
struct Walk<'a> {
    root: &'a Value,
    /// Each field that was come by, as its type and its name.
    seen: BTreeSet<(String, String)>,
    /// Broken documents: the place that was broken, its path, the value there.
    broken: Vec<Broken>,
}

struct Broken {
    /// As a JSON pointer.
    pointer: String,
    path: String,
    /// What is put there; nothing where it is taken out.
    value: Option<Value>,
    /// Whether the schema itself refuses it.
    by_type: bool,
    field: (String, String),
}

impl<'a> Walk<'a> {
    /// What a reference leads to, with its name.
    fn resolved(&self, mut schema: &'a Value) -> (String, &'a Value) {
        let mut name = String::new();
        while let Some(at) = schema["$ref"].as_str() {
            name = at.trim_start_matches("#/$defs/").to_owned();
            schema = &self.root["$defs"][&name];
        }
        (name, schema)
    }

    /// The schema that a value follows, among the variants of a union.
    fn chosen(&self, schema: &'a Value, value: &Value) -> (String, &'a Value) {
        let (name, schema) = self.resolved(schema);
        let Some(variants) = schema.get("oneOf").or_else(|| schema.get("anyOf")) else {
            return (name, schema);
        };
        let fits = |variant: &&'a Value| {
            let (_, variant) = self.resolved(variant);
            let tagged = variant["properties"].as_object().into_iter().flatten();
            let mut tags = tagged.filter(|(_, it)| it.get("const").is_some());
            let is_type = match value {
                Value::Object(_) => variant["type"] == "object" || variant.get("oneOf").is_some(),
                Value::Array(_) => variant["type"] == "array",
                Value::String(_) => variant["type"] == "string" || variant.get("oneOf").is_some(),
                Value::Number(_) => variant["type"] == "number",
                _ => false,
            };
            is_type && tags.all(|(tag, it)| value[tag] == it["const"])
        };
        match variants.as_array().unwrap().iter().find(fits) {
            Some(variant) if variant.get("$ref").is_some() || variant.get("oneOf").is_some() => {
                self.chosen(variant, value)
            }
            Some(variant) => (name, variant),
            None => (name, schema),
        }
    }

    fn put(&mut self, at: &At, value: Option<Value>, by_type: bool) {
        self.broken.push(Broken {
            pointer: at.pointer.clone(),
            path: at.path.clone(),
            value,
            by_type,
            field: at.field.clone(),
        });
    }

    fn visit(&mut self, schema: &'a Value, value: Option<&Value>, at: &At) {
        if schema["readOnly"] == true || at.path.ends_with("meta") {
            return;
        }
        self.break_it(schema, at);
        let Some(value) = value else { return };
        let (name, schema) = self.chosen(schema, value);
        match value {
            Value::Object(fields) => {
                let Some(known) = schema["properties"].as_object() else { return };
                let of = if name.is_empty() { "Job".to_owned() } else { name };
                if schema["additionalProperties"] == false {
                    self.put(&at.field(&of, "zzz"), Some(json!(1)), true);
                }
                for required in schema["required"].as_array().into_iter().flatten() {
                    self.put(&at.field(&of, required.as_str().unwrap()), None, true);
                }
                for (field, schema) in known {
                    self.seen.insert((of.clone(), field.clone()));
                    self.visit(schema, fields.get(field), &at.field(&of, field));
                }
            }
            Value::Array(items) => {
                for (index, item) in items.iter().enumerate() {
                    self.visit(&schema["items"], Some(item), &at.item(index));
                }
            }
            _ => {}
        }
    }

    /// Puts values that the schema refuses, and values at the ends of their range.
    fn break_it(&mut self, schema: &'a Value, at: &At) {
        let (_, schema) = self.resolved(schema);
        let variants =
            schema.get("oneOf").or_else(|| schema.get("anyOf")).and_then(Value::as_array);
        let variants: Vec<&Value> = match variants {
            Some(variants) => variants.iter().map(|it| self.resolved(it).1).collect(),
            None => vec![schema],
        };
        let takes = |kind: &str| {
            let is = |it: &&&Value| {
                it["type"] == kind
                    || it["type"].as_array().is_some_and(|it| it.iter().any(|it| it == kind))
            };
            variants.iter().find(is).copied()
        };
        let wrong = if takes("boolean").is_some() { json!("yes") } else { json!(true) };
        self.put(at, Some(wrong), true);
        if let Some(text) = takes("string") {
            let is_free = text.get("const").is_none() && text.get("pattern").is_none();
            if text.get("pattern").is_some() {
                for bad in ["abc", "5", "1e40 km", "1e40 deg"] {
                    self.put(at, Some(json!(bad)), true);
                }
                for edge in ["-3 m", "0 mm", "900 km", "-2 deg", "80 deg", "0 %"] {
                    self.put(at, Some(json!(edge)), false);
                }
            } else if is_free {
                for edge in ["", "zzz", "a\u{7}b"] {
                    self.put(at, Some(json!(edge)), false);
                }
            } else {
                self.put(at, Some(json!("zzz")), true);
            }
        }
        if takes("number").is_some() || takes("integer").is_some() {
            for edge in
                [json!(-1), json!(0), json!(1e300), json!(0.7), json!(4_294_967_295_u32), json!(5)]
            {
                let by_type = takes("number").is_none() && edge.as_u64().is_none();
                self.put(at, Some(edge), by_type);
            }
        }
        if takes("array").is_some_and(|it| it.get("minItems").is_some()) {
            self.put(at, Some(json!([])), true);
        }
    }
}

/// Where a walk stands.
struct At {
    pointer: String,
    path: String,
    field: (String, String),
}

impl At {
    fn field(&self, of: &str, name: &str) -> Self {
        let dot = if self.path.is_empty() { "" } else { "." };
        Self {
            pointer: format!("{}/{name}", self.pointer),
            path: format!("{}{dot}{name}", self.path),
            field: (of.to_owned(), name.to_owned()),
        }
    }

    fn item(&self, index: usize) -> Self {
        Self {
            pointer: format!("{}/{index}", self.pointer),
            path: format!("{}[{index}]", self.path),
            field: self.field.clone(),
        }
    }
}

impl Broken {
    fn document(&self, good: &Value) -> Value {
        let mut document = good.clone();
        let (parent, name) = self.pointer.rsplit_once('/').unwrap();
        match (document.pointer_mut(parent).unwrap(), &self.value) {
            (Value::Object(fields), Some(value)) => {
                drop(fields.insert(name.to_owned(), value.clone()))
            }
            (Value::Object(fields), None) => drop(fields.remove(name)),
            (Value::Array(items), Some(value)) => {
                items[name.parse::<usize>().unwrap()] = value.clone()
            }
            _ => unreachable!(),
        }
        document
    }
}

fn walk<'a>(schema: &'a Value, job: &Value) -> Walk<'a> {
    let mut walk = Walk { root: schema, seen: BTreeSet::new(), broken: Vec::new() };
    let start = At { pointer: String::new(), path: String::new(), field: <_>::default() };
    walk.visit(schema, Some(job), &start);
    walk.broken.retain(|it| !it.pointer.is_empty());
    walk
}

fn schema() -> Value {
    serde_json::from_str(&Job::json_schema()).unwrap()
}

fn names(error: &Error, path: &str) -> bool {
    error.problems().iter().any(|problem| problem.field == path)
}

#[test]
fn a_wrong_type_is_said_under_its_path() {
    let schema = schema();
    let (mut wrong, mut tried) = (Vec::new(), Tried::default());
    for (name, job) in jobs() {
        for broken in walk(&schema, &job).broken.iter().filter(|it| it.by_type) {
            if !tried.is_new(broken) {
                continue;
            }
            let Err(error) = run_job(&broken.document(&job).to_string()) else {
                wrong.push(format!("{name} {} = {:?}: no error", broken.path, broken.value));
                continue;
            };
            if error.problems().len() != 1 || !names(&error, &broken.path) {
                wrong.push(format!("{name} {} = {:?}: {error}", broken.path, broken.value));
            }
        }
    }
    assert!(wrong.is_empty(), "{} errors:\n{}", wrong.len(), wrong.join("\n"));
}

/// The fields and values that were tried: twice is enough.
#[derive(Default)]
struct Tried(HashMap<(String, String, String), usize>);

impl Tried {
    fn is_new(&mut self, broken: &Broken) -> bool {
        let (of, field) = broken.field.clone();
        let times = self.0.entry((of, field, format!("{:?}", broken.value))).or_default();
        *times += 1;
        *times <= 2
    }
}

/// Fields that others refer to: where one is changed, it is the reference that leads nowhere.
const REFERRED_TO: [&str; 3] = ["Point.id", "Role.slate", "OwnStep.id"];

/// What is refused though its type is right, is refused under its own path.
#[test]
fn a_value_out_of_range_is_said_under_its_path() {
    let (schema, mut wrong, mut tried) = (schema(), Vec::new(), Tried::default());
    for (name, job) in jobs() {
        for broken in walk(&schema, &job).broken.iter().filter(|it| !it.by_type) {
            let (of, field) = &broken.field;
            let value = broken.value.as_ref().unwrap();
            if !tried.is_new(broken) {
                continue;
            }
            // All that can be refused is refused before the first look at the clock.
            let budget = Budget { nodes: 100, time_ms: None };
            let Err(error) = run_job_until(&broken.document(&job).to_string(), &budget, &|| true)
            else {
                continue;
            };
            let is_referred_to = REFERRED_TO.contains(&&*format!("{of}.{field}"));
            // A place is wrong as a whole, x and y together; so is a swing where it lies outside the
            // room; its directions are wrong together.
            let place = broken.path.trim_end_matches(".x").trim_end_matches(".y");
            let place = match (of.as_str(), field.as_str()) {
                ("RoomPlan", "at") => place.trim_end_matches(['[', '0', '1', ']']),
                _ => place,
            };
            let swing = (of == "DoorSwing").then(|| broken.path.find(".swing")).flatten();
            let swing = swing.map_or("", |end| &broken.path[..end + ".swing".len()]);
            let swing = names(&error, swing) || names(&error, &format!("{swing}.to_deg"));
            // Where a risk is asked for, readings may be too coarse and limits too narrow for it; joints
            // and their limit come together.
            let by_risk = name == "guarded.job.json" && names(&error, "readings");
            let joints = of == "Limits" && names(&error, "slates.joints");
            // What ties no points together is said of all readings; an old name is said by today's.
            let untied = error.problems().iter().any(|it| it.kind == ProblemKind::Untied);
            let today = names(&error, &broken.path.replace(".play.", ".ball."));
            // What is known of a floor is one thing; heights that were measured are wrong together, and so
            // are FF and FL.
            let floor = match (of.as_str(), field.as_str()) {
                ("KnownFloor", "ff" | "fl") if names(&error, "estimate.floor.ff") => true,
                ("KnownFloor", _) => names(&error, "estimate.floor"),
                ("MeasuredHeights", _) => names(&error, "estimate.floor.measured"),
                _ => false,
            };
            let elsewhere =
                is_referred_to || by_risk || joints || untied || today || swing || floor;
            if !names(&error, &broken.path) && !names(&error, place) && !elsewhere {
                wrong.push(format!("{of}.{field} {name} {} = {value}: {error}", broken.path));
            }
        }
    }
    assert!(wrong.is_empty(), "{} errors:\n{}", wrong.len(), wrong.join("\n"));
}

/// The two tests above come by every field there is.
#[test]
fn every_field_is_broken_somewhere() {
    let schema = schema();
    let mut seen = BTreeSet::new();
    for (_, job) in jobs() {
        seen.append(&mut walk(&schema, &job).seen);
    }
    let mut missing = Vec::new();
    for name in inputs(&schema) {
        let of = if name == "Job" { &schema } else { &schema["$defs"][&name] };
        let variants =
            of.get("oneOf").and_then(Value::as_array).cloned().unwrap_or(vec![of.clone()]);
        for field in
            variants.iter().flat_map(|it| it["properties"].as_object().into_iter().flatten())
        {
            if !seen.contains(&(name.clone(), field.0.clone())) {
                missing.push(format!("{name}.{}", field.0));
            }
        }
    }
    assert!(missing.is_empty(), "no vector has: {}", missing.join(", "));
}

/// The types that a job is made of before it is run.
fn inputs(schema: &Value) -> BTreeSet<String> {
    let mut found = BTreeSet::from(["Job".to_owned()]);
    let mut open = vec![schema["properties"].clone()];
    while let Some(part) = open.pop() {
        match part {
            Value::Object(fields) if fields.get("readOnly") == Some(&json!(true)) => {}
            Value::Object(fields) => {
                if let Some(name) = fields.get("$ref").and_then(Value::as_str) {
                    let name = name.trim_start_matches("#/$defs/").to_owned();
                    if found.insert(name.clone()) {
                        open.push(schema["$defs"][&name].clone());
                    }
                }
                open.extend(fields.into_iter().map(|(_, value)| value));
            }
            Value::Array(items) => open.extend(items),
            _ => {}
        }
    }
    found
}

/// Sections that can be read are checked beside those that cannot.
#[test]
fn everything_that_is_wrong_is_said_at_once() {
    let (_, mut job) = jobs().into_iter().find(|(name, _)| name == "demo.job.json").unwrap();
    job["stock"][0]["thickness"] = json!("0 mm");
    job["points"][1]["x"] = json!("5");
    job["points"][2]["colour"] = json!("red");
    job["readings"][0]["value"] = json!(null);
    job["legs"]["options"]["max_stack"] = json!(3);
    job["plates"] = json!([{"name": "A"}]);
    job["catalogue"] = json!([{"thickness": "2 m"}]);
    let error = run_job(&job.to_string()).unwrap_err();
    for path in [
        "stock[0].thickness",
        "points[1].x",
        "points[2].colour",
        "readings[0].value",
        "legs.options.max_stack",
        "plates[0].lines",
        "plates[0].unit",
        "plates[0].step",
        "catalogue[0].thickness",
    ] {
        assert!(names(&error, path), "{path}\n{error}");
    }
    let mut stages = jobs().into_iter().find(|(name, _)| name == "demo.job.json").unwrap().1;
    stages["legs"]["limits"]["overall"] = json!("-1 mm");
    stages["legs"]["options"]["max_stack"] = json!("-1 mm");
    stages["slates"]["limits"]["joint_step"] = json!("-1 mm");
    let error = run_job(&stages.to_string()).unwrap_err();
    for path in ["legs.limits.overall", "legs.options.max_stack", "slates.limits.joint_step"] {
        assert!(names(&error, path), "{path}\n{error}");
    }
}

/// No text speaks of types of the source, or of a place in a text that the caller may never have seen.
#[test]
fn messages_speak_of_the_document() {
    let schema = schema();
    let names: Vec<&String> = schema["$defs"].as_object().unwrap().keys().collect();
    let (_, job) = jobs().into_iter().find(|(name, _)| name == "demo.job.json").unwrap();
    for broken in walk(&schema, &job).broken.iter().filter(|it| it.by_type) {
        let text = run_job(&broken.document(&job).to_string()).unwrap_err().to_string();
        for word in text.split(|it: char| !it.is_alphanumeric()) {
            let is_type = names.iter().any(|name| *name == word) && word.len() > 4;
            assert!(!is_type && word != "struct" && word != "enum", "{text}");
        }
        assert!(!text.contains("column"), "{text}");
    }
}
