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
use crate::tables::Tables;
use std::fmt;

/// A question about the estimate that has a section of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Topic {
    /// What goes in.
    Weigh,
    /// Valence sum and fuel ratio.
    Ratio,
    /// The overall equation.
    Equation,
    /// Flame temperatures, surplus fuel, energy ledger.
    Heat,
    /// The course of heating.
    Heating,
    /// What leaves as gas.
    Gas,
    /// The equilibrium at the flame.
    Equilibrium,
    /// Oxidation states at the flame.
    Oxygen,
    /// The way down from the flame.
    Cooling,
    /// Violence, vessel, fumes, cautions and standing rules.
    Safety,
    /// What the powder should look like.
    Colour,
    /// Impurities of the powder.
    Purity,
    /// The user's run against the estimate.
    Run,
    /// Sources of the numbers.
    Sources,
}

impl Topic {
    /// Every topic in the order of the report.
    pub const ALL: [Self; 14] = [
        Self::Run,
        Self::Weigh,
        Self::Ratio,
        Self::Equation,
        Self::Heat,
        Self::Heating,
        Self::Gas,
        Self::Equilibrium,
        Self::Oxygen,
        Self::Cooling,
        Self::Colour,
        Self::Purity,
        Self::Safety,
        Self::Sources,
    ];

    /// Its name on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Self::Weigh => "weigh",
            Self::Ratio => "ratio",
            Self::Equation => "equation",
            Self::Heat => "heat",
            Self::Heating => "heating",
            Self::Gas => "gas",
            Self::Equilibrium => "equilibrium",
            Self::Oxygen => "oxygen",
            Self::Cooling => "cooling",
            Self::Safety => "safety",
            Self::Colour => "colour",
            Self::Purity => "purity",
            Self::Run => "run",
            Self::Sources => "sources",
        }
    }

    /// The topic with this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|topic| topic.name() == name)
    }
}

impl fmt::Display for Topic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// The sections that `topics` ask for, in the order of the report.
pub fn burn_document(plan: &Plan, topics: &[Topic], tables: &Tables) -> Document {
    let asked = Topic::ALL
        .into_iter()
        .filter(|topic| topics.contains(topic));
    let sections = asked.map(|topic| section(plan, topic, tables));
    Document::new(
        plan.batch.name.clone(),
        sections
            .filter(|section| !section.parts.is_empty())
            .collect(),
    )
}

/// The section of one topic; without parts if the batch has nothing to say to it.
pub(super) fn section(plan: &Plan, topic: Topic, tables: &Tables) -> Section {
    match topic {
        Topic::Weigh => amounts::section(plan),
        Topic::Ratio => ratio::section(plan),
        Topic::Equation => ratio::equation(plan),
        Topic::Heat => heat::section(plan, tables),
        Topic::Heating => heating::section(plan),
        Topic::Gas => gas::section(plan),
        Topic::Equilibrium => gas::equilibrium(plan),
        Topic::Oxygen => oxygen::section(plan, tables),
        Topic::Cooling => oxygen::cooling(plan),
        Topic::Safety => safety::section(&plan.advice),
        Topic::Colour => colour::section(plan, tables),
        Topic::Purity => purity::section(plan),
        Topic::Run => run::section(plan),
        Topic::Sources => sources::section(plan, tables),
    }
}
