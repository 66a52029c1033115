//! The JSON Schema (draft 2020-12) of the JSON report, from the very types that are written.

use crate::report::Report;
use crate::report::json::{FORMAT, VERSION};
use crate::report::seal::{MEMBER, Seal};
use serde_json::{Map, Value, json};
use utoipa::{PartialSchema, ToSchema};

/// The schema, indented, with a line feed at the end.
#[must_use]
pub fn render() -> String {
    let mut known = Vec::new();
    <Report as ToSchema>::schemas(&mut known);
    <Seal as ToSchema>::schemas(&mut known);
    known.push((Seal::name().into_owned(), Seal::schema()));
    let parts: Map<String, Value> =
        known.into_iter().map(|(name, schema)| (name, value(&schema))).collect();
    let mut schema = value(&Report::schema());
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!("Clampbook job report");
    schema["properties"]["format"] = json!({"const": FORMAT, "description": "What the file is."});
    schema["properties"]["version"] = json!({
        "const": VERSION,
        "description": "Version of the format; grows only when a field changes its meaning."
    });
    schema["properties"][MEMBER] =
        json!({"$ref": format!("#/components/schemas/{}", Seal::name())});
    if let Some(required) = schema["required"].as_array_mut() {
        required.extend([json!("format"), json!("version")]);
    }
    schema["$defs"] = Value::Object(parts);
    let text = serde_json::to_string_pretty(&schema)
        .expect("a schema has only string keys; this is a bug");
    text.replace("#/components/schemas/", "#/$defs/") + "\n"
}

fn value<T: serde::Serialize>(schema: &T) -> Value {
    serde_json::to_value(schema).expect("a schema is plain data; this is a bug")
}
