//! What happens in a step of the march, and the step shortened to where it happens.

use crate::ignition::slab::{Slab, State};
use crate::ignition::step::{Trial, Work};

/// Self-heating rate that is worth noting, K/s.
const NOTICEABLE: f64 = 0.2;

/// What happens on the way, in the order in which it can happen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// The liquid starts to boil somewhere.
    Boils,
    /// Only the water of crystallisation is left.
    SolventGone,
    /// The syrup no longer stirs itself.
    GelSets,
    /// The driest part of the gel has lost nine tenths of its water of crystallisation.
    PartlyDry,
    /// Somewhere the reaction heats faster than the heating way does.
    HeatsItself,
}

/// One point of the time line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// What happened.
    pub mark: Mark,
    /// When, s.
    pub time: f64,
    /// Mean temperature of the layer then, K.
    pub temperature: f64,
}

impl Slab<'_> {
    /// Whether the stirred liquid set in this step.
    pub(super) fn sets(&self, old: &State, new: &State) -> bool {
        let set = self.set_water();
        let liquid = old.cells.len() == 1 && self.settings().cells > 1;
        liquid && old.cells[0].w > set && new.cells[0].w <= set
    }

    /// How near a step is to a thermal runaway, which it shows from 1 on: the reaction alone heats the
    /// cell fast, and of the heat that counts as fast most stays in it. What more there is may go
    /// elsewhere, as into a fuel that decomposes faster and faster.
    pub(super) fn runaway(&self, trial: &Trial) -> f64 {
        let settings = self.settings();
        let kept = trial.net_rate / settings.kept_share;
        trial.self_heating.0.min(kept) / settings.runaway_rate
    }

    /// Whether the reaction gives more heat than the heating way, or one part of the layer heats
    /// itself at a fifth of the rate that counts as runaway.
    pub(super) fn heats_itself(&self, trial: &Trial) -> bool {
        let l = &trial.ledger;
        let supplied = l.bottom.max(0.0) + l.top.max(0.0) + l.microwave;
        let rate = trial.self_heating.0;
        // A magnetron that is off supplies nothing: the reaction has to be worth noting besides.
        (l.reaction > supplied && rate > NOTICEABLE) || rate > 0.2 * self.settings().runaway_rate
    }

    /// Shortens the step `found` from `old` until it just reaches the event: where what is `beyond`
    /// it, with `start` at the start of the step if that is known, rises through zero. By the
    /// straight line between both ends of the bracket; by halves where this does not help.
    pub(super) fn locate(
        &self,
        old: &State,
        start: Option<f64>,
        mut found: Trial,
        work: &mut Work,
        beyond: impl Fn(&Trial) -> f64,
    ) -> (Trial, usize) {
        let mut high = found.state.time - old.time;
        let close = self.settings().placed * high;
        let (mut low, mut before, mut width) = (0.0, start, f64::INFINITY);
        let mut steps = 0;
        while high - low > close {
            let line = before.filter(|_| high - low < 0.5 * width);
            let part = line.map_or(0.5, |before| before / (before - beyond(&found)));
            width = high - low;
            // Aims a little beyond the event, so that the guess closes the bracket from above.
            let guess = (low + part * width + 0.4 * close).min(high - 0.9 * close);
            steps += 1;
            match self.step(old, guess, work) {
                Some(trial) if beyond(&trial) >= 0.0 => {
                    found = trial;
                    high = guess;
                }
                trial => {
                    low = guess;
                    before = trial.map(|trial| beyond(&trial));
                }
            }
        }
        (found, steps)
    }

    /// Notes what happened within an accepted step, at times interpolated in it.
    pub(super) fn note(&self, old: &State, new: &State, rates: &[f64], moments: &mut Vec<Moment>) {
        let dt = new.time - old.time;
        let t = self.layer_mean(new);
        // Evaporation lowers the water too: it boils where the temperature sits on the curve.
        let mut cells = old.cells.iter().zip(&new.cells);
        let boiling = cells.position(|(old, new)| new.w < old.w && new.t >= new.boils_at);
        if let Some(i) = boiling {
            let missing = old.cells[i].boils_at - old.cells[i].t;
            let slope = rates.get(old.floor.len() + i).copied().unwrap_or(0.0);
            let part = if slope > 0.0 {
                (missing / slope).clamp(0.0, dt)
            } else {
                0.0
            };
            push(moments, Mark::Boils, old.time + part, t);
        }
        let hydrate = self.hydrate_ratio();
        let crossing = |before: f64, after: f64, level: f64| {
            (before > level && after <= level)
                .then(|| old.time + dt * (before - level) / (before - after))
        };
        let water = |state: &State| self.mean(state, |cell| cell.w);
        let (w0, w1) = (water(old), water(new));
        if let Some(time) = crossing(w0, w1, hydrate) {
            push(moments, Mark::SolventGone, time, t);
        }
        let least = |state: &State| {
            let water = state.cells.iter().map(|cell| cell.w);
            water.fold(f64::INFINITY, f64::min)
        };
        let dry = if hydrate > 0.0 { 0.1 * hydrate } else { 0.01 };
        if let Some(time) = crossing(least(old), least(new), dry) {
            push(moments, Mark::PartlyDry, time, t);
        }
    }
}

/// Adds a mark once.
pub(super) fn push(moments: &mut Vec<Moment>, mark: Mark, time: f64, temperature: f64) {
    if moments.iter().all(|m| m.mark != mark) {
        moments.push(Moment {
            mark,
            time,
            temperature,
        });
    }
}
