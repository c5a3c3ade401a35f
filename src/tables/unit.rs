//! The units in which the tables write their numbers.

use std::fmt;
use uom::si::f64::{
    Area, ArealMassDensity, AvailableEnergy, DynamicViscosity, Frequency, HeatFluxDensity,
    HeatTransfer, Length, Mass, MassDensity, MolarEnergy, MolarHeatCapacity, MolarMass, Power,
    Ratio, SpecificHeatCapacity, TemperatureInterval, ThermalConductivity,
    ThermodynamicTemperature, Time, Velocity, Volume,
};
use uom::si::{
    area, areal_mass_density, available_energy, dynamic_viscosity, frequency, heat_flux_density,
    heat_transfer, length, mass, mass_density, molar_energy, molar_heat_capacity, molar_mass,
    power, ratio, specific_heat_capacity, temperature_interval, thermal_conductivity,
    thermodynamic_temperature, time, velocity, volume,
};

/// A unit of the tables, and what a number in it stands for.
pub trait Unit: fmt::Debug + Clone + PartialEq + 'static {
    type Quantity: Copy + fmt::Debug + PartialEq;
    /// What the difference of two such quantities is, and so the half width of a band: an interval
    /// for temperatures, for all others the quantity itself.
    type Difference: Copy + fmt::Debug + PartialEq;
    /// The unit as the tables write it.
    const NAME: &'static str;
    /// Least and largest number that can be meant.
    const RANGE: (f64, f64);
    fn quantity(number: f64) -> Self::Quantity;
    fn difference(number: f64) -> Self::Difference;
    fn number(quantity: Self::Quantity) -> f64;
    /// The number of this difference.
    fn step(difference: Self::Difference) -> f64;
    /// The number of this quantity in the coherent SI unit.
    fn si(quantity: Self::Quantity) -> f64;
}

