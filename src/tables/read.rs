//! Reading the files of the tables: the prepared form of those that are built in, the text of a
//! user's own. The same row types serve both; a mistake is told with file, line and row.

use super::error::{Fault, TableError};
use super::species::Phase;
use crate::formula::Element;
use crate::source::Bibliography;
use serde::de::DeserializeOwned;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{ErrorKind, Read};
use std::path::{Path, PathBuf};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// What a built-in row is found by, and the row, of its line.
fn head_and_row(line: &'static str) -> Option<(std::str::Split<'static, char>, &'static str)> {
    let (head, json) = line.rsplit_once('\t')?;
    Some((head.split('\t'), json))
}

/// A built-in species as the build noted it.
#[derive(Debug)]
pub(super) struct PreparedSpecies {
    pub id: &'static str,
    pub formula: &'static str,
    pub phase: Phase,
    pub names: Vec<&'static str>,
    /// The row.
    pub json: &'static str,
}

impl PreparedSpecies {
    fn of(line: &'static str) -> Option<Self> {
        let (mut head, json) = head_and_row(line)?;
        Some(Self {
            id: head.next()?,
            formula: head.next()?,
            phase: match head.next()? {
                "g" => Phase::Gas,
                "l" => Phase::Liquid,
                "cr" => Phase::Crystal,
                _ => return None,
            },
            names: head.collect(),
            json,
        })
    }

    /// Its elements by atomic number.
    pub fn elements(&self) -> Vec<Element> {
        let capital = |(at, letter): (usize, char)| letter.is_ascii_uppercase().then_some(at);
        let starts = self.formula.char_indices().filter_map(capital);
        let symbols = starts.map(|at| {
            let small = self.formula[at + 1..].starts_with(|c: char| c.is_ascii_lowercase());
            &self.formula[at..at + 1 + usize::from(small)]
        });
        let found: BTreeSet<Element> = symbols.filter_map(Element::from_symbol).collect();
        found.into_iter().collect()
    }
}

/// A built-in reactant as the build noted it.
#[derive(Debug, Clone)]
pub(super) struct PreparedReactant {
    pub id: &'static str,
    pub formula: &'static str,
    pub name: &'static str,
    pub aliases: Vec<&'static str>,
    /// The row.
    pub json: &'static str,
}

impl PreparedReactant {
    fn of(line: &'static str) -> Option<Self> {
        let (mut head, json) = head_and_row(line)?;
        Some(Self {
            id: head.next()?,
            formula: head.next()?,
            name: head.next()?,
            aliases: head.collect(),
            json,
        })
    }
}

// Name and prepared form of every built-in table, and the rows of species and of reactants with the
// place of their file among them; `build.rs` writes all.
include!(concat!(env!("OUT_DIR"), "/tables/prepared.rs"));

/// Most bytes of a table of the user's own, 16 MiB.
const LARGEST_TABLE: u64 = 1 << 24;

/// Keys by which a row may be called, the first that it has.
const NAMES: [&str; 9] = [
    "id",
    "name",
    "key",
    "reactants",
    "ids",
    "of",
    "formula",
    "symbol",
    "gas",
];

/// The built-in files of species without their rows, each with the rows.
pub(super) fn prepared_species()
-> impl Iterator<Item = (TableFile, impl Iterator<Item = PreparedSpecies>)> {
    let rows = |lines: &'static str| {
        lines
            .lines()
            .map(|line| PreparedSpecies::of(line).expect(WHOLE))
    };
    let files = SPECIES.iter();
    files.map(move |(at, lines)| (TableFile::prepared(*at), rows(lines)))
}

/// The rows of a built-in file of reactants.
pub(super) fn prepared_reactants(file: &str) -> impl Iterator<Item = PreparedReactant> {
    let at = place(file);
    let rows = REACTANTS.iter().filter(move |(of, _)| *of == at);
    rows.flat_map(|(_, lines)| lines.lines())
        .map(|line| PreparedReactant::of(line).expect(WHOLE))
}

const WHOLE: &str = "the build writes whole rows";

/// Place of a built-in file in the list.
fn place(name: &str) -> usize {
    PREPARED
        .binary_search_by(|(known, _)| (*known).cmp(name))
        .expect("the build prepares every file below tables/")
}

#[derive(Debug)]
pub(crate) struct TableFile {
    /// Path below `tables/`, or as given by the user.
    name: String,
    form: Form,
}

#[derive(Debug)]
enum Form {
    Prepared(&'static str),
    Text(String),
}

/// A row of an array of tables.
pub(super) trait Row {
    /// Name of the array.
    const ARRAY: &'static str;
    /// Whether a file may hold two rows of the same id.
    const REPEATS: bool = false;

    /// What the row is called in messages, and what is there once only.
    fn id(&self) -> String;

