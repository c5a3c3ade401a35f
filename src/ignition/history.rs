//! Marching the layer through time: adaptive steps, event location, the time line.

use super::slab::{Ledger, Settings, Slab, SlabError, State};
use super::step::{Trial, Work};

/// Steps after which a run is given up; a usual one takes a few hundred, a day 3000.
const STEP_LIMIT: usize = 60_000;
/// Steps that a jump of the power may take besides.
const STEPS_OF_A_SWITCH: usize = 10;
/// Shortest step tried, s.
const SHORTEST_STEP: f64 = 1.0e-9;
/// Self-heating rate that is worth noting, K/s.
const NOTICEABLE: f64 = 0.2;
/// First step, and first step after a jump of the heating power, s.
const FIRST_STEP: f64 = 0.02;

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

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum End {
    /// Thermal runaway in the layer cell `cell` of `cells`, counted from the bottom.
    Ignites {
        /// Cell that runs away.
        cell: usize,
        /// Number of cells.
        cells: usize,
    },
    /// The gel reacted through without running away.
    BurntOut,
    /// The time limit came first.
    TimeLimit,
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

/// A sample of the run for charts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Time, s.
    pub time: f64,
    /// Temperature of the layer at the floor, in the middle and at the free surface, K.
    pub floor: f64,
    pub middle: f64,
    /// At the free surface.
    pub surface: f64,
    /// Hottest temperature in the layer, K.
    pub hottest: f64,
    /// Mean water per dry mass, kg/kg.
    pub water: f64,
    /// Mean share of the reducing valence that has left.
    pub fuel_lost: f64,
    /// Mean lost share of the nitrate.
    pub nitrate: f64,
    /// Heat taken up from the heating way so far, J/m².
    pub heat: f64,
}

/// Result of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Time line.
    pub moments: Vec<Moment>,
    /// How it ended.
    pub end: End,
    /// Last state.
    pub state: State,
    /// Energy per area.
    pub ledger: Ledger,
    /// Hottest temperature in the layer at the end, K.
    pub hottest: f64,
    /// Mean temperature of the layer at the end, K.
    pub mean: f64,
    /// Hottest temperature the floor had, K.
    pub floor_hottest: f64,
    /// Inner face of the floor less the middle of the layer, K, at the end.
    pub wall_minus_centre: f64,
    /// Every accepted step.
    pub samples: Vec<Sample>,
    /// Steps solved, thrown-away ones included.
    pub steps: usize,
    /// Newton iterations.
    pub iterations: usize,
}

/// Mean over a list that is not empty.
fn mean(list: &[f64]) -> f64 {
    list.iter().sum::<f64>() / list.len() as f64
}

/// A run on its way.
struct March {
    state: State,
    ledger: Ledger,
    moments: Vec<Moment>,
    samples: Vec<Sample>,
    work: Work,
    /// Slope of the mean water in the last step and its length; nothing after a jump.
    before: Option<(f64, f64)>,
    /// Length to try next, s.
    next: f64,
    floor_hottest: f64,
    steps: usize,
    iterations: usize,
}

impl March {
    /// After a jump the slopes foretell nothing: starts again with a step of the length `next`.
    fn start_anew(&mut self, next: f64) {
        self.work.rates.clear();
        self.before = None;
        self.next = next;
    }
}

/// The length of a step, and whether it ends where the heating power jumps.
#[derive(Clone, Copy)]
struct Length {
    step: f64,
    at_switch: bool,
}

