//! The layer as a stack of finite volumes: T(x, t), water, reaction, to ignition or failure.
//!
//! Unknowns per cell: temperature T (K), water w (kg per kg dry mass), extent of reaction ξ,
//! lost share ℓ of the volatile fuel. The cells hold fixed dry mass; the vessel's floor is a few
//! cells without water below them. Enthalpy of a cell per area, over dry matter and liquid water
//! at the reference temperature T0, θ = T − T0:
//!
//!   H = m { [(1 − ξ) c_dry + ξ (1 − g) c_prod] θ + w c_w θ − B }
//!
//! Balance over a step: ΔH + m (w⁰ − w) h_steam(T) + m g (ξ − ξ⁰) c_gas θ + m f q Δℓ
//!   = Δt (flux from below − flux to above + microwave source) + m Q (ξ − ξ⁰),
//! all of it at the new time (backward Euler, order 1), with w on the boiling curve where the
//! cell boils. Exchange coefficients, source profile and fuel loss are taken at the old time,
//! so each step is a tridiagonal system made nonlinear by boiling and reaction only; Newton's
//! method, Thomas's algorithm. Fluxes are shared by neighbours, so energy is kept to the
//! solver's residual, which [`Ledger::imbalance`] measures.
//!
//! While the water exceeds `Gel::set_water` the liquid stirs itself: the layer is then one cell.
//! Left out: evaporation under the boiling point, steam passing cooler cells, side walls.

use super::boiling::BoilingCurve;
use super::charge::{Charge, Heater, Wall};
use super::microwave::lambert_shares;
use crate::quantity::{GAS_CONSTANT, REFERENCE_TEMPERATURE};

/// Settings of the solver and the criteria it looks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Cells through the layer.
    pub cells: usize,
    /// Cells through the vessel's floor.
    pub wall_cells: usize,
    /// Error of temperature allowed in a step, K.
    pub tolerance: f64,
    /// Longest step, s.
    pub longest_step: f64,
    /// Time after which heating is given up, s.
    pub time_limit: f64,
    /// Self-heating rate that counts as runaway, K/s.
    pub runaway_rate: f64,
    /// Share of the self-heating that must stay in the cell for a runaway.
    pub kept_share: f64,
    /// Let the liquid stir itself until the gel sets; without it every cell boils for itself.
    pub stirred: bool,
}

impl Default for Settings {
    /// 80 cells; tolerances of the solver, chosen so that halving them moves the time to
    /// ignition by less than 1 %.
    fn default() -> Self {
        Self {
            cells: 80,
            wall_cells: 4,
            tolerance: 0.3,
            longest_step: 30.0,
            time_limit: 7200.0,
            runaway_rate: 100.0,
            kept_share: 0.5,
            stirred: true,
        }
    }
}

/// Why heating stopped without an answer; every variant is a fault of the input or the solver.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SlabError {
    /// A number that has to be finite and positive is not.
    #[error("{name} of the heat model is {value}: it has to be finite and above zero")]
    NotPositive {
        /// Which number.
        name: &'static str,
        /// Its value in SI units.
        value: f64,
    },
    /// No step, however short, was solved.
    #[error("the heat model stopped at {time_s:.1} s: no solution with a step of {step_s:.1e} s")]
    StepTooShort {
        /// Time reached, s.
        time_s: f64,
        /// The step that did not converge, s.
        step_s: f64,
    },
    /// More steps than any reasonable run needs.
    #[error("the heat model gave up after {steps} steps at {time_s:.1} s")]
    TooManySteps {
        /// Steps taken.
        steps: usize,
        /// Time reached, s.
        time_s: f64,
    },
}

/// Where the energy went, J per m² of layer, from the start.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Ledger {
    /// In through the floor's underside (net).
    pub bottom: f64,
    /// In through the top (net; negative for a loss).
    pub top: f64,
    /// Microwave power absorbed.
    pub microwave: f64,
    /// Released by the reaction.
    pub reaction: f64,
    /// Carried off by steam.
    pub steam: f64,
    /// Carried off by reaction gas.
    pub gas: f64,
    /// Taken by decomposing fuel.
    pub fuel_loss: f64,
    /// Stored in floor and layer at the start.
    pub stored_first: f64,
    /// Stored at the end.
    pub stored_last: f64,
    /// Sum of all amounts without regard to sign: the scale for the imbalance.
    pub turnover: f64,
}

