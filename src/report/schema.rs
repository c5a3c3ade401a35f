//! The JSON Schema of all results, kept in `schema.json`; a test holds it to what the commands
//! write.

use serde_json::{Map, Value, json};
use std::collections::BTreeSet;

const SCHEMA: &str = include_str!("schema.json");

/// The schema of what `command` writes, or of what all commands write without one.
///
/// # Errors
/// A sentence with the names of the commands, if none has this one.
pub fn schema(command: Option<&str>) -> Result<String, String> {
    let Some(command) = command else {
        return Ok(SCHEMA.to_owned());
    };
    let all: Value = serde_json::from_str(SCHEMA).expect("the schema is JSON");
    let parts = all["$defs"].as_object().expect("the schema has parts");
    let results = all["anyOf"].as_array().expect("the schema has results");
    let names: Vec<&str> = results.iter().filter_map(part_name).collect();
    if !names.contains(&command) {
        return Err(format!(
            "`{command}` writes no JSON: the schema knows {}",
            names.join(", ")
        ));
    }
    let result = json!({ "$ref": format!("{PARTS}{command}") });
    let mut needed = BTreeSet::new();
    collect(&result, parts, &mut needed);
    let kept: Map<String, Value> = parts
        .iter()
        .filter(|(name, _)| needed.contains(name.as_str()))
        .map(|(name, part)| (name.clone(), part.clone()))
        .collect();
    let found = json!({
        "$schema": all["$schema"],
        "title": format!("What emberpot {command} writes"),
        "$ref": result["$ref"],
        "$defs": kept,
    });
    Ok(format!("{found:#}\n"))
}

const PARTS: &str = "#/$defs/";

/// The part that `value` refers to.
fn part_name(value: &Value) -> Option<&str> {
    value.get("$ref")?.as_str()?.strip_prefix(PARTS)
}

/// Adds the parts that `value` refers to, and those that they refer to.
fn collect(value: &Value, parts: &Map<String, Value>, needed: &mut BTreeSet<String>) {
    if let Some(name) = part_name(value) {
        if needed.insert(name.to_owned()) {
            collect(&parts[name], parts, needed);
        }
    }
    match value {
        Value::Object(fields) => fields.values().for_each(|v| collect(v, parts, needed)),
        Value::Array(items) => items.iter().for_each(|v| collect(v, parts, needed)),
        _ => {}
    }
}
