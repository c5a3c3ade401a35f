//! Reading quantities that people write: `"3 g"`, `"2.5 mL"`, `"95 °C"`, `"10 %"`.
//!
//! A quantity is a decimal number, a space (may be left out) and a unit from a short list. The
//! number must be finite; the unit must fit the quantity asked for. Nothing is guessed: a bare
//! number is an error except for a ratio.

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
    amount_of_substance as amount_unit, angle as angle_unit,
    available_energy as specific_energy_unit, energy as energy_unit, length as length_unit,
    mass as mass_unit, mass_density as density_unit, molar_concentration as concentration_unit,
    power as power_unit, pressure as pressure_unit, ratio as ratio_unit,
    specific_area as specific_area_unit, temperature_interval as interval_unit,
    thermodynamic_temperature as temperature_unit, time as time_unit, velocity as velocity_unit,
    volume as volume_unit, volume_rate as volume_rate_unit,
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
    let plain = unit.replace('μ', "µ").replace('³', "3").replace('²', "2");
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

/// Reads a mass: kg, g, mg, µg.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
///
/// # Examples
/// ```
/// use emberpot::quantity::parse;
/// use uom::si::mass::milligram;
/// let mass = parse::mass("2.5 g").unwrap();
/// assert!((mass.get::<milligram>() - 2500.0).abs() < 1e-9);
/// assert!(parse::mass("2.5 mL").is_err());
/// ```
pub fn mass(text: &str) -> Result<Mass, QuantityError> {
    read(
        text,
        "mass",
        "3.2 g",
        "kg, g, mg, µg",
        &[
            (&["kg"], Mass::new::<mass_unit::kilogram>),
            (&["g"], Mass::new::<mass_unit::gram>),
            (&["mg"], Mass::new::<mass_unit::milligram>),
            (&["µg", "ug"], Mass::new::<mass_unit::microgram>),
        ],
    )
}

/// Reads a volume: m3, L, mL, µL, cm3.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn volume(text: &str) -> Result<Volume, QuantityError> {
    read(
        text,
        "volume",
        "15 mL",
        "L, mL, µL, cm3, m3",
        &[
            (&["m3"], Volume::new::<volume_unit::cubic_meter>),
            (&["L", "l"], Volume::new::<volume_unit::liter>),
            (&["mL", "ml"], Volume::new::<volume_unit::milliliter>),
            (
                &["µL", "uL", "µl", "ul"],
                Volume::new::<volume_unit::microliter>,
            ),
            (&["cm3"], Volume::new::<volume_unit::cubic_centimeter>),
        ],
    )
}

/// Reads an amount of substance: mol, mmol, µmol.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn amount(text: &str) -> Result<AmountOfSubstance, QuantityError> {
    read(
        text,
        "amount of substance",
        "0.02 mol",
        "mol, mmol, µmol",
        &[
            (&["mol"], AmountOfSubstance::new::<amount_unit::mole>),
            (&["mmol"], AmountOfSubstance::new::<amount_unit::millimole>),
            (
                &["µmol", "umol"],
                AmountOfSubstance::new::<amount_unit::micromole>,
            ),
        ],
    )
}

/// Reads a concentration: mol/L, mmol/L, M, mM.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn concentration(text: &str) -> Result<MolarConcentration, QuantityError> {
    read(
        text,
        "concentration",
        "0.1 mol/L",
        "mol/L, mmol/L",
        &[
            (
                &["mol/L", "mol/l", "M"],
                MolarConcentration::new::<concentration_unit::mole_per_liter>,
            ),
            (
                &["mmol/L", "mmol/l", "mM"],
                MolarConcentration::new::<concentration_unit::mole_per_cubic_meter>,
            ),
        ],
    )
}

/// Reads a temperature: °C, C, K. It must lie above absolute zero.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units, or is at or
/// below 0 K.
pub fn temperature(text: &str) -> Result<ThermodynamicTemperature, QuantityError> {
    let found = read(
        text,
        "temperature",
        "25 °C",
        "°C, K",
        &[
            (
                &["°C", "C", "degC"],
                ThermodynamicTemperature::new::<temperature_unit::degree_celsius>,
            ),
            (
                &["K"],
                ThermodynamicTemperature::new::<temperature_unit::kelvin>,
            ),
        ],
    )?;
    if found.get::<temperature_unit::kelvin>() <= 0.0 {
        return Err(QuantityError::BelowAbsoluteZero {
            text: text.trim().to_owned(),
        });
    }
    Ok(found)
}

/// Reads a temperature difference or uncertainty: K, °C.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn temperature_interval(text: &str) -> Result<TemperatureInterval, QuantityError> {
    read(
        text,
        "temperature difference",
        "20 K",
        "K, °C",
        &[(
            &["K", "°C", "C"],
            TemperatureInterval::new::<interval_unit::kelvin>,
        )],
    )
}

/// Reads an angle: °, deg.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn angle(text: &str) -> Result<Angle, QuantityError> {
    read(
        text,
        "angle",
        "36.8°",
        "°, deg",
        &[(&["°", "deg"], Angle::new::<angle_unit::degree>)],
    )
}

/// Reads a specific surface area: m2/g.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with this unit.
pub fn specific_area(text: &str) -> Result<SpecificArea, QuantityError> {
    read(
        text,
        "specific surface area",
        "25 m2/g",
        "m2/g",
        &[(
            &["m2/g"],
            SpecificArea::new::<specific_area_unit::square_meter_per_gram>,
        )],
    )
}

