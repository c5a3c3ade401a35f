//! Reading quantities that people write: `"3 g"`, `"2.5 mL"`, `"95 °C"`, `"10 %"`.
//!
//! A quantity is a decimal number, a space (may be left out) and a unit from a short list. The
//! number must be finite; the unit must fit the quantity asked for. Nothing is guessed: a bare
//! number is an error except for a ratio.
//!
//! ```
//! use emberpot::quantity::parse;
//! use uom::si::mass::milligram;
//! let mass = parse::mass("2.5 g").unwrap();
//! assert!((mass.get::<milligram>() - 2500.0).abs() < 1e-9);
//! assert!(parse::mass("2.5 mL").is_err());
//! ```

mod error;
mod number;

pub use error::QuantityError;

use super::{
    AmountOfSubstance, Angle, AvailableEnergy, Energy, Length, Mass, MassDensity,
    MolarConcentration, Power, Pressure, Ratio, SpecificArea, TemperatureInterval,
    ThermodynamicTemperature, Time, Velocity, Volume, VolumeRate,
};
use number::split;
use uom::si::{
    amount_of_substance, angle, available_energy, energy, length, mass, mass_density,
    molar_concentration, power, pressure, ratio, specific_area, temperature_interval,
    thermodynamic_temperature, time, velocity, volume, volume_rate,
};