impl Ledger {
    /// What the balance is off by, J/m².
    #[must_use]
    pub fn imbalance(&self) -> f64 {
        self.bottom + self.top + self.microwave + self.reaction
            - self.steam
            - self.gas
            - self.fuel_loss
            - (self.stored_last - self.stored_first)
    }
}

/// The state of floor and layer. Arrays over cells, bottom first; the floor's cells come first
/// in `t` and have no entry in the others.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Time, s.
    pub time: f64,
    /// Temperature, K; `wall_cells + layer cells` long.
    pub t: Vec<f64>,
    /// Water per dry mass, kg/kg.
    pub w: Vec<f64>,
    /// Extent of reaction.
    pub xi: Vec<f64>,
    /// Lost share of the volatile fuel.
    pub lost: Vec<f64>,
    /// Temperature at which the cell's water boils, K.
    pub boils_at: Vec<f64>,
    /// Heat of binding, J per kg dry mass.
    pub binding: Vec<f64>,
}

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

/// The model of one layer on one heating way.
pub struct Slab<'a> {
    charge: &'a Charge,
    wall: &'a Wall,
    heater: &'a Heater,
    settings: Settings,
    curve: BoilingCurve,
}

impl<'a> Slab<'a> {
    /// Checks the numbers and makes the model.
    ///
    /// # Errors
    /// [`SlabError::NotPositive`] names the first number that is not finite and positive.
    pub fn new(charge: &'a Charge, wall: &'a Wall, heater: &'a Heater, settings: Settings) -> Result<Self, SlabError> {
        let checks = [
            ("dry mass", charge.dry_mass),
            ("area", charge.area),
            ("heat capacity of the dry mass", charge.dry_heat_capacity),
            ("water", charge.initial_water()),
            ("gel density", charge.gel.density),
            ("gel conductivity", charge.gel.thermal_conductivity),
            ("syrup conductivity", charge.gel.syrup_conductivity),
            ("start temperature", charge.start_temperature),
            ("pressure", charge.pressure),
            ("binding sites", charge.sorption.ionic_sites + charge.sorption.molecules),
            ("wall thickness", wall.thickness),
            ("wall conductivity", wall.thermal_conductivity),
            ("wall heat capacity", wall.volumetric_heat_capacity),
            ("boiling heat transfer", wall.boiling_transfer),
            ("source temperature below", heater.bottom.source),
            ("source temperature above", heater.top.source),
            ("number of cells", settings.cells as f64),
            ("number of wall cells", settings.wall_cells as f64),
            ("tolerance", settings.tolerance),
            ("longest step", settings.longest_step),
            ("time limit", settings.time_limit),
        ];
        for (name, value) in checks {
            if !(value.is_finite() && value > 0.0) {
                return Err(SlabError::NotPositive { name, value });
            }
        }
        Ok(Self { charge, wall, heater, settings, curve: charge.boiling_curve() })
    }

    pub(super) fn settings(&self) -> &Settings {
        &self.settings
    }

    pub(super) fn workspace(&self) -> Work {
        Work::default()
    }

    /// Water per dry mass at which the gel sets.
    pub(super) fn set_water(&self) -> f64 {
        self.charge.gel.set_water
    }

    pub(super) fn hydrate_ratio(&self) -> f64 {
        self.charge.hydrate_ratio()
    }

    /// Next jump of the heating power after `time`, s.
    pub(super) fn next_switch(&self, time: f64) -> f64 {
        self.heater.oven.as_ref().map_or(f64::INFINITY, |oven| oven.next_switch(time))
    }

    /// Temperature of the inner face of the floor, K.
    pub(super) fn inner_wall(&self, state: &State) -> f64 {
        state.t[self.settings.wall_cells - 1]
    }

