//! What is wrong with a document by its JSON Schema: every field that is missing, unknown or of the
//! wrong type, each by its path.
//!
//! A path has the names of the fields and the indices of the items: `stock[2].thickness`. It reads
//! the part of JSON Schema (draft 2020-12) that our schemas are made of.

use schemars::JsonSchema;
use schemars::generate::SchemaSettings;
use serde_json::{Map, Value};

use crate::error::{Error, ProblemKind, Problems};

/// A kind of text with a form of its own: its name in the schema, what finds out what is wrong with a
/// text, and its form in words.
pub(crate) type Form = (&'static str, fn(&str) -> Result<(), Error>, &'static str);

/// All that is wrong with a document; `noun` is what it is called as a whole.
pub(super) fn problems<T: JsonSchema>(document: &Value, noun: &str, forms: &[Form]) -> Problems {
    problems_of_part::<T>(document, "", noun, forms)
}

/// All that is wrong with the part of a document that stands at a path.
pub(super) fn problems_of_part<T: JsonSchema>(
    part: &Value,
    path: &str,
    noun: &str,
    forms: &[Form],
) -> Problems {
    let schema = SchemaSettings::draft2020_12().into_generator().into_root_schema_for::<T>();
    let mut shape = Shape { root: schema.as_value(), forms, noun, found: Problems::default() };
    shape.check(shape.root, part, path);
    shape.found
}

/// Names that fields had in earlier versions, which are still read, with those of today.
const OLD_NAMES: [(&str, &str); 1] = [("play", "ball")];

struct Shape<'a> {
    root: &'a Value,
    forms: &'a [Form],
    noun: &'a str,
    found: Problems,
}

impl<'a> Shape<'a> {
    fn check(&mut self, schema: &'a Value, value: &Value, path: &str) {
        if self.found.is_full() {
            return;
        }
        let (form, schema) = self.resolved(schema);
        // What a run writes is read as far as this version knows it.
        if schema["readOnly"] == true {
            return;
        }
        if let Some(variants) = variants(schema) {
            return self.check_union(&variants, value, path);
        }
        if let Some(constant) = schema.get("const") {
            if value != constant {
                self.refuse(path, shown(value), shown(constant));
            }
            return;
        }
        if !has_type(schema, value) {
            let expected = self.expected(form, schema);
            return self.refuse(path, shown(value), expected);
        }
        match value {
            Value::String(text) => self.check_text(form, text, path),
            Value::Object(fields) => self.check_fields(schema, fields, path),
            Value::Array(items) => self.check_items(schema, items, path),
            _ => {}
        }
    }

    /// What a reference leads to, and the form that its name stands for.
    fn resolved(&self, mut schema: &'a Value) -> (Option<&'a Form>, &'a Value) {
        let mut form = None;
        while let Some(name) = schema["$ref"].as_str().and_then(|at| at.strip_prefix("#/$defs/")) {
            form = self.forms.iter().find(|(of, ..)| *of == name);
            schema = &self.root["$defs"][name];
        }
        (form, schema)
    }

    fn check_text(&mut self, form: Option<&Form>, text: &str, path: &str) {
        let wrong = form.and_then(|(_, check, _)| check(text).err());
        if let Some(problem) = wrong.as_ref().and_then(|error| error.problems().first()) {
            self.refuse(path, format!("{text:?}"), problem.expected.clone());
        }
    }

