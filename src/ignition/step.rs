//! One implicit step of the layer model: exchange coefficients, sources, the balance of a cell,
//! Newton's method on the tridiagonal system. Equations: [`super::slab`].

use super::microwave::lambert_shares;
use super::slab::{Ledger, Slab, State};
use crate::quantity::{GAS_CONSTANT, REFERENCE_TEMPERATURE};

/// Largest change of temperature in a step, K: far above what the error control lets pass.
const LARGEST_CHANGE: f64 = 80.0;

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

impl Slab<'_> {
    /// Absorbed microwave power per area of each layer cell (W/m²), at the old state.
    fn sources(&self, state: &State, time: f64, out: &mut Vec<f64>) {
        let n = state.w.len();
        out.clear();
        out.resize(n, 0.0);
        let Some(oven) = &self.heater.oven else {
            return;
        };
        let power = oven.power_at(time);
        if power <= 0.0 {
            return;
        }
        let walls = self.settings.wall_cells;
        let mass = self.charge.dry_mass / n as f64;
        let water: f64 = state
            .w
            .iter()
            .map(|w| w * mass / self.charge.water.density)
            .sum();
        let gel = self.charge.dry_mass / self.charge.gel.density.max(1000.0) * oven.gel_load;
        let absorbed = power * oven.load_share(water + gel) / self.charge.area;
        let optical: Vec<f64> = (0..n)
            .map(|i| {
                let y = 1.0 / (1.0 + state.w[i]);
                self.cell_depth(state, i) / oven.dielectric.penetration_depth(y, state.t[walls + i])
            })
            .collect();
        lambert_shares(&optical, oven.top_share, out);
        out.iter_mut().for_each(|s| *s *= absorbed);
    }

    fn cell_depth(&self, state: &State, i: usize) -> f64 {
        let mass = self.charge.areal_mass() / state.w.len() as f64;
        mass * (1.0 / self.charge.gel.density + state.w[i] / self.charge.water.density)
    }

    fn conductivity(&self, w: f64) -> f64 {
        let gel = &self.charge.gel;
        let wet = (w / gel.set_water.max(1e-3)).min(1.0);
        gel.thermal_conductivity + (gel.syrup_conductivity - gel.thermal_conductivity) * wet
    }

    /// Exchange coefficients between neighbours (W/(m² K)): below cell 0, between, above the last.
    fn exchange(&self, state: &State, time: f64, out: &mut Vec<f64>) -> (f64, f64) {
        let walls = self.settings.wall_cells;
        let n = state.w.len();
        let half_wall = 0.5 * self.wall.thickness / walls as f64 / self.wall.thermal_conductivity;
        let source_below = self.heater.bottom.source_at(time);
        let source_above = self.heater.top.source_at(time);
        out.clear();
        let below = self.heater.bottom.total_transfer(source_below, state.t[0]);
        out.push(if below > 0.0 {
            1.0 / (1.0 / below + half_wall)
        } else {
            0.0
        });
        for _ in 1..walls {
            out.push(0.5 / half_wall);
        }
        let stirred = self.is_stirred(state);
        let half = |i: usize| {
            if stirred {
                0.0
            } else {
                0.5 * self.cell_depth(state, i) / self.conductivity(state.w[i])
            }
        };
        out.push(1.0 / (half_wall + 1.0 / self.wall.boiling_transfer + half(0)));
        for i in 1..n {
            out.push(1.0 / (half(i - 1) + half(i)));
        }
        let above = self
            .heater
            .top
            .total_transfer(source_above, state.t[walls + n - 1]);
        out.push(if above > 0.0 {
            1.0 / (1.0 / above + half(n - 1))
        } else {
            0.0
        });
        (source_below, source_above)
    }

    /// Solves one backward-Euler step of length `dt`; `None` if Newton's method does not settle.
    pub(super) fn step(&self, old: &State, dt: f64, work: &mut Work) -> Option<Trial> {
        let walls = self.settings.wall_cells;
        let n = old.w.len();
        let time = old.time + dt;
        let (below, above) = self.exchange(old, time, &mut work.exchange);
        self.sources(old, old.time + 0.5 * dt, &mut work.source);
        let bottom_limit = self.heater.bottom.largest_flux;
        // A source at its power limit gives a fixed flux instead of a coefficient.
        let unlimited = work.exchange[0] * (below - old.t[0]);
        let mut imposed = self.heater.bottom.imposed_flux;
        if unlimited > bottom_limit {
            work.exchange[0] = 0.0;
            imposed += bottom_limit;
        }
        let wall_cell = self.wall.thickness / walls as f64 * self.wall.volumetric_heat_capacity;
        let mass = self.charge.areal_mass() / n as f64;
        let r = &self.charge.reaction;

        let evaporated = self.evaporated(old, dt);
        let (base, evaporation, evaporated_steam) = match &evaporated {
            Some((base, heat, steam)) => (base, *heat, *steam),
            None => (old, 0.0, 0.0),
        };
        let mut new = base.clone();
        new.time = time;
        work.lost_heat.clear();
        for i in 0..n {
            let mut heat = 0.0;
            if let Some(loss) = &self.charge.fuel_loss {
                let k = loss.rate(old.t[walls + i]) * (1.0 - old.xi[i]);
                if k > 0.0 {
                    new.lost[i] = 1.0 - (1.0 - old.lost[i]) * (-k * dt).exp();
                    heat = loss.mass_share
                        * loss.escape_share
                        * loss.heat
                        * (new.lost[i] - old.lost[i]);
                }
            }
            work.lost_heat.push(heat);
        }
        let total = walls + n;
        work.resize(total);
        let mut iterations = 0;
        loop {
            iterations += 1;
            if iterations > 25 {
                return None;
            }
            for i in 0..total {
                let t = new.t[i];
                let (energy, capacity) = if i < walls {
                    (wall_cell * (t - old.t[i]), wall_cell)
                } else {
                    let lost = work.lost_heat[i - walls] + evaporation;
                    self.cell(base, &mut new, i - walls, t, dt, mass, lost)
                };
                let (g_below, g_above) = (work.exchange[i], work.exchange[i + 1]);
                let t_below = if i == 0 { below } else { new.t[i - 1] };
                let t_above = if i + 1 == total { above } else { new.t[i + 1] };
                let mut source = if i < walls {
                    0.0
                } else {
                    work.source[i - walls]
                };
                if i == 0 {
                    source += imposed;
                }
                if i + 1 == total {
                    source += self.heater.top.imposed_flux;
                }
                work.diagonal[i] = capacity + dt * (g_below + g_above);
                work.residual[i] =
                    energy - dt * (g_below * (t_below - t) + g_above * (t_above - t) + source);
            }
            let mut largest = 0.0_f64;
            work.solve(dt);
            for i in 0..total {
                let mut next = new.t[i] - work.residual[i];
                if !next.is_finite() {
                    return None;
                }
                if i >= walls {
                    // Never step across the kink at the boiling point: stop on it.
                    let kink = base.boils_at[i - walls];
                    let t = new.t[i];
                    if (t < kink && next > kink + 1e-9) || (t > kink + 1e-9 && next < kink) {
                        next = if t < kink {
                            kink + 1e-9
                        } else {
                            kink - 1e-12 * kink
                        };
                    }
                }
                next = next.clamp(0.5 * new.t[i], 2.0 * new.t[i]);
                largest = largest.max((next - new.t[i]).abs());
                new.t[i] = next;
                // The step's equation has a second root, the burnt one, across the runaway: a
                // step that long has missed the ignition.
                if i >= walls && (next - old.t[i]).abs() > LARGEST_CHANGE {
                    return None;
                }
            }
            if largest < 1e-7 {
                break;
            }
        }
        // Settle water, extent and the books at the final temperatures.
        let mut ledger = Ledger::default();
        let mut hottest = (0.0, 0);
        for i in 0..n {
            let t = new.t[walls + i];
            let lost = work.lost_heat[i] + evaporation;
            self.cell(base, &mut new, i, t, dt, mass, lost);
            let burnt = new.xi[i] - old.xi[i];
            let released = r.heat * self.charge.heat_share(old.lost[i]) * burnt;
            ledger.reaction += mass * released;
            ledger.gas +=
                mass * r.gas_fraction * burnt * r.gas_heat_capacity * (t - REFERENCE_TEMPERATURE);
            let boiled = base.w[i] - new.w[i];
            ledger.steam +=
                mass * (boiled * self.charge.water.vapour_enthalpy(t) + evaporated_steam);
            ledger.fuel_loss += mass * work.lost_heat[i];
            ledger.microwave += dt * work.source[i];
            let capacity =
                self.dry_capacity(old.xi[i]) + old.w[i] * self.charge.water.liquid_heat_capacity;
            let rate = released / (capacity * dt);
            if rate > hottest.0 {
                hottest = (rate, i);
            }
        }
        let last = total - 1;
        ledger.bottom = dt * (work.exchange[0] * (below - new.t[0]) + imposed);
        ledger.top =
            dt * (work.exchange[total] * (above - new.t[last]) + self.heater.top.imposed_flux);
        let cell = walls + hottest.1;
        let net_rate = (new.t[cell] - old.t[cell]) / dt;
        Some(Trial {
            state: new,
            ledger,
            iterations,
            self_heating: hottest,
            net_rate,
        })
    }

    /// The state after evaporation from the free surface of the stirred liquid at the old
    /// temperature, with the heat it takes and the enthalpy of its steam, both per kg dry mass;
    /// `None` if nothing evaporates. A set gel is taken not to evaporate below its boiling point.
    fn evaporated(&self, old: &State, dt: f64) -> Option<(State, f64, f64)> {
        if !self.is_stirred(old) {
            return None;
        }
        let t = old.t[self.settings.wall_cells];
        let water = &self.charge.water;
        let activity = self.curve.pressure / water.saturation_pressure(old.boils_at[0]);
        let flux = self
            .heater
            .evaporation_flux(activity * water.saturation_pressure(t));
        if flux <= 0.0 {
            return None;
        }
        let leaving = flux * dt / (water.latent_heat_at(t) * self.charge.areal_mass());
        // Leave the crossing into the set gel to boiling or to a later, shorter step.
        let w = (old.w[0] - leaving).max(0.5 * self.charge.gel.set_water);
        let leaving = old.w[0] - w;
        let mut base = old.clone();
        base.w[0] = w;
        base.boils_at[0] = self.curve.boiling_temperature_near(w, old.boils_at[0]);
        base.binding[0] = self.curve.at(base.boils_at[0]).map_or(0.0, |p| p.binding);
        let steam = leaving * water.vapour_enthalpy(t);
        let xi = old.xi[0];
        let heat = self.enthalpy(t, w, xi, base.binding[0])
            - self.enthalpy(t, old.w[0], xi, old.binding[0])
            + steam;
        Some((base, heat, steam))
    }

    /// Whether the layer is one stirred liquid.
    fn is_stirred(&self, state: &State) -> bool {
        state.w.len() == 1 && self.settings.stirred && state.w[0] > self.charge.gel.set_water
    }

    /// Energy that cell `i` has taken up since the old state if it is at `t` (J/m²), and its
    /// derivative; sets water, extent and binding of the new state.
    #[allow(clippy::too_many_arguments)]
    fn cell(
        &self,
        old: &State,
        new: &mut State,
        i: usize,
        t: f64,
        dt: f64,
        mass: f64,
        lost_heat: f64,
    ) -> (f64, f64) {
        let charge = self.charge;
        let r = &charge.reaction;
        let water = &charge.water;
        let (w0, xi0, b0) = (old.w[i], old.xi[i], old.binding[i]);
        let theta = t - REFERENCE_TEMPERATURE;
        // Water: on the boiling curve where it boils, else unchanged.
        let (mut w, mut w_slope, mut b, mut b_slope) = (w0, 0.0, b0, 0.0);
        new.boils_at[i] = old.boils_at[i];
        if t > old.boils_at[i] {
            if let Some(point) = self.curve.at(t) {
                if point.water < w0 {
                    (w, w_slope, b, b_slope) = (
                        point.water,
                        point.water_slope,
                        point.binding,
                        point.binding_slope,
                    );
                    new.boils_at[i] = t;
                }
            }
        }
        // Extent of reaction, backward Euler.
        let exponent = r.activation_energy / (GAS_CONSTANT * t);
        let (mut xi, mut xi_slope) = (xi0, 0.0);
        if exponent < 90.0 && xi0 < 1.0 {
            let kdt = r.pre_exponential * (-exponent).exp() * dt;
            if kdt > 1e-15 {
                xi = (xi0 + kdt) / (1.0 + kdt);
                xi_slope = kdt * exponent / t * (1.0 - xi0) / ((1.0 + kdt) * (1.0 + kdt));
            }
        }
        new.w[i] = w;
        new.xi[i] = xi;
        new.binding[i] = b;
        let old_t = old.t[self.settings.wall_cells + i];
        let before = self.enthalpy(old_t, w0, xi0, b0);
        let c_liquid = water.liquid_heat_capacity;
        let after = self.enthalpy(t, w, xi, b);
        let steam = water.vapour_enthalpy(t);
        let gas = r.gas_fraction * r.gas_heat_capacity;
        let heat = r.heat * charge.heat_share(old.lost[i]);
        let energy =
            after - before + (w0 - w) * steam + (xi - xi0) * (gas * theta - heat) + lost_heat;
        let product = (1.0 - r.gas_fraction) * r.product_heat_capacity;
        let capacity = self.dry_capacity(xi)
            + w * c_liquid
            + (product - charge.dry_heat_capacity) * xi_slope * theta
            + w_slope * (c_liquid * theta - steam)
            - b_slope
            + (w0 - w) * water.vapour_heat_capacity
            + xi_slope * (gas * theta - heat)
            + (xi - xi0) * gas;
        (mass * energy, mass * capacity)
    }
}

