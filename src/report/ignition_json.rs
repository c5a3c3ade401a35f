//! The course of heating as JSON, schema version 1. Units are in the names.

use super::advice::warnings_json;
use super::expected::expected_json;
use super::json::SCHEMA_VERSION;
use crate::batch::Batch;
use crate::ignition::{
    Comparison, Course, CoursePoint, Judged, MicrowaveNote, NoIgnition, Outcome, Verdict,
};
use crate::prepared::Prepared;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use uom::si::amount_of_substance::mole;
use uom::si::energy::joule;
use uom::si::length::meter;
use uom::si::power::watt;
use uom::si::ratio::ratio;
use uom::si::temperature_interval::kelvin as kelvins;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;

/// The course on one way as a JSON value.
#[must_use]
pub fn course_json(batch: &Batch, judged: &Judged) -> Value {
    let mut value = json!({ "schema_version": SCHEMA_VERSION, "name": batch.name });
    if let (Some(object), Value::Object(fields)) = (value.as_object_mut(), fields(judged)) {
        object.extend(fields);
        let trace: Vec<Value> = judged.course.trace.iter().map(point).collect();
        object.insert("trace".to_owned(), Value::Array(trace));
    }
    value
}

/// The course on one way with the batch's warnings, as a JSON value.
#[must_use]
pub fn ignite_json(prepared: &Prepared<'_>, judged: &Judged) -> Value {
    let mut value = course_json(&prepared.batch, judged);
    value["expected"] = expected_json(&prepared.expected);
    value["warnings"] = Value::from(warnings_json(&prepared.advice.warnings));
    value
}

/// All ways as a JSON value; a way without a course has an `error` instead.
#[must_use]
pub fn comparison_json(prepared: &Prepared<'_>, comparison: &Comparison) -> Value {
    let ways: Vec<Value> = comparison
        .ways
        .iter()
        .map(|way| match &way.judged {
            Ok(judged) => fields(judged),
            Err(error) => json!({ "heating_way": way.way, "error": error.to_string() }),
        })
        .collect();
    json!({
        "schema_version": SCHEMA_VERSION,
        "name": prepared.batch.name,
        "expected": expected_json(&prepared.expected),
        "ways": ways,
        "reasons": comparison.reasons,
        "warnings": warnings_json(&prepared.advice.warnings),
    })
}

fn fields(judged: &Judged) -> Value {
    let Judged { course, verdict } = judged;
    let stages: Vec<Value> = course
        .stages
        .iter()
        .map(|stage| {
            json!({
                "name": stage.name.code(),
                "start_s": stage.start.get::<second>(),
                "end_s": stage.end.get::<second>(),
                "temperature_k": stage.temperature.get::<kelvin>(),
                "mean_power_w": stage.power.get::<watt>(),
            })
        })
        .collect();
    let (lit, over, no_ignition) = match &course.outcome {
        Outcome::Ignites {
            time,
            place,
            temperature,
        } => (Some((time, place, temperature)), time, Value::Null),
        Outcome::Fails { time, reason } => (None, time, no_ignition(reason)),
    };
    let early_gases: BTreeMap<&str, f64> = course
        .early_gases
        .iter()
        .map(|gas| (gas.formula.as_str(), gas.amount.get::<mole>()))
        .collect();
    let burn = &course.burn;
    let hazards: Vec<Value> = course
        .hazards
        .iter()
        .map(|h| json!({ "id": h.id, "when": h.when, "text": h.text }))
        .collect();
    json!({
        "heating_way": course.way,
        "kind": course.kind.to_string(),
        "setting": {
            "power_w": course.setting.power.map(|p| p.get::<watt>()),
            "duty_fraction": course.setting.duty.map(|d| d.get::<ratio>()),
            "temperature_k": course.setting.temperature.map(|t| t.get::<kelvin>()),
        },
        "stages": stages,
        "verdict": verdict_json(verdict),
        "time_to_ignition_s": lit.map(|(time, ..)| time.get::<second>()),
        "no_ignition": no_ignition,
        "heating_time_s": over.get::<second>(),
        "ignites_at": lit.map(|(_, place, _)| place.to_string()),
        "hottest_temperature_k": lit.map(|(.., hottest)| hottest.get::<kelvin>()),
        "water_left_fraction": course.water_left.get::<ratio>(),
        "free_water_left_fraction": course.free_water_left.get::<ratio>(),
        "hydrate_water_left_fraction": course.hydrate_water_left.get::<ratio>(),
        "start_temperature_k": course.start_temperature.get::<kelvin>(),
        "wall_minus_centre_k": course.wall_minus_centre.get::<kelvins>(),
        "fuel_lost_fraction": course.fuel_lost.get::<ratio>(),
        "nitrate_lost_fraction": course.nitrate_lost.get::<ratio>(),
        "equivalence_ratio_left": course.equivalence_ratio.get::<ratio>(),
        "early_gases_mol": early_gases,
        "still_wet_fraction": course.still_wet.get::<ratio>(),
        "energy": energy(course),
        "burn": {
            "flame_temperature_k": burn.flame.map(|t| t.get::<kelvin>()),
            "shortest_s": burn.duration.0.get::<second>(),
            "longest_s": burn.duration.1.get::<second>(),
        },
        "cooling": {
            "from_temperature_k": course.cooling.from.get::<kelvin>(),
            "to_temperature_k": course.cooling.to.get::<kelvin>(),
            "furnace_k": course.cooling.furnace.map(|t| t.get::<kelvin>()),
            "time_s": course.cooling.time.map(|t| t.get::<second>()),
        },
        "layer": layer(course),
        "microwave": course.microwave.as_ref().map(microwave),
        "hazards": hazards,
        "staged_time_to_ignition_s": course.staged_time.map(|t| t.get::<second>()),
        "solver_steps": course.steps,
    })
}

