//! Oxidation states at the flame and the products on cooling.

use crate::cooling::CoolingStep;
use crate::oxygen::findings;
use crate::plan::{Plan, StateResult};
use crate::quantity::Ratio;
use crate::quantity::units::{kelvin, ratio};
use crate::report::cooling::{metals, oxidation_states};
use crate::report::document::{Cell, Section, Table};
use crate::report::number::celsius_text;

/// Whether there is anything hot to tell of.
fn burns(result: &StateResult) -> bool {
    result.complete.flame.temperature().is_some()
}

pub(super) fn section(plan: &Plan) -> Section {
    let mut section = Section::new("Oxidation states at the flame");
    for result in plan.states.iter().filter(|result| burns(result)) {
        let sentences = oxidation_states(plan, result);
        if !sentences.is_empty() {
            let state = result.state.name;
            section.text(format!("{state}, each metal with oxygen alone:"));
        }
        for sentence in sentences {
            section.item(sentence);
        }
    }
    for finding in metals(plan)
        .keys()
        .flat_map(|metal| findings(*metal, plan.tables))
    {
        section.text(format!(
            "{} in {}: {} ({}); {} [{}]",
            finding.element,
            finding.host,
            finding.state,
            finding.atmosphere,
            finding.finding,
            finding.source
        ));
    }
    section
}

pub(super) fn cooling(plan: &Plan) -> Section {
    let mut section = Section::new("Cooling in its own gas, in equilibrium all the way");
    if !plan.powder.is_empty() {
        section.subtitle("expected burn".to_owned());
        steps_table("expected burn", &plan.powder, &mut section);
    }
    for (cooled, result) in plan.cooled().iter().zip(&plan.states) {
        if !burns(result) {
            continue;
        }
        section.subtitle(cooled.state.to_string());
        match &cooled.steps {
            Err(error) => section.item(format!("no table: {error}")),
            Ok(steps) => steps_table(&cooled.state.to_string(), steps, &mut section),
        }
    }
    if !section.parts.is_empty() {
        section.text(
            "Equilibrium on cooling is a bound: below some 1000 K most of this is slow, and an open \
             pot lets air in. Mixed oxides take up no carbon dioxide on the way.",
        );
    }
    section
}

fn steps_table(state: &str, steps: &[CoolingStep], section: &mut Section) {
    let head = ["at", "log p(O2)", "CO/CO2", "H2/H2O", "solid"];
    let mut table = Table::new(&format!("Cooling, {state}"), head);
    let number =
        |value: Option<Ratio>| value.map_or(Cell::Absent, |v| Cell::number(v.get::<ratio>(), 2));
    let mut airs: Vec<(String, String)> = Vec::new();
    for step in steps {
        let own = &step.own_gas;
        let (main, _) = own.main_and_trace_phases();
        let solid: Vec<&str> = main.into_iter().map(|s| s.id.as_str()).collect();
        let at = celsius_text(own.temperature);
        table.row([
            Cell::new(own.temperature.get::<kelvin>(), at.clone()),
            own.log10_oxygen_pressure.map_or(Cell::Absent, Cell::log),
            number(own.carbon_monoxide_ratio),
            number(own.hydrogen_ratio),
            solid.join(", ").into(),
        ]);
        let air: Vec<String> = step.changes.iter().map(ToString::to_string).collect();
        let air = air.join("; ");
        if airs.last().is_none_or(|(_, last)| *last != air) {
            airs.push((at, air));
        }
    }
    section.table(table);
    for (at, air) in airs.into_iter().filter(|(_, air)| !air.is_empty()) {
        section.item(format!("in air, from {at} down: {air}"));
    }
}
