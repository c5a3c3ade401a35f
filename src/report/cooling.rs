//! Oxidation states at the flame and the products on cooling as JSON.

use crate::cooling::CoolingStep;
use crate::formula::Element;
use crate::oxygen::{dopant_outlook, metal_state};
use crate::plan::{Plan, StateResult};
use crate::quantity::Ratio;
use crate::tables::Tables;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use uom::si::amount_of_substance::mole;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;

/// A cation below this share of all counts as a dopant.
const DOPANT_SHARE: f64 = 0.2;

/// Metals of the batch with their share of all metals.
pub(super) fn metals(plan: &Plan) -> BTreeMap<Element, Ratio> {
    let amounts: BTreeMap<Element, f64> = plan
        .batch
        .dry_elements()
        .into_iter()
        .filter(|(element, _)| element.is_metal())
        .map(|(element, n)| (element, n.get::<mole>()))
        .collect();
    let all: f64 = amounts.values().sum();
    amounts
        .into_iter()
        .map(|(element, n)| (element, Ratio::new::<ratio>(n / all)))
        .collect()
}

/// One sentence a metal: its phase in the gas at the flame, or the band of a dopant.
pub(super) fn oxidation_states(plan: &Plan, result: &StateResult, tables: &Tables) -> Vec<String> {
    let Some(equilibrium) = result.settled() else {
        return Vec::new();
    };
    let Some(log) = equilibrium.log10_oxygen_pressure else {
        return Vec::new();
    };
    let temperature = equilibrium.temperature;
    metals(plan)
        .into_iter()
        .filter_map(|(metal, share)| {
            let outlook = (share.get::<ratio>() < DOPANT_SHARE)
                .then(|| dopant_outlook(metal, share, temperature, log, tables))
                .flatten();
            match outlook {
                Some(outlook) => Some(outlook.to_string()),
                None => metal_state(metal, temperature, log, tables).map(|s| s.to_string()),
            }
        })
        .collect()
}

/// What cooling and air make of the powder, for the JSON.
#[must_use]
pub(super) fn cooling_json(plan: &Plan, tables: &Tables) -> Value {
    let mut all = Vec::new();
    for (cooled, result) in plan.cooled.iter().zip(&plan.states) {
        let (steps, error) = match &cooled.steps {
            Ok(steps) => (steps.iter().map(step_json).collect(), Value::Null),
            Err(error) => (Vec::new(), json!(error.to_string())),
        };
        all.push(json!({
            "water_state": cooled.state.to_string(),
            "oxidation_states": oxidation_states(plan, result, tables),
            "steps": steps,
            "error": error,
        }));
    }
    Value::Array(all)
}

fn step_json(step: &CoolingStep) -> Value {
    let optional = |value: Option<Ratio>| value.map(|v| v.get::<ratio>());
    let phases = |list: &mut dyn Iterator<Item = (String, f64)>| {
        list.map(|(id, n)| (id, json!(n)))
            .collect::<Map<String, Value>>()
    };
    let own = &step.own_gas;
    json!({
        "temperature_k": own.temperature.get::<kelvin>(),
        "log10_oxygen_pressure_bar": own.log10_oxygen_pressure,
        "carbon_monoxide_to_dioxide": optional(own.carbon_monoxide_ratio),
        "hydrogen_to_steam": optional(own.hydrogen_ratio),
        "condensed_mol":
            phases(&mut own.condensed().map(|s| (s.id.clone(), s.amount.get::<mole>()))),
        "in_air_mol":
            phases(&mut step.in_air.iter().map(|s| (s.id.clone(), s.amount.get::<mole>()))),
        "in_air": step.changes.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}
