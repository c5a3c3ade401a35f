//! Reading `tables/species/*.toml`: the rows as they are written.

use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use super::species::{Origin, Phase};
use super::unit::{JoulePerMoleKelvin, Kelvin, KilojoulePerMole, Unit};
use crate::formula::Formula;
use crate::source::{Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::marker::PhantomData;
use std::sync::Arc;

/// Units of a file of species.
const UNITS: [(&str, &str); 4] = [
    ("formation_enthalpy", KilojoulePerMole::NAME),
    ("entropy", JoulePerMoleKelvin::NAME),
    ("heat_capacity", JoulePerMoleKelvin::NAME),
    ("temperature", Kelvin::NAME),
];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    cp_uncertainty: Bands,
    #[serde(default)]
    species: Vec<SpeciesRow>,
    #[serde(default)]
    known: Vec<KnownPhase>,
}

/// Relative bands of the heat capacities of a file; assumed, with the reason.
#[derive(Debug, Deserialize, Clone, Copy)]
#[serde(deny_unknown_fields)]
pub(super) struct Bands {
    pub own: f64,
    pub estimated: f64,
}

/// A phase that is known to form but has no data for the balance.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KnownPhase {
    /// Composition.
    pub formula: Formula,
    /// What it is, or when it forms.
    pub note: String,
    /// Key of the source in the bibliography.
    pub source: SourceId,
    /// Page, table, equation or method.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

/// A species as it is written; what it rests on is worked out when all rows are there.
#[derive(Debug, Deserialize, Clone)]
#[serde(deny_unknown_fields)]
pub(super) struct SpeciesRow {
    pub id: String,
    pub formula: Formula,
    pub phase: Phase,
    #[serde(default)]
    pub names: Vec<String>,
    /// Source of everything that does not name its own.
    pub from: Option<Origin>,
    pub formation_enthalpy: Option<OwnOrShared<KilojoulePerMole>>,
    pub enthalpy_from_components: Option<OwnOrShared<KilojoulePerMole>>,
    pub entropy: Option<OwnOrShared<JoulePerMoleKelvin>>,
    pub entropy_from_components: Option<OwnOrShared<JoulePerMoleKelvin>>,
    #[serde(default)]
    pub components: BTreeMap<String, f64>,
    pub cp: Option<Vec<PieceRow>>,
    pub cp_from: Option<Origin>,
    pub cp_plus: Option<f64>,
    /// Relative band of the heat capacity where it is not that of the file.
    pub cp_band: Option<f64>,
    pub melt_of: Option<String>,
    pub fusion_enthalpy: Option<OwnOrShared<KilojoulePerMole>>,
    pub melting_point: Option<OwnOrShared<Kelvin>>,
    pub next: Option<NextRow>,
    /// Limits set for a form that is not to be used beyond them.
    pub usable_from_k: Option<f64>,
    pub usable_to_k: Option<f64>,
    pub doubt: Option<String>,
    pub note: Option<String>,
}

/// A value that may leave its source to the `from` of its row.
#[derive(Debug, Deserialize, Clone)]
#[serde(deny_unknown_fields, bound = "")]
pub(super) struct OwnOrShared<U: Unit> {
    pub value: f64,
    /// Band given by the source.
    pub uncertainty: Option<f64>,
    /// Band assessed here, the source giving none.
    pub assessed: Option<f64>,
    pub source: Option<SourceId>,
    pub at: Option<String>,
    pub seen: Option<Seen>,
    #[serde(skip)]
    unit: PhantomData<U>,
}

#[derive(Debug, Deserialize, Clone)]
#[serde(deny_unknown_fields)]
pub(super) struct PieceRow {
    pub from: f64,
    pub to: f64,
    pub form: PieceForm,
    pub c: Vec<f64>,
}

#[derive(Debug, Deserialize, Clone, Copy, PartialEq)]
#[serde(rename_all = "snake_case")]
pub(super) enum PieceForm {
    NineTerm,
    SixTerm,
}

#[derive(Debug, Deserialize, Clone)]
#[serde(deny_unknown_fields)]
pub(super) struct NextRow {
    pub id: String,
    pub at_k: f64,
}

impl Row for SpeciesRow {
    const ARRAY: &'static str = "species";

    fn id(&self) -> String {
        self.id.clone()
    }
}

/// A file of species beside its rows.
#[derive(Debug, Clone)]
pub(super) struct SpeciesFile {
    file: Arc<TableFile>,
    pub bands: Bands,
}

/// A row with the place it was read from.
#[derive(Debug, Clone)]
pub(super) struct Placed {
    pub row: SpeciesRow,
    pub from: SpeciesFile,
    at: usize,
}

impl Placed {
    pub fn error(&self, fault: Fault) -> TableError {
        let file = &self.from.file;
        file.error_of_row(SpeciesRow::ARRAY, self.at, &self.row.id, fault)
    }

    /// Ids of the species that this one rests on.
    pub fn rests_on(&self) -> impl Iterator<Item = &str> {
        let melt = self.row.melt_of.iter();
        self.row.components.keys().chain(melt).map(String::as_str)
    }
}

impl SpeciesFile {
    fn of(
        file: TableFile,
        rows: File,
    ) -> Result<(Self, Vec<SpeciesRow>, Vec<KnownPhase>), TableError> {
        file.check_units(&rows.units, &UNITS)?;
        file.check(&rows.species)?;
        let (file, bands) = (Arc::new(file), rows.cp_uncertainty);
        Ok((Self { file, bands }, rows.species, rows.known))
    }

    /// What a prepared file holds beside its rows.
    pub fn read_head(file: TableFile) -> Result<(Self, Vec<KnownPhase>), TableError> {
        let rows = file.parse()?;
        let (file, _, known) = Self::of(file, rows)?;
        Ok((file, known))
    }

    /// A row of it from the prepared form.
    pub fn row(&self, prepared: &str) -> Result<Placed, TableError> {
        Ok(Placed {
            row: self.file.parse_prepared(prepared)?,
            from: self.clone(),
            at: 0,
        })
    }
}

/// Reads a file of the user's own.
pub(super) fn read(file: TableFile) -> Result<(Vec<Placed>, Vec<KnownPhase>), TableError> {
    let rows = file.parse()?;
    let (from, rows, known) = SpeciesFile::of(file, rows)?;
    let placed = rows.into_iter().enumerate();
    let placed = placed.map(|(at, row)| Placed {
        row,
        from: from.clone(),
        at,
    });
    Ok((placed.collect(), known))
}
