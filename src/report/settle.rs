//! A settled mixture as a document and as JSON.

use super::document::{Cell, Document, Section, Table};
use super::number::{plain, significant, temperature_text};
use super::state_json::EquilibriumBurn;
use super::view::{Named, json_of, view};
use crate::equilibrium::{Equilibrium, SpeciesAmount, SpeciesSet};
use crate::quantity::Ratio;
use crate::quantity::units::{bar, kelvin, kilojoule, mole, percent, ratio};
use crate::settle::{Condition, Settled};
use serde_json::Value;

/// Gases below this share are counted but not listed in the text; the JSON has them.
const LISTED: f64 = 1e-8;

/// The result as JSON.
pub fn settled_json(settled: &Settled) -> Value {
    json_of(SettledMixture::from(settled))
}

view! {
    /// What `settle` writes.
    result SettledMixture(settled: &Settled) {
        /// What goes in.
        reactants_mol: Named<f64> = settled.portions.iter()
            .map(|p| (p.name.clone(), p.amount.get::<mole>()))
            .collect(),
        /// Why reactants are refused as ingredients of a batch.
        hazards: Named<String> = settled.portions.iter()
            .filter_map(|p| Some((p.name.clone(), p.hazard.as_ref()?.to_string())))
            .collect(),
        /// Species that could form: "full" or "fast".
        species_set: &'static str = set_name(settled.set),
        /// Species counted.
        species_count: usize = settled.species_count,
        /// Start without heat exchange; null at a given temperature.
        adiabatic_from_k: Option<f64> = match settled.condition {
            Condition::AdiabaticFrom(start) => Some(start.get::<kelvin>()),
            Condition::Temperature(_) => None,
        },
        /// The equilibrium.
        #[serde(flatten)]
        answer: EquilibriumBurn = EquilibriumBurn::from(&settled.answer),
    }
}

fn set_name(set: SpeciesSet) -> &'static str {
    match set {
        SpeciesSet::Full => "full",
        SpeciesSet::Fast => "fast",
    }
}

/// The result as a document.
pub fn settled_document(settled: &Settled) -> Document {
    let equilibrium = settled.equilibrium();
    Document::new(
        String::new(),
        vec![
            question(settled),
            gas(equilibrium),
            condensed(equilibrium),
            potentials(equilibrium),
            proof(settled),
        ],
    )
}

fn question(settled: &Settled) -> Section {
    let equilibrium = settled.equilibrium();
    let mut section = Section::default();
    let mut mixture = Table::new("Mixture", ["mixture", "amount / mol"]);
    for portion in &settled.portions {
        let amount = portion.amount.get::<mole>();
        mixture.row([
            portion.name.clone().into(),
            Cell::new(amount, plain(amount, 6)),
        ]);
    }
    section.table(mixture);
    for portion in &settled.portions {
        if let Some(hazard) = &portion.hazard {
            section.fact(
                "Danger",
                format!(
                    "{}: an equilibrium is worked out, a batch with it is refused: {hazard}",
                    portion.name
                ),
            );
        }
    }
    let temperature = temperature_text(equilibrium.temperature);
    let pressure = plain(equilibrium.pressure.get::<bar>(), 4);
    section.text(match settled.condition {
        Condition::Temperature(_) => format!("Equilibrium at {temperature}, {pressure} bar"),
        Condition::AdiabaticFrom(start) => {
            let start = temperature_text(start);
            format!("Without heat exchange from {start}, at {pressure} bar: {temperature}")
        }
    });
    if let Some(transition) = &settled.answer.transition {
        let share = significant(transition.share.get::<percent>(), 3);
        section.item(format!(
            "This is a transition; {share} % of its heat is taken up."
        ));
    }
    section.item(format!(
        "{} species could form ({} set); enthalpy {} kJ",
        settled.species_count,
        set_name(settled.set),
        significant(equilibrium.enthalpy.get::<kilojoule>(), 6),
    ));
    section
}

