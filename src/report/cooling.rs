//! Oxidation states at the flame and the products on cooling as JSON.

use super::view::{Named, list, view};
use crate::cooling::CoolingStep;
use crate::equilibrium::SpeciesAmount;
use crate::formula::Element;
use crate::oxygen::{dopant_outlook, metal_state};
use crate::plan::{Cooled, Plan, StateResult};
use crate::quantity::Ratio;
use crate::quantity::units::{kelvin, mole, ratio};
use std::collections::BTreeMap;

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
pub(super) fn oxidation_states(plan: &Plan, result: &StateResult) -> Vec<String> {
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
                .then(|| dopant_outlook(metal, share, temperature, log, plan.tables))
                .flatten();
            match outlook {
                Some(outlook) => Some(outlook.to_string()),
                None => metal_state(metal, temperature, log, plan.tables).map(|s| s.to_string()),
            }
        })
        .collect()
}

view! {
    /// What cooling and air make of the powder, from one state of the water.
    CoolingPath((plan, cooled, result): (&Plan<'_>, &Cooled, &StateResult)) {
        /// "as mixed", "boiled down", "dried" or "at ignition".
        water_state: String = cooled.state.to_string(),
        /// Oxidation states of the metals at the flame, and what they do on cooling.
        oxidation_states: Vec<String> = oxidation_states(plan, result),
        /// Steps, the hottest first.
        steps: Vec<CooledTo> = list(cooled.steps.iter().flatten()),
        /// Why there are none; null if there is nothing to explain.
        error: Option<String> = cooled.steps.as_ref().err().map(ToString::to_string),
    }
}

view! {
    /// Powder and gas at one temperature.
    CooledTo(step: &CoolingStep) {
        /// Temperature.
        temperature_k: f64 = step.own_gas.temperature.get::<kelvin>(),
        /// Logarithm of the oxygen pressure over 1 bar; null without gas.
        log10_oxygen_pressure_bar: Option<f64> = step.own_gas.log10_oxygen_pressure,
        /// CO over CO2 in the gas.
        carbon_monoxide_to_dioxide: Option<f64> =
            step.own_gas.carbon_monoxide_ratio.map(|r| r.get::<ratio>()),
        /// H2 over H2O in the gas.
        hydrogen_to_steam: Option<f64> = step.own_gas.hydrogen_ratio.map(|r| r.get::<ratio>()),
        /// Condensed matter in the batch's own gas.
        condensed_mol: Named<f64> = amounts(step.own_gas.condensed()),
        /// Condensed matter in air at this temperature.
        in_air_mol: Named<f64> = amounts(step.in_air.iter()),
        /// What air changes.
        in_air: Vec<String> = step.changes.iter().map(ToString::to_string).collect(),
    }
}

fn amounts<'a>(species: impl Iterator<Item = &'a SpeciesAmount>) -> Named<f64> {
    species
        .map(|s| (s.id.clone(), s.amount.get::<mole>()))
        .collect()
}
