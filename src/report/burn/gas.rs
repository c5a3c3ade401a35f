//! What comes out: the gas, and the equilibrium at the flame.

use crate::equilibrium::{Equilibrium, SpeciesAmount, TRACE_SHARE};
use crate::plan::Plan;
use crate::quantity::units::{bar, cubic_meter, gram, millimole, mole, ratio};
use crate::quantity::{Ratio, Volume};
use crate::report::document::{Cell, Section, Table, percent_text};
use crate::report::number::{log_text, plain, significant, temperature_text, volume_text};
use crate::tables::species::Phase;

/// Gas species from this share of the gas on are told in percent.
const MAIN_SHARE: f64 = 1e-3;
/// Gas species below this share are not told.
const FAINTEST_SHARE: f64 = 1e-7;
/// Traces that are told.
const MOST_TRACES: usize = 8;
/// Phases from this share of the powder on are named on the first screen.
const WORTH_A_WORD: f64 = 0.01;
/// Condensed phases below this share of the powder are rounding, or cannot be weighed.
const FAINT_SHARE: f64 = 1e-5;

fn volume(volume: Volume) -> Cell {
    Cell::new(volume.get::<cubic_meter>(), volume_text(volume))
}

pub(super) fn section(plan: &Plan) -> Section {
    let mut section = Section::new("Gas (complete combustion)");
    section.table(volumes(plan));
    for result in &plan.states {
        let all = result.gas.amount.get::<mole>();
        let species: Vec<String> = result
            .gas
            .by_species
            .iter()
            .filter(|gas| gas.amount.get::<mole>() > FAINT_SHARE * all)
            .map(|gas| {
                format!(
                    "{} {}",
                    gas.id,
                    significant(gas.amount.get::<millimole>(), 3)
                )
            })
            .collect();
        section.item(format!(
            "{}, mmol: {}",
            result.state.name,
            species.join(", ")
        ));
    }
    if plan.states.iter().any(|result| result.complete.shifted) {
        section.text(
            "Rich: the surplus fuel's carbon and hydrogen settle among CO, CO2, H2 and H2O by the \
             water–gas equilibrium at the flame temperature.",
        );
    }
    section
}

fn volumes(plan: &Plan) -> Table {
    let head = [
        "water",
        "mmol",
        "at 25 °C",
        "25 °C, dry",
        "at the flame",
        "hot over liquid",
    ];
    let mut table = Table::new("Gas by species", head);
    for result in &plan.states {
        let gas = &result.gas;
        let expansion = gas.expansion.map(|expansion| expansion.get::<ratio>());
        table.row([
            result.state.name.to_string().into(),
            Cell::number(gas.amount.get::<millimole>(), 4),
            volume(gas.volume_25c),
            volume(gas.volume_25c_dry),
            gas.volume_flame.map_or(Cell::Absent, volume),
            expansion.map_or(Cell::Absent, |value| {
                Cell::new(value, format!("{} ×", significant(value, 2)))
            }),
        ]);
    }
    table
}

pub(super) fn equilibrium(plan: &Plan) -> Section {
    let mut section = Section::new("Equilibrium at the flame");
    for result in &plan.states {
        let equilibrium = match &result.equilibrium {
            Ok(burnt) => &burnt.equilibrium,
            Err(error) => {
                section.text(format!("{}: {error}", result.state.name));
                continue;
            }
        };
        section.text(format!(
            "{}: {} at {} bar",
            result.state.name,
            temperature_text(equilibrium.temperature),
            plain(equilibrium.pressure.get::<bar>(), 3)
        ));
        section.item(format!("gas: {}", main_gas(equilibrium).join(", ")));
        let traces = traces(equilibrium);
        if !traces.is_empty() {
            section.item(format!("traces: {}", traces.join(", ")));
        }
        let (main, traces) = equilibrium.main_and_trace_phases();
        section.item(format!("powder: {}", powder(&main)));
        if !traces.is_empty() {
            section.item(format!(
                "traces in the powder (each below {} % of its metal): {}",
                100.0 * TRACE_SHARE,
                powder(&traces)
            ));
        }
        section.item(potentials(equilibrium).join("; "));
        if !equilibrium.extrapolated.is_empty() {
            let list = equilibrium.extrapolated.join(", ");
            section.item(format!("beyond the range of its data: {list}"));
        }
    }
    section
}