    /// Looks at what holds within the row.
    fn check(&self) -> Result<(), Fault> {
        Ok(())
    }
}

impl TableFile {
    /// The built-in file of this path below `tables/`.
    pub fn built_in(name: &str) -> Self {
        Self::prepared(place(name))
    }

    fn prepared(at: usize) -> Self {
        let (name, text) = PREPARED[at];
        Self {
            name: name.to_owned(),
            form: Form::Prepared(text),
        }
    }

    /// A user's file; every source that it cites has to be in the bibliography.
    pub fn own(path: &Path, sources: &Bibliography) -> Result<Self, TableError> {
        let file = Self::own_unchecked(path)?;
        if let Form::Text(text) = &file.form {
            if let Ok(table) = DeTable::parse(text) {
                let table = DeValue::Table(table.into_inner());
                if let Some((key, at)) = unlisted(&table, sources) {
                    return Err(file.error_at(text, at, Fault::UnknownSource(key)));
                }
            }
        }
        Ok(file)
    }

    /// A user's file, the sources in it not looked at.
    pub fn own_unchecked(path: &Path) -> Result<Self, TableError> {
        let mut text = String::new();
        std::fs::File::open(path)
            .and_then(|file| file.take(LARGEST_TABLE + 1).read_to_string(&mut text))
            .and_then(|size| match size as u64 <= LARGEST_TABLE {
                true => Ok(()),
                false => Err(ErrorKind::FileTooLarge.into()),
            })
            .map_err(|error| unreadable(path, error))?;
        Ok(Self {
            name: path.display().to_string(),
            form: Form::Text(text),
        })
    }

    /// The file of this name in a user's folder, if it is there.
    pub fn optional(
        folder: &Path,
        name: &str,
        sources: &Bibliography,
    ) -> Result<Option<Self>, TableError> {
        let path = folder.join(name);
        match path.exists() {
            true => Self::own(&path, sources).map(Some),
            false => Ok(None),
        }
    }

    /// Reads the file into its row types.
    pub fn parse<T: DeserializeOwned>(&self) -> Result<T, TableError> {
        match &self.form {
            Form::Prepared(text) => self.parse_prepared(text),
            Form::Text(text) => self.parse_text(text),
        }
    }

    /// Reads a part of the file from its prepared form.
    pub fn parse_prepared<T: DeserializeOwned>(&self, text: &str) -> Result<T, TableError> {
        serde_json::from_str(text)
            .map_err(|error| self.error("", Fault::Written(error.to_string())))
    }

    #[cfg(not(target_family = "wasm"))]
    fn parse_text<T: DeserializeOwned>(&self, text: &str) -> Result<T, TableError> {
        toml::from_str(text).map_err(|error| self.unread(text, &error))
    }

    /// By way of the prepared form, so that each row type has one reader in the page, where size
    /// counts: a mistake within a row is told without its line.
    #[cfg(target_family = "wasm")]
    fn parse_text<T: DeserializeOwned>(&self, text: &str) -> Result<T, TableError> {
        let table: toml::Table = toml::from_str(text).map_err(|error| self.unread(text, &error))?;
        let prepared = serde_json::to_string(&table)
            .map_err(|error| self.error("", Fault::Written(error.to_string())))?;
        self.parse_prepared(&prepared)
    }

    fn unread(&self, text: &str, error: &toml::de::Error) -> TableError {
        let at = error.span().map_or(0, |span| span.start);
        self.error_at(text, at, Fault::Written(error.message().to_owned()))
    }

    /// Looks at each row, and that no id is there twice.
    pub fn check<R: Row>(&self, rows: &[R]) -> Result<(), TableError> {
        let mut ids = BTreeSet::new();
        for (at, row) in rows.iter().enumerate() {
            row.check()
                .map_err(|fault| self.row_error::<R>(rows, at, fault))?;
            if !R::REPEATS && !ids.insert(row.id()) {
                return Err(self.row_error(rows, at, Fault::Duplicate));
            }
        }
        Ok(())
    }

