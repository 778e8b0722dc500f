//! The JSON Schema of the document, made from the types that read it.
//!
//! Doc comments are its descriptions, so each is a sentence that stands alone.

use schemars::generate::SchemaSettings;
use schemars::transform::RecursiveTransform;
use schemars::{JsonSchema, Schema};
use serde_json::{Map, Value};

/// A name of the document that never changes while its version is the same.
const ID: &str = "urn:truebed:job:1";

/// The schema of a document (draft 2020-12), indented by two spaces.
pub(super) fn of<T: JsonSchema>() -> String {
    let settings = SchemaSettings::draft2020_12()
        .with_transform(RecursiveTransform(join_lines))
        .with_transform(RecursiveTransform(title_variants))
        .with_transform(RecursiveTransform(add_old_names));
    let mut schema = settings.into_generator().into_root_schema_for::<T>();
    schema.insert("$id".to_owned(), ID.into());
    serde_json::to_string_pretty(&schema).unwrap_or_default()
}

/// Lines are broken for the editor and not for the reader; paragraphs and tables stay.
fn join_lines(schema: &mut Schema) {
    let Some(Value::String(text)) = schema.get_mut("description") else { return };
    let paragraphs = text.split("\n\n").map(|paragraph| match paragraph.starts_with('|') {
        true => paragraph.to_owned(),
        false => paragraph.replace('\n', " "),
    });
    *text = paragraphs.collect::<Vec<_>>().join("\n\n");
}

/// Fields by the names that they had before, which are still read.
const OLD_NAMES: [(&str, &str); 1] = [("ball", "play")];

/// Adds the fields whose old names are still read, marked as deprecated.
fn add_old_names(schema: &mut Schema) {
    let Some(Value::Object(fields)) = schema.get_mut("properties") else { return };
    for (new, old) in OLD_NAMES {
        let Some(Value::Object(field)) = fields.get(new) else { continue };
        let mut field = field.clone();
        field.insert("deprecated".to_owned(), true.into());
        field.insert("description".to_owned(), format!("The older name of `{new}`.").into());
        fields.insert(old.to_owned(), field.into());
    }
}

/// Gives each variant of a union the name by which a document chooses it.
fn title_variants(schema: &mut Schema) {
    for key in ["oneOf", "anyOf"] {
        let Some(Value::Array(variants)) = schema.get_mut(key) else { continue };
        for variant in variants.iter_mut().filter_map(Value::as_object_mut) {
            if let Some(name) = name(variant)
                && !variant.contains_key("title")
            {
                variant.insert("title".to_owned(), name.into());
            }
        }
    }
}

/// What chooses a variant: its constant, the constant of its tag, its only field, or its type.
fn name(variant: &Map<String, Value>) -> Option<String> {
    let constant = |value: &Value| value.get("const").and_then(Value::as_str).map(str::to_owned);
    let properties = variant.get("properties").and_then(Value::as_object);
    let tag = || properties?.values().find_map(constant);
    let field = || properties?.keys().next().filter(|_| properties.is_some_and(|it| it.len() == 1));
    let kind = || variant.get("type").and_then(Value::as_str).filter(|kind| *kind != "null");
    variant
        .get("const")
        .and_then(Value::as_str)
        .map(str::to_owned)
        .or_else(tag)
        .or_else(|| field().cloned())
        .or_else(|| kind().map(str::to_owned))
}
