//! What several tests need.
#![allow(dead_code, clippy::unwrap_used)]

pub mod batches;
pub mod species;

use emberpot::equilibrium::{AdiabaticEquilibrium, SpeciesSet, System, element_amounts};
use emberpot::quantity::{AmountOfSubstance, Energy, ThermodynamicTemperature, standard_pressure};
use emberpot::{Batch, Element, Formula, StateResult, Tables};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use uom::si::amount_of_substance::mole;
use uom::si::energy::joule;
use uom::si::thermodynamic_temperature::kelvin;

pub type Amounts = BTreeMap<Element, AmountOfSubstance>;

/// Element amounts of a mixture in mol.
pub fn amounts(substances: &[(&str, f64)]) -> Amounts {
    let formulas: Vec<(Formula, f64)> = substances
        .iter()
        .map(|(text, n)| (Formula::parse(text).unwrap(), *n))
        .collect();
    element_amounts(
        formulas
            .iter()
            .map(|(f, n)| (f, AmountOfSubstance::new::<mole>(*n))),
    )
}

pub fn system<'t>(tables: &'t Tables, amounts: &Amounts, set: SpeciesSet) -> System<'t> {
    let elements: Vec<Element> = amounts.keys().copied().collect();
    System::new(tables, &elements, set, false)
}

pub fn at(t: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<kelvin>(t)
}

/// Adiabatic equilibrium at 1 bar of a mixture whose enthalpy is given in kJ.
pub fn burn(
    tables: &Tables,
    mix: &[(&str, f64)],
    h_kj: f64,
    set: SpeciesSet,
) -> AdiabaticEquilibrium {
    let amounts = amounts(mix);
    let enthalpy = Energy::new::<joule>(h_kj * 1e3);
    system(tables, &amounts, set)
        .adiabatic(&amounts, enthalpy, standard_pressure())
        .unwrap()
}

pub fn temperature(answer: &AdiabaticEquilibrium) -> f64 {
    answer.equilibrium.temperature.get::<kelvin>()
}

/// The folder of the package.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The batches of `examples/`, by name.
pub fn examples() -> Vec<PathBuf> {
    let mut list: Vec<PathBuf> = std::fs::read_dir(root().join("examples"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    list.sort();
    list
}

/// The elements of a list of species and their amounts in mol.
fn atoms<'a>(list: impl Iterator<Item = (&'a str, f64)>) -> BTreeMap<Element, f64> {
    let mut sum = BTreeMap::new();
    for (id, n) in list {
        let formula = id
            .split("(cr")
            .next()
            .and_then(|id| id.split("(l)").next())
            .unwrap();
        for (element, count) in Formula::parse(formula).unwrap().amounts() {
            *sum.entry(*element).or_default() += n * count;
        }
    }
    sum
}

/// Whether every element of a burn is in its products, by both balances; else which is not.
pub fn elements_kept(batch: &Batch, result: &StateResult) -> Result<(), String> {
    let water = (result.state.solvent + result.state.crystal_water(batch)).get::<mole>();
    let elements = batch.dry_elements().into_iter();
    let mut given: BTreeMap<Element, f64> = elements.map(|(e, n)| (e, n.get::<mole>())).collect();
    *given.entry(Element::HYDROGEN).or_default() += 2.0 * water;
    *given.entry(Element::OXYGEN).or_default() += water;
    let burn = &result.complete;
    let all = burn.gas.iter().chain(&burn.condensed);
    let complete = atoms(all.map(|p| (p.id.as_str(), p.amount.get::<mole>())));
    let equilibrium = result.settled().map(|settled| {
        atoms(
            settled
                .amounts
                .iter()
                .map(|s| (s.id.as_str(), s.amount.get::<mole>())),
        )
    });
    if equilibrium.is_none() && burn.flame.temperature().is_some() {
        return Err(format!("does not settle: {:?}", result.equilibrium));
    }
    for (element, n) in &given {
        let differs = |list: &BTreeMap<Element, f64>, share: f64| {
            let found = list.get(element).copied().unwrap_or(0.0);
            ((found - n).abs() >= share * n.max(1e-3)).then(|| format!("{element}: {found} of {n}"))
        };
        let wrong = differs(&complete, 1e-9).or_else(|| differs(equilibrium.as_ref()?, 1e-8));
        wrong.map_or(Ok(()), Err)?;
    }
    Ok(())
}
