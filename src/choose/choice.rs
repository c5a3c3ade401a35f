//! What a choice gives: candidates with their suggestion, the burns of the file's own batch.

use super::candidate::{Fuels, LeftOut};
use super::goal::{Goal, Verdict};
use super::purity::OtherPhases;
use super::reach::Reach;
use crate::batch::Batch;
use crate::enthalpy::WaterStateName;
use crate::expected::Expected;
use crate::quantity::{EquivalenceRatio, ThermodynamicTemperature};
use crate::tables::phases::{DopantNote, Note, Rival};
use crate::vary::Point;
use std::fmt;

/// The suggestion of a candidate: one φ, with the burn there.
#[derive(Debug, Clone)]
pub struct Suggestion {
    /// The fuel ratio as weighed.
    pub ratio: EquivalenceRatio,
    /// Why this one of those that reach the goal.
    pub why: RatioReason,
    /// The batch with these fuels at this ratio.
    pub batch: Batch,
    /// The burn with the middle of every band of the expectation.
    pub point: Point,
    /// Expected peak: the median if `expected` is there, else that of the middle of every band;
    /// `None` if no flame is expected.
    pub temperature: Option<ThermodynamicTemperature>,
    /// The expected burn; worked out for the first in the ranking.
    pub expected: Option<Expected>,
    /// What it leaves besides the expected powder.
    pub other_phases: OtherPhases,
}

/// How the fuel ratio was picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RatioReason {
    /// Nearest to φ = 1 of those that do the job: no gas is wanted.
    NearestToOne,
    /// Middle of the fuel-rich ratios that are hot enough: reducing, not the hottest.
    MiddleOfRich,
    /// Middle of the fuel-lean ratios that are hot enough: oxidising, not the hottest.
    MiddleOfLean,
    /// Hot enough, yet not with the gas that is wanted: the ratio nearest to it.
    NearestToWantedGas,
    /// None does the job: the nearest to the temperature that does.
    NearestToGoal,
}

/// What a choice is judged by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CriterionKind {
    /// Whether the flame reaches what the phase needs.
    Reach,
    /// Published burns.
    Evidence,
    /// Whether the gas is as wanted.
    Atmosphere,
    /// Hazard class of the fuels.
    Hazard,
    /// Little gas for the powder.
    Gentle,
    /// Solubility of the fuels.
    Solubility,
    /// Little fuel for the powder.
    Heat,
    /// One fuel to weigh, not two.
    Simple,
}

impl fmt::Display for CriterionKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Reach => "reach",
            Self::Evidence => "evidence",
            Self::Atmosphere => "gas wanted",
            Self::Hazard => "hazard",
            Self::Gentle => "gentle",
            Self::Solubility => "solubility",
            Self::Heat => "fuel needed",
            Self::Simple => "one fuel",
        })
    }
}

/// One criterion with its points.
#[derive(Debug, Clone, PartialEq)]
pub struct Criterion {
    /// Which.
    pub kind: CriterionKind,
    /// Points, 0 to 1.
    pub score: f64,
    pub weight: f64,
    /// What was found.
    pub words: String,
}

/// Fuels with what they reach and how they are judged.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// The fuels.
    pub fuels: Fuels,
    /// What is suggested.
    pub suggestion: Suggestion,
    /// Verdict on the suggestion.
    pub verdict: Verdict,
    /// Ratios that are expected to reach the goal.
    pub reach: Reach,
    /// The criteria.
    pub criteria: Vec<Criterion>,
    /// Weighted mean of the criteria, 0 to 1.
    pub score: f64,
}

/// The batch of the file as it stands, in one state of the water: a limit.
#[derive(Debug, Clone)]
pub struct OwnBurn {
    pub state: WaterStateName,
    /// The burn.
    pub point: Point,
    /// How it stands to the goal.
    pub verdict: Verdict,
}

/// The batch of the file as it stands.
#[derive(Debug, Clone)]
pub struct OwnBatch {
    /// The expected burn, as `burn` gives it.
    pub expected: Expected,
    /// How that stands to the goal.
    pub verdict: Verdict,
    /// What it leaves besides the expected powder.
    pub other_phases: OtherPhases,
    /// The limits by state of the water.
    pub limits: Vec<OwnBurn>,
}

/// What else helps to get the phase, gentlest first.
#[derive(Debug, Clone, PartialEq)]
pub enum Remedy {
    /// Heat the powder afterwards.
    Anneal {
        /// Temperature of hours, if the tables give one.
        temperature: Option<ThermodynamicTemperature>,
        /// What is usual.
        notes: Vec<Note>,
    },
    Flux {
        /// What is published.
        notes: Vec<Note>,
    },
    /// The same batch with other fuels.
    OtherFuel {
        name: String,
        ratio: EquivalenceRatio,
        /// The flame.
        temperature: ThermodynamicTemperature,
    },
    /// Less water at ignition: where the batch of the file then stands.
    LessWater {
        /// The drier state.
        state: WaterStateName,
        verdict: Verdict,
    },
    /// A hotter start.
    Preheat {
        /// The start temperature from which the least temperature is reached.
        start: ThermodynamicTemperature,
    },
}

/// A choice of fuels.
#[derive(Debug, Clone)]
pub struct Choice {
    /// Name of the batch.
    pub name: String,
    /// What is wanted.
    pub goal: Goal,
    /// The batch of the file as it stands.
    pub own: OwnBatch,
    /// The candidates, best first.
    pub candidates: Vec<Candidate>,
    /// Fuels that were not looked at.
    pub left_out: Vec<LeftOut>,
    /// Fuels that were looked at and did not burn, with the reason.
    pub failed: Vec<LeftOut>,
    /// What else helps; empty if the best candidate is hot enough by the time model.
    pub remedies: Vec<Remedy>,
    /// What may be there instead and how to tell, for the elements of the batch.
    pub tests: Vec<Rival>,
    /// Published levels of the dopants of the batch.
    pub dopants: Vec<DopantNote>,
}

impl Choice {
    /// Whether any candidate reaches the least temperature that may do.
    pub fn reached(&self) -> bool {
        self.candidates.iter().any(|c| c.verdict.may_do())
    }
}