/// Arrays reused by every step.
#[derive(Default)]
pub(super) struct Work {
    exchange: Vec<f64>,
    source: Vec<f64>,
    lost_heat: Vec<f64>,
    diagonal: Vec<f64>,
    residual: Vec<f64>,
    upper: Vec<f64>,
}

impl Work {
    fn resize(&mut self, n: usize) {
        self.diagonal.resize(n, 0.0);
        self.residual.resize(n, 0.0);
        self.upper.resize(n, 0.0);
    }

    /// Thomas's algorithm for the Jacobian of the step; `residual` becomes the correction.
    fn solve(&mut self, dt: f64) {
        let n = self.diagonal.len();
        for i in 0..n {
            let lower = if i == 0 { 0.0 } else { -dt * self.exchange[i] };
            let pivot = self.diagonal[i]
                - if i == 0 {
                    0.0
                } else {
                    lower * self.upper[i - 1]
                };
            self.upper[i] = if i + 1 == n {
                0.0
            } else {
                -dt * self.exchange[i + 1] / pivot
            };
            let previous = if i == 0 { 0.0 } else { self.residual[i - 1] };
            self.residual[i] = (self.residual[i] - lower * previous) / pivot;
        }
        for i in (0..n.saturating_sub(1)).rev() {
            self.residual[i] -= self.upper[i] * self.residual[i + 1];
        }
    }
}
