//! What else helps to get the phase, if the file's own fuels do not.

use super::choice::{Candidate, OwnBatch, Remedy};
use super::goal::Verdict;
use super::search::Search;
use crate::batch::Batch;
use crate::enthalpy::WaterStateName;
use crate::quantity::units::{degree_celsius, kelvin};
use crate::quantity::{Ratio, ThermodynamicTemperature};

/// Coldest start that is looked at, °C: a gel that has boiled down.
const COLDEST_START: f64 = 110.0;
/// Hottest start that is offered, °C: as the batch file allows.
const HOTTEST_START: f64 = 300.0;

/// Remedies, gentlest first; none if the file's own fuels are hot enough by the time model.
pub(super) fn remedies(
    search: &Search<'_>,
    candidates: &[Candidate],
    own: &OwnBatch,
) -> Vec<Remedy> {
    let goal = search.goal;
    let mine = candidates.iter().find(|c| c.fuels.of_the_file);
    if mine.is_some_and(|c| c.verdict == Verdict::Forms) {
        return Vec::new();
    }
    let mut found = Vec::new();
    let notes = goal.phase.as_ref().map(|p| p.anneal.clone());
    let notes = notes.unwrap_or_default();
    let typical = goal.phase.as_ref().and_then(|p| p.typical.first());
    if !notes.is_empty() || goal.held.is_some() {
        found.push(Remedy::Anneal {
            temperature: typical.map(|t| t.value).or(goal.held),
            notes,
        });
    }
    let flux = goal.phase.as_ref().map(|p| p.flux.clone());
    if let Some(notes) = flux.filter(|notes| !notes.is_empty()) {
        found.push(Remedy::Flux { notes });
    }
    let other = |verdict| {
        let mut others = candidates.iter().filter(|c| !c.fuels.of_the_file);
        others.find(|c| c.verdict == verdict)
    };
    let better = other(Verdict::Forms).or_else(|| other(Verdict::MayForm));
    if let Some((candidate, temperature)) =
        better.and_then(|c| Some((c, c.suggestion.temperature?)))
    {
        found.push(Remedy::OtherFuel {
            name: candidate.fuels.name(),
            ratio: candidate.suggestion.ratio,
            temperature,
        });
    }
    let limits = &own.limits;
    let dried = limits.iter().find(|o| o.state == WaterStateName::Dried);
    if let Some(dried) = dried.filter(|o| o.verdict.may_do()) {
        found.push(Remedy::LessWater {
            state: dried.state,
            verdict: dried.verdict,
        });
    }
    found.extend(preheat(search, own));
    found
}

/// The start temperature that brings the file's batch to the least temperature, if there is one:
/// from the middle of every band, as if the heating were not stated.
fn preheat(search: &Search<'_>, own: &OwnBatch) -> Option<Remedy> {
    let solvent_left = own.limits.iter().any(|limit| {
        limit.state == WaterStateName::AtIgnition
            && limit.point.water_left > crystal_share(search.batch)
    });
    if solvent_left {
        // Solvent holds the start at its boiling point.
        return None;
    }
    let missing = |start_celsius: f64| {
        let mut warm = search.batch.clone();
        warm.conditions.start = ThermodynamicTemperature::new::<degree_celsius>(start_celsius);
        let peak = search.middle_peak(&warm)?;
        Some(peak.get::<kelvin>() - search.goal.least.get::<kelvin>())
    };
    let (cold, hot) = (missing(COLDEST_START)?, missing(HOTTEST_START)?);
    if cold >= 0.0 || hot < 0.0 {
        return None;
    }
    // A kelvin in the start: finer than any setting.
    let mut tolerance = roots::SimpleConvergency {
        eps: 1.0,
        max_iter: 20,
    };
    let start = roots::find_root_brent(
        COLDEST_START,
        HOTTEST_START,
        |start| missing(start).unwrap_or(f64::NAN),
        &mut tolerance,
    );
    start.ok().map(|start| Remedy::Preheat {
        start: ThermodynamicTemperature::new::<degree_celsius>(start),
    })
}

/// Share of all water that is crystal water.
fn crystal_share(batch: &Batch) -> Ratio {
    let crystal = batch.crystal_water();
    crystal / (crystal + batch.solvent_water())
}
