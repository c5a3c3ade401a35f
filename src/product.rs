//! The powder that is expected: the target, or the simple oxides, as tabulated phases.
//!
//! A target that is tabulated stands for itself. Any other one (a solid solution, a doped host) is
//! taken as the mixture of tabulated phases with its composition and the lowest enthalpy at
//! 298.15 K, mixing ideal and without heat: its end members where they are tabulated. What is
//! neither tabulated nor a solid solution of the tables is told: equilibria do not know it.

mod mixture;

use crate::batch::{Batch, Target};
use crate::formula::{Element, Formula};
use crate::quantity::units::{kelvin, kilogram, mole, ratio};
use crate::quantity::{AmountOfSubstance, Mass, reference_temperature};
use crate::redox::RedoxError;
use crate::tables::{Species, Tables};
use mixture::least_cost_mixture;
use std::collections::BTreeMap;
use thiserror::Error;

/// Amounts below this share of the product are rounding, not phases.
const SMALLEST_SHARE: f64 = 1e-9;
/// A crystal whose metals change their state holds this much more or less oxygen than its formula.
const OXYGEN_PLAY: f64 = 0.07;

/// Why no expected product can be named.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum ProductError {
    #[error(
        "refused: nothing in the batch leaves an oxide or metal powder; an oxidiser with a fuel \
         alone is a propellant, not a synthesis, and the tool plans no such batch"
    )]
    Nothing,
    #[error(
        "no phase of {elements} in the tables makes up this product: leave it out, add a phase with --tables \
         (`emberpot guide tables`), or change the oxidation states"
    )]
    NoPhases { elements: String },
    #[error(transparent)]
    Redox(#[from] RedoxError),
}

/// How the expected product was put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ProductModel {
    /// The target is a tabulated phase.
    Tabulated,
    /// The target is a solid solution of the tables, taken as the mixture of its end members.
    EndMembers,
    /// No phase of the tables is the target: taken as a mixture of others, and missing in equilibria.
    NoPhase,
    /// No target: the simple oxides (or metals) at the oxidation states of the redox sum.
    SimpleOxides,
}

impl ProductModel {
    /// Whether a target is counted as a mixture of phases.
    pub fn is_mixture(self) -> bool {
        matches!(self, Self::EndMembers | Self::NoPhase)
    }
}

/// One condensed compound of the expected product.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductPhase {
    /// Its formula; which polymorph or melt it is depends on the temperature.
    pub formula: Formula,
    /// Its amount in formula units.
    pub amount: AmountOfSubstance,
}

/// The expected powder.
#[derive(Debug, Clone, PartialEq)]
pub struct ExpectedProduct {
    /// What it is called: the target's formula or the oxides.
    pub name: String,
    /// Its compounds.
    pub phases: Vec<ProductPhase>,
    /// How it was put together.
    pub model: ProductModel,
    /// Mass of the powder.
    pub mass: Mass,
    /// Oxygen bound in it.
    pub oxygen: AmountOfSubstance,
}

/// Elements that end as gas: they are in the powder only if the target holds them.
pub fn leaves_as_gas(element: Element) -> bool {
    matches!(
        element.symbol(),
        "H" | "C" | "N" | "O" | "S" | "Cl" | "F" | "Br" | "I"
    )
}

/// The powder that the batch is expected to leave.
///
/// # Errors
/// [`ProductError`] if nothing solid is left or the tables lack the phases for it.
pub fn expected_product(batch: &Batch, tables: &Tables) -> Result<ExpectedProduct, ProductError> {
    let mut left: BTreeMap<Element, f64> = batch
        .dry_elements()
        .into_iter()
        .filter(|(element, _)| !leaves_as_gas(*element))
        .map(|(element, n)| (element, n.get::<mole>()))
        .collect();
    if left.is_empty() {
        return Err(ProductError::Nothing);
    }
    let total: f64 = left.values().sum();
    let (mut name, mut phases, model) = match &batch.target {
        Some(target) => of_target(target, batch, &mut left, tables)?,
        None => (String::new(), Vec::new(), ProductModel::SimpleOxides),
    };
    phases.extend(alkali_chlorides(batch, &mut left, tables));
    // Additives that the target does not hold (a flux), and everything when there is no target.
    left.retain(|_, n| *n > SMALLEST_SHARE * total);
    if !left.is_empty() {
        let extra = stable_mixture(&left, batch, tables, true)?;
        let names: Vec<String> = extra
            .iter()
            .map(|phase| phase.formula.to_string())
            .collect();
        name = [name, names.join(" + ")]
            .into_iter()
            .filter(|n| !n.is_empty())
            .collect::<Vec<_>>()
            .join(" + ");
        merge(&mut phases, extra);
    }
    let mass = phases
        .iter()
        .map(|phase| -> Mass { phase.amount * phase.formula.molar_mass() })
        .fold(Mass::new::<kilogram>(0.0), |sum, mass| sum + mass);
    let oxygen = phases
        .iter()
        .map(|phase| phase.formula.amount_of(Element::OXYGEN) * phase.amount)
        .fold(AmountOfSubstance::new::<mole>(0.0), |sum, n| sum + n);
    Ok(ExpectedProduct {
        name,
        phases,
        model,
        mass,
        oxygen,
    })
}

