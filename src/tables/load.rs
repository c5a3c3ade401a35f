//! Gathering rows from the built-in texts and a user's folder.

use super::reactants::Reactants;
use super::species_file::Row;
use super::{
    KnownPhase, Species, TableError, parse_toml, row_lines, species_file, species_resolve,
};
use crate::source::{Bibliography, Source};
use serde::Deserialize;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};

/// Files of product species, by name below `tables/species/`.
const SPECIES_FILES: [(&str, &str); 15] = [
    (
        "species/aluminates.toml",
        include_str!("../../tables/species/aluminates.toml"),
    ),
    (
        "species/borates.toml",
        include_str!("../../tables/species/borates.toml"),
    ),
    (
        "species/carbonates.toml",
        include_str!("../../tables/species/carbonates.toml"),
    ),
    (
        "species/ferrites.toml",
        include_str!("../../tables/species/ferrites.toml"),
    ),
    (
        "species/gases.toml",
        include_str!("../../tables/species/gases.toml"),
    ),
    (
        "species/hydroxides.toml",
        include_str!("../../tables/species/hydroxides.toml"),
    ),
    (
        "species/metals.toml",
        include_str!("../../tables/species/metals.toml"),
    ),
    (
        "species/oxides.toml",
        include_str!("../../tables/species/oxides.toml"),
    ),
    (
        "species/perovskites.toml",
        include_str!("../../tables/species/perovskites.toml"),
    ),
    (
        "species/phosphates.toml",
        include_str!("../../tables/species/phosphates.toml"),
    ),
    (
        "species/rare_earth_oxides.toml",
        include_str!("../../tables/species/rare_earth_oxides.toml"),
    ),
    (
        "species/silicates.toml",
        include_str!("../../tables/species/silicates.toml"),
    ),
    (
        "species/sulfates.toml",
        include_str!("../../tables/species/sulfates.toml"),
    ),
    (
        "species/titanates.toml",
        include_str!("../../tables/species/titanates.toml"),
    ),
    (
        "species/tungstates.toml",
        include_str!("../../tables/species/tungstates.toml"),
    ),
];
pub(super) const SOURCES_FILE: (&str, &str) =
    ("sources.toml", include_str!("../../tables/sources.toml"));

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SourcesFile {
    #[serde(default)]
    source: Vec<Source>,
}

/// The bibliography, the user's sources in it.
pub(super) fn all_sources(directory: Option<&Path>) -> Result<Bibliography, TableError> {
    let mut sources = Bibliography::default();
    add_sources(&mut sources, SOURCES_FILE.1, SOURCES_FILE.0, true)?;
    if let Some(path) = directory
        .map(|d| d.join("sources.toml"))
        .filter(|path| path.exists())
    {
        let text = read_file(&path)?;
        add_sources(&mut sources, &text, &path.display().to_string(), false)?;
    }
    Ok(sources)
}

/// The product species, a user's in place of those of the same id, and the phases without data.
pub(super) fn all_species(
    directory: Option<&Path>,
    sources: &Bibliography,
) -> Result<(Vec<Species>, Vec<KnownPhase>), TableError> {
    let mut rows = Vec::new();
    let mut known_phases = Vec::new();
    for (file, text) in SPECIES_FILES {
        let (more, known) = species_file::read(text, file, sources)?;
        rows.extend(more);
        known_phases.extend(known);
    }
    refuse_duplicates(&rows)?;
    if let Some(directory) = directory {
        let mut own = Vec::new();
        for path in toml_files(&directory.join("species"))? {
            let (more, known) =
                species_file::read(&read_file(&path)?, &path.display().to_string(), sources)?;
            own.extend(more);
            known_phases.extend(known);
        }
        refuse_duplicates(&own)?;
        for row in own {
            match rows.iter_mut().find(|old| old.raw.id == row.raw.id) {
                Some(old) => *old = row,
                None => rows.push(row),
            }
        }
    }
    Ok((species_resolve::resolve(&rows, sources)?, known_phases))
}

/// The reactants, a user's in place of those of the same id.
pub(super) fn all_reactants(
    directory: Option<&Path>,
    sources: &Bibliography,
) -> Result<Reactants, TableError> {
    let mut reactants = Reactants::built_in(sources)?;
    if let Some(directory) = directory {
        for path in toml_files(&directory.join("reactants"))? {
            reactants.add(&path.display().to_string(), &read_file(&path)?, sources)?;
        }
    }
    Ok(reactants)
}

fn add_sources(
    sources: &mut Bibliography,
    text: &str,
    file: &str,
    unique: bool,
) -> Result<(), TableError> {
    let parsed: SourcesFile = parse_toml(text, file)?;
    for (source, line) in parsed.source.into_iter().zip(row_lines(text, "[[source]]")) {
        let key = source.key.clone();
        if sources.insert(source).is_some() && unique {
            return Err(TableError::Duplicate {
                file: file.to_owned(),
                line,
                id: key.to_string(),
            });
        }
    }
    Ok(())
}

fn refuse_duplicates(rows: &[Row]) -> Result<(), TableError> {
    let mut seen = std::collections::BTreeSet::new();
    match rows.iter().find(|row| !seen.insert(&row.raw.id)) {
        None => Ok(()),
        Some(row) => Err(TableError::Duplicate {
            file: row.place.file.clone(),
            line: row.place.line,
            id: row.raw.id.clone(),
        }),
    }
}

/// Most bytes of a table of the user's own, 16 MiB.
const LARGEST_TABLE: u64 = 1 << 24;

pub(super) fn read_file(path: &Path) -> Result<String, TableError> {
    let mut text = String::new();
    File::open(path)
        .and_then(|file| file.take(LARGEST_TABLE + 1).read_to_string(&mut text))
        .and_then(|size| match size as u64 <= LARGEST_TABLE {
            true => Ok(text),
            false => Err(ErrorKind::FileTooLarge.into()),
        })
        .map_err(|source| TableError::Unreadable {
            path: path.to_owned(),
            source,
        })
}

/// Checks that the folder of a user's own tables is one.
pub(super) fn check_folder(directory: &Path) -> Result<(), TableError> {
    std::fs::read_dir(directory)
        .map(drop)
        .map_err(|source| TableError::Unreadable {
            path: directory.to_owned(),
            source,
        })
}

/// The `.toml` files of a folder in the order of their names; none if there is no such folder.
pub(super) fn toml_files(folder: &Path) -> Result<Vec<PathBuf>, TableError> {
    if !folder.exists() {
        return Ok(Vec::new());
    }
    let unreadable = |source| TableError::Unreadable {
        path: folder.to_owned(),
        source,
    };
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        if path
            .extension()
            .is_some_and(|extension| extension == "toml")
        {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}
