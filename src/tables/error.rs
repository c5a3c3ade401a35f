//! What can be wrong with a table.

use thiserror::Error;

/// Why a table was refused: where, and what is wrong there.
#[derive(Debug, Error)]
#[error("{file}{}: {}{fault}", at_line(*.line), of_row(.id))]
pub struct TableError {
    /// Path below `tables/`, or as given by the user.
    pub file: String,
    /// Line, counted from 1; 0 where the file as a whole is meant or the table is built in.
    pub line: usize,
    /// The row; empty where none is meant.
    pub id: String,
    /// What is wrong.
    pub fault: Fault,
}

fn at_line(line: usize) -> String {
    match line {
        0 => String::new(),
        line => format!(", line {line}"),
    }
}

fn of_row(id: &str) -> String {
    match id {
        "" => String::new(),
        id => format!("{id}: "),
    }
}

/// What is wrong with a table.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum Fault {
    /// A file or folder could not be read.
    #[error("cannot be read ({0}); check the path and its permissions")]
    Unreadable(std::io::Error),
    /// The text is not TOML, or a key is missing, unknown, of the wrong type or out of range.
    #[error("{0}")]
    Written(String),
    /// A unit other than the one the tables use.
    #[error("{key} is given in `{found}`; convert the numbers to {expected}")]
    Unit {
        /// The quantity.
        key: String,
        /// Unit as written.
        found: String,
        /// Unit the tables use.
        expected: &'static str,
    },
    /// A source key that is not in the bibliography.
    #[error("cites `{0}`, which sources.toml does not list")]
    UnknownSource(String),
    /// Two rows of the same name in the same set of tables.
    #[error("is there twice; rename or remove one")]
    Duplicate,
    /// A row refers to another one that is not there, or only in a circle.
    #[error("refers to `{0}`, which is missing or refers back to it")]
    Reference(String),
    /// A row lacks what its other keys call for, or has what they rule out.
    #[error("{0}")]
    Incomplete(String),
    /// A number that physics does not allow.
    #[error("{quantity} is {found:.6}, {expected}")]
    Value {
        /// Which number, with its unit.
        quantity: String,
        /// Its value in that unit.
        found: f64,
        /// What it should be.
        expected: String,
    },
}

impl Fault {
    /// A row that lacks something.
    pub(super) fn incomplete(what: impl Into<String>) -> Self {
        Self::Incomplete(what.into())
    }

    /// A number that physics does not allow.
    pub(super) fn value(
        quantity: impl Into<String>,
        found: f64,
        expected: impl Into<String>,
    ) -> Self {
        Self::Value {
            quantity: quantity.into(),
            found,
            expected: expected.into(),
        }
    }
}
