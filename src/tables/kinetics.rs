//! Reaction of nitrate–fuel gels and loss of fuel before it: `tables/kinetics.toml`.

use super::numbers::{
    Class, Numbers, RawNumber, celsius, check_units, kelvin_per_minute, kilojoule_per_kilogram,
    kilojoule_per_mole, millimetre_per_second, percent, same,
};
use super::{Place, TableError, parse_toml, row_lines};
use crate::formula::Element;
use crate::source::Bibliography;
use serde::Deserialize;
use std::collections::BTreeMap;

const FILE: (&str, &str) = ("kinetics.toml", include_str!("../../tables/kinetics.toml"));

/// How a gel with one of some fuels reacts.
#[derive(Debug, Clone, PartialEq)]
pub struct FuelKinetics {
    /// Ids of the reactants it holds for; empty for every fuel without a row of its own.
    pub reactants: Vec<String>,
    /// The numbers, coherent SI.
    pub numbers: Numbers,
}

/// How some metals shift the peak.
#[derive(Debug, Clone, PartialEq)]
pub struct MetalShift {
    /// The metals.
    pub elements: Vec<Element>,
    /// `shift`, K.
    pub numbers: Numbers,
}

/// All of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Kinetics {
    /// Fuels.
    pub fuels: Vec<FuelKinetics>,
    /// Metals.
    pub metals: Vec<MetalShift>,
    /// The heating rate of the analyses.
    pub scan: Numbers,
    /// What holds water.
    pub sorption: Numbers,
    /// The dry gel as a material.
    pub gel: Numbers,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    units: BTreeMap<String, String>,
    #[serde(default)]
    fuel: Vec<RawFuel>,
    #[serde(default)]
    metal: Vec<RawMetal>,
    scan: Option<BTreeMap<String, RawNumber>>,
    sorption: Option<BTreeMap<String, RawNumber>>,
    gel: Option<BTreeMap<String, RawNumber>>,
}

#[derive(Deserialize)]
struct RawFuel {
    reactants: Vec<String>,
    #[serde(flatten)]
    numbers: BTreeMap<String, RawNumber>,
}

#[derive(Deserialize)]
struct RawMetal {
    elements: Vec<String>,
    #[serde(flatten)]
    numbers: BTreeMap<String, RawNumber>,
}

const CLASSES: [Class; 13] = [
    Class {
        name: "binding_energy",
        unit: "kJ/mol",
        to_si: kilojoule_per_mole,
        range: (0.0, 40.0),
    },
    Class {
        name: "temperature",
        unit: "°C",
        to_si: celsius,
        range: (50.0, 800.0),
    },
    Class {
        name: "interval",
        unit: "K",
        to_si: same,
        range: (-150.0, 150.0),
    },
    Class {
        name: "rate",
        unit: "K/min",
        to_si: kelvin_per_minute,
        range: (0.1, 1000.0),
    },
    Class {
        name: "activation_energy",
        unit: "kJ/mol",
        to_si: kilojoule_per_mole,
        range: (20.0, 400.0),
    },
    Class {
        name: "pre_exponential",
        unit: "1/s",
        to_si: same,
        range: (1.0, 1.0e30),
    },
    Class {
        name: "heat",
        unit: "kJ/kg",
        to_si: kilojoule_per_kilogram,
        range: (0.0, 10_000.0),
    },
    Class {
        name: "share",
        unit: "%",
        to_si: percent,
        range: (0.0, 100.0),
    },
    Class {
        name: "speed",
        unit: "mm/s",
        to_si: millimetre_per_second,
        range: (0.01, 1000.0),
    },
    Class {
        name: "density",
        unit: "kg/m3",
        to_si: same,
        range: (10.0, 10_000.0),
    },
    Class {
        name: "conductivity",
        unit: "W/(m K)",
        to_si: same,
        range: (0.01, 10.0),
    },
    Class {
        name: "heat_capacity",
        unit: "J/(kg K)",
        to_si: same,
        range: (100.0, 10_000.0),
    },
    Class {
        name: "number",
        unit: "1",
        to_si: same,
        range: (0.0, 100.0),
    },
];

const KEYS: [(&str, &str); 22] = [
    ("rate", "rate"),
    ("sites_per_charge", "number"),
    ("binding_energy", "binding_energy"),
    ("set_share", "share"),
    ("set_floor", "number"),
    ("density", "density"),
    ("conductivity", "conductivity"),
    ("syrup_conductivity", "conductivity"),
    ("heat_capacity", "heat_capacity"),
    ("gas_heat_capacity", "heat_capacity"),
    ("product_heat_capacity", "heat_capacity"),
    ("peak", "temperature"),
    ("activation_energy", "activation_energy"),
    ("froth", "number"),
    ("front_low", "speed"),
    ("front_high", "speed"),
    ("loss_activation_energy", "activation_energy"),
    ("loss_pre_exponential", "pre_exponential"),
    ("loss_onset", "temperature"),
    ("loss_heat", "heat"),
    ("loss_share", "share"),
    ("shift", "interval"),
];

