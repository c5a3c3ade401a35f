//! The sources that a plan rests on, with what was taken from each.

use crate::batch::Batch;
use crate::burn::StateResult;
use crate::enthalpy::WaterStateName;
use crate::prepared::Prepared;
use crate::quantity::reference_temperature;
use crate::quantity::units::{kelvin, mole};
use crate::source::{Seen, SourceId};
use crate::tables::unit::Unit;
use crate::tables::{Cited, Role, Tables};
use std::collections::BTreeMap;

/// Main products in equilibrium: amounts from this share of the gas on count.
const WORTH_A_SOURCE: f64 = 1e-3;
/// A start this near to the reference temperature needs no heat capacities, K.
const NO_WARMING: f64 = 0.01;

/// A source that the plan rests on, with what was taken from it.
#[derive(Debug, Clone, PartialEq)]
pub struct UsedSource {
    /// Key in the bibliography.
    pub id: SourceId,
    /// How the least certain value from it was found.
    pub seen: Seen,
    /// What it was used for, such as "enthalpy of CH4N2O".
    pub used_for: Vec<String>,
}

#[derive(Default)]
struct Notes {
    used: BTreeMap<SourceId, (Seen, Vec<String>)>,
}

impl Notes {
    fn note(&mut self, id: &SourceId, seen: Seen, what: String) {
        let entry = self.used.entry(id.clone()).or_insert((seen, Vec::new()));
        entry.0 = entry.0.max(seen);
        if !entry.1.contains(&what) {
            entry.1.push(what);
        }
    }

    fn value<U: Unit>(&mut self, value: &Cited<U>, what: String) {
        self.note(&value.source, value.seen, what);
    }
}

/// Every source behind the numbers of a plan, by key.
pub(super) fn used_sources(
    batch: &Batch,
    results: &[StateResult],
    prepared: &Prepared<'_>,
) -> Vec<UsedSource> {
    let (advice, tables) = (&prepared.advice, prepared.tables);
    let mut notes = Notes::default();
    for result in results {
        for line in &result.reactants.lines {
            notes.note(
                &line.source,
                line.seen,
                format!("enthalpy of {}", line.substance),
            );
        }
        reactant_properties(&mut notes, batch, result);
        products(&mut notes, result, tables);
    }
    for trace in prepared.purity.iter().flat_map(|budget| &budget.traces) {
        for portion in &trace.portions {
            if let Some((id, seen)) = &portion.source {
                notes.note(id, *seen, format!("impurities of {}", portion.from));
            }
        }
        for spoiling in &trace.spoils {
            let what = format!("levels that spoil a {}", spoiling.of_use);
            notes.note(&spoiling.source, spoiling.seen, what);
        }
    }
    for exposure in &advice.exposures {
        let limit = &exposure.limit;
        notes.note(
            &limit.source,
            limit.seen,
            format!("limit of {}", exposure.name),
        );
    }
    for warning in &advice.warnings {
        for id in &warning.sources {
            notes.note(id, warning.seen, format!("caution {}", warning.code));
        }
    }
    for fume in &advice.fumes.gases {
        for (id, seen) in &fume.sources {
            notes.note(id, *seen, format!("bracket of {}", fume.gas));
        }
    }
    notes
        .used
        .into_iter()
        .map(|(id, (seen, used_for))| UsedSource { id, seen, used_for })
        .collect()
}

/// Enthalpies of solution and heat capacities, where they count.
fn reactant_properties(notes: &mut Notes, batch: &Batch, result: &StateResult) {
    let dissolved =
        result.state.name == WaterStateName::AsMixed && result.state.solvent.get::<mole>() > 0.0;
    let start = result.reactants.start.get::<kelvin>();
    let warmed = (start - reference_temperature().get::<kelvin>()).abs() > NO_WARMING;
    for ingredient in batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role != Role::Solvent)
    {
        let reactant = &ingredient.reactant;
        if let (true, Some(value)) = (dissolved, &reactant.enthalpy_of_solution) {
            notes.value(
                value,
                format!("enthalpy of solution of {}", reactant.formula),
            );
        }
        if let (true, Some(value)) = (warmed, &reactant.heat_capacity) {
            notes.value(value, format!("heat capacity of {}", reactant.formula));
        }
        if let Some(value) = &reactant.density {
            notes.value(value, format!("density of {}", reactant.formula));
        }
    }
}

fn products(notes: &mut Notes, result: &StateResult, tables: &Tables) {
    let burn = &result.complete;
    let mut ids: Vec<&str> = burn
        .gas
        .iter()
        .chain(&burn.condensed)
        .map(|p| p.id.as_str())
        .collect();
    if let Some(equilibrium) = result.settled() {
        let gas = equilibrium.gas_amount.get::<mole>();
        let amounts = equilibrium.amounts.iter();
        let main = amounts.filter(|s| s.amount.get::<mole>() > WORTH_A_SOURCE * gas);
        ids.extend(main.map(|s| s.id.as_str()));
    }
    for species in ids.into_iter().filter_map(|id| tables.species_by_id(id)) {
        if let Some(enthalpy) = &species.formation_enthalpy {
            notes.value(enthalpy, format!("enthalpy of {}", species.id));
        }
        let origin = &species.heat_capacity_origin;
        notes.note(
            &origin.source,
            origin.seen,
            format!("heat capacity of {}", species.id),
        );
    }
}
