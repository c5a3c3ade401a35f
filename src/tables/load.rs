//! Gathering rows from the built-in files and a user's folder.

use super::error::TableError;
use super::read::{Row, TableFile, toml_files};
use super::species_file::KnownPhase;
use super::species_list::SpeciesList;
use crate::source::{Bibliography, Source};
use serde::Deserialize;
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

/// The built-in bibliography.
pub(super) fn sources() -> Result<Bibliography, TableError> {
    let mut sources = Bibliography::default();
    read_sources(&TableFile::built_in("sources.toml"), &mut sources)?;
    Ok(sources)
}

/// Adds the user's sources, if the folder has some.
pub(super) fn add_sources(directory: &Path, sources: &mut Bibliography) -> Result<(), TableError> {
    let path = directory.join("sources.toml");
    match path.exists() {
        true => read_sources(&TableFile::own_unchecked(&path)?, sources),
        false => Ok(()),
    }
}

fn read_sources(file: &TableFile, sources: &mut Bibliography) -> Result<(), TableError> {
    let rows = file.parse::<SourcesFile>()?.source;
    file.check(&rows)?;
    for source in rows {
        sources.insert(source);
    }
    Ok(())
}

/// The `.toml` files of a folder below the user's.
pub(super) fn own(
    directory: &Path,
    folder: &str,
    sources: &Bibliography,
) -> Result<Vec<TableFile>, TableError> {
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
) -> Result<(SpeciesList, Vec<KnownPhase>), TableError> {
    let own = directory.map(|directory| own(directory, "species", sources));
    SpeciesList::load(own.transpose()?.unwrap_or_default())
}