    /// The state before heating.
    #[must_use]
    pub fn initial(&self) -> State {
        let w = self.charge.initial_water();
        let stirred = self.settings.stirred && w > self.charge.gel.set_water;
        let n = if stirred { 1 } else { self.settings.cells };
        State {
            time: 0.0,
            t: vec![self.charge.start_temperature; self.settings.wall_cells + n],
            w: vec![w; n],
            xi: vec![0.0; n],
            lost: vec![0.0; n],
            boils_at: vec![self.curve.boiling_temperature(w); n],
            binding: vec![self.curve.binding(w); n],
        }
    }

    /// Splits the one stirred cell into the cells of the set gel.
    pub(super) fn spread(&self, state: &mut State) {
        let n = self.settings.cells;
        let walls = self.settings.wall_cells;
        for list in [&mut state.w, &mut state.xi, &mut state.lost, &mut state.boils_at, &mut state.binding] {
            let value = list[0];
            list.resize(n, value);
        }
        let t = state.t[walls];
        state.t.resize(walls + n, t);
    }

    /// Enthalpy of a layer cell per kilogram of dry mass.
    fn enthalpy(&self, t: f64, w: f64, xi: f64, binding: f64) -> f64 {
        (self.dry_capacity(xi) + w * self.charge.water.liquid_heat_capacity) * (t - REFERENCE_TEMPERATURE) - binding
    }

    fn dry_capacity(&self, xi: f64) -> f64 {
        let r = &self.charge.reaction;
        (1.0 - xi) * self.charge.dry_heat_capacity + xi * (1.0 - r.gas_fraction) * r.product_heat_capacity
    }

    /// Heat stored in floor and layer, J/m².
    pub(super) fn stored(&self, state: &State) -> f64 {
        let walls = self.settings.wall_cells;
        let wall_cell = self.wall.thickness / walls as f64 * self.wall.volumetric_heat_capacity;
        let floor: f64 = state.t[..walls].iter().map(|t| wall_cell * (t - REFERENCE_TEMPERATURE)).sum();
        let mass = self.charge.areal_mass() / state.w.len() as f64;
        let layer: f64 = (0..state.w.len())
            .map(|i| mass * self.enthalpy(state.t[walls + i], state.w[i], state.xi[i], state.binding[i]))
            .sum();
        floor + layer
    }

