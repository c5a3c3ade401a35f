//! Physical quantities: the uom types the crate uses, the aliases uom lacks, constants, and
//! reading a quantity from text such as `"25 °C"`.

mod band;
pub mod parse;
pub mod units;

pub use band::Band;

use units::{joule_per_kelvin_mole, kelvin, kelvins, pascal};
pub use uom::si::f64::{
    AmountOfSubstance, Angle, Area, AvailableEnergy, DynamicViscosity, Energy, Frequency,
    HeatCapacity, HeatTransfer, Length, Mass, MassDensity, MolarConcentration, MolarEnergy,
    MolarHeatCapacity, MolarMass, MolarVolume, Power, Pressure, Ratio, SpecificArea,
    SpecificHeatCapacity, SpecificVolume, TemperatureInterval, ThermalConductivity,
    ThermodynamicTemperature, Time, Velocity, Volume, VolumeRate,
};

/// Molar entropy, S_m. Same dimension as a molar heat capacity, hence the alias.
pub type MolarEntropy = MolarHeatCapacity;
/// Amount fraction (mole fraction), x or y; 0 to 1.
pub type AmountFraction = Ratio;
/// Equivalence ratio φ = total reducing valence / total oxidising valence; above 1 is fuel-rich.
pub type EquivalenceRatio = Ratio;

/// Molar gas constant R in J/(mol K). Exact: product of the Boltzmann and Avogadro constants as
/// fixed in the SI Brochure, 9th edition (2019).
pub const GAS_CONSTANT: f64 = 8.314_462_618_153_24;
/// Standard pressure p° in Pa (1 bar; IUPAC recommendation of 1982).
pub const STANDARD_PRESSURE: f64 = 1.0e5;
/// Reference temperature of every tabulated formation enthalpy, in K (25 °C).
pub const REFERENCE_TEMPERATURE: f64 = 298.15;

/// The reference temperature, 298.15 K, as a quantity.
pub fn reference_temperature() -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<kelvin>(REFERENCE_TEMPERATURE)
}

/// The standard pressure p° = 1 bar as a quantity.
pub fn standard_pressure() -> Pressure {
    Pressure::new::<pascal>(STANDARD_PRESSURE)
}

/// The molar gas constant R as a quantity.
pub fn gas_constant() -> MolarHeatCapacity {
    MolarHeatCapacity::new::<joule_per_kelvin_mole>(GAS_CONSTANT)
}

/// `to − from`. The only place where two thermodynamic temperatures are subtracted.
pub fn temperature_difference(
    to: ThermodynamicTemperature,
    from: ThermodynamicTemperature,
) -> TemperatureInterval {
    TemperatureInterval::new::<kelvins>(to.get::<kelvin>() - from.get::<kelvin>())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use units::degree_celsius;

    #[test]
    fn a_difference_keeps_its_sign() {
        let hot = ThermodynamicTemperature::new::<degree_celsius>(100.0);
        let cold = reference_temperature();
        let difference = temperature_difference(cold, hot).get::<kelvins>();
        assert_relative_eq!(difference, -75.0, max_relative = 1e-12);
    }
}
