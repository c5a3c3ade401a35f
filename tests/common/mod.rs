//! What several tests need.
#![allow(dead_code, clippy::unwrap_used)]

pub mod batches;
pub mod species;

use emberpot::equilibrium::{AdiabaticEquilibrium, SpeciesSet, System, element_amounts};
use emberpot::quantity::{AmountOfSubstance, Energy, ThermodynamicTemperature, standard_pressure};
use emberpot::{Element, Formula, Tables};
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