/// Shares of the gas, the largest first.
fn shares(equilibrium: &Equilibrium) -> impl Iterator<Item = (&str, f64)> {
    let all = equilibrium.gas_amount.get::<mole>();
    equilibrium
        .gases()
        .map(move |species| (species.id.as_str(), species.amount.get::<mole>() / all))
}

/// The main gases with their percent.
fn main_gas(equilibrium: &Equilibrium) -> Vec<String> {
    shares(equilibrium)
        .filter(|(_, share)| *share >= MAIN_SHARE)
        .map(|(id, share)| format!("{id} {} %", significant(100.0 * share, 3)))
        .collect()
}

fn traces(equilibrium: &Equilibrium) -> Vec<String> {
    shares(equilibrium)
        .filter(|(_, share)| (FAINTEST_SHARE..MAIN_SHARE).contains(share))
        .take(MOST_TRACES)
        .map(|(id, share)| format!("{id} {} ppm", significant(1e6 * share, 2)))
        .collect()
}

/// Condensed phases with their amounts.
fn powder(phases: &[&SpeciesAmount]) -> String {
    let named = phases.iter().map(|species| {
        let amount = significant(species.amount.get::<millimole>(), 3);
        format!("{} {amount} mmol", species.id)
    });
    named.collect::<Vec<_>>().join(", ")
}

/// A condensed phase as the first screen tells it: its name, its mass, what a solution holds.
struct PhaseMass {
    name: String,
    mass: f64,
    members: Vec<(String, f64)>,
}

/// The condensed phases with their share of the mass, without that of a single one; the forms of
/// one crystal together, and what is dissolved in one crystal within its phase.
pub(super) fn phases(equilibrium: &Equilibrium) -> String {
    let mut found: Vec<PhaseMass> = Vec::new();
    for species in equilibrium.condensed() {
        let formula = species.id.rfind('(').map_or("", |end| &species.id[..end]);
        let own = match species.phase {
            Phase::Liquid => format!("{formula} melt"),
            Phase::Crystal | Phase::Gas => formula.to_owned(),
        };
        let name = species.solution.clone().unwrap_or_else(|| own.clone());
        let mass = species.mass.get::<gram>();
        match found.iter_mut().find(|phase| phase.name == name) {
            Some(phase) => {
                phase.mass += mass;
                phase.members.push((own, mass));
            }
            None => found.push(PhaseMass {
                name,
                mass,
                members: vec![(own, mass)],
            }),
        }
    }
    let all: f64 = found.iter().map(|phase| phase.mass).sum();
    found.retain(|phase| phase.mass >= WORTH_A_WORD * all);
    found.sort_by(|a, b| b.mass.total_cmp(&a.mass));
    let percent = |mass: f64| format!("{:.0} %", 100.0 * mass / all);
    let told = |phase: &mut PhaseMass| {
        phase.members.sort_by(|a, b| b.1.total_cmp(&a.1));
        let told = |(_, mass): &&(String, f64)| *mass >= WORTH_A_WORD * all;
        let count = phase.members.iter().filter(told).count();
        phase.members.truncate(count.max(1));
        match phase.members.as_slice() {
            [(only, _)] => (only.clone(), String::new()),
            members => {
                let list = members
                    .iter()
                    .map(|(name, mass)| format!("{name} {}", percent(*mass)));
                let list = list.collect::<Vec<_>>().join(", ");
                (phase.name.clone(), format!(" ({list})"))
            }
        }
    };
    match found.as_mut_slice() {
        [] => "no solid".to_owned(),
        [one] => {
            let (name, members) = told(one);
            name + &members
        }
        several => {
            let list = several.iter_mut().map(|phase| {
                let (name, members) = told(phase);
                format!("{name} {}{members}", percent(phase.mass))
            });
            list.collect::<Vec<_>>().join(", ")
        }
    }
}

fn potentials(equilibrium: &Equilibrium) -> Vec<String> {
    let mut facts = Vec::new();
    if let Some(molten) = equilibrium.molten_fraction {
        facts.push(format!("molten {}", percent_text(molten)));
    }
    if let Some(oxygen) = equilibrium.log10_oxygen_pressure {
        facts.push(format!("log10(pO2/bar) {}", log_text(oxygen)));
    }
    let mut add = |name: &str, value: Option<Ratio>| {
        if let Some(value) = value {
            facts.push(format!("{name} {}", significant(value.get::<ratio>(), 2)));
        }
    };
    add("CO/CO2", equilibrium.carbon_monoxide_ratio);
    add("H2/H2O", equilibrium.hydrogen_ratio);
    add("carbon activity", equilibrium.carbon_activity);
    facts
}
