//! The choice of fuel and fuel ratio for a wanted phase.
//!
//! The goal is a temperature for a time: what the table of phases says, corrected for a burn of
//! seconds, or what the user gives. For each fuel and each mix of two, the fuel ratios that reach
//! it are found for every state of the water and every loss, and the fuels are ranked with the
//! reason. That none reaches it is an answer too, with what would help. The search stays between
//! φ 0.5 and 4, leaves out dangerous fuels, and of equals takes the gentler one.

mod candidate;
mod choice;
mod error;
mod goal;
mod help;
mod judge;
mod look;
mod notes;
mod rank;
mod reach;

pub use candidate::{Fuels, HazardClass, LeftOut};
pub use choice::{Candidate, Choice, OwnBurn, RatioReason, Suggestion};
pub use error::ChooseError;
pub use goal::{Goal, GoalOrigin, Verdict};
pub use help::Help;
pub use judge::{Criterion, CriterionKind};
pub use reach::{Probe, RatioRange, Reach};

use crate::batch::Batch;
use crate::enthalpy::{WaterStateName, water_states};
use crate::prepared::Prepared;
use crate::quantity::Ratio;
use crate::tables::Reactant;
use crate::tables::phases::Search;
use look::{Look, detail};
use rank::{drop_own_twin, keep_best_mix, rank};
use uom::si::ratio::ratio;

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
    let states = states_of(batch);
    let losses = losses_of(batch, &tables.phases.ranking.search);
    let state = main_state(&states);
    let loss = losses[losses.len() / 2];
    let look = Look {
        batch,
        goal: &goal,
        state,
        loss,
        tables,
    };
    let own = own_burns(&look, &states, &losses)?;
    let (singles, left_out) = candidate::singles(batch, tables);
    let mut failed = Vec::new();
    let mut list = vec![own_fuels];
    list.extend(singles.iter().map(Fuels::single));
    let mut candidates = look.all(list, &mut failed);
    rank(&mut candidates);
    let best: Vec<Reactant> = candidates
        .iter()
        .filter(|c| c.fuels.parts.len() == 1 && !c.fuels.of_the_file)
        .filter(|c| HazardClass::of(&c.fuels.parts[0].0) < HazardClass::Ammonium)
        .take(PAIRED)
        .map(|c| c.fuels.parts[0].0.clone())
        .collect();
    let pairs = candidate::pairs(&best, goal.phase.as_ref(), batch, tables);
    candidates.extend(look.all(pairs, &mut failed));
    drop_own_twin(&mut candidates);
    rank(&mut candidates);
    keep_best_mix(&mut candidates);
    detail(&mut candidates, &look, &states, &losses);
    let help = help::help(&look, &candidates, &own);
    Ok(Choice {
        name: batch.name.clone(),
        state,
        loss,
        own,
        candidates,
        left_out,
        failed,
        help,
        tests: notes::tests(&goal, batch, tables),
        dopants: notes::dopants(&goal, batch, tables),
        goal,
    })
}

/// States of the water that are looked at: all but as mixed, which hardly ever burns.
fn states_of(batch: &Batch) -> Vec<WaterStateName> {
    water_states(batch, None)
        .into_iter()
        .map(|state| state.name)
        .filter(|name| *name != WaterStateName::AsMixed)
        .collect()
}

fn main_state(states: &[WaterStateName]) -> WaterStateName {
    if states.contains(&WaterStateName::AtIgnition) {
        WaterStateName::AtIgnition
    } else {
        WaterStateName::BoiledDown
    }
}

/// The loss that the file states, else the assumed band.
fn losses_of(batch: &Batch, search: &Search) -> Vec<Ratio> {
    let stated = batch.conditions.heat_loss;
    if stated.get::<ratio>() > 0.0 || search.heat_losses.is_empty() {
        return vec![stated];
    }
    let losses = search.heat_losses.iter();
    losses.map(|loss| Ratio::new::<ratio>(*loss)).collect()
}

/// The batch of the file in every state of the water at every loss.
fn own_burns(
    look: &Look<'_>,
    states: &[WaterStateName],
    losses: &[Ratio],
) -> Result<Vec<OwnBurn>, ChooseError> {
    let mut burns = Vec::new();
    for state in states {
        for loss in losses {
            let mut lossy = look.batch.clone();
            lossy.conditions.heat_loss = *loss;
            let point = Probe::new(look.batch, *state, *loss, look.tables).burn(&lossy)?;
            burns.push(OwnBurn {
                state: *state,
                loss: *loss,
                verdict: look.goal.verdict(&point),
                point,
            });
        }
    }
    Ok(burns)
}
