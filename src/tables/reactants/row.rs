//! TOML rows of the reactant tables as they are written; `convert` turns them into quantities.

use super::convert::{self, Place};
use super::{AssayBasis, Basis, HazardGroup, Reactant, Role, State};
use crate::formula::FormulaError;
use crate::quantity::{MolarEnergy, MolarHeatCapacity};
use crate::source::{Bibliography, Seen, SourceId, Sourced};
use serde::Deserialize;
use std::collections::BTreeSet;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::molar_heat_capacity::joule_per_kelvin_mole;

/// Why a reactant table cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ReactantError {
    /// The text is no TOML of the expected shape.
    #[error("{file}: {message}")]
    Parse {
        /// File.
        file: String,
        /// What the reader says, with the line.
        message: String,
    },
    /// A unit other than the one the table is kept in.
    #[error(
        "{file}: unit of {quantity} is \"{found}\"; write \"{expected}\" and convert the values"
    )]
    Unit {
        /// File.
        file: String,
        /// Quantity.
        quantity: String,
        /// Unit in the file.
        found: String,
        /// Unit that the loader takes.
        expected: &'static str,
    },
    /// A formula that cannot be read.
    #[error("{file}: reactant {id}: {error}")]
    Formula {
        /// File.
        file: String,
        /// Row.
        id: String,
        /// What is wrong with it.
        error: FormulaError,
    },
    /// A citation without an entry in the list of sources.
    #[error("{file}: {place}: source \"{source_key}\" is not in sources.toml; add it there")]
    UnknownSource {
        /// File.
        file: String,
        /// Row and key.
        place: String,
        /// Key cited.
        source_key: String,
    },
    /// A value that cannot be true.
    #[error("{file}: {place}: {what}")]
    Implausible {
        /// File.
        file: String,
        /// Row and key.
        place: String,
        /// What is wrong, with the value.
        what: String,
    },
    /// The same id twice in one file.
    #[error("{file}: id \"{id}\" is used twice; ids name one row each")]
    Duplicate {
        /// File.
        file: String,
        /// The id.
        id: String,
    },
    /// A row of a substance that is refused.
    #[error(
        "{file}: reactant {id}: \"{spelling}\" is refused, in a table of your own too: {reason}; \
         remove the row"
    )]
    Refused {
        /// File.
        file: String,
        /// Row.
        id: String,
        /// The name, formula or number that gives it away.
        spelling: String,
        /// Why.
        reason: String,
    },
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Units {
    enthalpy: Option<String>,
    heat_capacity: Option<String>,
    density: Option<String>,
    temperature: Option<String>,
    assay: Option<String>,
}

impl Units {
    pub(super) fn check(&self, file: &str) -> Result<(), ReactantError> {
        for (quantity, found, expected) in [
            ("enthalpy", &self.enthalpy, "kJ/mol"),
            ("heat_capacity", &self.heat_capacity, "J/(mol K)"),
            ("density", &self.density, "g/cm3"),
            ("temperature", &self.temperature, "degC"),
            ("assay", &self.assay, "%"),
        ] {
            if let Some(found) = found.as_ref().filter(|unit| *unit != expected) {
                return Err(ReactantError::Unit {
                    file: file.to_owned(),
                    quantity: quantity.to_owned(),
                    found: found.clone(),
                    expected,
                });
            }
        }
        Ok(())
    }
}

/// A number with its source, in the unit of its table.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawValue {
    pub(super) value: f64,
    pub(super) uncertainty: Option<f64>,
    pub(super) source: SourceId,
    pub(super) at: String,
    pub(super) seen: Seen,
}

impl RawValue {
    pub(super) fn sourced(
        self,
        file: &str,
        sources: &Bibliography,
    ) -> Result<Sourced<f64>, ReactantError> {
        let numbers_fine =
            self.value.is_finite() && self.uncertainty.is_none_or(|u| u.is_finite() && u >= 0.0);
        let place = Place {
            file,
            row: "value",
            sources,
        };
        if !numbers_fine {
            return Err(place.implausible("value", format!("{} is no usable number", self.value)));
        }
        place.source(&self.source)?;
        Ok(Sourced {
            value: self.value,
            uncertainty: self.uncertainty,
            source: self.source,
            locator: self.at,
            seen: self.seen,
        })
    }

    pub(super) fn enthalpy(
        self,
        file: &str,
        sources: &Bibliography,
    ) -> Result<Sourced<MolarEnergy>, ReactantError> {
        let value = self.sourced(file, sources)?;
        Ok(value.map(MolarEnergy::new::<kilojoule_per_mole>))
    }