impl Slab<'_> {
    /// Heats the layer until it runs away, burns out or the time limit comes.
    ///
    /// # Errors
    /// [`SlabError`] if a step cannot be solved or there are too many of them.
    pub fn run(&self) -> Result<History, SlabError> {
        let step_limit = STEP_LIMIT + STEPS_OF_A_SWITCH * self.switches();
        let mut march = self.start();
        while let Some(length) = self.next_length(&march) {
            if march.steps > step_limit {
                return Err(SlabError::TooManySteps {
                    steps: march.steps,
                    time_s: march.state.time,
                });
            }
            let Some((trial, error)) = self.attempt(&mut march, length.step)? else {
                continue;
            };
            if let Some(end) = self.take(&mut march, trial, length, error) {
                return Ok(self.history(march, end));
            }
        }
        Ok(self.history(march, End::TimeLimit))
    }

    fn start(&self) -> March {
        let state = self.initial();
        March {
            ledger: Ledger {
                stored_first: self.stored(&state),
                ..Ledger::default()
            },
            moments: Vec::new(),
            samples: vec![self.sample(&state, 0.0)],
            work: Work::default(),
            before: None,
            next: FIRST_STEP,
            floor_hottest: self.outer_wall(&state),
            steps: 0,
            iterations: 0,
            state,
        }
    }

    /// The step to try: it lands on a switch and leaves no sliver before it. `None` at the end of
    /// the time.
    fn next_length(&self, march: &March) -> Option<Length> {
        let settings = self.settings();
        let time = march.state.time;
        let to_switch = self.next_switch(time) - time;
        let to_limit = settings.time_limit - time;
        if to_limit <= 1e-9 * settings.time_limit {
            return None;
        }
        let step = march.next.min(settings.longest_step).min(to_limit);
        let at_switch = step >= 0.999 * to_switch;
        let step = if at_switch {
            to_switch
        } else if step > 0.5 * to_switch {
            0.5 * to_switch
        } else {
            step
        };
        Some(Length { step, at_switch })
    }

    /// Solves a step. `None` if it has to be shorter, else the step with its error over the
    /// tolerance.
    fn attempt(&self, march: &mut March, step: f64) -> Result<Option<(Trial, f64)>, SlabError> {
        march.steps += 1;
        let Some(trial) = self.step(&march.state, step, &mut march.work) else {
            march.next = 0.25 * step;
            if march.next < SHORTEST_STEP {
                return Err(SlabError::StepTooShort {
                    time_s: march.state.time,
                    step_s: march.next,
                });
            }
            return Ok(None);
        };
        march.iterations += trial.iterations;
        let rates = &march.work.rates;
        let error = self.error(&march.state, &trial.state, step, rates, march.before);
        if error > 2.0 && step > 10.0 * SHORTEST_STEP {
            march.next = step * (0.9 / error.sqrt()).clamp(0.15, 0.7);
            return Ok(None);
        }
        Ok(Some((trial, error)))
    }

    /// Goes a solved step, as far as the event in it; gives the end if it is one.
    fn take(&self, march: &mut March, trial: Trial, length: Length, error: f64) -> Option<End> {
        let sets = self.sets(&march.state, &trial.state);
        let ignites = self.ignites(&trial);
        let trial = if sets || ignites {
            let old = &march.state;
            let (found, more) = self.locate(old, trial, length.step, &mut march.work, |t| {
                if sets {
                    self.sets(old, &t.state)
                } else {
                    self.ignites(t)
                }
            });
            march.steps += more;
            found
        } else {
            trial
        };
        let cell = trial.self_heating.1;
        let (taken, water_slope) = self.record(march, trial);
        if ignites {
            let cells = march.state.w.len();
            return Some(End::Ignites { cell, cells });
        }
        if sets {
            let mean = self.layer_mean(&march.state);
            push(&mut march.moments, Mark::GelSets, march.state.time, mean);
            self.spread(&mut march.state);
            march.start_anew(FIRST_STEP);
            return None;
        }
        if mean(&march.state.xi) > 0.97 {
            return Some(End::BurntOut);
        }
        if length.at_switch {
            march.start_anew(FIRST_STEP.max(0.01 * taken));
        } else {
            march.before = Some((water_slope, taken));
            march.next = taken * (0.9 / error.max(1e-9).sqrt()).clamp(0.3, 2.0);
        }
        None
    }

    /// Enters a step in the books; gives its length and the slope of the mean water in it.
    fn record(&self, march: &mut March, trial: Trial) -> (f64, f64) {
        let (old, new) = (&march.state, &trial.state);
        let taken = new.time - old.time;
        self.note(old, new, &march.work.rates, &mut march.moments);
        if self.heats_itself(&trial) {
            let mean = self.layer_mean(new);
            push(&mut march.moments, Mark::HeatsItself, new.time, mean);
        }
        add(&mut march.ledger, &trial.ledger);
        let change = new.t.iter().zip(&old.t);
        march.work.rates.clear();
        march
            .work
            .rates
            .extend(change.map(|(new, old)| (new - old) / taken));
        let water_slope = (mean(&new.w) - mean(&old.w)) / taken;
        march.state = trial.state;
        let ledger = &march.ledger;
        let taken_up = ledger.bottom + ledger.top + ledger.microwave;
        march.samples.push(self.sample(&march.state, taken_up));
        march.floor_hottest = march
            .floor_hottest
            .max(self.outer_wall(&march.state))
            .max(self.inner_wall(&march.state));
        (taken, water_slope)
    }

    fn history(&self, march: March, end: End) -> History {
        let state = march.state;
        let layer = &state.t[self.settings().wall_cells..];
        History {
            moments: march.moments,
            end,
            hottest: layer.iter().copied().fold(0.0, f64::max),
            floor_hottest: march.floor_hottest,
            mean: mean(layer),
            wall_minus_centre: self.inner_wall(&state) - layer[layer.len() / 2],
            ledger: Ledger {
                stored_last: self.stored(&state),
                ..march.ledger
            },
            samples: march.samples,
            steps: march.steps,
            iterations: march.iterations,
            state,
        }
    }

    /// Mean temperature of the layer, K.
    fn layer_mean(&self, state: &State) -> f64 {
        mean(&state.t[self.settings().wall_cells..])
    }

    fn sample(&self, state: &State, heat: f64) -> Sample {
        let layer = &state.t[self.settings().wall_cells..];
        let escaped = state.left.iter().map(|left| left.escaped);
        Sample {
            time: state.time,
            floor: layer[0],
            middle: layer[layer.len() / 2],
            surface: layer[layer.len() - 1],
            hottest: layer.iter().copied().fold(0.0, f64::max),
            water: mean(&state.w),
            fuel_lost: escaped.sum::<f64>() / state.left.len() as f64,
            nitrate: mean(&state.nitrate),
            heat,
        }
    }

    /// Local error of a step over the tolerance, from the difference to the straight-line
    /// prediction: backward Euler's own error is dt/(dt + previous) of it.
    fn error(
        &self,
        old: &State,
        new: &State,
        dt: f64,
        slopes: &[f64],
        before: Option<(f64, f64)>,
    ) -> f64 {
        let tolerance = self.settings().tolerance;
        let Some((water_slope, previous)) = before else {
            let largest = new
                .t
                .iter()
                .zip(&old.t)
                .map(|(a, b)| (a - b).abs())
                .fold(0.0, f64::max);
            return 0.25 * largest / tolerance;
        };
        let share = dt / (dt + previous);
        let largest = (0..new.t.len())
            .map(|i| (new.t[i] - old.t[i] - slopes[i] * dt).abs())
            .fold(0.0, f64::max);
        let water = (mean(&new.w) - mean(&old.w) - water_slope * dt).abs();
        let water_scale = 0.01 * tolerance * mean(&old.w).max(1e-3);
        let relevant = if new.w.len() == 1 {
            water / water_scale
        } else {
            0.0
        };
        share * (largest / tolerance).max(relevant)
    }

    /// Whether the stirred liquid set in this step.
    fn sets(&self, old: &State, new: &State) -> bool {
        let set = self.set_water();
        old.w.len() == 1 && self.settings().cells > 1 && old.w[0] > set && new.w[0] <= set
    }

    /// Whether a step shows a thermal runaway: the reaction alone heats the cell fast, and of the
    /// heat that counts as fast most stays in it. What more there is may go elsewhere, as into a
    /// fuel that decomposes faster and faster.
    fn ignites(&self, trial: &Trial) -> bool {
        let Settings {
            runaway_rate,
            kept_share,
            ..
        } = *self.settings();
        trial.self_heating.0 >= runaway_rate && trial.net_rate >= kept_share * runaway_rate
    }

    /// Whether the reaction gives more heat than the heating way, or one part of the layer heats
    /// itself at a fifth of the rate that counts as runaway.
    fn heats_itself(&self, trial: &Trial) -> bool {
        let l = &trial.ledger;
        let supplied = l.bottom.max(0.0) + l.top.max(0.0) + l.microwave;
        let rate = trial.self_heating.0;
        // A magnetron that is off supplies nothing: the reaction has to be worth noting besides.
        (l.reaction > supplied && rate > NOTICEABLE) || rate > 0.2 * self.settings().runaway_rate
    }

    /// Shortens a step by bisection until it just reaches the event.
    fn locate(
        &self,
        old: &State,
        mut found: Trial,
        length: f64,
        work: &mut Work,
        happened: impl Fn(&Trial) -> bool,
    ) -> (Trial, usize) {
        let (mut low, mut high) = (0.0, length);
        let mut steps = 0;
        while high - low > self.settings().placed * length {
            let middle = 0.5 * (low + high);
            steps += 1;
            match self.step(old, middle, work) {
                Some(trial) if happened(&trial) => {
                    found = trial;
                    high = middle;
                }
                _ => low = middle,
            }
        }
        (found, steps)
    }

    /// Notes what happened within an accepted step, at times interpolated in it.
    fn note(&self, old: &State, new: &State, rates: &[f64], moments: &mut Vec<Moment>) {
        let walls = self.settings().wall_cells;
        let dt = new.time - old.time;
        let t = self.layer_mean(new);
        // Evaporation lowers the water too: it boils where the temperature sits on the curve.
        let boiling =
            (0..new.w.len()).find(|&i| new.w[i] < old.w[i] && new.t[walls + i] >= new.boils_at[i]);
        if let Some(i) = boiling {
            let missing = old.boils_at[i] - old.t[walls + i];
            let slope = rates.get(walls + i).copied().unwrap_or(0.0);
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
        let (w0, w1) = (mean(&old.w), mean(&new.w));
        if let Some(time) = crossing(w0, w1, hydrate) {
            push(moments, Mark::SolventGone, time, t);
        }
        let least = |w: &[f64]| w.iter().copied().fold(f64::INFINITY, f64::min);
        let dry = if hydrate > 0.0 { 0.1 * hydrate } else { 0.01 };
        if let Some(time) = crossing(least(&old.w), least(&new.w), dry) {
            push(moments, Mark::PartlyDry, time, t);
        }
    }
}

/// Adds a mark once.
fn push(moments: &mut Vec<Moment>, mark: Mark, time: f64, temperature: f64) {
    if moments.iter().all(|m| m.mark != mark) {
        moments.push(Moment {
            mark,
            time,
            temperature,
        });
    }
}

fn add(total: &mut Ledger, step: &Ledger) {
    total.bottom += step.bottom;
    total.top += step.top;
    total.microwave += step.microwave;
    total.reaction += step.reaction;
    total.steam += step.steam;
    total.gas += step.gas;
    total.fuel_loss += step.fuel_loss;
    total.nitrate_loss += step.nitrate_loss;
    total.turnover += step.bottom.abs()
        + step.top.abs()
        + step.microwave
        + step.reaction
        + step.steam
        + step.gas
        + step.fuel_loss.abs()
        + step.nitrate_loss;
}
