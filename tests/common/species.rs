//! The product species of the built-in tables, as the tests of their values ask for them.

use emberpot::Tables;
use emberpot::internal::tables::Species;
use uom::si::f64::ThermodynamicTemperature;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::thermodynamic_temperature::kelvin;

/// Gibbs energy of a species at `t` in K, kJ/mol.
pub fn g(species: &Species, t: f64) -> f64 {
    species
        .gibbs_energy(at(t))
        .unwrap()
        .get::<kilojoule_per_mole>()
}

/// Formation enthalpy, kJ/mol.
pub fn formation_enthalpy(species: &Species) -> Option<f64> {
    species
        .formation_enthalpy
        .as_ref()
        .map(|v| v.value.get::<kilojoule_per_mole>())
}

/// Fails with the rows that are wrong, if there are any.
pub fn refuse(wrong: &[String]) {
    assert!(
        wrong.is_empty(),
        "{} rows:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// The built-in tables.
pub fn tables() -> Tables {
    Tables::built_in().unwrap_or_else(|error| panic!("{error}"))
}

/// A temperature in K.
pub fn at(t: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<kelvin>(t)
}