/// A unit of one quantity, whose differences are of the same kind unless `by` says otherwise.
macro_rules! unit {
    ($(#[$doc:meta])* $name:ident, $text:literal, $quantity:ident, $unit:ty, $range:expr) => {
        unit!($(#[$doc])* $name, $text, $quantity, $unit, by $quantity, $unit, $range);
    };
    ($(#[$doc:meta])* $name:ident, $text:literal, $quantity:ident, $unit:ty,
     by $difference:ident, $step:ty, $range:expr) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum $name {}

        impl Unit for $name {
            type Quantity = $quantity;
            type Difference = $difference;
            const NAME: &'static str = $text;
            const RANGE: (f64, f64) = $range;
            fn quantity(number: f64) -> $quantity {
                $quantity::new::<$unit>(number)
            }
            fn difference(number: f64) -> $difference {
                $difference::new::<$step>(number)
            }
            fn number(quantity: $quantity) -> f64 {
                quantity.get::<$unit>()
            }
            fn step(difference: $difference) -> f64 {
                difference.get::<$step>()
            }
            fn si(quantity: $quantity) -> f64 {
                quantity.value
            }
        }
    };
}

unit!(/// Degree Celsius.
    DegreeCelsius, "degC", ThermodynamicTemperature, thermodynamic_temperature::degree_celsius, by TemperatureInterval, temperature_interval::kelvin, (-273.15, 4000.0));
unit!(/// Kelvin as a temperature.
    Kelvin, "K", ThermodynamicTemperature, thermodynamic_temperature::kelvin, by TemperatureInterval, temperature_interval::kelvin, (0.0, 10000.0));
unit!(/// Kelvin as a difference.
    KelvinStep, "K", TemperatureInterval, temperature_interval::kelvin, (-5000.0, 5000.0));
unit!(/// Kilojoule per mole.
    KilojoulePerMole, "kJ/mol", MolarEnergy, molar_energy::kilojoule_per_mole, (-1e5, 1e5));
unit!(/// Joule per mole and kelvin.
    JoulePerMoleKelvin, "J/(mol K)", MolarHeatCapacity, molar_heat_capacity::joule_per_kelvin_mole, (-1e5, 1e5));
unit!(/// Joule per kilogram and kelvin.
    JoulePerKilogramKelvin, "J/(kg K)", SpecificHeatCapacity, specific_heat_capacity::joule_per_kilogram_kelvin, (50.0, 20000.0));
unit!(/// Kilojoule per kilogram.
    KilojoulePerKilogram, "kJ/kg", AvailableEnergy, available_energy::kilojoule_per_kilogram, (0.0, 1e5));
unit!(/// Gram per mole.
    GramPerMole, "g/mol", MolarMass, molar_mass::gram_per_mole, (1.0, 1e4));
unit!(/// Gram per cubic centimetre.
    GramPerCubicCentimetre, "g/cm3", MassDensity, mass_density::gram_per_cubic_centimeter, (0.001, 25.0));
unit!(/// Kilogram per cubic metre.
    KilogramPerCubicMetre, "kg/m3", MassDensity, mass_density::kilogram_per_cubic_meter, (0.1, 25000.0));
unit!(/// Watt per metre and kelvin.
    WattPerMetreKelvin, "W/(m K)", ThermalConductivity, thermal_conductivity::watt_per_meter_kelvin, (0.001, 5000.0));
unit!(/// Watt per square metre and kelvin.
    WattPerSquareMetreKelvin, "W/(m2 K)", HeatTransfer, heat_transfer::watt_per_square_meter_kelvin, (0.0, 1e5));
unit!(/// Watt per square metre.
    WattPerSquareMetre, "W/m2", HeatFluxDensity, heat_flux_density::watt_per_square_meter, (0.0, 1e7));
unit!(/// Watt.
    Watt, "W", Power, power::watt, (1.0, 20000.0));
unit!(/// Part per million by mass.
    PartPerMillion, "ppm", Ratio, ratio::part_per_million, (0.0, 1e6));
unit!(/// Square decimetre.
    SquareDecimetre, "dm2", Area, area::square_decimeter, (0.0, 1e4));
unit!(/// Gram per square metre.
    GramPerSquareMetre, "g/m2", ArealMassDensity, areal_mass_density::gram_per_square_meter, (0.0, 1e4));
unit!(/// Percent.
    Percent, "%", Ratio, ratio::percent, (0.0, 100.0));
unit!(/// A ratio without a unit.
    One, "1", Ratio, ratio::ratio, (0.0, 1e12));
unit!(/// A share of one.
    Share, "1", Ratio, ratio::ratio, (0.0, 1.0));
unit!(/// Millimetre.
    Millimetre, "mm", Length, length::millimeter, (0.0, 1e5));
unit!(/// Micrometre.
    Micrometre, "um", Length, length::micrometer, (0.0, 1e6));
unit!(/// Millilitre.
    Millilitre, "mL", Volume, volume::milliliter, (0.0, 1e6));
unit!(/// Cubic metre.
    CubicMetre, "m3", Volume, volume::cubic_meter, (0.001, 1e6));
unit!(/// Gram.
    Gram, "g", Mass, mass::gram, (1e-9, 1e6));
unit!(/// Second.
    Second, "s", Time, time::second, (0.0, 86400.0));
unit!(/// Per second.
    PerSecond, "1/s", Frequency, frequency::hertz, (0.0, 1e30));
unit!(/// Per hour.
    PerHour, "1/h", Frequency, frequency::cycle_per_hour, (0.001, 1000.0));
unit!(/// Metre per second.
    MetrePerSecond, "m/s", Velocity, velocity::meter_per_second, (0.0, 100.0));
unit!(/// Millimetre per second.
    MillimetrePerSecond, "mm/s", Velocity, velocity::millimeter_per_second, (0.0, 1e5));
unit!(/// Pascal second.
    PascalSecond, "Pa s", DynamicViscosity, dynamic_viscosity::pascal_second, (1e-7, 1e5));

/// A number for which there is no quantity: its factor to the coherent SI unit is stated.
macro_rules! bare {
    ($(#[$doc:meta])* $name:ident, $text:literal, $factor:expr, $range:expr) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum $name {}

        impl Unit for $name {
            type Quantity = f64;
            type Difference = f64;
            const NAME: &'static str = $text;
            const RANGE: (f64, f64) = $range;
            fn quantity(number: f64) -> f64 {
                number
            }
            fn difference(number: f64) -> f64 {
                number
            }
            fn number(quantity: f64) -> f64 {
                quantity
            }
            fn step(difference: f64) -> f64 {
                difference
            }
            fn si(quantity: f64) -> f64 {
                quantity * $factor
            }
        }
    };
}

bare!(/// A pure number, of any sign.
    Number, "1", 1.0, (-1e30, 1e30));
bare!(/// Kelvin per second.
    KelvinPerSecond, "K/s", 1.0, (0.0, 1e6));
bare!(/// Kelvin per minute.
    KelvinPerMinute, "K/min", 1.0 / 60.0, (0.1, 1e5));
bare!(/// Per kelvin.
    PerKelvin, "1/K", 1.0, (0.0, 1.0));
bare!(/// Litre per gram and second.
    LitrePerGramSecond, "L/(g s)", 1.0, (0.0, 1e4));
