//! A choice of fuels as CSV and JSON.

use super::further::help_text;
use super::ratio_reason;
use crate::choose::{Candidate, Choice, GoalOrigin, OtherPhases, RatioRange, Verdict};
use crate::report::document::{Cell, Table};
use crate::report::expected::expected_json;
use crate::report::vary::point_json;
use serde_json::{Value, json};
use uom::si::mass::gram;
use uom::si::ratio::ratio;
use uom::si::specific_volume::cubic_meter_per_kilogram;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;

/// Heads of the choice's CSV.
const CSV_HEAD: [&str; 9] = [
    "place",
    "fuels",
    "of_the_file",
    "equivalence_ratio",
    "expected_temperature_k",
    "verdict",
    "gas_per_product_l_per_g",
    "log10_oxygen_pressure_bar",
    "points",
];

/// The ranked candidates as CSV.
#[must_use]
pub fn choice_csv(choice: &Choice) -> String {
    let mut table = Table::new("Fuels", CSV_HEAD);
    let or_absent = |value: Option<f64>| value.map_or(Cell::Absent, Cell::plain);
    for (at, candidate) in choice.candidates.iter().enumerate() {
        let (point, suggestion) = (&candidate.suggestion.point, &candidate.suggestion);
        let gas = point.gas_per_product.get::<cubic_meter_per_kilogram>();
        table.row([
            (at + 1).to_string().into(),
            candidate.fuels.name().into(),
            candidate.fuels.of_the_file.to_string().into(),
            Cell::plain(suggestion.ratio.get::<ratio>()),
            or_absent(suggestion.temperature.map(|t| t.get::<kelvin>())),
            candidate.verdict.to_string().into(),
            Cell::plain(gas),
            or_absent(point.log10_oxygen_pressure),
            Cell::plain(candidate.score),
        ]);
    }
    table.csv()
}

/// The choice as a JSON value, fields as in `schema.json`.
#[must_use]
pub fn choice_json(choice: &Choice) -> Value {
    let goal = &choice.goal;
    let candidates: Vec<Value> = choice.candidates.iter().map(candidate_json).collect();
    let limits: Vec<Value> = choice
        .own
        .limits
        .iter()
        .map(|burn| {
            json!({
                "water_state": burn.state.to_string(),
                "verdict": burn.verdict.to_string(),
                "burn": point_json(&burn.point),
            })
        })
        .collect();
    let own = json!({
        "expected": expected_json(&choice.own.expected),
        "verdict": choice.own.verdict.to_string(),
        "other_phases": other_phases_json(&choice.own.other_phases),
        "limits": limits,
    });
    let left_out: Vec<Value> = choice
        .left_out
        .iter()
        .chain(&choice.failed)
        .map(|l| json!({ "fuel": l.fuel, "reason": l.reason }))
        .collect();
    let tests: Vec<Value> = choice
        .tests
        .iter()
        .map(|r| json!({ "rival": r.name, "test": r.test, "cure": r.cure }))
        .collect();
    json!({
        "schema_version": crate::report::json::SCHEMA_VERSION,
        "name": choice.name,
        "wanted": {
            "phase": goal.phase.as_ref().map(|p| p.name.clone()),
            "differing_cation_fraction": goal.differing.get::<ratio>(),
            "origin": match goal.origin {
                GoalOrigin::Stated => "stated",
                GoalOrigin::Lower => "lowest published",
                GoalOrigin::Typical => "usual anneal",
            },
            "held_temperature_k": goal.held.map(|t| t.get::<kelvin>()),
            "least_temperature_k": goal.least.get::<kelvin>(),
            "safe_temperature_k": goal.safe.get::<kelvin>(),
            "upper_temperature_k": goal.upper.map(|t| t.get::<kelvin>()),
            "time_s": goal.time.get::<second>(),
            "time_assumed": !goal.time_stated,
            "atmosphere": goal.atmosphere.map(|a| a.to_string()),
        },
        "reached": choice.reached(),
        "own_batch": own,
        "candidates": candidates,
        "help": choice.help.iter().map(help_text).collect::<Vec<_>>(),
        "tests": tests,
        "left_out": left_out,
    })
}

fn candidate_json(candidate: &Candidate) -> Value {
    let suggestion = &candidate.suggestion;
    let fuels: Vec<Value> = candidate
        .fuels
        .parts
        .iter()
        .map(|(fuel, share)| {
            json!({ "name": fuel.name, "formula": fuel.formula.to_string(), "valence_fraction": share })
        })
        .collect();
    let weighed: Vec<Value> = suggestion
        .batch
        .weighed
        .iter()
        .map(|i| json!({ "name": i.reactant.name, "mass_g": i.mass.get::<gram>() }))
        .collect();
    let criteria: Vec<Value> = candidate
        .criteria
        .iter()
        .map(|c| {
            json!({
                "name": c.kind.to_string(),
                "score": c.score,
                "weight": c.weight,
                "words": c.words,
            })
        })
        .collect();
    let ranges = |ranges: &[RatioRange]| -> Vec<Value> {
        ranges
            .iter()
            .map(|r| {
                json!({
                    "from": r.from.get::<ratio>(),
                    "to": r.to.get::<ratio>(),
                    "from_is_root": r.from_is_root,
                    "to_is_root": r.to_is_root,
                })
            })
            .collect()
    };
    let reach = &candidate.reach;
    json!({
        "fuels": fuels,
        "of_the_file": candidate.fuels.of_the_file,
        "equivalence_ratio": suggestion.ratio.get::<ratio>(),
        "ratio_reason": ratio_reason(suggestion.why),
        "verdict": candidate.verdict.to_string(),
        "hot_enough": candidate.verdict == Verdict::Forms,
        "points": candidate.score,
        "criteria": criteria,
        "burn": point_json(&suggestion.point),
        "weigh": weighed,
        "expected": suggestion.expected.as_ref().map(expected_json),
        "expected_temperature_k": suggestion.temperature.map(|t| t.get::<kelvin>()),
        "other_phases": other_phases_json(&suggestion.other_phases),
        "reach": {
            "equivalence_ratios_may_form": ranges(&reach.least),
            "equivalence_ratios_hot_enough": ranges(&reach.safe),
            "hottest_temperature_k": reach.hottest.get::<kelvin>(),
            "hottest_equivalence_ratio": reach.hottest_ratio.get::<ratio>(),
        },
    })
}

fn other_phases_json(others: &OtherPhases) -> Value {
    json!({
        "metal_fraction": others.share.get::<ratio>(),
        "phases": others.phases,
        "on_cooling": others.on_cooling,
    })
}
