//! What flows between neighbours and into the layer, halfway through the step as it is foretold.

use super::work::Profile;
use crate::ignition::cells::mean;
use crate::ignition::charge::Face;
use crate::ignition::microwave::lambert_shares;
use crate::ignition::slab::{Slab, State};

/// How a face takes up heat over a step.
pub(super) struct Entrance {
    /// Temperature of its source, K.
    pub(super) source: f64,
    /// Exchange coefficient between the source and the middle of the cell at the face, W/(m² K).
    pub(super) exchange: f64,
    /// Flux into that cell that does not depend on its temperature, W/m².
    pub(super) flux: f64,
}

impl Entrance {
    /// Through `face`, `grown` times as large, into a cell whose middle is at `cell` (K) behind
    /// the `resistance` (m² K/W); `imposed` (W/m²) is absorbed at the face. Radiation goes by the
    /// temperature of the face, which is nearer to that of the source than the cell is.
    fn new(face: &Face, grown: f64, source: f64, cell: f64, resistance: f64, imposed: f64) -> Self {
        let transfer = |at: f64| grown * face.total_transfer(source, at);
        let passing = |transfer: f64| 1.0 / (1.0 + transfer * resistance);
        let first = transfer(cell);
        let rise = resistance * passing(first) * (first * (source - cell) + imposed);
        let transfer = transfer(cell + rise);
        Self {
            source,
            exchange: transfer * passing(transfer),
            flux: imposed * passing(transfer),
        }
    }
}

impl Slab<'_> {
    /// Absorbed microwave power per area of each layer cell, W/m².
    pub(super) fn sources(&self, state: &Profile, time: f64, out: &mut Vec<f64>) {
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
        let mean_water = mean(self.shares(n), state.w.iter().copied());
        let water = mean_water * self.charge.dry_mass / self.charge.water.density;
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

    fn cell_depth(&self, state: &Profile, i: usize) -> f64 {
        let mass = self.charge.areal_mass() * self.shares(state.w.len())[i];
        mass * (1.0 / self.charge.gel.density + state.w[i] / self.charge.water.density)
    }

    fn conductivity(&self, w: f64) -> f64 {
        let gel = &self.charge.gel;
        let wet = (w / gel.set_water.max(1e-3)).min(1.0);
        gel.thermal_conductivity + (gel.syrup_conductivity - gel.thermal_conductivity) * wet
    }

    /// Exchange coefficients between neighbours (W/(m² K)), with those of both faces at the ends,
    /// and how these take up heat: below, above.
    pub(super) fn exchange(
        &self,
        state: &Profile,
        stirred: bool,
        time: f64,
        out: &mut Vec<f64>,
    ) -> [Entrance; 2] {
        let walls = self.settings.wall_cells;
        let n = state.w.len();
        let half_wall = 0.5 * self.wall.thickness / walls as f64 / self.wall.thermal_conductivity;
        let half = |i: usize| {
            if stirred {
                0.0
            } else {
                0.5 * self.cell_depth(state, i) / self.conductivity(state.w[i])
            }
        };
        let (bottom, top) = (&self.heater.bottom, &self.heater.top);
        let [grown_below, grown_above] = self.grown(state);
        let below = Entrance::new(
            bottom,
            grown_below,
            bottom.source_at(time),
            state.t[0],
            half_wall,
            bottom.imposed_flux,
        );
        let above = Entrance::new(
            top,
            grown_above,
            top.source_at(time),
            state.t[walls + n - 1],
            half(n - 1),
            grown_above * top.imposed_flux,
        );
        out.clear();
        out.push(below.exchange);
        out.resize(walls, 0.5 / half_wall);
        let mut beneath = half(0);
        out.push(1.0 / (half_wall + 1.0 / self.wall.boiling_transfer + beneath));
        for i in 1..n {
            let own = half(i);
            out.push(1.0 / (beneath + own));
            beneath = own;
        }
        out.push(above.exchange);
        [below, above]
    }

    /// Growth of both faces with the froth, at the mean water.
    pub(super) fn grown(&self, state: &Profile) -> [f64; 2] {
        let water = mean(self.shares(state.w.len()), state.w.iter().copied());
        self.heater.growth.at(self.charge.boiled(water))
    }

    /// Whether the layer is one stirred liquid.
    pub(super) fn is_stirred(&self, state: &State) -> bool {
        match &state.cells[..] {
            [liquid] => self.settings.stirred && liquid.w > self.charge.gel.set_water,
            _ => false,
        }
    }
}