fn energy(course: &Course) -> Value {
    let book = &course.energy;
    json!({
        "from_below_j": book.from_below.get::<joule>(),
        "from_above_j": book.from_above.get::<joule>(),
        "microwaves_j": book.microwaves.get::<joule>(),
        "reaction_j": book.reaction.get::<joule>(),
        "steam_j": book.steam.get::<joule>(),
        "gas_j": book.gas.get::<joule>(),
        "stored_j": book.stored.get::<joule>(),
        "imbalance_j": book.imbalance.get::<joule>(),
        "mean_power_w": book.mean_power.get::<watt>(),
    })
}

fn layer(course: &Course) -> Value {
    json!({
        "solution_depth_m": course.layer.solution_depth.get::<meter>(),
        "gel_depth_m": course.layer.gel_depth.get::<meter>(),
        "assumed_area": course.layer.assumed_area,
        "critical_depth_m": course.layer.critical_depth.map(|d| d.get::<meter>()),
        "floor_hottest_k": course.floor_hottest.get::<kelvin>(),
        "floor_limit_k": course.floor_limit.get::<kelvin>(),
    })
}

fn microwave(note: &MicrowaveNote) -> Value {
    json!({
        "absorbed_by_solution_w": note.absorbed_first.get::<watt>(),
        "absorbed_by_gel_w": note.absorbed_gel.get::<watt>(),
        "penetration_in_solution_m": note.penetration_first.get::<meter>(),
        "penetration_in_gel_m": note.penetration_gel.get::<meter>(),
        "lambert_holds": note.lambert_holds,
        "product_goes_on": note.product_goes_on,
    })
}

fn verdict_json(verdict: &Verdict) -> Value {
    json!({
        "chance": verdict.chance().code(),
        "text": verdict.to_string(),
        "lit": verdict.lit,
        "of": verdict.of,
        "from_s": verdict.time.map(|t| t.low.get::<second>()),
        "to_s": verdict.time.map(|t| t.high.get::<second>()),
        "earliest_s": verdict.earliest.map(|t| t.get::<second>()),
    })
}

fn point(point: &CoursePoint) -> Value {
    json!({
        "time_s": point.time.get::<second>(),
        "floor_k": point.floor.get::<kelvin>(),
        "middle_k": point.middle.get::<kelvin>(),
        "surface_k": point.surface.get::<kelvin>(),
        "water_left_fraction": point.water_left.get::<ratio>(),
        "fuel_left_fraction": point.fuel_left.get::<ratio>(),
        "nitrate_left_fraction": point.nitrate_left.get::<ratio>(),
        "power_w": point.power.get::<watt>(),
        "stage": point.stage.code(),
    })
}

fn no_ignition(reason: &NoIgnition) -> Value {
    json!({ "code": reason.code(), "reason": reason.to_string() })
}
