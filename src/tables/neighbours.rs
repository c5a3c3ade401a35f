//! Compounds that stand beside one another in an oxide system, by cation ratio.

use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use crate::formula::Element;
use crate::quantity::AmountFraction;
use crate::quantity::units::ratio;
use crate::source::{Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeSet;

/// A compound of an [`OxideSystem`].
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(from = "(String, f64, f64)")]
pub struct Neighbour {
    /// Formula or name.
    pub name: String,
    /// Share of the first side in all metal atoms, 0 to 1.
    pub first_share: AmountFraction,
}

impl From<(String, f64, f64)> for Neighbour {
    fn from((name, first, second): (String, f64, f64)) -> Self {
        Self {
            name,
            first_share: AmountFraction::new::<ratio>(first / (first + second)),
        }
    }
}

/// Two sides of metals and the compounds between them.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OxideSystem {
    /// Name of the system.
    pub name: String,
    /// Metals counted on the first side.
    pub first: BTreeSet<Element>,
    /// Metals counted on the second side.
    pub second: BTreeSet<Element>,
    /// Compounds by falling share of the first side.
    pub compounds: Vec<Neighbour>,
    /// Where it was read.
    pub source: SourceId,
    /// Page or diagram.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

impl OxideSystem {
    /// Whether `metals` are all of this system and both sides are there.
    pub fn holds(&self, metals: &BTreeSet<Element>) -> bool {
        metals
            .iter()
            .all(|m| self.first.contains(m) || self.second.contains(m))
            && metals.iter().any(|m| self.first.contains(m))
            && metals.iter().any(|m| self.second.contains(m))
    }
}

impl Row for OxideSystem {
    const ARRAY: &'static str = "system";

    fn id(&self) -> String {
        self.name.clone()
    }

    fn check(&self) -> Result<(), Fault> {
        if self.first.is_empty() || self.second.is_empty() || !self.first.is_disjoint(&self.second)
        {
            return Err(Fault::incomplete("needs two sides without a common metal"));
        }
        let shares: Vec<f64> = self
            .compounds
            .iter()
            .map(|compound| compound.first_share.get::<ratio>())
            .collect();
        let falls = shares.windows(2).all(|pair| pair[1] < pair[0]);
        if falls && shares.iter().all(|share| (0.0..=1.0).contains(share)) {
            return Ok(());
        }
        Err(Fault::incomplete(
            "lists compounds out of order of a falling first side",
        ))
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    system: Vec<OxideSystem>,
}

pub(super) fn built_in() -> Result<Vec<OxideSystem>, TableError> {
    let file = TableFile::built_in("neighbours.toml");
    let rows: File = file.parse()?;
    file.check(&rows.system)?;
    Ok(rows.system)
}
