//! The choice of fuel and fuel ratio for a wanted phase.
//!
//! The goal is a temperature for a time: what the table of phases says, corrected for a burn of
//! seconds, or what the user gives. For each fuel and each mix of two, the fuel ratios that are
//! expected to reach it are found with the middle of every band of the expectation; a ratio whose
//! equilibrium leaves other phases than the wanted ones, at the peak or on cooling, is not
//! suggested. The first in the ranking get their whole expected burn and are ranked by it. That none reaches it is an answer too, with what would help. The search stays between
//! φ 0.5 and 4, leaves out dangerous fuels, and of equals takes the gentler one.

mod candidate;
mod choice;
mod error;
mod goal;
mod judge;
mod notes;
mod pick;
mod purity;
mod rank;
mod reach;
mod remedy;
mod search;

pub use candidate::{Fuels, HazardClass, LeftOut};
pub use choice::{
    Candidate, Choice, Criterion, OwnBatch, OwnBurn, RatioReason, Remedy, Suggestion,
};
pub use error::ChooseError;
pub use goal::{Goal, GoalOrigin, Verdict};
pub use purity::OtherPhases;
pub use reach::{RatioRange, Reach};

use crate::enthalpy::WaterStateName;
use crate::expected::Expectation;
use crate::prepared::Prepared;
use crate::tables::Reactant;
use crate::vary::{Point, VaryError};
use rank::{drop_own_twin, keep_best_mix, rank};
use rayon::prelude::*;
use search::Search;

/// Candidates whose whole expectation is worked out.
const EXPECTED: usize = 6;
/// Rounds of ranking by it; one is nearly always enough.
const MOST_ROUNDS: usize = 4;
/// Single fuels that are paired with each other.
const PAIRED: usize = 5;

/// Chooses fuels and ratio for the goal of `batch`.
///
/// # Errors
/// [`ChooseError`] if there is no goal, no fuel, or the batch of the file does not burn.
pub fn choose(prepared: &Prepared<'_>) -> Result<Choice, ChooseError> {
    let (batch, tables) = (&prepared.batch, prepared.tables);
    let goal = Goal::of(batch, tables)?;
    let own_fuels = candidate::fuels_of(batch).ok_or(ChooseError::NoFuel)?;
    let search = Search {
        batch,
        goal: &goal,
        tables,
    };
    let own = own_batch(prepared, &goal)?;
    let (singles, left_out) = candidate::singles(batch, tables);
    let mut failed = Vec::new();
    let mut list = vec![own_fuels];
    list.extend(singles.iter().map(Fuels::single));
    let mut candidates = search.all(list, &mut failed);
    rank(&mut candidates);
    let best: Vec<Reactant> = candidates
        .iter()
        .filter(|c| c.fuels.parts.len() == 1 && !c.fuels.of_the_file)
        .filter(|c| HazardClass::of(&c.fuels.parts[0].0) < HazardClass::Ammonium)
        .take(PAIRED)
        .map(|c| c.fuels.parts[0].0.clone())
        .collect();
    let pairs = candidate::pairs(&best, goal.phase.as_ref(), batch, tables);
    candidates.extend(search.all(pairs, &mut failed));
    drop_own_twin(&mut candidates);
    rank(&mut candidates);
    keep_best_mix(&mut candidates);
    expect_the_first(&mut candidates, &search)?;
    let remedies = remedy::remedies(&search, &candidates, &own);
    Ok(Choice {
        name: batch.name.clone(),
        own,
        candidates,
        left_out,
        failed,
        remedies,
        tests: notes::tests(&goal, batch, tables),
        dopants: notes::dopants(&goal, batch, tables),
        goal,
    })
}

/// Works out the whole expectation of the first candidates and of the file's own, and ranks by it:
/// until the first have it.
fn expect_the_first(candidates: &mut [Candidate], search: &Search<'_>) -> Result<(), ChooseError> {
    for _ in 0..MOST_ROUNDS {
        let waiting: Vec<&mut Candidate> = candidates
            .iter_mut()
            .enumerate()
            .filter(|(at, c)| *at < EXPECTED || c.fuels.of_the_file)
            .map(|(_, c)| c)
            .filter(|c| c.suggestion.expected.is_none())
            .collect();
        if waiting.is_empty() {
            break;
        }
        waiting
            .into_par_iter()
            .map(|candidate| search.expect(candidate))
            .collect::<Vec<_>>()
            .into_iter()
            .collect::<Result<Vec<()>, _>>()?;
        rank(candidates);
    }
    Ok(())
}

/// The batch of the file as it stands.
fn own_batch(prepared: &Prepared<'_>, goal: &Goal) -> Result<OwnBatch, ChooseError> {
    let (batch, tables) = (&prepared.batch, prepared.tables);
    let none = OtherPhases::default();
    let mut limits = Vec::new();
    for result in &prepared.states {
        // As mixed it hardly ever burns; a limit without an equilibrium has no flame.
        if result.state.name == WaterStateName::AsMixed || result.equilibrium.is_err() {
            continue;
        }
        let point = Point::of(batch, &prepared.redox, &prepared.product, result, tables)
            .map_err(VaryError::from)?;
        limits.push(OwnBurn {
            state: result.state.name,
            verdict: goal.verdict(Some(point.equilibrium), &point, &none),
            point,
        });
    }
    let mut expectation = Expectation::new(batch, &prepared.heating, &prepared.states, tables)?;
    let draw = expectation.middle(1.0);
    let others = purity::other_phases(&mut expectation, 1.0, &draw, &prepared.product, tables);
    let expected = prepared.expected.clone();
    let verdict = expected
        .temperature
        .map_or(Verdict::TooCold, |t| goal.verdict_at(t));
    let verdict = if verdict.may_do() && others.counts() {
        Verdict::OtherPhases
    } else {
        verdict
    };
    Ok(OwnBatch {
        expected,
        verdict,
        other_phases: others,
        limits,
    })
}
