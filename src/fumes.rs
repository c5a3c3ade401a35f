//! What comes off besides the main gases: brackets per mole of what they come from, and dust.
//!
//! No measured table of these yields is known, so every amount is a range, never a point; the
//! equilibrium of the burn raises the upper end where it gives more.

use crate::formula::{Element, Formula};
use crate::quantity::units::{mole, ratio};
use crate::quantity::{AmountOfSubstance, Band, EquivalenceRatio, Mass, MolarMass};
use crate::source::{Seen, SourceId};
use crate::tables::fumes::{Basis, Bracket, FumeTable};
use std::collections::{BTreeMap, BTreeSet};

/// What the fumes come from. Amounts are per batch.
#[derive(Debug, Clone, PartialEq)]
pub struct FumeLoad {
    /// Equivalence ratio φ, from the lowest to the highest that the batch may burn at.
    pub equivalence_ratio: Band<EquivalenceRatio>,
    /// Nitrogen of all nitrate, nitric acid included.
    pub nitrate_nitrogen: AmountOfSubstance,
    /// Of that, the nitrogen of nitrates whose metals hydrolyse.
    pub hydrolysing_nitrate: AmountOfSubstance,
    /// Nitric acid added as such.
    pub free_acid: AmountOfSubstance,
    /// Nitrogen of the fuels.
    pub fuel_nitrogen: AmountOfSubstance,
    /// Carbon of the fuels.
    pub fuel_carbon: AmountOfSubstance,
    /// Urea.
    pub urea: AmountOfSubstance,
    /// Nitrogen of ammonium salts.
    pub ammonium: AmountOfSubstance,
    /// Sulfur.
    pub sulfur: AmountOfSubstance,
    /// Chlorine.
    pub chlorine: AmountOfSubstance,
    /// Reactant ids of the fuels.
    pub fuels: BTreeSet<String>,
    /// Whether the batch is heated slowly through the decomposition of its fuel; not known if
    /// the heating is not stated.
    pub slow: Option<bool>,
    /// Amounts that the equilibrium of the burn gives, by gas, such as `CO`.
    pub equilibrium: BTreeMap<String, AmountOfSubstance>,
    /// Powder that the burn leaves.
    pub product_mass: Mass,
    /// Mass of each element in that powder, oxygen left out.
    pub product_elements: BTreeMap<Element, Mass>,
    /// Whether the gas carries even coarse powder off; not known without a vessel.
    pub carried_off: Option<bool>,
}

/// A gas that comes off.
#[derive(Debug, Clone, PartialEq)]
pub struct Fume {
    /// The gas, such as `NO2`.
    pub gas: String,
    pub molar_mass: MolarMass,
    /// How much, per batch.
    pub amount: Band<AmountOfSubstance>,
    /// Whether the upper end is that of the equilibrium.
    pub raised_by_equilibrium: bool,
    /// Keys of the sources of its brackets, and how the brackets were found.
    pub sources: BTreeSet<(SourceId, Seen)>,
}

/// Everything that comes off.
#[derive(Debug, Clone, PartialEq)]
pub struct Fumes {
    /// Gases, by name.
    pub gases: Vec<Fume>,
    /// Powder that leaves as dust.
    pub dust: Band<Mass>,
    /// Each element in that dust, oxygen left out.
    pub dust_elements: BTreeMap<Element, Band<Mass>>,
}

impl Fumes {
    /// The band of one gas; none if nothing is known to form it.
    pub fn amount(&self, gas: &str) -> Option<Band<AmountOfSubstance>> {
        self.gases
            .iter()
            .find(|fume| fume.gas == gas)
            .map(|fume| fume.amount)
    }

    /// The upper ends of several gases together.
    pub fn highest_sum(&self, gases: &[&str]) -> AmountOfSubstance {
        gases
            .iter()
            .filter_map(|gas| self.amount(gas))
            .fold(none(), |sum, band| sum + band.high)
    }
}

