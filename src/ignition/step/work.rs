//! Arrays of a step, and Thomas's algorithm on them.

/// Arrays reused by every step.
#[derive(Default)]
pub(in crate::ignition) struct Work {
    /// Exchange coefficients, W/(m² K): below the first cell, between, above the last.
    pub(super) exchange: Vec<f64>,
    /// Rates of the step before (K/s) of floor and layer, which tell where to start; empty if none.
    pub(in crate::ignition) rates: Vec<f64>,
    /// Absorbed power per area of the layer's cells, W/m².
    pub(super) source: Vec<f64>,
    /// Heat that the loss of fuel takes in the layer's cells, J per kg dry mass.
    pub(super) fuel_heat: Vec<f64>,
    /// Heat that the loss of nitrate takes.
    pub(super) nitrate_heat: Vec<f64>,
    /// Temperature (K) above which the layer's cells boil in this step.
    pub(super) kinks: Vec<f64>,
    /// Enthalpy of the layer's cells before the step, J per kg dry mass.
    pub(super) before: Vec<f64>,
    pub(super) diagonal: Vec<f64>,
    pub(super) residual: Vec<f64>,
    upper: Vec<f64>,
}

impl Work {
    pub(super) fn resize(&mut self, n: usize) {
        self.diagonal.resize(n, 0.0);
        self.residual.resize(n, 0.0);
        self.upper.resize(n, 0.0);
    }

    /// Thomas's algorithm for the Jacobian of the step; `residual` becomes the correction.
    pub(super) fn solve(&mut self, dt: f64) {
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
