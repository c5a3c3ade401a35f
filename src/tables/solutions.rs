//! Solid solutions: `tables/solutions.toml`.

use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use serde::Deserialize;

/// Crystals that mix ideally on one site.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Solution {
    /// What it is called.
    pub name: String,
    /// Ids of the end members that are crystals by themselves too.
    pub members: Vec<String>,
    /// Ids of the end members that exist in such a crystal only, so not without one of `members`.
    #[serde(default)]
    pub guests: Vec<String>,
    /// Ions of the site that mixes in one formula unit of each end member; the entropy of mixing
    /// is counted for each.
    #[serde(default = "one")]
    pub sites: f64,
    #[serde(rename = "kind")]
    _kind: Assumed,
    /// Why it may be taken as ideal; always an assumption.
    pub why: String,
}

fn one() -> f64 {
    1.0
}

impl Solution {
    /// Whether the crystal of that id is an end member.
    pub(crate) fn holds(&self, id: &str) -> bool {
        self.members.iter().chain(&self.guests).any(|m| m == id)
    }
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

    fn check(&self) -> Result<(), Fault> {
        let some = self.sites.is_finite() && self.sites >= 1.0;
        some.then_some(())
            .ok_or_else(|| Fault::incomplete("sites is a count of 1 or more"))
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
        for id in row.members.iter().chain(&row.guests) {
            if rows[..at].iter().any(|other| other.holds(id)) {
                return Err(file.row_error(&rows, at, Fault::Reference(id.clone())));
            }
        }
    }
    Ok(rows)
}
