//! The JSON Schema of all results, made from their views.

use schemars::generate::SchemaSettings;
use schemars::{Schema, SchemaGenerator};
use serde_json::{Value, json};

/// The results by the command that writes them.
const RESULTS: [(&str, fn(&mut SchemaGenerator) -> Schema); 17] = [
    (
        "burn",
        SchemaGenerator::subschema_for::<super::json::BurnAnswer>,
    ),
    (
        "weigh",
        SchemaGenerator::subschema_for::<super::sheet_data::BenchSheet>,
    ),
    (
        "ignite",
        SchemaGenerator::subschema_for::<super::ignition_json::Ignite>,
    ),
    ("vary", SchemaGenerator::subschema_for::<super::vary::Swept>),
    (
        "choose",
        SchemaGenerator::subschema_for::<super::choose::ChooseAnswer>,
    ),
    (
        "check",
        SchemaGenerator::subschema_for::<super::mistakes::Checked>,
    ),
    (
        "compare",
        SchemaGenerator::subschema_for::<super::compare::Compared>,
    ),
    (
        "recrystallise",
        SchemaGenerator::subschema_for::<super::recrystallise::Crop>,
    ),
    (
        "dope",
        SchemaGenerator::subschema_for::<super::look::DopantCounted>,
    ),
    (
        "settle",
        SchemaGenerator::subschema_for::<super::settle::SettledMixture>,
    ),
    (
        "substance",
        SchemaGenerator::subschema_for::<super::substance::SubstanceAnswer>,
    ),
    (
        "calcine",
        SchemaGenerator::subschema_for::<super::bench::CrystalWater>,
    ),
    (
        "convert",
        SchemaGenerator::subschema_for::<super::bench::Converted>,
    ),
    (
        "judge",
        SchemaGenerator::subschema_for::<super::judge::Judged>,
    ),
    (
        "learn",
        SchemaGenerator::subschema_for::<super::learn::Learned>,
    ),
    (
        "series",
        SchemaGenerator::subschema_for::<super::series::PlannedSeries>,
    ),
    (
        "next",
        SchemaGenerator::subschema_for::<super::next::Proposed>,
    ),
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
    let settings = SchemaSettings::draft2020_12().for_serialize();
    let mut generator = settings.into_generator();
    let written: Vec<Schema> = RESULTS
        .iter()
        .filter(|(name, _)| command.is_none_or(|command| command == *name))
        .map(|(_, result)| result(&mut generator))
        .collect();
    let all: Value = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": match command {
            Some(command) => format!("What emberpot {command} writes with --format json"),
            None => "What the commands of emberpot write with --format json".to_owned(),
        },
        "description": "Units are in the names; a name without unit is a plain number or a share \
                        of 1. Amounts are for the whole batch. A value that there is not is null.",
        "anyOf": written,
        "$defs": generator.take_definitions(true),
    });
    Ok(format!("{all:#}\n"))
}
