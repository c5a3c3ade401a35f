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
    #[error("cannot be read ({0}); check the path and its permissions")]
    Unreadable(std::io::Error),
    #[error("{0}")]
    Written(String),
    #[error("{key} is given in `{found}`; convert the numbers to {expected}")]
    Unit {
        key: String,
        found: String,
        expected: &'static str,
    },
    #[error("cites `{0}`, which sources.toml does not list")]
    UnknownSource(String),
    #[error("is there twice; rename or remove one")]
    Duplicate,
    #[error("refers to `{0}`, which is missing or refers back to it")]
    Reference(String),
    #[error("{0}")]
    Incomplete(String),
    #[error("{quantity} is {found:.6}, {expected}")]
    Value {
        quantity: String,
        found: f64,
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
