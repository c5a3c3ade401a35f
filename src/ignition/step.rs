//! One implicit step of the layer model: Newton's method on the tridiagonal system of the cells'
//! balances. Equations: [`super::slab`].

mod cell;
mod exchange;
mod work;

use super::slab::{Ledger, Slab, State};
use crate::quantity::REFERENCE_TEMPERATURE;
use cell::{CellStep, Evaporated, LARGEST_CHANGE};
pub(super) use work::Work;

/// Iterations after which a step is given up and shortened.
const ITERATIONS: usize = 25;

/// A step that was solved and may still be thrown away.
pub(super) struct Trial {
    pub(super) state: State,
    pub(super) ledger: Ledger,
    pub(super) iterations: usize,
    /// Largest self-heating rate (K/s) over the layer and the cell it is in.
    pub(super) self_heating: (f64, usize),
    /// Net rate of that cell, K/s.
    pub(super) net_rate: f64,
}

/// What drives the outer faces over a step.
struct Drive {
    /// Temperatures of the sources, K.
    below: f64,
    above: f64,
    /// Flux into the floor that does not depend on its temperature, W/m², and into the surface.
    imposed: f64,
    imposed_above: f64,
    /// Heat capacity of a cell of the floor, J/(m² K).
    wall_cell: f64,
}

