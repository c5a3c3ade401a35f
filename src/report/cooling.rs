//! Oxidation states at the flame and the products on cooling, as text and JSON.

use super::number::{celsius_text, significant};
use super::text::{heading, wrapped};
use crate::cooling::CoolingStep;
use crate::formula::Element;
use crate::oxygen::{dopant_outlook, findings, metal_state};
use crate::plan::{Plan, StateResult};
use crate::quantity::Ratio;
use crate::tables::Tables;
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::fmt::{self, Write};
use uom::si::amount_of_substance::mole;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;

/// Column at which the solids of the cooling table start.
const SOLIDS_FROM: usize = 42;
/// A cation below this share of all counts as a dopant.
const DOPANT_SHARE: f64 = 0.2;

/// Metals of the batch with their share of all metals.
fn metals(plan: &Plan) -> BTreeMap<Element, Ratio> {
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
fn oxidation_states(plan: &Plan, result: &StateResult, tables: &Tables) -> Vec<String> {
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

/// Oxidation states at the flame, then the way down to 500 K.
pub(super) fn cooling_text(plan: &Plan, tables: &Tables, out: &mut impl Write) -> fmt::Result {
    heading(out, "Oxidation states and cooling")?;
    // A batch too wet to burn makes no powder to tell of.
    let burns = |result: &&StateResult| result.complete.flame.temperature().is_some();
    for result in plan.states.iter().filter(burns) {
        let sentences = oxidation_states(plan, result, tables);
        if !sentences.is_empty() {
            writeln!(
                out,
                "{}, at the flame, each metal with oxygen alone:",
                result.state.name
            )?;
        }
        for sentence in sentences {
            wrapped(out, 2, &sentence)?;
        }
    }
    for finding in metals(plan)
        .keys()
        .flat_map(|metal| findings(*metal, tables))
    {
        let host = format!(
            "{} in {}: {} ({}); {} [{}]",
            finding.element,
            finding.host,
            finding.state,
            finding.atmosphere,
            finding.finding,
            finding.source
        );
        wrapped(out, 2, &host)?;
    }
    for (cooled, result) in plan.cooled.iter().zip(&plan.states) {
        if !burns(&result) {
            continue;
        }
        writeln!(
            out,
            "\n{}, in its own gas and in equilibrium all the way:",
            cooled.state
        )?;
        match &cooled.steps {
            Err(error) => wrapped(out, 2, &format!("no table: {error}"))?,
            Ok(steps) => table(steps, out)?,
        }
    }
    wrapped(
        out,
        0,
        "Equilibrium on cooling is a bound: below some 800 K most of this is slow, and an open pot \
         lets air in.",
    )
}

fn table(steps: &[CoolingStep], out: &mut impl Write) -> fmt::Result {
    writeln!(
        out,
        "  {:>8} {:>9} {:>9} {:>9}  solid",
        "", "log p(O2)", "CO/CO2", "H2/H2O"
    )?;
    let mut last = String::new();
    for step in steps {
        let own = &step.own_gas;
        let number = |value: Option<Ratio>| {
            value.map_or("–".to_owned(), |v| significant(v.get::<ratio>(), 2))
        };
        let solid: Vec<String> = own
            .main_and_trace_phases()
            .0
            .into_iter()
            .map(|s| s.id.clone())
            .collect();
        let mut text = String::new();
        wrapped(&mut text, SOLIDS_FROM, &solid.join(", "))?;
        write!(
            out,
            "  {:>8} {:>9} {:>9} {:>9}",
            celsius_text(own.temperature),
            own.log10_oxygen_pressure
                .map_or("–".to_owned(), |log| format!("{log:.1}")),
            number(own.carbon_monoxide_ratio),
            number(own.hydrogen_ratio),
        )?;
        // The first line goes on where the numbers end.
        match text.get(SOLIDS_FROM - 2..) {
            Some(rest) => write!(out, "{rest}")?,
            None => writeln!(out)?,
        }
        let air: Vec<String> = step.changes.iter().map(ToString::to_string).collect();
        let air = air.join("; ");
        if !air.is_empty() && air != last {
            wrapped(out, 11, &format!("air: {air}"))?;
        }
        last = air;
    }
    Ok(())
}
