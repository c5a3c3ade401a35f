//! The JSON Schema of all results, made from their views. The offline page has none.

use super::{
    bench, choose, compare, ignition_json, json, judge, known_powder, learn, mistakes, next,
    recrystallise, series, settle, sheet_data, substance, substance_list, vary,
};
use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde_json::{Value, json};

/// Adds a view to the schema.
type Part = fn(&mut SchemaGenerator) -> Schema;

/// The part of one view.
fn view<T: JsonSchema>(generator: &mut SchemaGenerator) -> Schema {
    generator.subschema_for::<T>()
}

/// The commands that write JSON, and what.
const RESULTS: [(&str, &[Part]); 17] = [
    ("burn", &[view::<json::Estimate>, view::<json::Refusal>]),
    ("weigh", &[view::<sheet_data::BenchSheet>]),
    (
        "ignite",
        &[
            view::<ignition_json::OneWay>,
            view::<ignition_json::AllWays>,
        ],
    ),
    ("vary", &[view::<vary::Swept>]),
    (
        "choose",
        &[
            view::<choose::ChosenFuels>,
            view::<known_powder::WishAnswer>,
        ],
    ),
    ("check", &[view::<mistakes::Checked>]),
    ("compare", &[view::<compare::Compared>]),
    ("recrystallise", &[view::<recrystallise::Crop>]),
    ("dope", &[view::<known_powder::DopantCounted>]),
    ("settle", &[view::<settle::SettledMixture>]),
    (
        "substance",
        &[
            view::<substance::SubstanceSheets>,
            view::<substance_list::SubstanceList>,
            view::<substance_list::WeakestValues>,
        ],
    ),
    ("calcine", &[view::<bench::CrystalWater>]),
    ("convert", &[view::<bench::Converted>]),
    ("judge", &[view::<judge::Judged>]),
    ("learn", &[view::<learn::Learned>]),
    ("series", &[view::<series::PlannedSeries>]),
    ("next", &[view::<next::Proposed>]),
];

/// The schema of what `command` writes, or of what all commands write without one.
///
/// # Errors
/// A sentence with the names of the commands, if none has this one.
pub fn schema(command: Option<&str>) -> Result<String, String> {
    let names = RESULTS.map(|(name, _)| name);
    if let Some(command) = command.filter(|command| !names.contains(command)) {
        return Err(format!(
            "`{command}` writes no JSON: the schema knows {}",
            names.join(", ")
        ));
    }
    let mut generator = SchemaSettings::draft2020_12()
        .for_serialize()
        .into_generator();
    let written: Vec<Value> = RESULTS
        .iter()
        .filter(|(name, _)| command.is_none_or(|command| command == *name))
        .map(|(name, parts)| {
            let parts: Vec<Schema> = parts.iter().map(|part| part(&mut generator)).collect();
            json!({ "title": name, "anyOf": parts })
        })
        .collect();
    let all: Value = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "What emberpot writes with --format json",
        "description": "Units are in the names; a name without unit is a plain number or a share \
                        of 1. Amounts are for the whole batch. A value that there is not is null.",
        "anyOf": written,
        "$defs": generator.take_definitions(true),
    });
    Ok(format!("{all:#}\n"))
}