    /// Absorbed microwave power per area of each layer cell (W/m²), at the old state.
    fn sources(&self, state: &State, time: f64, out: &mut Vec<f64>) {
        let n = state.w.len();
        out.clear();
        out.resize(n, 0.0);
        let Some(oven) = &self.heater.oven else { return };
        let power = oven.power_at(time);
        if power <= 0.0 {
            return;
        }
        let walls = self.settings.wall_cells;
        let mass = self.charge.dry_mass / n as f64;
        let water: f64 = state.w.iter().map(|w| w * mass / self.charge.water.density).sum();
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
        out.push(if below > 0.0 { 1.0 / (1.0 / below + half_wall) } else { 0.0 });
        for _ in 1..walls {
            out.push(0.5 / half_wall);
        }
        let stirred = n == 1 && self.settings.stirred && state.w[0] > self.charge.gel.set_water;
        let half = |i: usize| {
            if stirred { 0.0 } else { 0.5 * self.cell_depth(state, i) / self.conductivity(state.w[i]) }
        };
        out.push(1.0 / (half_wall + 1.0 / self.wall.boiling_transfer + half(0)));
        for i in 1..n {
            out.push(1.0 / (half(i - 1) + half(i)));
        }
        let above = self.heater.top.total_transfer(source_above, state.t[walls + n - 1]);
        out.push(if above > 0.0 { 1.0 / (1.0 / above + half(n - 1)) } else { 0.0 });
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

        let mut new = old.clone();
        new.time = time;
        work.lost_heat.clear();
        for i in 0..n {
            let mut heat = 0.0;
            if let Some(loss) = &self.charge.fuel_loss {
                let k = loss.rate(old.t[walls + i]) * (1.0 - old.xi[i]);
                if k > 0.0 {
                    new.lost[i] = 1.0 - (1.0 - old.lost[i]) * (-k * dt).exp();
                    heat = loss.mass_share * loss.escape_share * loss.heat
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
                    self.cell(old, &mut new, i - walls, t, dt, mass, work.lost_heat[i - walls])
                };
                let (g_below, g_above) = (work.exchange[i], work.exchange[i + 1]);
                let t_below = if i == 0 { below } else { new.t[i - 1] };
                let t_above = if i + 1 == total { above } else { new.t[i + 1] };
                let mut source = if i < walls { 0.0 } else { work.source[i - walls] };
                if i == 0 {
                    source += imposed;
                }
                if i + 1 == total {
                    source += self.heater.top.imposed_flux;
                }
                work.diagonal[i] = capacity + dt * (g_below + g_above);
                work.residual[i] = energy - dt * (g_below * (t_below - t) + g_above * (t_above - t) + source);
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
                    let kink = old.boils_at[i - walls];
                    let t = new.t[i];
                    if (t < kink && next > kink + 1e-9) || (t > kink + 1e-9 && next < kink) {
                        next = if t < kink { kink + 1e-9 } else { kink - 1e-12 * kink };
                    }
                }
                next = next.clamp(0.5 * new.t[i], 2.0 * new.t[i]);
                largest = largest.max((next - new.t[i]).abs());
                new.t[i] = next;
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
            self.cell(old, &mut new, i, t, dt, mass, work.lost_heat[i]);
            let burnt = new.xi[i] - old.xi[i];
            let released = r.heat * self.charge.heat_share(old.lost[i]) * burnt;
            ledger.reaction += mass * released;
            ledger.gas += mass * r.gas_fraction * burnt * r.gas_heat_capacity * (t - REFERENCE_TEMPERATURE);
            ledger.steam += mass * (old.w[i] - new.w[i]) * self.charge.water.vapour_enthalpy(t);
            ledger.fuel_loss += mass * work.lost_heat[i];
            ledger.microwave += dt * work.source[i];
            let capacity = self.dry_capacity(old.xi[i]) + old.w[i] * self.charge.water.liquid_heat_capacity;
            let rate = released / (capacity * dt);
            if rate > hottest.0 {
                hottest = (rate, i);
            }
        }
        let last = total - 1;
        ledger.bottom = dt * (work.exchange[0] * (below - new.t[0]) + imposed);
        ledger.top = dt * (work.exchange[total] * (above - new.t[last]) + self.heater.top.imposed_flux);
        let cell = walls + hottest.1;
        let net_rate = (new.t[cell] - old.t[cell]) / dt;
        Some(Trial { state: new, ledger, iterations, self_heating: hottest, net_rate })
    }

    /// Energy that cell `i` has taken up since the old state if it is at `t` (J/m²), and its
    /// derivative; sets water, extent and binding of the new state.
    #[allow(clippy::too_many_arguments)]
    fn cell(&self, old: &State, new: &mut State, i: usize, t: f64, dt: f64, mass: f64, lost_heat: f64) -> (f64, f64) {
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
                    (w, w_slope, b, b_slope) = (point.water, point.water_slope, point.binding, point.binding_slope);
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
        let energy = after - before + (w0 - w) * steam + (xi - xi0) * (gas * theta - heat) + lost_heat;
        let product = (1.0 - r.gas_fraction) * r.product_heat_capacity;
        let capacity = self.dry_capacity(xi) + w * c_liquid
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
            let pivot = self.diagonal[i] - if i == 0 { 0.0 } else { lower * self.upper[i - 1] };
            self.upper[i] = if i + 1 == n { 0.0 } else { -dt * self.exchange[i + 1] / pivot };
            let previous = if i == 0 { 0.0 } else { self.residual[i - 1] };
            self.residual[i] = (self.residual[i] - lower * previous) / pivot;
        }
        for i in (0..n.saturating_sub(1)).rev() {
            self.residual[i] -= self.upper[i] * self.residual[i + 1];
        }
    }
}
