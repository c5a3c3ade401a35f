//! Solid solutions: `tables/solutions.toml`.

use super::species::{Phase, Species};
use super::{Place, TableError, parse_toml, row_lines};
use serde::Deserialize;

const FILE: (&str, &str) = (
    "solutions.toml",
    include_str!("../../tables/solutions.toml"),
);

/// Crystals that mix ideally on one site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Solution {
    /// What it is called.
    pub name: String,
    /// Ids of the end members.
    pub members: Vec<String>,
    /// Why it may be taken as ideal; always an assumption.
    pub why: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    solution: Vec<RawSolution>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawSolution {
    name: String,
    members: Vec<String>,
    #[serde(rename = "kind")]
    _kind: Assumed,
    why: String,
}

/// An ideal solution is an assumption, and its row has to say so.
#[derive(Deserialize)]
enum Assumed {
    #[serde(rename = "assumed")]
    Assumed,
}

/// Reads the built-in table. Every member has to be a crystal of `species`, in one solution only.
pub(super) fn built_in(species: &[Species]) -> Result<Vec<Solution>, TableError> {
    let (file, text) = FILE;
    let raw: RawFile = parse_toml(text, file)?;
    let mut all: Vec<Solution> = Vec::new();
    for (row, line) in raw
        .solution
        .into_iter()
        .zip(row_lines(text, "[[solution]]"))
    {
        let place = Place {
            file: file.to_owned(),
            line,
        };
        for id in &row.members {
            let known = species
                .iter()
                .any(|s| s.id == *id && s.phase == Phase::Crystal);
            let taken = all.iter().any(|solution| solution.members.contains(id));
            if !known || taken {
                return Err(place.reference(&row.name, id));
            }
        }
        all.push(Solution {
            name: row.name,
            members: row.members,
            why: row.why,
        });
    }
    Ok(all)
}
