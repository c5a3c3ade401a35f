//! The mistakes of a batch file as JSON, for editors and the offline page.

use super::json::SCHEMA_VERSION;
use crate::batch::Mistake;
use serde_json::{Value, json};

/// `mistakes[]` with `line` and `column` (in characters, both from 1) and `message`; empty if the
/// file can be used.
#[must_use]
pub fn mistakes_json(mistakes: &[Mistake]) -> Value {
    let list: Vec<Value> = mistakes
        .iter()
        .map(|mistake| {
            json!({
                "line": mistake.line,
                "column": mistake.column,
                "message": mistake.message,
            })
        })
        .collect();
    json!({ "schema_version": SCHEMA_VERSION, "mistakes": list })
}
