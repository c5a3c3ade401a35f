//! Marching the layer through time: adaptive steps, the time line.

mod event;

use super::cells::{mean, middle};
use super::slab::{Cell, Ledger, Slab, SlabError, State};
use super::step::{Trial, Work};
use event::push;
pub use event::{Mark, Moment};
use std::mem::replace;

/// Steps after which a run is given up; a usual one takes a few hundred, a day 3000.
const STEP_LIMIT: usize = 60_000;
/// Steps that a jump of the power may take besides.
const STEPS_OF_A_SWITCH: usize = 10;
/// Shortest step tried, s.
const SHORTEST_STEP: f64 = 1.0e-9;
/// First step, and first step after a jump of the heating power, s.
const FIRST_STEP: f64 = 0.02;

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum End {
    /// Thermal runaway.
    Ignites {
        /// Share of the layer below the cell that runs away, up to its middle.
        at: f64,
    },
    /// The gel reacted through without running away.
    BurntOut,
    /// The time limit came first.
    TimeLimit,
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
    /// Shares of the dry mass by its cells.
    pub shares: Vec<f64>,
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

/// A run on its way.
struct March {
    state: State,
    ledger: Ledger,
    moments: Vec<Moment>,
    samples: Vec<Sample>,
    work: Work,
    /// Length of the last step; nothing after a jump.
    before: Option<f64>,
    /// Length to try next, s.
    next: f64,
    floor_hottest: f64,
    steps: usize,
    iterations: usize,
}

impl History {
    /// Mean over the mass of the layer of what each cell of the last state has.
    pub fn mean_of(&self, of: impl Fn(&Cell) -> f64) -> f64 {
        mean(&self.shares, self.state.cells.iter().map(of))
    }
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
        let error = self.error(&march.state, &trial.state, step, march);
        if error > 2.0 && step > 10.0 * SHORTEST_STEP {
            march.next = step * (0.9 / error.sqrt()).clamp(0.15, 0.7);
            return Ok(None);
        }
        Ok(Some((trial, error)))
    }

    /// Goes a solved step, as far as the event in it; gives the end if it is one.
    fn take(&self, march: &mut March, trial: Trial, length: Length, error: f64) -> Option<End> {
        let sets = self.sets(&march.state, &trial.state);
        let ignites = self.runaway(&trial) >= 1.0;
        let trial = if sets || ignites {
            let old = &march.state;
            let (found, more) = if sets {
                let dry = |state: &State| self.set_water() - state.cells[0].w;
                let start = Some(dry(old));
                self.locate(old, start, trial, &mut march.work, |t| dry(&t.state))
            } else {
                let running = |t: &Trial| self.runaway(t).max(1e-3).ln();
                self.locate(old, None, trial, &mut march.work, running)
            };
            march.steps += more;
            found
        } else {
            trial
        };
        let cell = trial.self_heating.1;
        let taken = self.record(march, trial);
        if ignites {
            let at = middle(self.shares(march.state.cells.len()), cell);
            return Some(End::Ignites { at });
        }
        if sets {
            let mean = self.layer_mean(&march.state);
            push(&mut march.moments, Mark::GelSets, march.state.time, mean);
            self.spread(&mut march.state);
            march.start_anew(FIRST_STEP);
            return None;
        }
        if self.mean(&march.state, |cell| cell.xi) > 0.97 {
            return Some(End::BurntOut);
        }
        if length.at_switch {
            march.start_anew(FIRST_STEP.max(0.01 * taken));
        } else {
            march.before = Some(taken);
            march.next = taken * (0.9 / error.max(1e-9).sqrt()).clamp(0.3, 2.0);
        }
        None
    }

    /// Enters a step in the books; gives its length.
    fn record(&self, march: &mut March, trial: Trial) -> f64 {
        let (old, new) = (&march.state, &trial.state);
        let taken = new.time - old.time;
        self.note(old, new, &march.work.rates.t, &mut march.moments);
        if self.heats_itself(&trial) {
            let mean = self.layer_mean(new);
            push(&mut march.moments, Mark::HeatsItself, new.time, mean);
        }
        add(&mut march.ledger, &trial.ledger);
        let rates = &mut march.work.rates;
        rates.clear();
        let change = new.temperatures().zip(old.temperatures());
        rates.t.extend(change.map(|(new, old)| (new - old) / taken));
        let change = new.cells.iter().zip(&old.cells);
        rates
            .w
            .extend(change.map(|(new, old)| (new.w - old.w) / taken));
        march.work.spare = replace(&mut march.state, trial.state);
        let ledger = &march.ledger;
        let taken_up = ledger.bottom + ledger.top + ledger.microwave;
        march.samples.push(self.sample(&march.state, taken_up));
        march.floor_hottest = march
            .floor_hottest
            .max(self.outer_wall(&march.state))
            .max(self.inner_wall(&march.state));
        taken
    }

    fn history(&self, march: March, end: End) -> History {
        let state = march.state;
        let cells = &state.cells;
        History {
            moments: march.moments,
            end,
            hottest: hottest(cells),
            floor_hottest: march.floor_hottest,
            mean: self.layer_mean(&state),
            wall_minus_centre: self.inner_wall(&state) - cells[cells.len() / 2].t,
            ledger: Ledger {
                stored_last: self.stored(&state),
                ..march.ledger
            },
            samples: march.samples,
            steps: march.steps,
            iterations: march.iterations,
            shares: self.shares(state.cells.len()).to_vec(),
            state,
        }
    }

    /// Mean temperature of the layer, K.
    fn layer_mean(&self, state: &State) -> f64 {
        self.mean(state, |cell| cell.t)
    }

    fn sample(&self, state: &State, heat: f64) -> Sample {
        let cells = &state.cells;
        Sample {
            time: state.time,
            floor: cells[0].t,
            middle: cells[cells.len() / 2].t,
            surface: cells[cells.len() - 1].t,
            hottest: hottest(cells),
            water: self.mean(state, |cell| cell.w),
            fuel_lost: self.mean(state, |cell| cell.left.escaped),
            nitrate: self.mean(state, |cell| cell.nitrate),
            heat,
        }
    }

    /// Local error of a step over the tolerance, from the difference to the straight-line
    /// prediction: backward Euler's own error is dt/(dt + previous) of it.
    fn error(&self, old: &State, new: &State, dt: f64, march: &March) -> f64 {
        let tolerance = self.settings().tolerance;
        let largest = |foretold: &dyn Fn(usize) -> f64| {
            let changes = new.temperatures().zip(old.temperatures()).enumerate();
            changes
                .map(|(i, (new, old))| (new - old - foretold(i)).abs())
                .fold(0.0, f64::max)
        };
        let Some(previous) = march.before else {
            return 0.25 * largest(&|_| 0.0) / tolerance;
        };
        let rates = &march.work.rates;
        let heat = largest(&|i| rates.t[i] * dt) / tolerance;
        let water = match (&old.cells[..], &new.cells[..]) {
            ([old], [new]) => {
                let scale = 0.01 * tolerance * old.w.max(1e-3);
                (new.w - old.w - rates.w[0] * dt).abs() / scale
            }
            _ => 0.0,
        };
        dt / (dt + previous) * heat.max(water)
    }
}

/// Hottest temperature of the layer, K.
fn hottest(cells: &[Cell]) -> f64 {
    cells.iter().map(|cell| cell.t).fold(0.0, f64::max)
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