    /// Checks the `units` of the file against those that its rows are read in.
    pub fn check_units(
        &self,
        found: &BTreeMap<String, String>,
        expected: &[(&str, &'static str)],
    ) -> Result<(), TableError> {
        self.check_units_of(found, |key| {
            let known = expected.iter().find(|(name, _)| name == key);
            known.map(|(_, unit)| *unit)
        })
    }

    /// The same where `unit` tells what each key is read in, if in anything.
    pub fn check_units_of<K: ToString>(
        &self,
        found: &BTreeMap<K, String>,
        unit: impl Fn(&K) -> Option<&'static str>,
    ) -> Result<(), TableError> {
        for (key, found) in found {
            let expected = unit(key).unwrap_or("nothing: this file has no such quantity");
            // The sign of the degree may be written out.
            if found.replace('°', "deg") != expected.replace('°', "deg") {
                let (key, found) = (key.to_string(), found.clone());
                let fault = Fault::Unit {
                    key,
                    found,
                    expected,
                };
                return Err(self.error("", fault));
            }
        }
        Ok(())
    }

    /// An error of the file, of a section or of a row whose place is not known.
    pub fn error(&self, id: &str, fault: Fault) -> TableError {
        TableError {
            file: self.name.clone(),
            line: 0,
            id: id.to_owned(),
            fault,
        }
    }

    /// An error of one row of an array.
    pub fn row_error<R: Row>(&self, rows: &[R], at: usize, fault: Fault) -> TableError {
        self.error_of_row(R::ARRAY, at, &rows[at].id(), fault)
    }

    /// An error of row number `at` (from 0) of an array of tables.
    pub fn error_of_row(&self, array: &str, at: usize, id: &str, fault: Fault) -> TableError {
        let mut error = self.error(id, fault);
        if let Form::Text(text) = &self.form {
            let span = rows(text).into_iter().filter(|row| row.array == array);
            error.line = span.map(|row| line(text, row.start)).nth(at).unwrap_or(0);
        }
        error
    }

    /// An error at a byte of the text; the row it stands in is named.
    fn error_at(&self, text: &str, at: usize, fault: Fault) -> TableError {
        let row = rows(text).into_iter().rfind(|row| row.start <= at);
        let mut error = self.error(&row.map_or(String::new(), |row| row.name), fault);
        error.line = line(text, at);
        error
    }
}

/// Checks that the folder of a user's own tables is one.
pub(super) fn check_folder(folder: &Path) -> Result<(), TableError> {
    match std::fs::read_dir(folder) {
        Ok(_) => Ok(()),
        Err(error) => Err(unreadable(folder, error)),
    }
}

/// The `.toml` files of a folder in the order of their names; none if there is no such folder.
pub(super) fn toml_files(folder: &Path) -> Result<Vec<PathBuf>, TableError> {
    if !folder.exists() {
        return Ok(Vec::new());
    }
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(|error| unreadable(folder, error))? {
        let path = entry.map_err(|error| unreadable(folder, error))?.path();
        if path.extension().is_some_and(|ending| ending == "toml") {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

fn unreadable(path: &Path, error: std::io::Error) -> TableError {
    TableError {
        file: path.display().to_string(),
        line: 0,
        id: String::new(),
        fault: Fault::Unreadable(error),
    }
}

/// Line (from 1) of a byte.
fn line(text: &str, at: usize) -> usize {
    let before = &text.as_bytes()[..at.min(text.len())];
    before.iter().filter(|byte| **byte == b'\n').count() + 1
}

/// Where a row starts and what it is called.
struct Start {
    array: String,
    start: usize,
    name: String,
}

/// The rows of all arrays of tables, in the order of the text; none if it is no TOML.
fn rows(text: &str) -> Vec<Start> {
    let Ok(table) = DeTable::parse(text) else {
        return Vec::new();
    };
    let mut found = Vec::new();
    for (array, value) in table.get_ref() {
        for row in value.get_ref().as_array().into_iter().flatten() {
            let Some(table) = row.get_ref().as_table() else {
                continue;
            };
            let start = row.span().start;
            found.push(Start {
                array: array.get_ref().to_string(),
                start,
                name: name(table).unwrap_or_default(),
            });
        }
    }
    found.sort_by_key(|row| row.start);
    found
}

fn name(row: &DeTable<'_>) -> Option<String> {
    let value = NAMES.iter().find_map(|name| row.get(*name))?.get_ref();
    let first = value.as_array().and_then(|list| list.iter().next());
    let text = first.map_or(value, |first| first.get_ref()).as_str()?;
    Some(text.to_owned())
}

/// The first source that is cited but not listed, and where.
fn unlisted(value: &DeValue<'_>, sources: &Bibliography) -> Option<(String, usize)> {
    let listed = |cited: &Spanned<DeValue<'_>>| {
        let key = cited.get_ref().as_str()?;
        (!sources.has(key)).then(|| (key.to_owned(), cited.span().start))
    };
    match value {
        DeValue::Table(table) => table.iter().find_map(|(key, value)| {
            let key = key.get_ref();
            let cites = key == "source" || key.ends_with("_source");
            let several = value.get_ref().as_array().into_iter().flatten();
            let here = cites.then(|| listed(value).or_else(|| several.clone().find_map(listed)));
            here.flatten()
                .or_else(|| unlisted(value.get_ref(), sources))
        }),
        DeValue::Array(list) => list
            .iter()
            .find_map(|value| unlisted(value.get_ref(), sources)),
        _ => None,
    }
}
