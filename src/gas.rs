//! The gas of a burn: how much of which, its volume cold and hot, and per gram of powder.
//!
//! Volumes are those of an ideal gas, V = n R T / p.

use crate::batch::{Batch, total_amount};
use crate::enthalpy::WaterState;
use crate::flame::{CompleteCombustion, ProductAmount};
use crate::product::ExpectedProduct;
use crate::quantity::SpecificVolume;
use crate::quantity::units::{
    cubic_meter, gram_per_cubic_centimeter, joule_per_kelvin_mole, joule_per_mole, kelvin, mole,
};
use crate::quantity::{
    AmountOfSubstance, Mass, MassDensity, Pressure, Ratio, ThermodynamicTemperature, Volume,
    gas_constant, reference_temperature,
};
use crate::tables::Role;

/// Density taken for a dissolved or molten salt or fuel without a tabulated one, g/cm³: middle of
/// the tabulated hydrated nitrates (1.5 to 2.3) and fuels (1.2 to 1.7). Assumed.
const USUAL_DENSITY: f64 = 1.8;
/// Density of water at 25 °C, g/cm³.
const WATER_DENSITY: f64 = 0.997;

/// Gas of one burn.
#[derive(Debug, Clone, PartialEq)]
pub struct GasRelease {
    pub by_species: Vec<ProductAmount>,
    /// All of it.
    pub amount: AmountOfSubstance,
    /// Volume at 25 °C with its water as vapour.
    pub volume_25c: Volume,
    /// Volume at 25 °C without water.
    pub volume_25c_dry: Volume,
    /// Volume at the flame temperature, if there is a flame.
    pub volume_flame: Option<Volume>,
    /// Volume at 25 °C per mass of powder.
    pub per_product: SpecificVolume,
    /// Volume at the flame temperature over the volume of the liquid before heating.
    pub expansion: Option<Ratio>,
    /// Water that left as steam before the burn.
    pub steam_before: AmountOfSubstance,
}

/// Volume of an ideal gas, V = n R T / p.
pub fn ideal_gas_volume(
    amount: AmountOfSubstance,
    temperature: ThermodynamicTemperature,
    pressure: Pressure,
) -> Volume {
    let per_mole = gas_constant().get::<joule_per_kelvin_mole>() * temperature.get::<kelvin>();
    let energy = amount * crate::quantity::MolarEnergy::new::<joule_per_mole>(per_mole);
    energy / pressure
}

/// Estimated volume of the solution before heating: water and every ingredient at its density.
pub fn solution_volume(batch: &Batch) -> Volume {
    let density = MassDensity::new::<gram_per_cubic_centimeter>;
    let water_mass = |n: AmountOfSubstance| -> Mass { n * crate::batch::water_molar_mass() };
    let mut volume = water_mass(batch.solvent_water()) / density(WATER_DENSITY);
    for ingredient in batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role != Role::Solvent)
    {
        let own = ingredient
            .reactant
            .density
            .as_ref()
            .map(|density| density.value);
        let pure: Mass = ingredient.amount * ingredient.reactant.formula.molar_mass();
        volume += pure / own.unwrap_or_else(|| density(USUAL_DENSITY));
    }
    volume
}

/// The gas of a burn with fixed products.
pub fn gas_release(
    batch: &Batch,
    product: &ExpectedProduct,
    state: &WaterState,
    burn: &CompleteCombustion,
) -> GasRelease {
    let pressure = batch.conditions.pressure;
    let amount = total_amount(burn.gas.iter().map(|gas| gas.amount));
    let steam = total_amount(
        burn.gas
            .iter()
            .filter(|gas| gas.id == "H2O")
            .map(|gas| gas.amount),
    );
    let cold = |n| ideal_gas_volume(n, reference_temperature(), pressure);
    let volume_25c = cold(amount);
    let volume_flame = burn
        .flame
        .temperature()
        .map(|hot| ideal_gas_volume(amount, hot, pressure));
    let liquid = solution_volume(batch);
    let none = AmountOfSubstance::new::<mole>(0.0);
    let steam_before =
        batch.solvent_water() + batch.crystal_water() - state.solvent - state.crystal_water(batch);
    GasRelease {
        by_species: burn.gas.clone(),
        amount,
        volume_25c,
        volume_25c_dry: cold(amount - steam),
        volume_flame,
        per_product: volume_25c / product.mass,
        expansion: volume_flame
            .filter(|_| liquid > Volume::new::<cubic_meter>(0.0))
            .map(|hot| hot / liquid),
        steam_before: if steam_before > none {
            steam_before
        } else {
            none
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::{atmosphere, degree_celsius, gram, liter};
    use approx::assert_relative_eq;

    #[test]
    fn a_mole_of_ideal_gas_at_0_c_and_1_atm_is_22_414_litres() {
        // 22.413 969 54 L/mol: CODATA 2018, molar volume of an ideal gas at 273.15 K, 101.325 kPa
        // (from memory).
        let volume = ideal_gas_volume(
            AmountOfSubstance::new::<mole>(1.0),
            ThermodynamicTemperature::new::<degree_celsius>(0.0),
            Pressure::new::<atmosphere>(1.0),
        );
        assert_relative_eq!(volume.get::<liter>(), 22.413_969_54, max_relative = 1e-8);
    }
    #[test]
    fn a_urea_solution_is_as_dense_as_its_standard_asks() {
        // ISO 22241-1: 31.8 to 33.2 % of urea by mass, 1087.0 to 1093.0 kg/m3 at 20 °C (from memory).
        // Solid and water side by side leave out how they pack in the solution: 0.5 %.
        let tables = crate::tables::Tables::built_in().unwrap();
        // What 100 g more of it add to a batch with a salt.
        let volume = |urea: f64, water: f64| {
            let salt = "[[ingredient]]\nsubstance = \"Zn(NO3)2·6H2O\"\nmass = \"1 g\"\n";
            let solution = [("urea", urea), ("water", water)].map(|(substance, mass)| {
                format!("[[ingredient]]\nsubstance = \"{substance}\"\nmass = \"{mass} g\"\n")
            });
            let text = format!("{salt}{}", solution.concat());
            solution_volume(&Batch::parse(&text, "test", &tables).unwrap())
        };
        let added = volume(65.0, 135.0) - volume(32.5, 67.5);
        let density = Mass::new::<gram>(100.0) / added;
        let density = density.get::<gram_per_cubic_centimeter>();
        assert_relative_eq!(density, 1.090, max_relative = 0.008);
    }
}
