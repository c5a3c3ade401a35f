//! A look at one candidate: which fuel ratios reach the goal, and which is suggested.

use super::reach::reach;
use super::{
    Candidate, ChooseError, Fuels, Goal, LeftOut, Probe, RatioReason, Reach, Suggestion, judge,
};
use crate::advice::mixture_stops;
use crate::batch::{Atmosphere, Batch};
use crate::enthalpy::WaterStateName;
use crate::quantity::Ratio;
use crate::tables::{Reactant, Tables};
use crate::vary::VaryError;
use rayon::prelude::*;
use uom::si::ratio::ratio;

/// Candidates that are worked out for every state of the water and every loss.
const DETAILED: usize = 8;
/// Least φ that counts as fuel-rich enough to reduce.
const RICH: f64 = 1.05;

/// What is the same for every candidate.
pub(super) struct Look<'a> {
    pub(super) batch: &'a Batch,
    pub(super) goal: &'a Goal,
    pub(super) state: WaterStateName,
    pub(super) loss: Ratio,
    pub(super) tables: &'a Tables,
}

impl Look<'_> {
    /// The candidates of a list, in its order; those that do not burn go to `failed`.
    pub(super) fn all(&self, list: Vec<Fuels>, failed: &mut Vec<LeftOut>) -> Vec<Candidate> {
        let results: Vec<_> = list
            .into_par_iter()
            .map(|fuels| {
                let name = fuels.name();
                self.candidate(fuels).map_err(|error| LeftOut {
                    fuel: name,
                    reason: error.to_string(),
                })
            })
            .collect();
        let mut candidates = Vec::new();
        for result in results {
            match result {
                Ok(candidate) => candidates.push(candidate),
                Err(reason) => failed.push(reason),
            }
        }
        candidates
    }

    /// The batch with other fuels, at φ = 1.
    fn with(&self, fuels: &Fuels) -> Result<Batch, ChooseError> {
        if fuels.of_the_file {
            return Ok(self.batch.clone());
        }
        let parts: Vec<(&Reactant, f64)> = fuels
            .parts
            .iter()
            .map(|(fuel, share)| (fuel, *share))
            .collect();
        let one = Ratio::new::<ratio>(1.0);
        let changed = self.batch.with_fuels(&parts, one);
        Ok(changed.map_err(VaryError::from)?)
    }

    fn candidate(&self, fuels: Fuels) -> Result<Candidate, ChooseError> {
        let batch = self.with(&fuels)?;
        let stops = mixture_stops(&batch, &self.tables.safety);
        if !stops.is_empty() {
            return Err(VaryError::Refused { stops }.into());
        }
        let search = &self.tables.phases.ranking.search;
        let mut probe = Probe::new(&batch, self.state, self.loss, self.tables);
        let reach = reach(&mut probe, self.goal.least, self.goal.safe, search)?;
        let (phi, why) = suggested(&reach, self.goal);
        let batch = probe.batch_at(phi)?;
        let point = probe.burn(&batch)?;
        let phases = &self.tables.phases;
        let criteria = judge::judge(self.goal, &fuels, &batch, &point, phases);
        Ok(Candidate {
            score: judge::score(&criteria),
            verdict: self.goal.verdict(&point),
            suggestion: Suggestion {
                ratio: Ratio::new::<ratio>(phi),
                why,
                batch,
                point,
            },
            reach: vec![reach],
            criteria,
            fuels,
        })
    }
}

/// A ratio that reaches the goal, on the side of the wanted gas, and not the hottest.
fn suggested(reach: &Reach, goal: &Goal) -> (f64, RatioReason) {
    let ranges = if reach.safe.is_empty() {
        &reach.least
    } else {
        &reach.safe
    };
    let on_side = |low: f64, high: f64| {
        ranges
            .iter()
            .map(|r| {
                (
                    r.from.get::<ratio>().max(low),
                    r.to.get::<ratio>().min(high),
                )
            })
            .filter(|(from, to)| from < to)
            .max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
    };
    let middle = |(from, to): (f64, f64)| 0.5 * (from + to);
    let rich = on_side(RICH, f64::INFINITY);
    let lean = on_side(0.0, 1.0);
    let (first, second) = match goal.atmosphere {
        Some(Atmosphere::Oxidising) => ((lean, RatioReason::MiddleOfLean), None),
        Some(Atmosphere::Reducing) => ((rich, RatioReason::MiddleOfRich), None),
        Some(Atmosphere::Neutral) | None => (
            (rich, RatioReason::MiddleOfRich),
            lean.map(|range| (range, RatioReason::MiddleOfLean)),
        ),
    };
    if let (Some(range), why) = first {
        return (middle(range), why);
    }
    if let Some((range, why)) = second {
        return (middle(range), why);
    }
    let nearest = ranges.iter().flat_map(|r| [r.from, r.to]).max_by(|a, b| {
        let (a, b) = (a.get::<ratio>(), b.get::<ratio>());
        match goal.atmosphere {
            Some(Atmosphere::Oxidising) => b.total_cmp(&a),
            _ => a.total_cmp(&b),
        }
    });
    match nearest {
        Some(phi) => (phi.get::<ratio>(), RatioReason::NearestToWantedGas),
        None => (reach.hottest_ratio.get::<ratio>(), RatioReason::Hottest),
    }
}

/// Works out the first candidates and the file's own for every state and loss.
pub(super) fn detail(
    candidates: &mut [Candidate],
    look: &Look<'_>,
    states: &[WaterStateName],
    losses: &[Ratio],
) {
    let search = &look.tables.phases.ranking.search;
    candidates.par_iter_mut().enumerate().for_each(|(at, c)| {
        if at >= DETAILED && !c.fuels.of_the_file {
            return;
        }
        let Ok(batch) = look.with(&c.fuels) else {
            return;
        };
        let mut all = Vec::new();
        for state in states {
            for loss in losses {
                let mut probe = Probe::new(&batch, *state, *loss, look.tables);
                all.extend(reach(&mut probe, look.goal.least, look.goal.safe, search));
            }
        }
        c.reach = all;
    });
}