/// The spellings of one unit, and what makes a quantity of a number in it.
type UnitRow<'a, Q> = (&'a [&'a str], fn(f64) -> Q);

/// Reads a number and one of `units` as a quantity.
fn read<Q>(
    text: &str,
    quantity: &'static str,
    example: &'static str,
    accepted: &'static str,
    units: &[UnitRow<Q>],
) -> Result<Q, QuantityError> {
    let (value, unit) = split(text, example)?;
    // Signs that look alike, and powers as calculators write them.
    let plain = unit
        .replace('μ', "µ")
        .replace('³', "3")
        .replace('²', "2")
        .replace(['º', '˚'], "°")
        .replace('^', "");
    if plain.is_empty() && !units.iter().any(|(names, _)| names.contains(&"")) {
        return Err(QuantityError::MissingUnit {
            text: text.trim().to_owned(),
            accepted,
        });
    }
    units
        .iter()
        .find(|(names, _)| names.contains(&plain.as_str()))
        .map(|(_, make)| make(value))
        .ok_or(QuantityError::UnknownUnit {
            unit: unit.to_owned(),
            quantity,
            accepted,
        })
}

/// A reader of one quantity: what it is called, an example, the units that a mistake names, and each
/// unit with its spellings.
macro_rules! reader {
    ($visible:vis $name:ident: $quantity:ident, $called:literal, $example:literal, $accepted:literal,
     $kind:ident { $($($spelling:literal)|+ => $unit:ident),+ }) => {
        #[doc = concat!("Reads the ", $called, ", such as `", $example, "`; units: ", $accepted, ".")]
        ///
        /// # Errors
        /// [`QuantityError`] if the text is not a finite number with one of these units.
        $visible fn $name(text: &str) -> Result<$quantity, QuantityError> {
            let units: &[UnitRow<$quantity>] =
                &[$((&[$($spelling),+], $quantity::new::<$kind::$unit>)),+];
            read(text, $called, $example, $accepted, units)
        }
    };
}

reader!(pub mass: Mass, "mass", "3.2 g", "kg, g, mg, µg",
    mass { "kg" => kilogram, "g" => gram, "mg" => milligram, "µg" | "ug" => microgram });
reader!(pub volume: Volume, "volume", "15 mL", "L, mL, µL, cm3, m3",
    volume { "m3" => cubic_meter, "L" | "l" => liter, "mL" | "ml" => milliliter,
        "µL" | "uL" | "µl" | "ul" => microliter, "cm3" => cubic_centimeter });
reader!(pub amount: AmountOfSubstance, "amount of substance", "0.02 mol", "mol, mmol, µmol",
    amount_of_substance { "mol" => mole, "mmol" => millimole, "µmol" | "umol" => micromole });
reader!(pub concentration: MolarConcentration, "concentration", "0.1 mol/L", "mol/L, mmol/L",
    molar_concentration { "mol/L" | "mol/l" | "M" => mole_per_liter,
        "mmol/L" | "mmol/l" | "mM" => mole_per_cubic_meter });
reader!(any_temperature: ThermodynamicTemperature, "temperature", "25 °C", "°C, K",
    thermodynamic_temperature { "°C" | "C" | "degC" => degree_celsius, "K" => kelvin });
reader!(pub temperature_interval: TemperatureInterval, "temperature difference", "20 K", "K, °C",
    temperature_interval { "K" | "°C" | "C" => kelvin });
reader!(pub angle: Angle, "angle", "36.8°", "°, deg",
    angle { "°" | "deg" => degree });
reader!(pub specific_area: SpecificArea, "specific surface area", "25 m2/g", "m2/g",
    specific_area { "m2/g" => square_meter_per_gram });
reader!(pub time: Time, "time", "5 min", "s, min, h",
    time { "s" => second, "min" => minute, "h" => hour });
reader!(pub power: Power, "power", "800 W", "W, kW",
    power { "W" => watt, "kW" => kilowatt });
reader!(pub length: Length, "length", "70 mm", "mm, cm, m, µm, nm",
    length { "m" => meter, "cm" => centimeter, "mm" => millimeter, "µm" | "um" => micrometer,
        "nm" => nanometer });
reader!(pub pressure: Pressure, "pressure", "1 bar", "bar, mbar, kPa, Pa, atm",
    pressure { "bar" => bar, "mbar" => millibar, "kPa" => kilopascal, "Pa" => pascal,
        "atm" => atmosphere });
reader!(pub energy: Energy, "energy", "2 kJ", "J, kJ",
    energy { "J" => joule, "kJ" => kilojoule });
reader!(pub specific_energy: AvailableEnergy, "heat per mass", "17.5 MJ/kg", "MJ/kg, kJ/g, J/g, kJ/kg",
    available_energy { "MJ/kg" | "kJ/g" => megajoule_per_kilogram,
        "J/g" | "kJ/kg" => kilojoule_per_kilogram });
reader!(pub density: MassDensity, "density", "1.18 g/mL", "g/mL, g/cm3, kg/m3, kg/L",
    mass_density { "g/mL" | "g/ml" | "g/cm3" | "kg/L" => gram_per_cubic_centimeter,
        "kg/m3" => kilogram_per_cubic_meter });
reader!(pub velocity: Velocity, "speed", "0.5 m/s", "m/s, cm/s",
    velocity { "m/s" => meter_per_second, "cm/s" => centimeter_per_second });
reader!(pub volume_rate: VolumeRate, "volume flow", "800 m3/h", "m3/h, m3/s, L/s, L/min",
    volume_rate { "m3/h" => cubic_meter_per_hour, "m3/s" => cubic_meter_per_second,
        "L/s" => liter_per_second, "L/min" => liter_per_minute });
reader!(pub changes_per_hour: Ratio, "air changes", "6", "1/h (or a bare number)",
    ratio { "" | "1/h" | "/h" => ratio });
reader!(pub ratio: Ratio, "ratio", "98.5 %", "% (or a bare number), ‰, ppm",
    ratio { "" => ratio, "%" => percent, "‰" => per_mille,
        "ppm" | "mg/kg" | "µg/g" => part_per_million });

/// Reads a temperature, which must lie above absolute zero; units: °C, K.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units, or is at or
/// below 0 K.
pub fn temperature(text: &str) -> Result<ThermodynamicTemperature, QuantityError> {
    let found = any_temperature(text)?;
    if found.get::<thermodynamic_temperature::kelvin>() <= 0.0 {
        return Err(QuantityError::BelowAbsoluteZero {
            text: text.trim().to_owned(),
        });
    }
    Ok(found)
}

#[cfg(test)]
mod tests;