    pub(super) fn heat_capacity(
        self,
        file: &str,
        sources: &Bibliography,
    ) -> Result<Sourced<MolarHeatCapacity>, ReactantError> {
        let value = self.sourced(file, sources)?;
        Ok(value.map(MolarHeatCapacity::new::<joule_per_kelvin_mole>))
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawFile {
    pub(super) units: Units,
    pub(super) reactant: Vec<RawReactant>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawReactant {
    pub(super) id: String,
    pub(super) name: String,
    #[serde(default)]
    pub(super) aliases: Vec<String>,
    pub(super) formula: String,
    pub(super) cas: Option<String>,
    pub(super) cas_seen: Option<Seen>,
    pub(super) role: Role,
    #[serde(default)]
    pub(super) hazard_groups: Vec<HazardGroup>,
    pub(super) phase: State,
    pub(super) metal: Option<RawMetal>,
    pub(super) redox_valence: f64,
    pub(super) formation_enthalpy: Option<RawValue>,
    pub(super) heat_capacity: Option<RawValue>,
    pub(super) entropy: Option<RawValue>,
    pub(super) enthalpy_of_solution: Option<RawValue>,
    pub(super) density: Option<RawValue>,
    pub(super) melting: Option<RawMelting>,
    #[serde(default)]
    pub(super) thermal_steps: String,
    pub(super) decomposition_onset: Option<RawValue>,
    pub(super) solubility: Option<RawSolubility>,
    #[serde(default)]
    pub(super) hygroscopic: String,
    pub(super) water_range: Option<RawWaterRange>,
    pub(super) assay: Option<RawAssay>,
    pub(super) gases: Option<RawGases>,
    pub(super) hazards: RawHazards,
    #[serde(default)]
    pub(super) toxicity: String,
    #[serde(default)]
    pub(super) alternatives: Vec<RawAlternative>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawMetal {
    pub(super) element: String,
    pub(super) oxidation_state: i8,
    pub(super) common_oxide: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawMelting {
    pub(super) value: f64,
    pub(super) source: SourceId,
    pub(super) at: String,
    pub(super) seen: Seen,
    #[serde(default)]
    pub(super) in_own_water: bool,
    #[serde(default)]
    pub(super) note: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawSolubility {
    /// °C, mass percent of the saturated solution
    #[serde(default)]
    pub(super) mass_percent: Vec<(f64, f64)>,
    /// °C, g per 100 g of water
    #[serde(default)]
    pub(super) per_100_g_water: Vec<(f64, f64)>,
    pub(super) basis: Basis,
    #[serde(default)]
    pub(super) miscible: bool,
    pub(super) falling: Option<String>,
    #[serde(default)]
    pub(super) note: String,
    pub(super) source: SourceId,
    pub(super) at: String,
    pub(super) seen: Seen,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawWaterRange {
    pub(super) from: Option<f64>,
    pub(super) to: Option<f64>,
    pub(super) note: String,
    pub(super) seen: Seen,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawAssay {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) basis: AssayBasis,
    #[serde(default)]
    pub(super) note: String,
    pub(super) seen: Seen,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawGases {
    pub(super) list: Vec<String>,
    pub(super) seen: Seen,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawHazards {
    pub(super) signal: String,
    pub(super) statements: Vec<String>,
    pub(super) source: SourceId,
    pub(super) seen: Seen,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawAlternative {
    pub(super) of: String,
    pub(super) value: f64,
    pub(super) source: SourceId,
    pub(super) at: String,
    pub(super) seen: Seen,
    pub(super) reason: String,
}

/// Reads TOML and turns the reader's complaint into ours.
pub(super) fn parse<T: serde::de::DeserializeOwned>(
    file: &str,
    text: &str,
) -> Result<T, ReactantError> {
    if let Some(Ok(parsed)) = crate::tables::prepared(text) {
        return Ok(parsed);
    }
    toml::from_str(text).map_err(|error| ReactantError::Parse {
        file: file.to_owned(),
        message: error.to_string().trim_end().to_owned(),
    })
}

/// The rows of one file, converted and checked.
pub(super) fn read(
    file: &str,
    text: &str,
    sources: &Bibliography,
) -> Result<Vec<Reactant>, ReactantError> {
    let table: RawFile = parse(file, text)?;
    table.units.check(file)?;
    let mut ids = BTreeSet::new();
    let mut rows = Vec::with_capacity(table.reactant.len());
    for raw in table.reactant {
        if !ids.insert(raw.id.clone()) {
            return Err(ReactantError::Duplicate {
                file: file.to_owned(),
                id: raw.id,
            });
        }
        rows.push(convert::reactant(raw, file, sources)?);
    }
    Ok(rows)
}
