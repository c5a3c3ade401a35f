//! Solid solutions: `tables/solutions.toml`.

use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use serde::Deserialize;

/// Crystals that mix ideally on one site.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solution {
    /// What it is called.
    pub name: String,
    /// Ids of the end members.
    pub members: Vec<String>,
    #[serde(rename = "kind")]
    _kind: Assumed,
    /// Why it may be taken as ideal; always an assumption.
    pub why: String,
}

/// What is assumed has to say so in its row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub(super) enum Assumed {
    #[serde(rename = "assumed")]
    Assumed,
}

impl Row for Solution {
    const ARRAY: &'static str = "solution";

    fn id(&self) -> String {
        self.name.clone()
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    solution: Vec<Solution>,
}

/// Reads the built-in table. Every member stands in one solution only; the tests see to it that each
/// is a crystal of the tables.
pub(super) fn built_in() -> Result<Vec<Solution>, TableError> {
    let file = TableFile::built_in("solutions.toml");
    let rows = file.parse::<File>()?.solution;
    file.check(&rows)?;
    for (at, row) in rows.iter().enumerate() {
        for id in &row.members {
            if rows[..at].iter().any(|other| other.members.contains(id)) {
                return Err(file.row_error(&rows, at, Fault::Reference(id.clone())));
            }
        }
    }
    Ok(rows)
}
