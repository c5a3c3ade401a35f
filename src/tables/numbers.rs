//! Named numbers of one row, each with its source, turned into coherent SI units on load.

use super::{Place, TableError};
use crate::source::{Bibliography, Seen, SourceId, Sourced};
use serde::Deserialize;
use std::collections::BTreeMap;
use uom::si::f64::{
    Length, MolarEnergy, MolarMass, Ratio, TemperatureInterval, ThermodynamicTemperature, Time,
    Velocity, Volume,
};
use uom::si::{
    length, molar_energy, molar_mass, ratio, thermodynamic_temperature, time, velocity, volume,
};

/// One number as it is written: `{ value, uncertainty, source, at, seen }`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawNumber {
    value: f64,
    uncertainty: Option<f64>,
    source: SourceId,
    at: String,
    seen: Seen,
}

/// A kind of quantity: its name in a file's `units`, the unit, the way to SI, and the range.
pub(super) struct Class {
    /// Name in `units`.
    pub name: &'static str,
    /// The unit the tables use.
    pub unit: &'static str,
    /// To coherent SI.
    pub to_si: fn(f64) -> f64,
    /// Least and largest value in the unit of the table.
    pub range: (f64, f64),
}

pub(super) fn same(value: f64) -> f64 {
    value
}
pub(super) fn celsius(value: f64) -> f64 {
    ThermodynamicTemperature::new::<thermodynamic_temperature::degree_celsius>(value).value
}
pub(super) fn percent(value: f64) -> f64 {
    Ratio::new::<ratio::percent>(value).value
}
pub(super) fn millimetre(value: f64) -> f64 {
    Length::new::<length::millimeter>(value).value
}
pub(super) fn millilitre(value: f64) -> f64 {
    Volume::new::<volume::milliliter>(value).value
}
pub(super) fn gram_per_mole(value: f64) -> f64 {
    MolarMass::new::<molar_mass::gram_per_mole>(value).value
}
pub(super) fn kilojoule_per_mole(value: f64) -> f64 {
    MolarEnergy::new::<molar_energy::kilojoule_per_mole>(value).value
}
pub(super) fn kilojoule_per_kilogram(value: f64) -> f64 {
    uom::si::f64::AvailableEnergy::new::<uom::si::available_energy::kilojoule_per_kilogram>(value)
        .value
}
pub(super) fn millimetre_per_second(value: f64) -> f64 {
    Velocity::new::<velocity::millimeter_per_second>(value).value
}
pub(super) fn kelvin_per_minute(value: f64) -> f64 {
    (TemperatureInterval::new::<uom::si::temperature_interval::kelvin>(value)
        / Time::new::<time::minute>(1.0))
    .value
}

/// A number of a row: in coherent SI units with its source, and as the table writes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Number {
    /// The number in coherent SI units.
    pub si: Sourced<f64>,
    /// The number in the unit of the table.
    pub written: f64,
    /// That unit.
    pub unit: &'static str,
}

/// Named numbers of a row in coherent SI units, with their sources.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Numbers(BTreeMap<String, Number>);

impl Numbers {
    /// The number with its source, in coherent SI units, if the row has it.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Sourced<f64>> {
        self.0.get(name).map(|number| &number.si)
    }

    /// The bare number in coherent SI units; NaN, which every model refuses, if the row lacks it.
    /// The loader checks that no row lacks what its kind calls for.
    pub(crate) fn si(&self, name: &str) -> f64 {
        self.0.get(name).map_or(f64::NAN, |n| n.si.value)
    }

    /// The bare number, or `default` where a row may leave it out.
    pub(crate) fn si_or(&self, name: &str, default: f64) -> f64 {
        self.0.get(name).map_or(default, |n| n.si.value)
    }

    /// Every number with its name.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Number)> {
        self.0.iter().map(|(name, number)| (name.as_str(), number))
    }

    /// Converts and checks the numbers of a row.
    ///
    /// `keys`: (key, name of its class); `needed`: keys that must be there.
    pub(super) fn read(
        raw: BTreeMap<String, RawNumber>,
        id: &str,
        place: &Place,
        (classes, keys): (&[Class], &[(&str, &str)]),
        needed: &[&'static str],
        sources: &Bibliography,
    ) -> Result<Self, TableError> {
        let mut numbers = BTreeMap::new();
        for (key, number) in raw {
            let class = keys
                .iter()
                .find(|(name, _)| *name == key)
                .and_then(|(_, class)| classes.iter().find(|c| c.name == *class));
            let Some(class) = class else {
                return Err(place.reference(id, &key));
            };
            place.check_source(id, &number.source, sources)?;
            let (low, high) = class.range;
            if !number.value.is_finite() || number.value < low || number.value > high {
                let expected = format!("but should be from {low} to {high} {}", class.unit);
                return Err(place.value(id, key, number.value, &expected));
            }
            let zero = (class.to_si)(0.0);
            let sourced = Sourced {
                value: (class.to_si)(number.value),
                uncertainty: number.uncertainty.map(|u| (class.to_si)(u) - zero),
                source: number.source,
                locator: number.at,
                seen: number.seen,
            };
            let written = number.value;
            numbers.insert(
                key,
                Number {
                    si: sourced,
                    written,
                    unit: class.unit,
                },
            );
        }
        for missing in needed {
            if !numbers.contains_key(*missing) {
                return Err(TableError::Incomplete {
                    file: place.file.clone(),
                    line: place.line,
                    id: id.to_owned(),
                    missing,
                });
            }
        }
        Ok(Self(numbers))
    }
}

/// Checks that a file names the units of its classes as the tables use them.
pub(super) fn check_units(
    file: &str,
    found: &BTreeMap<String, String>,
    classes: &[Class],
) -> Result<(), TableError> {
    for (key, written) in found {
        let expected = classes
            .iter()
            .find(|c| c.name == key)
            .map_or("no unit", |c| c.unit);
        if written != expected {
            return Err(TableError::Unit {
                file: file.to_owned(),
                key: key.clone(),
                found: written.clone(),
                expected,
            });
        }
    }
    Ok(())
}
