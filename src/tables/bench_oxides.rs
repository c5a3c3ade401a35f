//! Oxides at the bench: residue of a calcined nitrate, and how an oxide takes to nitric acid.

use super::cited::Cited;
use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use super::unit::DegreeCelsius;
use crate::formula::{Element, Formula};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// How an oxide takes to nitric acid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
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
        self.serialize(f)
    }
}

/// A bare metal, as turnings, wire or shot, in nitric acid.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BareMetal {
    /// Charge that it has in solution.
    pub charge: f64,
    /// How it takes to nitric acid.
    pub in_nitric_acid: AcidResponse,
    /// What to watch for.
    pub caution: String,
}

/// An oxide as met at the bench.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BenchOxide {
    /// Formula: one element and oxygen.
    pub formula: Formula,
    /// Where the nitrate is calcined for the assay; `None` if that does not work.
    pub calcine_at: Option<Cited<DegreeCelsius>>,
    /// How it takes to nitric acid.
    pub in_nitric_acid: AcidResponse,
    /// What to watch for; empty if nothing.
    #[serde(default)]
    pub caution: String,
    /// The metal itself in nitric acid; `None` for a metal that is not dissolved at the bench.
    #[serde(default)]
    pub bare_metal: Option<BareMetal>,
}

impl BenchOxide {
    pub fn metal(&self) -> Element {
        let mut elements = self.formula.amounts().keys();
        let metal = elements.find(|element| **element != Element::OXYGEN);
        *metal.expect("the loader refuses an oxide without a metal")
    }
}

impl Row for BenchOxide {
    const ARRAY: &'static str = "oxide";

    fn id(&self) -> String {
        let metals = self.formula.amounts().keys();
        let metals = metals.filter(|element| **element != Element::OXYGEN);
        let names: Vec<String> = metals.map(Element::to_string).collect();
        format!("an oxide of {}", names.join(" and "))
    }

    fn check(&self) -> Result<(), Fault> {
        let amounts = self.formula.amounts();
        if amounts.len() == 2 && amounts.contains_key(&Element::OXYGEN) {
            return Ok(());
        }
        Err(Fault::incomplete("should be the oxide of one element"))
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    oxide: Vec<BenchOxide>,
}

pub(super) fn built_in() -> Result<Vec<BenchOxide>, TableError> {
    let file = TableFile::built_in("bench_oxides.toml");
    let rows: File = file.parse()?;
    file.check_units(&rows.units, &[("temperature", "degC")])?;
    file.check(&rows.oxide)?;
    Ok(rows.oxide)
}