fn gas(equilibrium: &Equilibrium) -> Section {
    let amount = significant(equilibrium.gas_amount.get::<mole>(), 5);
    let mut section = Section::new(format!("Gas, {amount} mol"));
    if !equilibrium.has_gas {
        section.text("No gas phase: what follows is the vapour over the condensed phases.");
    }
    let listed = |s: &&SpeciesAmount| s.amount_fraction.is_some_and(|x| x.get::<ratio>() > LISTED);
    let mut table = Table::new("Gas", ["species", "amount / mol", "share / %"]);
    for species in equilibrium.gases().filter(listed) {
        let share = species.amount_fraction.map_or(0.0, |x| x.get::<percent>());
        table.row([
            species.id.clone().into(),
            Cell::number(species.amount.get::<mole>(), 5),
            Cell::number(share, 4),
        ]);
    }
    section.table(table);
    let fainter = equilibrium.gases().filter(|s| !listed(s)).count();
    if fainter > 0 {
        section.item(format!("and {fainter} below 1e-6 %"));
    }
    section
}

fn condensed(equilibrium: &Equilibrium) -> Section {
    let mut section = Section::new("Condensed");
    let mut table = Table::new("Condensed phases", ["phase", "amount / mol", "in solution"]);
    for species in equilibrium.condensed() {
        let solution = match (&species.solution, species.amount_fraction) {
            (Some(name), Some(share)) => {
                let share = significant(share.get::<percent>(), 4);
                Cell::from(format!("{share} % of {name}"))
            }
            _ => Cell::Absent,
        };
        table.row([
            species.id.clone().into(),
            Cell::number(species.amount.get::<mole>(), 5),
            solution,
        ]);
    }
    if table.rows.iter().all(|row| row[2] == Cell::Absent) {
        table.head.pop();
        for row in &mut table.rows {
            row.pop();
        }
    }
    if table.rows.is_empty() {
        section.text("No condensed phase");
    }
    section.table(table);
    let molten = equilibrium
        .molten_fraction
        .map_or(0.0, |share| share.get::<percent>());
    if molten > 0.0 {
        section.item(format!("molten: {} % of the mass", significant(molten, 3)));
    }
    for id in &equilibrium.extrapolated {
        section.item(format!("{id}: beyond the range of its data"));
    }
    section
}

fn potentials(equilibrium: &Equilibrium) -> Section {
    let mut section = Section::new("Potentials");
    let mut table = Table::new("Potentials", ["", "value"]);
    let mut line = |label: &str, value: Option<f64>, digits: i32| {
        if let Some(value) = value {
            table.row([label.into(), Cell::number(value, digits)]);
        }
    };
    line("log10(p(O2)/bar)", equilibrium.log10_oxygen_pressure, 5);
    let number = |value: Option<Ratio>| value.map(|value| value.get::<ratio>());
    line("CO/CO2", number(equilibrium.carbon_monoxide_ratio), 4);
    line("H2/H2O", number(equilibrium.hydrogen_ratio), 4);
    line("carbon activity", number(equilibrium.carbon_activity), 4);
    section.table(table);
    if equilibrium.log10_oxygen_pressure.is_none() {
        section.text("log10(p(O2)/bar) is not set by anything in the tables");
    }
    section
}

fn proof(settled: &Settled) -> Section {
    let evidence = &settled.equilibrium().evidence;
    let mut section = Section::new("Proof");
    section.text(format!(
        "{} iterations; elements balance to {:.0e}, chemical potentials agree to {:.0e} RT",
        settled.answer.iterations,
        evidence.balance_residual.get::<ratio>(),
        evidence.potential_residual.get::<ratio>(),
    ));
    if let Some(affinity) = evidence.greatest_absent_affinity {
        let distance = significant(-affinity.get::<ratio>(), 3);
        section.item(format!(
            "The nearest phase that does not form is {distance} RT away from forming."
        ));
    }
    section
}