impl Slab<'_> {
    /// Solves one backward-Euler step of length `dt`; `None` if Newton's method does not settle.
    pub(super) fn step(&self, old: &State, dt: f64, work: &mut Work) -> Option<Trial> {
        let walls = self.settings.wall_cells;
        let n = old.w.len();
        let drive = self.drive(old, dt, work);
        let evaporated = self.evaporated(old, dt);
        let (base, evaporation, steam) = match &evaporated {
            Some(Evaporated { base, heat, steam }) => (base, *heat, *steam),
            None => (old, 0.0, 0.0),
        };
        let mut new = base.clone();
        new.time = old.time + dt;
        for (t, rate) in new.t.iter_mut().zip(&work.rates) {
            *t += rate * dt;
        }
        self.lose(old, &mut new, dt, work);
        work.resize(walls + n);
        let step = CellStep {
            slab: self,
            base,
            old,
            dt,
            mass: self.charge.areal_mass() / n as f64,
            evaporation,
            steam,
            gel: !self.is_stirred(old),
        };
        step.prepare(work);
        let iterations = (1..=ITERATIONS).find_map(|iteration| {
            self.assemble(&step, &drive, &mut new, work);
            work.solve(dt);
            match self.correct(&step, &mut new, work) {
                Some(largest) if largest >= self.settings.settled => None,
                Some(_) => Some(Some(iteration)),
                None => Some(None),
            }
        })??;
        Some(self.settle(&step, &drive, new, iterations, work))
    }

    fn drive(&self, old: &State, dt: f64, work: &mut Work) -> Drive {
        let walls = self.settings.wall_cells;
        let (below, above) = self.exchange(old, old.time + dt, &mut work.exchange);
        self.sources(old, old.time + 0.5 * dt, &mut work.source);
        // A source at its power limit gives a fixed flux instead of a coefficient.
        let mut imposed = self.heater.bottom.imposed_flux;
        let limit = self.heater.bottom.largest_flux;
        if work.exchange[0] * (below - old.t[0]) > limit {
            work.exchange[0] = 0.0;
            imposed += limit;
        }
        Drive {
            below,
            above,
            imposed,
            imposed_above: self.grown(old)[1] * self.heater.top.imposed_flux,
            wall_cell: self.wall.thickness / walls as f64 * self.wall.volumetric_heat_capacity,
        }
    }

    /// Residuals and diagonal of the cells' balances at the temperatures of `new`.
    fn assemble(&self, step: &CellStep<'_>, drive: &Drive, new: &mut State, work: &mut Work) {
        let walls = self.settings.wall_cells;
        let (total, dt) = (new.t.len(), step.dt);
        for i in 0..total {
            let t = new.t[i];
            let (energy, capacity) = if i < walls {
                (drive.wall_cell * (t - step.old.t[i]), drive.wall_cell)
            } else {
                step.energy(new, i - walls, t, work)
            };
            let (g_below, g_above) = (work.exchange[i], work.exchange[i + 1]);
            let t_below = if i == 0 { drive.below } else { new.t[i - 1] };
            let t_above = if i + 1 == total {
                drive.above
            } else {
                new.t[i + 1]
            };
            let mut source = if i < walls {
                0.0
            } else {
                work.source[i - walls]
            };
            if i == 0 {
                source += drive.imposed;
            }
            if i + 1 == total {
                source += drive.imposed_above;
            }
            work.diagonal[i] = capacity + dt * (g_below + g_above);
            work.residual[i] =
                energy - dt * (g_below * (t_below - t) + g_above * (t_above - t) + source);
        }
    }

    /// Applies the correction; the largest change, or `None` if the step has to be shorter.
    fn correct(&self, step: &CellStep<'_>, new: &mut State, work: &Work) -> Option<f64> {
        let walls = self.settings.wall_cells;
        let mut largest = 0.0_f64;
        for i in 0..new.t.len() {
            let t = new.t[i];
            let mut next = t - work.residual[i];
            if !next.is_finite() {
                return None;
            }
            if i >= walls {
                // Never step across the kink at the boiling point: stop on it.
                let kink = work.kinks[i - walls];
                if (t < kink && next > kink + 1e-9) || (t > kink + 1e-9 && next < kink) {
                    next = if t < kink {
                        kink + 1e-9
                    } else {
                        kink - 1e-12 * kink
                    };
                }
            }
            next = next.clamp(0.5 * t, 2.0 * t);
            largest = largest.max((next - t).abs());
            new.t[i] = next;
            // The step's equation has a second root, the burnt one, across the runaway: a step
            // that long has missed the ignition.
            if i >= walls && (next - step.old.t[i]).abs() > LARGEST_CHANGE {
                return None;
            }
        }
        Some(largest)
    }

    /// Settles water, extent and the books at the final temperatures.
    fn settle(
        &self,
        step: &CellStep<'_>,
        drive: &Drive,
        mut new: State,
        iterations: usize,
        work: &Work,
    ) -> Trial {
        let walls = self.settings.wall_cells;
        let (charge, old, base) = (self.charge, step.old, step.base);
        let (r, dt, mass) = (&charge.reaction, step.dt, step.mass);
        let mut ledger = Ledger::default();
        let mut hottest = (0.0, 0);
        for i in 0..new.w.len() {
            let t = new.t[walls + i];
            step.energy(&mut new, i, t, work);
            if new.w[i] < base.w[i] && new.boils_at[i] <= base.boils_at[i] {
                new.boils_at[i] = self.drying.boiling_temperature(new.w[i]);
            }
            let burnt = new.xi[i] - old.xi[i];
            let released = old.left[i].reaction_heat * burnt;
            ledger.reaction += mass * released;
            ledger.gas +=
                mass * r.gas_fraction * burnt * r.gas_heat_capacity * (t - REFERENCE_TEMPERATURE);
            let boiled = base.w[i] - new.w[i];
            ledger.steam += mass * (boiled * charge.water.vapour_enthalpy(t) + step.steam);
            ledger.fuel_loss += mass * work.fuel_heat[i];
            ledger.nitrate_loss += mass * work.nitrate_heat[i];
            ledger.microwave += dt * work.source[i];
            let capacity =
                self.dry_capacity(old.xi[i]) + old.w[i] * charge.water.liquid_heat_capacity;
            let rate = released / (capacity * dt);
            if rate > hottest.0 {
                hottest = (rate, i);
            }
        }
        let last = new.t.len() - 1;
        ledger.bottom = dt * (work.exchange[0] * (drive.below - new.t[0]) + drive.imposed);
        ledger.top =
            dt * (work.exchange[last + 1] * (drive.above - new.t[last]) + drive.imposed_above);
        let cell = walls + hottest.1;
        let net_rate = (new.t[cell] - old.t[cell]) / dt;
        Trial {
            state: new,
            ledger,
            iterations,
            self_heating: hottest,
            net_rate,
        }
    }
}
