//! The mistakes of a batch file as JSON, for editors and the offline page.

use super::json::SCHEMA_VERSION;
use crate::batch::BatchError;
use serde_json::{Value, json};

/// `mistakes[]` with `line` and `column` (in characters, both from 1) and `message`, and how many
/// `further` ones were counted only; nothing of both if the file can be used.
#[must_use]
pub fn mistakes_json(error: Option<&BatchError>) -> Value {
    let list: Vec<Value> = error
        .iter()
        .flat_map(|error| &error.mistakes)
        .map(|mistake| {
            json!({
                "line": mistake.line,
                "column": mistake.column,
                "message": mistake.message,
            })
        })
        .collect();
    json!({
        "schema_version": SCHEMA_VERSION,
        "mistakes": list,
        "further": error.map_or(0, |error| error.further),
    })
}
