//! What flows between neighbours and into the layer, at the old state.

use crate::ignition::microwave::lambert_shares;
use crate::ignition::slab::{Slab, State};

impl Slab<'_> {
    /// Absorbed microwave power per area of each layer cell (W/m²), at the old state.
    pub(super) fn sources(&self, state: &State, time: f64, out: &mut Vec<f64>) {
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
    pub(super) fn exchange(&self, state: &State, time: f64, out: &mut Vec<f64>) -> (f64, f64) {
        let walls = self.settings.wall_cells;
        let n = state.w.len();
        let half_wall = 0.5 * self.wall.thickness / walls as f64 / self.wall.thermal_conductivity;
        let source_below = self.heater.bottom.source_at(time);
        let source_above = self.heater.top.source_at(time);
        out.clear();
        let [grown_below, grown_above] = self.grown(state);
        let below = grown_below * self.heater.bottom.total_transfer(source_below, state.t[0]);
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
        let surface = state.t[walls + n - 1];
        let above = grown_above * self.heater.top.total_transfer(source_above, surface);
        out.push(if above > 0.0 {
            1.0 / (1.0 / above + half(n - 1))
        } else {
            0.0
        });
        (source_below, source_above)
    }

    /// Growth of both faces with the froth, at the mean water.
    pub(super) fn grown(&self, state: &State) -> [f64; 2] {
        let water = state.w.iter().sum::<f64>() / state.w.len() as f64;
        self.heater.growth.at(self.charge.boiled(water))
    }

    /// Whether the layer is one stirred liquid.
    pub(super) fn is_stirred(&self, state: &State) -> bool {
        state.w.len() == 1 && self.settings.stirred && state.w[0] > self.charge.gel.set_water
    }
}
