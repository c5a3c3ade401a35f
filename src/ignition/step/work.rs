//! Arrays of a step, and Thomas's algorithm on them.

use crate::ignition::slab::State;

/// Arrays reused by every step.
#[derive(Default)]
pub(in crate::ignition) struct Work {
    /// Exchange coefficients, W/(m² K): below the first cell, between, above the last.
    pub(super) exchange: Vec<f64>,
    /// Rates of the step before, which foretell this one; empty if none.
    pub(in crate::ignition) rates: Profile,
    /// What they foretell halfway through the step.
    pub(super) halfway: Profile,
    /// Temperatures of the new state as far as they are known, K: floor and layer.
    pub(super) t: Vec<f64>,
    /// Absorbed power per area of the layer's cells, W/m².
    pub(super) source: Vec<f64>,
    /// Heat that the losses of the layer's cells take.
    pub(super) losses: Vec<Losses>,
    /// Temperature (K) above which the layer's cells boil in this step.
    pub(super) kinks: Vec<f64>,
    /// Enthalpy of the layer's cells before the step, J per kg dry mass.
    pub(super) before: Vec<f64>,
    /// The layer's cells at `t`, less the correction.
    pub(super) balances: Vec<Balance>,
    pub(super) diagonal: Vec<f64>,
    /// What the balances are off by (J/m²), then the correction of `t` (K).
    pub(super) residual: Vec<f64>,
    upper: Vec<f64>,
    /// A state that is no longer needed.
    pub(in crate::ignition) spare: State,
}

/// Temperatures (K) of floor and layer and water (kg per kg dry mass) of the layer, or their rates
/// (1/s).
#[derive(Default)]
pub(in crate::ignition) struct Profile {
    pub(in crate::ignition) t: Vec<f64>,
    pub(in crate::ignition) w: Vec<f64>,
}

impl Profile {
    pub(in crate::ignition) fn clear(&mut self) {
        self.t.clear();
        self.w.clear();
    }
}

/// Heat that losses take in a cell, J per kg dry mass.
pub(super) struct Losses {
    pub(super) fuel: f64,
    pub(super) nitrate: f64,
}

impl Losses {
    pub(super) fn heat(&self) -> f64 {
        self.fuel + self.nitrate
    }
}

/// A quantity at a temperature, with its slope (per K).
#[derive(Clone, Copy, Default)]
pub(super) struct Line {
    pub(super) value: f64,
    pub(super) slope: f64,
}

impl Line {
    pub(super) fn level(value: f64) -> Self {
        Self { value, slope: 0.0 }
    }

    pub(super) fn times(self, factor: f64) -> Self {
        Self {
            value: factor * self.value,
            slope: factor * self.slope,
        }
    }

    /// Its value once the temperature is `by` (K) higher.
    pub(super) fn after(self, by: f64) -> f64 {
        self.value + self.slope * by
    }
}

/// A cell at a temperature of the new state.
#[derive(Clone, Copy, Default)]
pub(super) struct Balance {
    /// Energy that it has taken up since the old state, J/m².
    pub(super) energy: Line,
    /// Water, kg per kg dry mass.
    pub(super) w: Line,
    /// Extent of reaction.
    pub(super) xi: Line,
    /// Heat of binding, J per kg dry mass.
    pub(super) binding: Line,
    pub(super) boils: bool,
}

impl Work {
    /// Foretells the middle and the end of a step of length `dt` from `old`, in a straight line.
    pub(super) fn foretell(&mut self, old: &State, dt: f64) {
        self.halfway.clear();
        self.halfway.t.extend(old.temperatures());
        self.halfway.w.extend(old.cells.iter().map(|cell| cell.w));
        self.t.clone_from(&self.halfway.t);
        let rates = &self.rates;
        for ((half, end), rate) in self.halfway.t.iter_mut().zip(&mut self.t).zip(&rates.t) {
            *half += 0.5 * dt * rate;
            *end += dt * rate;
        }
        for (half, rate) in self.halfway.w.iter_mut().zip(&rates.w) {
            *half = (*half + 0.5 * dt * rate).max(0.0);
        }
    }

    pub(super) fn resize(&mut self, total: usize, layer: usize) {
        self.balances.resize(layer, Balance::default());
        self.diagonal.resize(total, 0.0);
        self.residual.resize(total, 0.0);
        self.upper.resize(total, 0.0);
    }

    /// Thomas's algorithm for the Jacobian of the step; `residual` becomes the correction. `None` where
    /// a pivot is not positive: a hotter cell takes up less there, and what Newton's method would find
    /// is the gel after the runaway or nothing.
    pub(super) fn solve(&mut self, dt: f64) -> Option<()> {
        let n = self.diagonal.len();
        for i in 0..n {
            let lower = if i == 0 { 0.0 } else { -dt * self.exchange[i] };
            let pivot = self.diagonal[i]
                - if i == 0 {
                    0.0
                } else {
                    lower * self.upper[i - 1]
                };
            if pivot <= 0.0 {
                return None;
            }
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
        Some(())
    }
}