/// What comes off from `load`.
pub fn fumes(load: &FumeLoad, table: &FumeTable) -> Fumes {
    let mut found: BTreeMap<&str, Fume> = BTreeMap::new();
    let ends = ends(load, table);
    for gas in table.brackets.iter().map(|bracket| bracket.gas.as_str()) {
        if found.contains_key(gas) {
            continue;
        }
        let Ok(formula) = Formula::parse(gas) else {
            continue;
        };
        let mut fume = Fume {
            gas: gas.to_owned(),
            molar_mass: formula.molar_mass(),
            amount: bracketed(gas, load, table, &ends),
            raised_by_equilibrium: false,
            sources: sources(gas, load, table, &ends),
        };
        if let Some(&amount) = load.equilibrium.get(gas) {
            if amount > fume.amount.high {
                fume.amount.high = amount;
                fume.raised_by_equilibrium = true;
            }
        }
        found.insert(gas, fume);
    }
    let share = match load.carried_off {
        Some(true) => table.assumed.dust_when_carried.value,
        Some(false) => table.assumed.dust_when_calm.value,
        None => table
            .assumed
            .dust_when_calm
            .value
            .hull(table.assumed.dust_when_carried.value),
    };
    let dust = |mass: Mass| share.map(|share| share * mass);
    Fumes {
        gases: found
            .into_values()
            .filter(|fume| fume.amount.high > none())
            .collect(),
        dust: dust(load.product_mass),
        dust_elements: load
            .product_elements
            .iter()
            .map(|(e, mass)| (*e, dust(*mass)))
            .collect(),
    }
}

/// The equivalence ratios at which the brackets are read: both ends, and every step between.
fn ends(load: &FumeLoad, table: &FumeTable) -> Vec<f64> {
    let low = load.equivalence_ratio.low.get::<ratio>();
    let high = load.equivalence_ratio.high.get::<ratio>();
    let mut ends = vec![low, high];
    let steps = table
        .brackets
        .iter()
        .flat_map(|bracket| [bracket.equivalence_ratio.0, bracket.equivalence_ratio.1]);
    ends.extend(steps.filter(|step| *step > low && *step < high));
    ends
}

/// Hull of the sums of all brackets of a gas over the equivalence ratios in question.
fn bracketed(
    gas: &str,
    load: &FumeLoad,
    table: &FumeTable,
    ends: &[f64],
) -> Band<AmountOfSubstance> {
    let mut hull: Option<Band<AmountOfSubstance>> = None;
    for &phi in ends {
        // not known whether slow or quick: both are looked at, and the hull taken
        for slow in load
            .slow
            .map_or_else(|| vec![true, false], |slow| vec![slow])
        {
            let mut sum = Band::exactly(none());
            for bracket in brackets(gas, load, table, phi, slow) {
                let basis = basis(load, bracket.basis, phi);
                sum.low += bracket.yield_band.value.low * basis;
                sum.high += bracket.yield_band.value.high * basis;
            }
            hull = Some(hull.map_or(sum, |old| old.hull(sum)));
        }
    }
    hull.unwrap_or_else(|| Band::exactly(none()))
}

fn sources(
    gas: &str,
    load: &FumeLoad,
    table: &FumeTable,
    ends: &[f64],
) -> BTreeSet<(SourceId, Seen)> {
    let mut keys = BTreeSet::new();
    for &phi in ends {
        for slow in [true, false] {
            let found = brackets(gas, load, table, phi, slow).map(|b| &b.yield_band);
            keys.extend(found.map(|band| (band.source.clone(), band.seen)));
        }
    }
    keys
}

fn brackets<'a>(
    gas: &'a str,
    load: &'a FumeLoad,
    table: &'a FumeTable,
    phi: f64,
    slow: bool,
) -> impl Iterator<Item = &'a Bracket> {
    table.brackets.iter().filter(move |bracket| {
        bracket.gas == gas
            && phi >= bracket.equivalence_ratio.0
            && phi < bracket.equivalence_ratio.1
            && bracket.slow.is_none_or(|wanted| wanted == slow)
            && (bracket.fuels.is_empty() || bracket.fuels.iter().any(|f| load.fuels.contains(f)))
    })
}

fn basis(load: &FumeLoad, basis: Basis, phi: f64) -> AmountOfSubstance {
    let left_over_nitrate = (1.0 - phi).clamp(0.0, 1.0);
    let left_over_fuel = if phi > 1.0 { 1.0 - 1.0 / phi } else { 0.0 };
    match basis {
        Basis::NitrateNitrogen => load.nitrate_nitrogen,
        Basis::SurplusNitrate => left_over_nitrate * load.nitrate_nitrogen,
        Basis::HydrolysingNitrate => load.hydrolysing_nitrate,
        Basis::FreeAcid => load.free_acid,
        Basis::FuelNitrogen => load.fuel_nitrogen,
        Basis::FuelCarbon => load.fuel_carbon,
        Basis::SurplusCarbon => left_over_fuel * load.fuel_carbon,
        Basis::Urea => load.urea,
        Basis::SurplusUrea => left_over_fuel * load.urea,
        Basis::Ammonium => load.ammonium,
        Basis::Sulfur => load.sulfur,
        Basis::Chlorine => load.chlorine,
    }
}

fn none() -> AmountOfSubstance {
    AmountOfSubstance::new::<mole>(0.0)
}
