//! What the products turn into on cooling: in their own gas, and if air gets to them.

use crate::equilibrium::{
    Equilibrium, EquilibriumError, SpeciesAmount, SpeciesSet, System, element_amounts,
    main_and_traces,
};
use crate::formula::{Element, Formula};
use crate::quantity::units::{kelvin, mole};
use crate::quantity::{AmountOfSubstance, Pressure, ThermodynamicTemperature};
use crate::redox::OxidationStates;
use crate::tables::Tables;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// Lowest temperature of the table: below, nothing of this reaches equilibrium in hours (common
/// practice).
const COLDEST: f64 = 500.0;
/// Below this temperature, K, powder and gas no longer react in the seconds in which a burn cools
/// (assumed; some 800 to 1000 K): what a powder is there, it stays.
pub(crate) const FROZEN: f64 = 1000.0;
/// Share of a metal in simple oxides up to which it counts as bound in mixed ones.
const BOUND: f64 = 0.02;
/// Distance between two rows.
const STEP: f64 = 100.0;
/// Room air by amount: nitrogen with argon, oxygen, water at about half saturation at 20 °C,
/// carbon dioxide (common practice).
const AIR: [(&str, f64); 4] = [("N2", 0.78), ("O2", 0.209), ("H2O", 0.012), ("CO2", 0.0004)];
/// Air per mole of solid: so much that its composition stays.
const MUCH_AIR: f64 = 1e5;