/// Adds phases to a list, those of the same composition to each other.
fn merge(phases: &mut Vec<ProductPhase>, extra: Vec<ProductPhase>) {
    for phase in extra {
        match phases
            .iter_mut()
            .find(|p| p.formula.amounts() == phase.formula.amounts())
        {
            Some(same) => same.amount += phase.amount,
            None => phases.push(phase),
        }
    }
}

/// Name and phases of the target, which are taken out of `left`.
fn of_target(
    target: &Target,
    batch: &Batch,
    left: &mut BTreeMap<Element, f64>,
    tables: &Tables,
) -> Result<(String, Vec<ProductPhase>, ProductModel), ProductError> {
    let n = target.amount.get::<mole>();
    for (element, count) in target.formula.amounts() {
        if let Some(rest) = left.get_mut(element) {
            *rest -= n * count;
        }
    }
    let name = target.formula.to_string();
    if let Some(phase) = tables.stable_condensed(&target.formula, reference_temperature()) {
        // The tables' formula unit, in whichever multiple the target is written.
        let units = target.formula.molar_mass() / phase.formula.molar_mass();
        let as_written = (units.get::<ratio>() - 1.0).abs() < 1e-6;
        let formula = if as_written {
            &target.formula
        } else {
            &phase.formula
        };
        let phase = ProductPhase {
            formula: formula.clone(),
            amount: target.amount * units,
        };
        return Ok((name, vec![phase], ProductModel::Tabulated));
    }
    let metals: BTreeMap<Element, f64> = target
        .formula
        .amounts()
        .iter()
        .filter(|(element, _)| !leaves_as_gas(**element))
        .map(|(&element, count)| (element, n * count))
        .collect();
    let mixture = stable_mixture(&metals, batch, tables, false)?;
    let oxygen = n * target.formula.amount_of(Element::OXYGEN);
    let model = if is_solution(&metals, oxygen, tables) {
        ProductModel::EndMembers
    } else {
        ProductModel::NoPhase
    };
    Ok((name, mixture, model))
}

/// Whether one solid solution of the tables has these metals with nearly this much oxygen.
fn is_solution(metals: &BTreeMap<Element, f64>, oxygen: f64, tables: &Tables) -> bool {
    let amounts: Vec<f64> = metals.values().copied().collect();
    tables.solutions.iter().any(|solution| {
        let ids = solution.members.iter().chain(&solution.guests);
        let known = |e: &Element| leaves_as_gas(*e) || metals.contains_key(e);
        let members: Vec<&Species> = ids
            .filter_map(|id| tables.species_by_id(id))
            .filter(|s| s.formula.amounts().keys().all(known))
            .collect();
        let atoms = |e: &Element| members.iter().map(|s| s.formula.amount_of(*e)).collect();
        let rows: Vec<Vec<f64>> = metals.keys().map(atoms).collect();
        let most_oxygen: Vec<f64> = members
            .iter()
            .map(|s| -s.formula.amount_of(Element::OXYGEN))
            .collect();
        let mixture = least_cost_mixture(&rows, &amounts, &most_oxygen);
        mixture.is_some_and(|mixture| {
            let held: f64 = mixture.iter().map(|(at, n)| -most_oxygen[*at] * n).sum();
            (held / oxygen - 1.0).abs() < OXYGEN_PLAY
        })
    })
}

