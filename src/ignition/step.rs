//! One implicit step of the layer model: Newton's method on the tridiagonal system of the cells'
//! balances. Equations: [`super::slab`].

mod cell;
mod exchange;
mod work;

use super::slab::{Ledger, Slab, State};
use crate::quantity::REFERENCE_TEMPERATURE;
use cell::{CellStep, Evaporated, LARGEST_CHANGE};
use exchange::Entrance;
use std::mem::take;
use std::slice::from_ref;
pub(super) use work::Work;

/// Iterations after which a step is given up and shortened.
const ITERATIONS: usize = 25;
/// How much nearer Newton's method has to come in the stirred liquid than in the gel: on its part of
/// the boiling curve a kelvin is much water.
const LIQUID: f64 = 0.1;

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
    below: Entrance,
    above: Entrance,
    /// Heat capacity of a cell of the floor, J/(m² K).
    wall_cell: f64,
}

impl Slab<'_> {
    /// Solves one backward-Euler step of length `dt`; `None` if Newton's method does not settle.
    pub(super) fn step(&self, old: &State, dt: f64, work: &mut Work) -> Option<Trial> {
        let n = old.cells.len();
        work.foretell(old, dt);
        let drive = self.drive(old, dt, work);
        let evaporated = self.evaporated(old, dt, work);
        let (base, evaporation, steam) = match &evaporated {
            Some(Evaporated { base, heat, steam }) => (from_ref(base), *heat, *steam),
            None => (&old.cells[..], 0.0, 0.0),
        };
        let mut new = take(&mut work.spare);
        new.cells.clear();
        new.cells.extend_from_slice(base);
        self.lose(old, &mut new, dt, work);
        work.resize(old.floor.len() + n, n);
        let step = CellStep {
            slab: self,
            base,
            old,
            dt,
            areal_mass: self.charge.areal_mass(),
            shares: self.shares(n),
            evaporation,
            steam,
            gel: !self.is_stirred(old),
        };
        step.prepare(work);
        let settled = if step.gel { 1.0 } else { LIQUID } * self.settings.settled;
        for iterations in 1..=ITERATIONS {
            self.assemble(&step, &drive, work);
            work.solve(dt)?;
            if self.correct(&step, work)? < settled {
                return Some(self.settle(&step, &drive, new, iterations, work));
            }
        }
        None
    }

    fn drive(&self, old: &State, dt: f64, work: &mut Work) -> Drive {
        let stirred = self.is_stirred(old);
        let middle = old.time + 0.5 * dt;
        let [mut below, above] = self.exchange(&work.halfway, stirred, middle, &mut work.exchange);
        self.sources(&work.halfway, middle, &mut work.source);
        // A source at its power limit gives a fixed flux instead of a coefficient.
        let limit = self.heater.bottom.largest_flux;
        if below.exchange * (below.source - old.floor[0]) > limit {
            work.exchange[0] = 0.0;
            below.flux += limit;
        }
        let wall_cell = self.wall.thickness / old.floor.len() as f64;
        Drive {
            below,
            above,
            wall_cell: wall_cell * self.wall.volumetric_heat_capacity,
        }
    }

    /// Residuals and diagonal of the cells' balances at the temperatures of `work`.
    fn assemble(&self, step: &CellStep<'_>, drive: &Drive, work: &mut Work) {
        let walls = step.old.floor.len();
        let (total, dt) = (work.t.len(), step.dt);
        for i in 0..total {
            let t = work.t[i];
            let (energy, capacity, mut source) = if i < walls {
                let taken = drive.wall_cell * (t - step.old.floor[i]);
                (taken, drive.wall_cell, 0.0)
            } else {
                let cell = step.balance(i - walls, t, work);
                work.balances[i - walls] = cell;
                (cell.energy.value, cell.energy.slope, work.source[i - walls])
            };
            let (g_below, g_above) = (work.exchange[i], work.exchange[i + 1]);
            let mut t_below = drive.below.source;
            if i == 0 {
                source += drive.below.flux;
            } else {
                t_below = work.t[i - 1];
            }
            let mut t_above = drive.above.source;
            if i + 1 == total {
                source += drive.above.flux;
            } else {
                t_above = work.t[i + 1];
            }
            work.diagonal[i] = capacity + dt * (g_below + g_above);
            work.residual[i] =
                energy - dt * (g_below * (t_below - t) + g_above * (t_above - t) + source);
        }
    }

    /// Applies the correction; the largest change asked for, or `None` if the step has to be shorter.
    fn correct(&self, step: &CellStep<'_>, work: &mut Work) -> Option<f64> {
        let walls = step.old.floor.len();
        let mut largest = 0.0_f64;
        for i in 0..work.t.len() {
            let t = work.t[i];
            largest = largest.max(work.residual[i].abs());
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
                // The step's equation has a second root, the burnt one, across the runaway: a step
                // that long has missed the ignition.
                if (next - step.old.cells[i - walls].t).abs() > LARGEST_CHANGE {
                    return None;
                }
            }
            next = next.clamp(0.5 * t, 2.0 * t);
            work.residual[i] = next - t;
            work.t[i] = next;
        }
        Some(largest)
    }

    /// Settles water, extent and the books at the final temperatures: what the last correction
    /// changes goes by the slopes that the correction was found with.
    fn settle(
        &self,
        step: &CellStep<'_>,
        drive: &Drive,
        mut new: State,
        iterations: usize,
        work: &Work,
    ) -> Trial {
        let (charge, old, dt) = (self.charge, step.old, step.dt);
        let r = &charge.reaction;
        let (floor, layer) = work.t.split_at(old.floor.len());
        new.time = old.time + dt;
        new.floor.clear();
        new.floor.extend_from_slice(floor);
        let corrections = &work.residual[floor.len()..];
        let mut ledger = Ledger::default();
        let mut hottest = (0.0, 0);
        for (i, cell) in new.cells.iter_mut().enumerate() {
            let (old, base) = (&old.cells[i], &step.base[i]);
            let (balance, by) = (&work.balances[i], corrections[i]);
            let t = layer[i];
            cell.t = t;
            // Water only leaves: the slope may tell otherwise by what the correction is off by.
            cell.w = balance.w.after(by).clamp(0.0, base.w);
            cell.xi = balance.xi.after(by);
            cell.binding = balance.binding.after(by);
            if balance.boils {
                cell.boils_at = t;
            } else if cell.w < base.w {
                cell.boils_at = self.drying.boiling_temperature(cell.w);
            }
            let mass = step.mass(i);
            let burnt = cell.xi - old.xi;
            let released = old.left.reaction_heat * burnt;
            ledger.reaction += mass * released;
            ledger.gas +=
                mass * r.gas_fraction * burnt * r.gas_heat_capacity * (t - REFERENCE_TEMPERATURE);
            let boiled = base.w - cell.w;
            ledger.steam += mass * (boiled * charge.water.vapour_enthalpy(t) + step.steam);
            ledger.fuel_loss += mass * work.losses[i].fuel;
            ledger.nitrate_loss += mass * work.losses[i].nitrate;
            ledger.microwave += dt * work.source[i];
            let capacity = self.dry_capacity(old.xi) + old.w * charge.water.liquid_heat_capacity;
            let rate = released / (capacity * dt);
            if rate > hottest.0 {
                hottest = (rate, i);
            }
        }
        let taken_up = |entrance: &Entrance, exchange: f64, t: f64| {
            dt * (exchange * (entrance.source - t) + entrance.flux)
        };
        let last = work.t.len() - 1;
        ledger.bottom = taken_up(&drive.below, work.exchange[0], work.t[0]);
        ledger.top = taken_up(&drive.above, work.exchange[last + 1], work.t[last]);
        let net_rate = (layer[hottest.1] - old.cells[hottest.1].t) / dt;
        Trial {
            state: new,
            ledger,
            iterations,
            self_heating: hottest,
            net_rate,
        }
    }
}
