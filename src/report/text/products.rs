//! What comes out: the gas, and the equilibrium at the flame.

use super::layout::{heading, wrapped};
use crate::equilibrium::{SpeciesAmount, TRACE_SHARE};
use crate::plan::Plan;
use crate::report::number::{significant, temperature_text, volume_text, whole};
use std::fmt::{self, Write};
use uom::si::amount_of_substance::{millimole, mole};
use uom::si::pressure::bar;
use uom::si::ratio::{percent, ratio};

/// Gas species below this share of the gas are trace.
const MAIN_SHARE: f64 = 1e-3;

pub(in crate::report) fn gases(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    heading(out, "Gas (complete combustion)")?;
    writeln!(
        out,
        "{:<12} {:>10} {:>12} {:>12} {:>12} {:>16}",
        "water", "mmol", "at 25 °C", "25 °C, dry", "at the flame", "hot over liquid"
    )?;
    for result in &plan.states {
        let gas = &result.gas;
        writeln!(
            out,
            "{:<12} {:>10} {:>12} {:>12} {:>12} {:>16}",
            result.state.name.to_string(),
            significant(gas.amount.get::<millimole>(), 4),
            volume_text(gas.volume_25c),
            volume_text(gas.volume_25c_dry),
            gas.volume_flame.map_or("–".to_owned(), volume_text),
            gas.expansion.map_or("–".to_owned(), |e| format!(
                "{} ×",
                significant(e.get::<ratio>(), 2)
            )),
        )?;
    }
    for result in &plan.states {
        let species: Vec<String> = result
            .gas
            .by_species
            .iter()
            .map(|g| format!("{} {}", g.id, significant(g.amount.get::<millimole>(), 3)))
            .collect();
        wrapped(
            out,
            2,
            &format!("{}, mmol: {}", result.state.name, species.join(", ")),
        )?;
    }
    if plan.states.iter().any(|result| result.complete.shifted) {
        wrapped(
            out,
            0,
            "Rich: the surplus fuel's carbon and hydrogen settle among CO, CO2, H2 and H2O by the \
             water–gas equilibrium at the flame temperature.",
        )?;
    }
    Ok(())
}

fn phase_list(phases: &[&SpeciesAmount]) -> String {
    let list: Vec<String> = phases
        .iter()
        .map(|s| {
            let amount = significant(s.amount.get::<millimole>(), 3);
            format!("{} {amount} mmol", s.id)
        })
        .collect();
    list.join(", ")
}

pub(in crate::report) fn equilibria(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    heading(out, "Equilibrium at the flame")?;
    for result in &plan.states {
        let equilibrium = match &result.equilibrium {
            Ok(burnt) => &burnt.equilibrium,
            Err(error) => {
                wrapped(out, 0, &format!("{}: none: {error}", result.state.name))?;
                continue;
            }
        };
        writeln!(
            out,
            "{}: {} at {} bar",
            result.state.name,
            temperature_text(equilibrium.temperature),
            significant(equilibrium.pressure.get::<bar>(), 3)
        )?;
        let gas = equilibrium.gas_amount.get::<mole>();
        let (mut main, mut trace) = (Vec::new(), Vec::new());
        for species in equilibrium.gases() {
            let share = species.amount.get::<mole>() / gas;
            if share >= MAIN_SHARE {
                main.push(format!(
                    "{} {} %",
                    species.id,
                    significant(100.0 * share, 3)
                ));
            } else if share >= 1e-7 && trace.len() < 8 {
                trace.push(format!(
                    "{} {} ppm",
                    species.id,
                    significant(1e6 * share, 2)
                ));
            }
        }
        wrapped(out, 2, &format!("gas: {}", main.join(", ")))?;
        if !trace.is_empty() {
            wrapped(out, 2, &format!("traces: {}", trace.join(", ")))?;
        }
        let (main, traces) = equilibrium.main_and_trace_phases();
        wrapped(out, 2, &format!("powder: {}", phase_list(&main)))?;
        if !traces.is_empty() {
            wrapped(
                out,
                2,
                &format!(
                    "traces of it (each below {} % of the metal): {}",
                    100.0 * TRACE_SHARE,
                    phase_list(&traces)
                ),
            )?;
        }
        let mut facts = Vec::new();
        if let Some(molten) = equilibrium.molten_fraction {
            facts.push(format!("molten {} %", whole(molten.get::<percent>())));
        }
        if let Some(oxygen) = equilibrium.log10_oxygen_pressure {
            facts.push(format!("log10(pO2/bar) {}", significant(oxygen, 3)));
        }
        let mut add = |name: &str, value: Option<crate::quantity::Ratio>| {
            if let Some(value) = value {
                facts.push(format!("{name} {}", significant(value.get::<ratio>(), 2)));
            }
        };
        add("CO/CO2", equilibrium.carbon_monoxide_ratio);
        add("H2/H2O", equilibrium.hydrogen_ratio);
        add("carbon activity", equilibrium.carbon_activity);
        wrapped(out, 2, &facts.join("; "))?;
        if !equilibrium.extrapolated.is_empty() {
            let list = equilibrium.extrapolated.join(", ");
            wrapped(out, 2, &format!("beyond the range of its data: {list}"))?;
        }
    }
    Ok(())
}