/// Alkali metals that the target does not hold stay as chloride as far as the chlorine goes: a
/// salt added as a diluent is there after the burn, to be washed out. Takes them out of `left`.
fn alkali_chlorides(
    batch: &Batch,
    left: &mut BTreeMap<Element, f64>,
    tables: &Tables,
) -> Vec<ProductPhase> {
    let elements = batch.dry_elements();
    let symbol = |text| Element::from_symbol(text);
    let chlorine = symbol("Cl").and_then(|chlorine| elements.get(&chlorine));
    let mut chlorine = chlorine.map_or(0.0, |n| n.get::<mole>());
    let mut phases = Vec::new();
    for formula in ["NaCl", "KCl", "LiCl"] {
        let Some(species) = tables.species_by_id(&format!("{formula}(cr)")) else {
            continue;
        };
        let Some(metal) = symbol(formula.trim_end_matches("Cl")) else {
            continue;
        };
        let Some(there) = left.get_mut(&metal) else {
            continue;
        };
        let taken = there.min(chlorine);
        if taken > 0.0 {
            *there -= taken;
            chlorine -= taken;
            phases.push(ProductPhase {
                formula: species.formula.clone(),
                amount: AmountOfSubstance::new::<mole>(taken),
            });
        }
    }
    phases
}

/// The mixture of tabulated phases with these metals, with the oxygen of their oxidation states
/// and the lowest enthalpy at 298.15 K. `simple` allows one metal per phase only. Oxygen of a high
/// state that no tabulated phase binds (NiCo2O4 beside NiO and Co3O4) is left to the gas.
fn stable_mixture(
    metals: &BTreeMap<Element, f64>,
    batch: &Batch,
    tables: &Tables,
    simple: bool,
) -> Result<Vec<ProductPhase>, ProductError> {
    let mut wanted = metals.clone();
    let mut oxygen = 0.0;
    for (&element, n) in metals {
        oxygen += n * batch.states.of(element)? / 2.0;
    }
    wanted.insert(Element::OXYGEN, oxygen);
    let elements: Vec<Element> = wanted.keys().copied().collect();
    let t = reference_temperature().get::<kelvin>();
    let candidates: Vec<&Species> = tables
        .species
        .of_elements(&elements)
        .filter(|s| s.phase.is_condensed() && s.is_usable(t))
        .filter(|s| {
            let metal_count = s
                .formula
                .amounts()
                .keys()
                .filter(|e| !leaves_as_gas(**e))
                .count();
            if simple {
                metal_count == 1
            } else {
                metal_count >= 1
            }
        })
        .collect();
    let rows: Vec<Vec<f64>> = elements
        .iter()
        .map(|&element| {
            candidates
                .iter()
                .map(|s| s.formula.amount_of(element))
                .collect()
        })
        .collect();
    let amounts: Vec<f64> = wanted.values().copied().collect();
    let costs: Vec<f64> = candidates.iter().map(|s| s.h(t)).collect();
    let unbound = || {
        let mut rows = rows.clone();
        for (row, element) in rows.iter_mut().zip(&elements) {
            row.push(if *element == Element::OXYGEN {
                2.0
            } else {
                0.0
            });
        }
        let costs = [&costs[..], &[0.0]].concat();
        least_cost_mixture(&rows, &amounts, &costs)
    };
    let mixture = least_cost_mixture(&rows, &amounts, &costs)
        .or_else(unbound)
        .ok_or_else(|| no_phases(metals.keys(), &candidates))?;
    let total: f64 = amounts.iter().sum();
    Ok(mixture
        .into_iter()
        .filter(|(at, n)| *at < candidates.len() && *n > SMALLEST_SHARE * total)
        .map(|(at, n)| ProductPhase {
            formula: candidates[at].formula.clone(),
            amount: AmountOfSubstance::new::<mole>(n),
        })
        .collect())
}

/// Names the metals that no candidate holds; all of them if each is held by one.
fn no_phases<'a>(
    metals: impl Iterator<Item = &'a Element>,
    candidates: &[&Species],
) -> ProductError {
    let all: Vec<Element> = metals.copied().collect();
    let held = |metal| candidates.iter().any(|s| s.formula.amount_of(metal) > 0.0);
    let without: Vec<Element> = all.iter().copied().filter(|m| !held(*m)).collect();
    let named = if without.is_empty() { all } else { without };
    let names: Vec<String> = named.iter().map(ToString::to_string).collect();
    ProductError::NoPhases {
        elements: names.join(" and "),
    }
}
