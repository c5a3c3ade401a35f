//! What a choice gives: candidates with their suggestion, the burns of the file's own batch.

use super::{Criterion, Fuels, Goal, Help, LeftOut, Reach, Verdict};
use crate::batch::Batch;
use crate::enthalpy::WaterStateName;
use crate::quantity::{EquivalenceRatio, Ratio};
use crate::tables::phases::{DopantNote, Rival};
use crate::vary::Point;

/// The suggestion of a candidate: one φ, with the burn there.
#[derive(Debug, Clone)]
pub struct Suggestion {
    /// The fuel ratio.
    pub ratio: EquivalenceRatio,
    /// Why this one of those that reach the goal.
    pub why: RatioReason,
    /// The batch with these fuels at this ratio.
    pub batch: Batch,
    /// The burn, in the main state of the water at the main loss.
    pub point: Point,
}

/// How the fuel ratio was picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RatioReason {
    /// Middle of the fuel-rich ratios that are hot enough: reducing, not the hottest.
    MiddleOfRich,
    /// Middle of the fuel-lean ratios that are hot enough: oxidising, not the hottest.
    MiddleOfLean,
    /// Hot enough, yet not with the gas that is wanted: the ratio nearest to it.
    NearestToWantedGas,
    /// None is hot enough: the hottest.
    Hottest,
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
    /// Ratios that reach the goal in the main state at the main loss; then, for the first in the
    /// ranking, in every state at every loss.
    pub reach: Vec<Reach>,
    /// The criteria.
    pub criteria: Vec<Criterion>,
    /// Weighted mean of the criteria, 0 to 1.
    pub score: f64,
}

/// The batch of the file as it stands, in one state of the water at one loss.
#[derive(Debug, Clone)]
pub struct OwnBurn {
    /// State of the water.
    pub state: WaterStateName,
    /// Share of the heat that is lost.
    pub loss: Ratio,
    /// The burn.
    pub point: Point,
    /// How it stands to the goal.
    pub verdict: Verdict,
}

/// A choice of fuels.
#[derive(Debug, Clone)]
pub struct Choice {
    /// Name of the batch.
    pub name: String,
    /// What is wanted.
    pub goal: Goal,
    /// State of the water by which the fuels are ranked.
    pub state: WaterStateName,
    /// Loss by which they are ranked.
    pub loss: Ratio,
    /// The batch of the file as it stands.
    pub own: Vec<OwnBurn>,
    /// The candidates, best first.
    pub candidates: Vec<Candidate>,
    /// Fuels that were not looked at.
    pub left_out: Vec<LeftOut>,
    /// Fuels that were looked at and did not burn, with the reason.
    pub failed: Vec<LeftOut>,
    /// What else helps; empty if the best candidate is hot enough by the time model.
    pub help: Vec<Help>,
    /// What may be there instead and how to tell, for the elements of the batch.
    pub tests: Vec<Rival>,
    /// Published levels of the dopants of the batch.
    pub dopants: Vec<DopantNote>,
}

impl Choice {
    /// Whether any candidate reaches the least temperature that may do.
    #[must_use]
    pub fn reached(&self) -> bool {
        self.candidates.iter().any(|c| c.verdict.may_do())
    }
}
