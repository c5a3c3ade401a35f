//! Gathering rows from the built-in files and a user's folder.

use super::error::{Fault, TableError};
use super::reactants::Reactants;
use super::read::{Row, TableFile, toml_files};
use super::species::Species;
use super::species_file::{self, KnownPhase, Placed};
use super::species_resolve;
use crate::source::{Bibliography, Source};
use serde::Deserialize;
use std::collections::BTreeSet;
use std::path::Path;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SourcesFile {
    #[serde(default)]
    source: Vec<Source>,
}

impl Row for Source {
    const ARRAY: &'static str = "source";

    fn id(&self) -> String {
        self.key.to_string()
    }
}

/// The bibliography, the user's sources in it.
pub(super) fn sources(directory: Option<&Path>) -> Result<Bibliography, TableError> {
    let mut files = vec![TableFile::built_in("sources.toml")];
    if let Some(path) = directory.map(|directory| directory.join("sources.toml")) {
        if path.exists() {
            files.push(TableFile::own_unchecked(&path)?);
        }
    }
    let mut sources = Bibliography::default();
    for file in files {
        let rows = file.parse::<SourcesFile>()?.source;
        file.check(&rows)?;
        for source in rows {
            sources.insert(source);
        }
    }
    Ok(sources)
}

/// The `.toml` files of a folder below the user's.
fn own(
    directory: Option<&Path>,
    folder: &str,
    sources: &Bibliography,
) -> Result<Vec<TableFile>, TableError> {
    let Some(directory) = directory else {
        return Ok(Vec::new());
    };
    let paths = toml_files(&directory.join(folder))?;
    paths
        .iter()
        .map(|path| TableFile::own(path, sources))
        .collect()
}

/// The product species, a user's in place of those of the same id, and the phases without data.
pub(super) fn species(
    directory: Option<&Path>,
    sources: &Bibliography,
) -> Result<(Vec<Species>, Vec<KnownPhase>), TableError> {
    let (mut rows, mut known) = read_species(TableFile::folder("species"))?;
    let (own, more) = read_species(own(directory, "species", sources)?)?;
    known.extend(more);
    for row in own {
        match rows.iter_mut().find(|old| old.row.id == row.row.id) {
            Some(old) => *old = row,
            None => rows.push(row),
        }
    }
    Ok((species_resolve::resolve(&rows)?, known))
}

/// The rows of some files, each id once.
fn read_species(
    files: impl IntoIterator<Item = TableFile>,
) -> Result<(Vec<Placed>, Vec<KnownPhase>), TableError> {
    let (mut rows, mut known) = (Vec::new(), Vec::new());
    for file in files {
        let (more, phases) = species_file::read(file)?;
        rows.extend(more);
        known.extend(phases);
    }
    let mut seen = BTreeSet::new();
    for row in &rows {
        if !seen.insert(row.row.id.as_str()) {
            return Err(row.error(Fault::Duplicate));
        }
    }
    Ok((rows, known))
}

/// The reactants, a user's in place of those of the same id.
pub(super) fn reactants(
    directory: Option<&Path>,
    sources: &Bibliography,
) -> Result<Reactants, TableError> {
    Reactants::load(&own(directory, "reactants", sources)?)
}
