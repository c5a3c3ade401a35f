//! The estimate of a batch as a document: the first screen, and a section for each question that
//! may follow.

pub(super) mod amounts;
mod colour;
pub(super) mod gas;
pub(super) mod heat;
mod heating;
mod oxygen;
mod purity;
pub(super) mod ratio;
mod run;
pub(super) mod safety;
mod screen;
mod sources;

pub(super) use colour::known_powder_rows;
pub(super) use purity::{PurityBudget, line as purity_line};
pub(super) use screen::{DEFERENCE, facts, serious, verdict};
pub use screen::{LINES as SCREEN_LINES, WIDTH as SCREEN_WIDTH, first_screen};

use super::document::{Document, Section};
use crate::plan::Plan;

/// Makes one section of the estimate; without parts if the batch has nothing to say to it.
type MakeSection = fn(&Plan) -> Section;

/// The sections by their names on the command line, in the order of the report.
const SECTIONS: [(&str, MakeSection); 14] = [
    ("run", run::section),
    ("weigh", amounts::section),
    ("ratio", ratio::section),
    ("equation", ratio::equation),
    ("heat", heat::section),
    ("heating", heating::section),
    ("gas", gas::section),
    ("equilibrium", gas::equilibrium),
    ("oxygen", oxygen::section),
    ("cooling", oxygen::cooling),
    ("colour", colour::section),
    ("purity", purity::section),
    ("safety", |plan| safety::section(&plan.advice)),
    ("sources", sources::section),
];

/// The names of the sections, in the order of the report.
pub fn burn_sections() -> [&'static str; 14] {
    SECTIONS.map(|(name, _)| name)
}

/// The sections of these names, in the order of the report.
pub fn burn_document(plan: &Plan, names: &[impl AsRef<str>]) -> Document {
    let asked = |name: &str| names.iter().any(|asked| asked.as_ref() == name);
    let sections = SECTIONS.iter().filter(|(name, _)| asked(name));
    let sections = sections.map(|(_, section)| section(plan));
    let sections = sections.filter(|section| !section.parts.is_empty());
    Document::new(plan.batch.name.clone(), sections.collect())
}

/// The section of this name.
pub(super) fn section(plan: &Plan, name: &str) -> Section {
    let found = SECTIONS.iter().find(|(known, _)| *known == name);
    found.map_or_else(Section::default, |(_, section)| section(plan))
}
