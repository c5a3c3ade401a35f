//! What can be wrong with a table.

use crate::formula::FormulaError;
use std::path::PathBuf;
use thiserror::Error;

/// Why a table was refused. `file` is the path below `tables/`, or the path as given by the user.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum TableError {
    /// A table of reactants is wrong.
    #[error(transparent)]
    Reactants(#[from] super::reactants::ReactantError),
    /// A file or folder could not be read.
    #[error("cannot read {}; check the path and its permissions", path.display())]
    Unreadable {
        /// The path.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The text is not TOML, or a key is missing, unknown or of the wrong type.
    #[error("{file}, line {line}: {message}")]
    Syntax {
        /// The file.
        file: String,
        /// Line, counted from 1.
        line: usize,
        /// What the TOML reader found.
        message: String,
    },
    /// A unit other than the one the tables use.
    #[error("{file}: {key} is given in `{found}`; convert the numbers to {expected}")]
    Unit {
        /// The file.
        file: String,
        /// The quantity.
        key: String,
        /// Unit as written.
        found: String,
        /// Unit the tables use.
        expected: &'static str,
    },
    /// A source key that is not in the bibliography.
    #[error("{file}, line {line}: {id} cites `{key}`, which sources.toml does not list")]
    UnknownSource {
        /// The file.
        file: String,
        /// Line, counted from 1.
        line: usize,
        /// The row.
        id: String,
        /// The key.
        key: String,
    },
    /// A formula that cannot be read.
    #[error("{file}, line {line}: formula of {id}")]
    Formula {
        /// The file.
        file: String,
        /// Line, counted from 1.
        line: usize,
        /// The row.
        id: String,
        /// What is wrong with it.
        source: FormulaError,
    },
    /// Two rows of the same name in the same set of tables.
    #[error("{file}, line {line}: {id} is there twice; rename or remove one")]
    Duplicate {
        /// The file of the second row.
        file: String,
        /// Line, counted from 1.
        line: usize,
        /// The name.
        id: String,
    },
    /// A row refers to another one that is not there, or only in a circle.
    #[error("{file}, line {line}: {id} refers to `{other}`, which is missing or refers back to it")]
    Reference {
        /// The file.
        file: String,
        /// Line, counted from 1.
        line: usize,
        /// The row.
        id: String,
        /// The name it refers to.
        other: String,
    },
    /// A row lacks what its other keys call for.
    #[error("{file}, line {line}: {id} {missing}")]
    Incomplete {
        /// The file.
        file: String,
        /// Line, counted from 1.
        line: usize,
        /// The row.
        id: String,
        /// What to add.
        missing: &'static str,
    },
    /// A number that physics does not allow.
    #[error("{file}, line {line}: {id}: {quantity} is {found:.6}, {expected}")]
    Value {
        /// The file.
        file: String,
        /// Line, counted from 1.
        line: usize,
        /// The row.
        id: String,
        /// Which number, with its unit.
        quantity: String,
        /// Its value in that unit.
        found: f64,
        /// What it should be.
        expected: String,
    },
}
