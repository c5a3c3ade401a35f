//! What the products turn into on cooling: in their own gas, and if air gets to them.

use crate::equilibrium::{
    Equilibrium, EquilibriumError, SpeciesAmount, SpeciesSet, System, element_amounts,
    main_and_traces,
};
use crate::formula::{Element, Formula};
use crate::quantity::{AmountOfSubstance, Pressure, ThermodynamicTemperature};
use crate::tables::Tables;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use uom::si::amount_of_substance::mole;
use uom::si::thermodynamic_temperature::kelvin;

/// Lowest temperature of the table: below, nothing of this reaches equilibrium in hours (common
/// practice).
const COLDEST: f64 = 500.0;
/// Distance between two rows.
const STEP: f64 = 100.0;
/// Room air by amount: nitrogen with argon, oxygen, water at about half saturation at 20 °C,
/// carbon dioxide (common practice).
const AIR: [(&str, f64); 4] = [("N2", 0.78), ("O2", 0.209), ("H2O", 0.012), ("CO2", 0.0004)];
/// Air per mole of solid: so much that its composition stays.
const MUCH_AIR: f64 = 1e5;

/// One row of the cooling table.
#[derive(Debug, Clone, PartialEq)]
pub struct CoolingStep {
    /// Equilibrium in the batch's own gas.
    pub own_gas: Equilibrium,
    /// Condensed phases of the same metals in much room air at this temperature.
    pub in_air: Vec<SpeciesAmount>,
    /// What air would change.
    pub changes: Vec<AirChange>,
}

/// What happens to the solid if air gets to it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum AirChange {
    /// A phase takes up oxygen: metals, lower oxides.
    Oxidises {
        /// The phase in the own gas.
        id: String,
    },
    /// Carbon burns off.
    BurnsOff {
        /// The phase.
        id: String,
    },
    /// A carbonate forms.
    Carbonates {
        /// The carbonate.
        id: String,
    },
    /// A hydroxide forms; slow in the cold.
    Hydrates {
        /// The hydroxide.
        id: String,
    },
    /// A carbonate or hydroxide of the own gas decomposes.
    Decomposes {
        /// The phase.
        id: String,
    },
}

impl fmt::Display for AirChange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Oxidises { id } => write!(f, "{id} oxidises in air"),
            Self::BurnsOff { id } => write!(f, "{id} burns off in air"),
            Self::Carbonates { id } => write!(f, "{id} forms with the carbon dioxide of the air"),
            Self::Hydrates { id } => write!(f, "{id} forms with the moisture of the air"),
            Self::Decomposes { id } => write!(f, "{id} decomposes in air"),
        }
    }
}

/// The products from `hottest` down to 500 K, in equilibrium at every step, and what air would
/// do to the solid there. The first row is at `hottest`, the others at round hundreds.
///
/// Equilibrium on cooling is a bound: gas frozen in at the flame, powder that cools in seconds.
/// Below some 800 K most of these reactions are slow; `own` says which species may form in the
/// own gas. Air is taken with all species, for carbonates and hydroxides are what
/// a powder on the shelf turns into.
///
/// # Errors
/// [`EquilibriumError`] of the first step that has no answer.
pub fn cooling(
    own: &mut System<'_>,
    amounts: &BTreeMap<Element, AmountOfSubstance>,
    hottest: ThermodynamicTemperature,
    pressure: Pressure,
    tables: &Tables,
) -> Result<Vec<CoolingStep>, EquilibriumError> {
    let mut with_air: BTreeSet<Element> = amounts.keys().copied().collect();
    let air: Vec<(Formula, AmountOfSubstance)> = AIR
        .iter()
        .filter_map(|(text, share)| {
            let n = AmountOfSubstance::new::<mole>(share * MUCH_AIR);
            Some((Formula::parse(text).ok()?, n))
        })
        .collect();
    let air = element_amounts(air.iter().map(|(formula, n)| (formula, *n)));
    with_air.extend(air.keys());
    let with_air: Vec<Element> = with_air.into_iter().collect();
    let mut open = System::new(tables, &with_air, SpeciesSet::Full, false);
    let mut steps = Vec::new();
    for t in temperatures(hottest.get::<kelvin>()) {
        let temperature = ThermodynamicTemperature::new::<kelvin>(t);
        let own_gas = own.equilibrium(amounts, temperature, pressure)?;
        let solid = solid_elements(&own_gas, tables);
        let in_air: Vec<SpeciesAmount> = if solid.is_empty() {
            Vec::new()
        } else {
            let total: f64 = solid.values().map(|n| n.get::<mole>()).sum();
            let mut mixture = solid;
            for (element, n) in &air {
                *mixture.entry(*element).or_default() += *n * total;
            }
            open.equilibrium(&mixture, temperature, pressure)?
                .condensed()
                .cloned()
                .collect()
        };
        let changes = changes(&own_gas, &in_air, tables);
        steps.push(CoolingStep {
            own_gas,
            in_air,
            changes,
        });
    }
    Ok(steps)
}

