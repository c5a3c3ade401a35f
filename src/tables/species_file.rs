//! Reading `tables/species/*.toml`: the rows as they are written.

use super::error::TableError;
use super::species::Origin;
use super::{Place, parse_toml};
use crate::formula::Formula;
use crate::source::{Bibliography, Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;

/// Units a file of species has to name, and the only ones accepted.
const UNITS: [(&str, &str); 4] = [
    ("formation_enthalpy", "kJ/mol"),
    ("entropy", "J/(mol K)"),
    ("heat_capacity", "J/(mol K)"),
    ("temperature", "K"),
];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    units: BTreeMap<String, String>,
    cp_uncertainty: RawBands,
    #[serde(default)]
    species: Vec<RawSpecies>,
    #[serde(default)]
    known: Vec<RawKnown>,
}

/// Relative bands of the heat capacities of a file; assumed, with the reason.
#[derive(Deserialize, Clone, Copy)]
#[serde(deny_unknown_fields)]
struct RawBands {
    own: f64,
    estimated: f64,
}

/// A phase that is known to form but has no data for the balance.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownPhase {
    /// Composition.
    pub formula: Formula,
    /// What it is, or when it forms.
    pub note: String,
    /// Where that is from.
    pub origin: Origin,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawKnown {
    formula: String,
    note: String,
    source: SourceId,
    at: String,
    seen: Seen,
}

#[derive(Deserialize, Clone)]
#[serde(deny_unknown_fields)]
pub(super) struct RawSpecies {
    pub id: String,
    pub formula: String,
    pub phase: RawPhase,
    pub form: Option<String>,
    #[serde(default)]
    pub names: Vec<String>,
    /// Source of everything that does not name its own.
    pub from: Option<RawOrigin>,
    pub formation_enthalpy: Option<RawValue>,
    pub enthalpy_from_components: Option<RawValue>,
    pub entropy: Option<RawValue>,
    pub entropy_from_components: Option<RawValue>,
    #[serde(default)]
    pub components: BTreeMap<String, f64>,
    pub cp: Option<Vec<RawPiece>>,
    pub cp_from: Option<RawOrigin>,
    pub cp_plus: Option<f64>,
    /// Relative band of the heat capacity where it is not that of the file.
    pub cp_band: Option<f64>,
    pub melt_of: Option<String>,
    pub fusion_enthalpy: Option<RawValue>,
    pub melting_point: Option<RawValue>,
    pub next: Option<RawNext>,
    /// Limits set for a form that is not to be used beyond them.
    pub usable_from_k: Option<f64>,
    pub usable_to_k: Option<f64>,
    pub doubt: Option<String>,
    pub note: Option<String>,
}

#[derive(Deserialize, Clone, Copy)]
pub(super) enum RawPhase {
    #[serde(rename = "g")]
    Gas,
    #[serde(rename = "l")]
    Liquid,
    #[serde(rename = "cr")]
    Crystal,
}

#[derive(Deserialize, Clone)]
#[serde(deny_unknown_fields)]
pub(super) struct RawOrigin {
    pub source: SourceId,
    pub at: String,
    pub seen: Seen,
}

#[derive(Deserialize, Clone)]
#[serde(deny_unknown_fields)]
pub(super) struct RawValue {
    pub value: f64,
    /// Band given by the source.
    pub uncertainty: Option<f64>,
    /// Band assessed here, the source giving none.
    pub assessed: Option<f64>,
    pub source: Option<SourceId>,
    pub at: Option<String>,
    pub seen: Option<Seen>,
}

#[derive(Deserialize, Clone)]
#[serde(deny_unknown_fields)]
pub(super) struct RawPiece {
    pub from: f64,
    pub to: f64,
    pub form: RawForm,
    pub c: Vec<f64>,
}

#[derive(Deserialize, Clone, Copy, PartialEq)]
#[serde(rename_all = "snake_case")]
pub(super) enum RawForm {
    NineTerm,
    SixTerm,
}

#[derive(Deserialize, Clone)]
#[serde(deny_unknown_fields)]
pub(super) struct RawNext {
    pub id: String,
    pub at_k: f64,
}

/// A row with the place it was read from.
#[derive(Clone)]
pub(super) struct Row {
    pub raw: RawSpecies,
    pub place: Place,
    pub bands: (f64, f64),
}

/// Reads one file.
pub(super) fn read(
    text: &str,
    file: &str,
    sources: &Bibliography,
) -> Result<(Vec<Row>, Vec<KnownPhase>), TableError> {
    let parsed: RawFile = parse_toml(text, file)?;
    for (key, expected) in UNITS {
        let found = parsed
            .units
            .get(key)
            .cloned()
            .unwrap_or_else(|| "nothing".to_owned());
        if found != expected {
            return Err(TableError::Unit {
                file: file.to_owned(),
                key: key.to_owned(),
                found,
                expected,
            });
        }
    }
    let bands = (parsed.cp_uncertainty.own, parsed.cp_uncertainty.estimated);
    let mut lines = super::row_lines(text, "[[species]]");
    let rows = parsed
        .species
        .into_iter()
        .map(|raw| {
            let line = lines.next().unwrap_or(1);
            Row {
                raw,
                place: Place {
                    file: file.to_owned(),
                    line,
                },
                bands,
            }
        })
        .collect();
    let mut known = Vec::with_capacity(parsed.known.len());
    for (raw, line) in parsed
        .known
        .into_iter()
        .zip(super::row_lines(text, "[[known]]"))
    {
        let formula = Formula::parse(&raw.formula).map_err(|source| TableError::Formula {
            file: file.to_owned(),
            line,
            id: raw.formula.clone(),
            source,
        })?;
        let place = Place {
            file: file.to_owned(),
            line,
        };
        place.check_source(&raw.formula, &raw.source, sources)?;
        let (source, locator, seen) = (raw.source, raw.at, raw.seen);
        known.push(KnownPhase {
            formula,
            note: raw.note,
            origin: Origin {
                source,
                locator,
                seen,
            },
        });
    }
    Ok((rows, known))
}
