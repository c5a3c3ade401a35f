//! Oxides at the bench: residue of a calcined nitrate, and how an oxide takes to nitric acid.

use super::TableError;
use super::value::{RawValue, Reading};
use crate::formula::{Element, Formula};
use crate::quantity::ThermodynamicTemperature;
use crate::source::{Bibliography, Sourced};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;
use uom::si::thermodynamic_temperature::degree_celsius;

/// How an oxide takes to nitric acid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AcidResponse {
    /// Warm dilute acid dissolves it.
    Readily,
    /// Hot, more concentrated acid and time are needed.
    Slowly,
    /// Not to be counted on.
    Hardly,
    /// There is no nitrate to make.
    Not,
}

impl fmt::Display for AcidResponse {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Readily => "readily",
            Self::Slowly => "slowly",
            Self::Hardly => "hardly",
            Self::Not => "not",
        })
    }
}

/// An oxide as met at the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchOxide {
    /// Formula.
    pub formula: Formula,
    /// Its metal.
    pub metal: Element,
    /// Where the nitrate is calcined for the assay; `None` if that does not work.
    pub calcine_at: Option<Sourced<ThermodynamicTemperature>>,
    /// How it takes to nitric acid.
    pub in_nitric_acid: AcidResponse,
    /// What to heed; empty if nothing.
    pub caution: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    oxide: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    formula: String,
    in_nitric_acid: AcidResponse,
    calcine_at: Option<RawValue>,
    #[serde(default)]
    caution: String,
}

/// Reads the oxides; `file` is named in errors.
///
/// # Errors
/// [`TableError`] if the text, a unit, a source, a formula or a number is wrong.
pub(super) fn read(
    text: &str,
    file: &str,
    sources: &Bibliography,
) -> Result<Vec<BenchOxide>, TableError> {
    let raw: File = super::parse_toml(text, file)?;
    let reading = Reading {
        file,
        text,
        sources,
    };
    reading.check_units(&raw.units, &[("temperature", "degC")])?;
    let mut oxides: Vec<BenchOxide> = Vec::new();
    for (row, line) in raw.oxide.iter().zip(reading.row_lines("[[oxide]]")) {
        let oxide = row.oxide(&reading, line)?;
        if oxides.iter().any(|other| other.metal == oxide.metal) {
            return Err(TableError::Duplicate {
                file: file.to_owned(),
                line,
                id: format!("an oxide of {}", oxide.metal),
            });
        }
        oxides.push(oxide);
    }
    Ok(oxides)
}

impl Row {
    fn oxide(&self, reading: &Reading, line: usize) -> Result<BenchOxide, TableError> {
        let formula = Formula::parse(&self.formula).map_err(|source| TableError::Formula {
            file: reading.file.to_owned(),
            line,
            id: self.formula.clone(),
            source,
        })?;
        let mut metals = formula.amounts().keys().filter(|&&e| e != Element::OXYGEN);
        let (Some(&metal), None) = (metals.next(), metals.next()) else {
            return Err(TableError::Incomplete {
                file: reading.file.to_owned(),
                line,
                id: self.formula.clone(),
                missing: "should be the oxide of one element",
            });
        };
        let calcine_at = self
            .calcine_at
            .as_ref()
            .map(|raw| reading.value(&self.formula, line, raw, (300.0, 1400.0)))
            .transpose()?
            .map(|value| value.map(ThermodynamicTemperature::new::<degree_celsius>));
        Ok(BenchOxide {
            formula,
            metal,
            calcine_at,
            in_nitric_acid: self.in_nitric_acid,
            caution: self.caution.clone(),
        })
    }
}