/// Reads a time: s, min, h.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn time(text: &str) -> Result<Time, QuantityError> {
    read(
        text,
        "time",
        "5 min",
        "s, min, h",
        &[
            (&["s"], Time::new::<time_unit::second>),
            (&["min"], Time::new::<time_unit::minute>),
            (&["h"], Time::new::<time_unit::hour>),
        ],
    )
}

/// Reads a power: W, kW.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn power(text: &str) -> Result<Power, QuantityError> {
    read(
        text,
        "power",
        "800 W",
        "W, kW",
        &[
            (&["W"], Power::new::<power_unit::watt>),
            (&["kW"], Power::new::<power_unit::kilowatt>),
        ],
    )
}

/// Reads a length: m, cm, mm, µm.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn length(text: &str) -> Result<Length, QuantityError> {
    read(
        text,
        "length",
        "70 mm",
        "mm, cm, m, µm, nm",
        &[
            (&["m"], Length::new::<length_unit::meter>),
            (&["cm"], Length::new::<length_unit::centimeter>),
            (&["mm"], Length::new::<length_unit::millimeter>),
            (&["µm", "um"], Length::new::<length_unit::micrometer>),
            (&["nm"], Length::new::<length_unit::nanometer>),
        ],
    )
}

/// Reads a pressure: bar, mbar, kPa, Pa, atm.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn pressure(text: &str) -> Result<Pressure, QuantityError> {
    read(
        text,
        "pressure",
        "1 bar",
        "bar, mbar, kPa, Pa, atm",
        &[
            (&["bar"], Pressure::new::<pressure_unit::bar>),
            (&["mbar"], Pressure::new::<pressure_unit::millibar>),
            (&["kPa"], Pressure::new::<pressure_unit::kilopascal>),
            (&["Pa"], Pressure::new::<pressure_unit::pascal>),
            (&["atm"], Pressure::new::<pressure_unit::atmosphere>),
        ],
    )
}

/// Reads an energy: J, kJ.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn energy(text: &str) -> Result<Energy, QuantityError> {
    read(
        text,
        "energy",
        "2 kJ",
        "J, kJ",
        &[
            (&["J"], Energy::new::<energy_unit::joule>),
            (&["kJ"], Energy::new::<energy_unit::kilojoule>),
        ],
    )
}

/// Reads a heat per mass: MJ/kg, kJ/g, J/g, kJ/kg.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn specific_energy(text: &str) -> Result<AvailableEnergy, QuantityError> {
    read(
        text,
        "heat per mass",
        "17.5 MJ/kg",
        "MJ/kg, kJ/g, J/g, kJ/kg",
        &[
            (
                &["MJ/kg", "kJ/g"],
                AvailableEnergy::new::<specific_energy_unit::megajoule_per_kilogram>,
            ),
            (
                &["J/g", "kJ/kg"],
                AvailableEnergy::new::<specific_energy_unit::kilojoule_per_kilogram>,
            ),
        ],
    )
}

/// Reads a density: g/mL, g/cm3, kg/m3, kg/L.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn density(text: &str) -> Result<MassDensity, QuantityError> {
    read(
        text,
        "density",
        "1.18 g/mL",
        "g/mL, g/cm3, kg/m3, kg/L",
        &[
            (
                &["g/mL", "g/ml", "g/cm3", "kg/L"],
                MassDensity::new::<density_unit::gram_per_cubic_centimeter>,
            ),
            (
                &["kg/m3"],
                MassDensity::new::<density_unit::kilogram_per_cubic_meter>,
            ),
        ],
    )
}

/// Reads a speed: m/s, cm/s.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn velocity(text: &str) -> Result<Velocity, QuantityError> {
    read(
        text,
        "speed",
        "0.5 m/s",
        "m/s, cm/s",
        &[
            (&["m/s"], Velocity::new::<velocity_unit::meter_per_second>),
            (
                &["cm/s"],
                Velocity::new::<velocity_unit::centimeter_per_second>,
            ),
        ],
    )
}

/// Reads a volume flow: m3/h, m3/s, L/s, L/min.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number with one of these units.
pub fn volume_rate(text: &str) -> Result<VolumeRate, QuantityError> {
    read(
        text,
        "volume flow",
        "800 m3/h",
        "m3/h, m3/s, L/s, L/min",
        &[
            (
                &["m3/h"],
                VolumeRate::new::<volume_rate_unit::cubic_meter_per_hour>,
            ),
            (
                &["m3/s"],
                VolumeRate::new::<volume_rate_unit::cubic_meter_per_second>,
            ),
            (
                &["L/s"],
                VolumeRate::new::<volume_rate_unit::liter_per_second>,
            ),
            (
                &["L/min"],
                VolumeRate::new::<volume_rate_unit::liter_per_minute>,
            ),
        ],
    )
}

/// Reads a ratio: a bare number, or one with %, ‰ or ppm.
///
/// # Errors
/// [`QuantityError`] if the text is not a finite number, or carries another unit.
pub fn ratio(text: &str) -> Result<Ratio, QuantityError> {
    read(
        text,
        "ratio",
        "98.5 %",
        "% (or a bare number), ‰, ppm",
        &[
            (&[""], Ratio::new::<ratio_unit::ratio>),
            (&["%"], Ratio::new::<ratio_unit::percent>),
            (&["‰"], Ratio::new::<ratio_unit::per_mille>),
            (
                &["ppm", "mg/kg", "µg/g"],
                Ratio::new::<ratio_unit::part_per_million>,
            ),
        ],
    )
}

#[cfg(test)]
mod tests;