/// `hottest`, the round hundreds below it but for one that is hardly colder, 500 K.
fn temperatures(hottest: f64) -> Vec<f64> {
    let mut all = vec![hottest];
    let mut next = ((hottest - STEP / 4.0) / STEP).floor() * STEP;
    while next >= COLDEST {
        all.push(next);
        next -= STEP;
    }
    all
}

/// Elements of the condensed phases.
fn solid_elements(own_gas: &Equilibrium, tables: &Tables) -> BTreeMap<Element, AmountOfSubstance> {
    let phases: Vec<(&Formula, AmountOfSubstance)> = own_gas
        .condensed()
        .filter_map(|s| Some((&tables.species_by_id(&s.id)?.formula, s.amount)))
        .collect();
    element_amounts(phases)
}

fn changes(own_gas: &Equilibrium, in_air: &[SpeciesAmount], tables: &Tables) -> Vec<AirChange> {
    let listed = |phases: &[&SpeciesAmount]| -> BTreeSet<String> {
        let (main, _) = main_and_traces(phases);
        main.into_iter().map(|s| s.id.clone()).collect()
    };
    let before = listed(&own_gas.condensed().collect::<Vec<_>>());
    let after = listed(&in_air.iter().collect::<Vec<_>>());
    let holds = |id: &str, element| {
        tables
            .species_by_id(id)
            .is_some_and(|s| s.formula.amount_of(element) > 0.0)
    };
    // Oxygen per metal atom: what a phase has to gain.
    let oxygen_per_metal = |id: &str, metal: Element| {
        let formula = &tables.species_by_id(id)?.formula;
        let n = formula.amount_of(metal);
        let carbon = formula.amount_of(Element::CARBON);
        let hydrogen = formula.amount_of(Element::HYDROGEN);
        let oxygen = formula.amount_of(Element::OXYGEN);
        (n > 0.0).then(|| (oxygen - 2.0 * carbon - hydrogen / 2.0) / n)
    };
    let mut all = BTreeSet::new();
    for id in before.difference(&after) {
        let Some(species) = tables.species_by_id(id) else {
            continue;
        };
        let id = id.clone();
        if species.consists_of(&[Element::CARBON]) {
            all.insert(AirChange::BurnsOff { id });
            continue;
        }
        // Of a phase with several metals only one can be judged by its oxygen.
        let metals: Vec<Element> = species
            .formula
            .amounts()
            .keys()
            .copied()
            .filter(|e| e.is_metal())
            .collect();
        let gains = metals.len() == 1
            && after.iter().any(|other| {
                let metal = metals[0];
                match (oxygen_per_metal(&id, metal), oxygen_per_metal(other, metal)) {
                    (Some(a), Some(b)) => b > a + 1e-6,
                    _ => false,
                }
            });
        if gains {
            all.insert(AirChange::Oxidises { id });
        } else if holds(&id, Element::CARBON) || holds(&id, Element::HYDROGEN) {
            all.insert(AirChange::Decomposes { id });
        }
    }
    for id in after.difference(&before) {
        let id = id.clone();
        if holds(&id, Element::CARBON) {
            all.insert(AirChange::Carbonates { id });
        } else if holds(&id, Element::HYDROGEN) {
            all.insert(AirChange::Hydrates { id });
        }
    }
    all.into_iter().collect()
}