const FUEL_KEYS: [&str; 5] = [
    "peak",
    "activation_energy",
    "froth",
    "front_low",
    "front_high",
];
const LOSS_KEYS: [&str; 5] = [
    "loss_activation_energy",
    "loss_pre_exponential",
    "loss_onset",
    "loss_heat",
    "loss_share",
];

impl Kinetics {
    pub(super) fn built_in(sources: &Bibliography) -> Result<Self, TableError> {
        let mut kinetics = Self {
            fuels: Vec::new(),
            metals: Vec::new(),
            scan: Numbers::default(),
            sorption: Numbers::default(),
            gel: Numbers::default(),
        };
        kinetics.add(FILE.0, FILE.1, sources)?;
        Ok(kinetics)
    }

    /// Adds the rows of a file; they come before the ones already there and so win over them.
    pub(super) fn add(
        &mut self,
        file: &str,
        text: &str,
        sources: &Bibliography,
    ) -> Result<(), TableError> {
        let raw: RawFile = parse_toml(text, file)?;
        check_units(file, &raw.units, &CLASSES)?;
        let place = |header: &str, at: usize| Place {
            file: file.to_owned(),
            line: row_lines(text, header).nth(at).unwrap_or(1),
        };
        let numbers = |row, id: &str, place: &Place, needed: &[&'static str]| {
            Numbers::read(row, id, place, (&CLASSES, &KEYS), needed, sources)
        };
        let mut fuels = Vec::new();
        for (at, row) in raw.fuel.into_iter().enumerate() {
            let place = place("[[fuel]]", at);
            let id = row.reactants.first().map_or("any fuel", String::as_str);
            let mut needed = FUEL_KEYS.to_vec();
            if row.numbers.keys().any(|key| key.starts_with("loss_")) {
                needed.extend(LOSS_KEYS);
            }
            let numbers = numbers(row.numbers, id, &place, &needed)?;
            if numbers.si("front_low") > numbers.si("front_high") {
                return Err(place.value(
                    id,
                    "front_low".to_owned(),
                    numbers.si("front_low"),
                    "above front_high",
                ));
            }
            fuels.push(FuelKinetics {
                reactants: row.reactants,
                numbers,
            });
        }
        let mut metals = Vec::new();
        for (at, row) in raw.metal.into_iter().enumerate() {
            let place = place("[[metal]]", at);
            let mut elements = Vec::new();
            for symbol in &row.elements {
                elements.push(
                    Element::from_symbol(symbol).ok_or_else(|| place.reference("metal", symbol))?,
                );
            }
            metals.push(MetalShift {
                elements,
                numbers: numbers(row.numbers, "metal", &place, &["shift"])?,
            });
        }
        // Own rows first; the row for any fuel stays last.
        fuels.append(&mut self.fuels);
        fuels.sort_by_key(|row| row.reactants.is_empty());
        metals.append(&mut self.metals);
        (self.fuels, self.metals) = (fuels, metals);
        for (name, target, raw, needed) in [
            ("scan", &mut self.scan, raw.scan, &["rate"][..]),
            (
                "sorption",
                &mut self.sorption,
                raw.sorption,
                &[
                    "sites_per_charge",
                    "binding_energy",
                    "set_share",
                    "set_floor",
                ][..],
            ),
            (
                "gel",
                &mut self.gel,
                raw.gel,
                &[
                    "density",
                    "conductivity",
                    "syrup_conductivity",
                    "heat_capacity",
                    "gas_heat_capacity",
                    "product_heat_capacity",
                ][..],
            ),
        ] {
            if let Some(raw) = raw {
                *target = numbers(raw, name, &place(&format!("[{name}]"), 0), needed)?;
            }
        }
        Ok(())
    }

    /// The row for a reactant, else the one for any fuel.
    #[must_use]
    pub fn fuel(&self, reactant: &str) -> Option<&FuelKinetics> {
        self.fuels
            .iter()
            .find(|row| row.reactants.is_empty() || row.reactants.iter().any(|id| id == reactant))
    }

    /// Shift of the peak (K) by one metal; zero for a metal without a row.
    #[must_use]
    pub(crate) fn shift(&self, element: Element) -> f64 {
        self.metals
            .iter()
            .find(|row| row.elements.contains(&element))
            .map_or(0.0, |row| row.numbers.si("shift"))
    }
}

#[cfg(test)]
mod tests {
    use crate::tables::Tables;

    #[test]
    fn every_row_names_reactants_that_exist() {
        let tables = Tables::built_in().unwrap();
        for row in &tables.kinetics.fuels {
            for id in &row.reactants {
                assert!(tables.reactants.iter().any(|r| r.id == *id), "{id}");
            }
        }
    }

    #[test]
    fn a_fuel_without_a_row_gets_the_row_for_any_fuel() {
        let kinetics = Tables::built_in().unwrap().kinetics;
        assert!((kinetics.fuel("urea").unwrap().numbers.si("peak") - 548.15).abs() < 1e-9);
        assert!(kinetics.fuel("hexamine").unwrap().reactants.is_empty());
    }
}