/// Gain of the mean oxidation state of an element, from a phase to what air makes, that counts.
const STATE_GAIN: f64 = 0.01;

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
/// Below 1000 K most of these reactions are slow; `own` says which species may form in the
/// own gas, but for carbonates of metals that the hot powder holds in mixed oxides: carbon dioxide
/// would have to take the crystal apart (common practice; lime and its like do take it up). Air is taken with all species, for carbonates and hydroxides are what
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
        let own_gas = own.next_equilibrium(amounts, temperature, pressure)?;
        if steps.is_empty() {
            own.leave_out_carbonates(&bound_metals(&own_gas, tables));
        }
        let solid = solid_elements(&own_gas, tables);
        let in_air: Vec<SpeciesAmount> = if solid.is_empty() {
            Vec::new()
        } else {
            let total: f64 = solid.values().map(|n| n.get::<mole>()).sum();
            let mut mixture = solid;
            for (element, n) in &air {
                *mixture.entry(*element).or_default() += *n * total;
            }
            open.next_equilibrium(&mixture, temperature, pressure)?
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

/// The metals that the solid holds in mixed oxides, but for a trace.
pub(crate) fn bound_metals(hot: &Equilibrium, tables: &Tables) -> BTreeSet<Element> {
    let mut sums: BTreeMap<Element, [f64; 2]> = BTreeMap::new();
    for phase in hot.condensed() {
        let Some(species) = tables.species_by_id(&phase.id) else {
            continue;
        };
        let atoms = species.formula.amounts();
        let gas = [Element::OXYGEN, Element::HYDROGEN];
        let cations = atoms
            .keys()
            .filter(|element| !gas.contains(element))
            .count();
        let mixed = cations > 1 && !atoms.contains_key(&Element::CARBON);
        for (metal, n) in atoms.iter().filter(|(element, _)| element.is_metal()) {
            let sum = sums.entry(*metal).or_default();
            sum[usize::from(mixed)] += n * phase.amount.get::<mole>();
        }
    }
    let bound = |[simple, mixed]: &[f64; 2]| *simple <= BOUND * (simple + mixed);
    sums.retain(|_, sum| bound(sum));
    sums.into_keys().collect()
}

/// The row at which a powder that cools in seconds stays as it is: the coldest not below 1000 K, or
/// the first.
pub fn cooled(steps: &[CoolingStep]) -> Option<&CoolingStep> {
    let fast = |step: &&CoolingStep| step.own_gas.temperature.get::<kelvin>() >= FROZEN;
    steps.iter().rfind(fast).or(steps.first())
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
    let ends = mean_states(in_air, tables);
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
        let gains = states_in(&species.formula).iter().any(|(element, state)| {
            ends.get(element)
                .is_some_and(|end| *end > state + STATE_GAIN)
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

/// Oxidation states of the elements of a condensed phase, oxygen, hydrogen, carbon and nitrogen
/// left out. Those that can take several states share what the oxygen leaves over, all moved from
/// the lowest by the same part of their range; alone, without anions, all are 0.
fn states_in(formula: &Formula) -> BTreeMap<Element, f64> {
    let conventional = OxidationStates::conventional();
    let fixed = |element: Element| match element.symbol() {
        "F" | "Br" | "I" => -1.0,
        // Its oxides are gases; in a solid with oxygen it is sulfate.
        "S" if formula.amount_of(Element::OXYGEN) > 0.0 => 6.0,
        "S" => -2.0,
        _ => conventional.entry(element).map_or(0.0, |entry| entry.state),
    };
    let mut charge = 0.0;
    let mut anions = false;
    let mut ranges: Vec<(Element, f64, (f64, f64))> = Vec::new();
    for (&element, &n) in formula.amounts() {
        if [Element::OXYGEN, Element::HYDROGEN, Element::CARBON].contains(&element) {
            anions |= element == Element::OXYGEN;
            charge += n * fixed(element);
        } else if element != Element::NITROGEN {
            let state = fixed(element);
            anions |= state < 0.0;
            let range = match OxidationStates::allowed(element) {
                Some((low, high)) if low < high => (low.max(0.0), high),
                _ => (state, state),
            };
            ranges.push((element, n, range));
        }
    }
    if !anions {
        return ranges.into_iter().map(|(e, ..)| (e, 0.0)).collect();
    }
    let low: f64 = ranges.iter().map(|(_, n, range)| n * range.0).sum();
    let span: f64 = ranges
        .iter()
        .map(|(_, n, range)| n * (range.1 - range.0))
        .sum();
    let part = if span > 0.0 {
        (-charge - low) / span
    } else {
        0.0
    };
    ranges
        .into_iter()
        .map(|(e, _, (low, high))| (e, low + part * (high - low)))
        .collect()
}

/// Mean oxidation state of each element over the phases.
fn mean_states(phases: &[SpeciesAmount], tables: &Tables) -> BTreeMap<Element, f64> {
    let mut sums: BTreeMap<Element, (f64, f64)> = BTreeMap::new();
    for phase in phases {
        let Some(species) = tables.species_by_id(&phase.id) else {
            continue;
        };
        for (element, state) in states_in(&species.formula) {
            let n = phase.amount.get::<mole>() * species.formula.amount_of(element);
            let sum = sums.entry(element).or_default();
            *sum = (sum.0 + n, sum.1 + n * state);
        }
    }
    sums.into_iter()
        .map(|(element, (n, sum))| (element, sum / n))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn state(formula: &str, element: &str) -> f64 {
        states_in(&Formula::parse(formula).unwrap())[&Element::from_symbol(element).unwrap()]
    }

    #[test]
    fn states_follow_from_the_oxygen() {
        for (formula, element, expected) in [
            ("Fe3O4", "Fe", 8.0 / 3.0),
            ("CaFe2O4", "Fe", 3.0),
            ("CaFe2O4", "Ca", 2.0),
            ("CaCO3", "Ca", 2.0),
            ("Ca(OH)2", "Ca", 2.0),
            ("Ca3(PO4)2", "Ca", 2.0),
            ("NiSO4", "Ni", 2.0),
            ("NiS", "Ni", 2.0),
            ("Ni", "Ni", 0.0),
            ("MnO2", "Mn", 4.0),
        ] {
            assert!(
                (state(formula, element) - expected).abs() < 1e-9,
                "{element} in {formula}"
            );
        }
    }

    #[test]
    fn an_element_of_one_state_never_oxidises_from_its_oxide() {
        let tables = Tables::built_in().unwrap();
        for species in tables.species.iter().filter(|s| s.phase.is_condensed()) {
            for (element, found) in states_in(&species.formula) {
                let range = OxidationStates::allowed(element);
                if species.formula.amount_of(Element::OXYGEN) > 0.0
                    && range.is_some_and(|(low, high)| high - low <= 0.0)
                    && element != Element::from_symbol("S").unwrap()
                {
                    let expected = range.unwrap().0;
                    assert!(
                        (found - expected).abs() < 1e-9,
                        "{element} in {}",
                        species.id
                    );
                }
            }
        }
    }
}