    fn check_fields(&mut self, schema: &'a Value, fields: &Map<String, Value>, path: &str) {
        let Some(known) = schema["properties"].as_object() else { return };
        for name in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
            if !fields.contains_key(name) {
                let (form, schema) = self.resolved(&known[name]);
                let expected = self.expected(form, schema);
                // Examples would make a long list of missing fields unreadable.
                let expected = expected.split(", as in").next().unwrap_or_default().to_owned();
                self.refuse(&field(path, name), "none".to_owned(), expected);
            }
        }
        for (name, value) in fields {
            let today =
                OLD_NAMES.iter().find(|(old, _)| *old == name).map_or(name.as_str(), |it| it.1);
            match known.get(name).or_else(|| known.get(today)) {
                Some(schema) => self.check(schema, value, &field(path, name)),
                None if schema["additionalProperties"] == false => {
                    let known: Vec<_> = known.keys().map(String::as_str).collect();
                    let expected = one_of(&known);
                    self.refuse(&field(path, name), "an unknown field".to_owned(), expected);
                }
                None => {}
            }
        }
    }

    fn check_items(&mut self, schema: &'a Value, items: &[Value], path: &str) {
        if let Some(count) = exact_count(schema)
            && items.len() as u64 != count
        {
            let got = format!("{} items", items.len());
            return self.refuse(path, got, format!("an array of {count}"));
        }
        for (at, item) in items.iter().enumerate() {
            self.check(&schema["items"], item, &format!("{path}[{at}]"));
        }
    }

    /// Checks a value against the variant that it chooses: by its type, its constant or its tag.
    fn check_union(&mut self, variants: &[&'a Value], value: &Value, path: &str) {
        let fits = |schema: &&&Value| has_type(self.resolved(schema).1, value);
        let fitting: Vec<&Value> = variants.iter().filter(fits).copied().collect();
        match (fitting.as_slice(), value) {
            ([only], _) if only.get("const").is_none() => self.check(only, value, path),
            ([_, ..], Value::Object(fields)) => self.check_tagged(&fitting, fields, path),
            ([_, ..], _) if fitting.iter().any(|it| it["const"] == *value) => {}
            _ => {
                let expected = self.expected_of(variants);
                self.refuse(path, shown(value), expected);
            }
        }
    }

    /// Checks an object against the variant that its tag names.
    fn check_tagged(&mut self, variants: &[&'a Value], fields: &Map<String, Value>, path: &str) {
        let tag = variants.iter().find_map(|variant| {
            let properties = variant["properties"].as_object()?;
            properties.iter().find(|(_, it)| it.get("const").is_some()).map(|(name, _)| name)
        });
        let Some(tag) = tag else { return };
        let constant = |variant: &&Value| variant["properties"][tag]["const"].clone();
        let given = fields.get(tag);
        match variants.iter().find(|it| given == Some(&constant(it))) {
            Some(variant) => self.check(variant, &Value::Object(fields.clone()), path),
            None => {
                let names: Vec<_> = variants.iter().map(|it| shown(&constant(it))).collect();
                let names: Vec<_> = names.iter().map(String::as_str).collect();
                let got = given.map_or_else(|| "none".to_owned(), shown);
                self.refuse(&field(path, tag), got, one_of(&names));
            }
        }
    }

    /// What a schema takes, in words.
    fn expected(&self, form: Option<&Form>, schema: &'a Value) -> String {
        if let Some((_, _, words)) = form {
            return (*words).to_owned();
        }
        if let Some(constant) = schema.get("const") {
            return shown(constant);
        }
        if let Some(variants) = variants(schema) {
            return self.expected_of(&variants);
        }
        match types(schema).find(|it| *it != "null").unwrap_or_default() {
            "string" => "a text".to_owned(),
            "boolean" => "true or false".to_owned(),
            "number" => "a number".to_owned(),
            "integer" => format!("a whole number from 0 to {}", most_of(schema)),
            "array" => match exact_count(schema) {
                Some(count) => format!("an array of {count}"),
                None => "an array".to_owned(),
            },
            _ => {
                let single = schema["required"].as_array().filter(|it| it.len() == 1);
                match single.and_then(|it| it[0].as_str()) {
                    Some(name) => format!("an object with {name}"),
                    None => "an object".to_owned(),
                }
            }
        }
    }

    /// What a union takes, in words. That something may be left out says little where it is there and
    /// wrong.
    fn expected_of(&self, variants: &[&'a Value]) -> String {
        let said = variants.iter().filter(|it| it["type"] != "null").map(|variant| {
            let (form, schema) = self.resolved(variant);
            self.expected(form, schema)
        });
        let said: Vec<_> = said.collect();
        one_of(&said.iter().map(String::as_str).collect::<Vec<_>>())
    }

    fn refuse(&mut self, path: &str, got: String, expected: String) {
        // A document that is one array has items of its own name.
        let path = match path {
            "" => self.noun.to_owned(),
            path if path.starts_with('[') => format!("{}{path}", self.noun),
            path => path.to_owned(),
        };
        self.found.add(ProblemKind::Document, path, got, expected);
    }
}

/// The variants of a union.
fn variants(schema: &Value) -> Option<Vec<&Value>> {
    let listed = schema.get("oneOf").or_else(|| schema.get("anyOf"))?;
    Some(listed.as_array()?.iter().collect())
}

/// The types that a schema takes.
fn types(schema: &Value) -> impl Iterator<Item = &str> {
    let listed = schema["type"].as_array().into_iter().flatten();
    listed.chain(std::iter::once(&schema["type"])).filter_map(Value::as_str)
}

fn has_type(schema: &Value, value: &Value) -> bool {
    let is = |kind: &str| match (kind, value) {
        ("null", Value::Null)
        | ("string", Value::String(_))
        | ("boolean", Value::Bool(_))
        | ("number", Value::Number(_))
        | ("array", Value::Array(_))
        | ("object", Value::Object(_)) => true,
        ("integer", Value::Number(number)) => {
            let most = most_of(schema);
            number.as_u64().is_some_and(|number| number <= most)
        }
        _ => false,
    };
    // A union takes what one of its variants takes.
    match variants(schema) {
        Some(variants) => variants.iter().any(|variant| has_type(variant, value)),
        // Some fields take anything.
        None => schema.get("type").is_none() || types(schema).any(is),
    }
}

/// The greatest whole number that a field takes.
fn most_of(schema: &Value) -> u64 {
    if schema["format"] == "uint32" { u64::from(u32::MAX) } else { u64::MAX }
}

/// How many items an array has, where that is fixed.
fn exact_count(schema: &Value) -> Option<u64> {
    let [least, most] = ["minItems", "maxItems"].map(|bound| schema[bound].as_u64());
    least.filter(|_| least == most)
}

/// The path of a field.
pub(super) fn field(path: &str, name: &str) -> String {
    let is_plain = |it: char| it.is_alphanumeric() || it == '_' || it == '-';
    match (name.is_empty() || !name.chars().all(is_plain), path) {
        (true, _) => format!("{path}[{name:?}]"),
        (false, "") => name.to_owned(),
        (false, _) => format!("{path}.{name}"),
    }
}

/// How a document has a value, in a few words.
fn shown(value: &Value) -> String {
    match value {
        Value::Array(_) => "an array".to_owned(),
        Value::Object(_) => "an object".to_owned(),
        Value::String(text) => format!("{text:?}"),
        other => other.to_string(),
    }
}

fn one_of(names: &[&str]) -> String {
    match names {
        [only] => (*only).to_owned(),
        [a, b] => format!("{a} or {b}"),
        _ => format!("one of {}", names.join(", ")),
    }
}
