//! Compounds that stand beside one another in an oxide system, by cation ratio.

use super::TableError;
use super::value::Reading;
use crate::formula::Element;
use crate::quantity::AmountFraction;
use crate::source::{Bibliography, Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeSet;
use uom::si::ratio::ratio;

/// A compound of an [`OxideSystem`].
#[derive(Debug, Clone, PartialEq)]
pub struct Neighbour {
    /// Formula or name.
    pub name: String,
    /// Share of the first side in all metal atoms, 0 to 1.
    pub first_share: AmountFraction,
}

/// Two sides of metals and the compounds between them.
#[derive(Debug, Clone, PartialEq)]
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
    pub locator: String,
    /// How it was come by.
    pub seen: Seen,
}

impl OxideSystem {
    /// Whether `metals` are all of this system and both sides are there.
    #[must_use]
    pub fn holds(&self, metals: &BTreeSet<Element>) -> bool {
        metals
            .iter()
            .all(|m| self.first.contains(m) || self.second.contains(m))
            && metals.iter().any(|m| self.first.contains(m))
            && metals.iter().any(|m| self.second.contains(m))
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    system: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    first: Vec<String>,
    second: Vec<String>,
    compounds: Vec<(String, f64, f64)>,
    source: SourceId,
    at: String,
    seen: Seen,
}

/// Reads the systems; `file` is named in errors.
///
/// # Errors
/// [`TableError`] if the text, a source or a row is wrong.
pub(super) fn read(
    text: &str,
    file: &str,
    sources: &Bibliography,
) -> Result<Vec<OxideSystem>, TableError> {
    let raw: File = super::parse_toml(text, file)?;
    let reading = Reading {
        file,
        text,
        sources,
    };
    let lines = reading.row_lines("[[system]]");
    raw.system
        .into_iter()
        .zip(lines)
        .map(|(row, line)| system(row, line, &reading))
        .collect()
}

fn system(row: Row, line: usize, reading: &Reading) -> Result<OxideSystem, TableError> {
    let incomplete = |missing| TableError::Incomplete {
        file: reading.file.to_owned(),
        line,
        id: row.name.clone(),
        missing,
    };
    reading.check_source(&row.name, line, &row.source)?;
    let side = |symbols: &[String]| {
        symbols
            .iter()
            .map(|symbol| {
                Element::from_symbol(symbol).ok_or_else(|| incomplete("names no element"))
            })
            .collect::<Result<BTreeSet<Element>, TableError>>()
    };
    let (first, second) = (side(&row.first)?, side(&row.second)?);
    if first.is_empty() || second.is_empty() || !first.is_disjoint(&second) {
        return Err(incomplete("needs two sides without a common metal"));
    }
    let mut compounds: Vec<Neighbour> = Vec::new();
    for (name, a, b) in &row.compounds {
        let share = a / (a + b);
        let falls = compounds
            .last()
            .is_none_or(|last| share < last.first_share.get::<ratio>());
        if !(share.is_finite() && *a >= 0.0 && *b >= 0.0 && falls) {
            return Err(incomplete(
                "lists compounds out of order of a falling first side",
            ));
        }
        compounds.push(Neighbour {
            name: name.clone(),
            first_share: AmountFraction::new::<ratio>(share),
        });
    }
    Ok(OxideSystem {
        name: row.name.clone(),
        first,
        second,
        compounds,
        source: row.source.clone(),
        locator: row.at.clone(),
        seen: row.seen,
    })
}
