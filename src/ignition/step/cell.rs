//! The balance of one cell over a step, and what changes before it: evaporation and losses.

use super::work::Work;
use crate::ignition::slab::{Slab, State};
use crate::quantity::{GAS_CONSTANT, REFERENCE_TEMPERATURE};

/// Largest change of temperature in a step, K: far above what the error control lets pass.
pub(super) const LARGEST_CHANGE: f64 = 80.0;
/// Distance (K) below the kink at which the curve is looked at too.
const NEAR_KINK: f64 = 0.5;

/// The stirred liquid after evaporation from its surface.
pub(super) struct Evaporated {
    pub(super) base: State,
    /// Heat that it takes, J per kg dry mass.
    pub(super) heat: f64,
    /// Enthalpy of its steam, J per kg dry mass.
    pub(super) steam: f64,
}

/// A step as its cells see it.
pub(super) struct CellStep<'a> {
    pub(super) slab: &'a Slab<'a>,
    /// State before the step, after evaporation.
    pub(super) base: &'a State,
    /// State before the step.
    pub(super) old: &'a State,
    pub(super) dt: f64,
    /// Dry mass of a cell per area, kg/m².
    pub(super) mass: f64,
    /// Heat that evaporation takes, J per kg dry mass.
    pub(super) evaporation: f64,
    /// Enthalpy that its steam carries off, J per kg dry mass.
    pub(super) steam: f64,
    /// Whether it is a gel, which dries, and no stirred liquid.
    pub(super) gel: bool,
}

impl Slab<'_> {
    /// The state after evaporation from the free surface of the stirred liquid at the old
    /// temperature, with the heat it takes and the enthalpy of its steam, both per kg dry mass;
    /// `None` if nothing evaporates. A set gel dries instead.
    pub(super) fn evaporated(&self, old: &State, dt: f64) -> Option<Evaporated> {
        if !self.is_stirred(old) {
            return None;
        }
        let t = old.t[self.settings.wall_cells];
        let water = &self.charge.water;
        let activity = self.curve.pressure / water.saturation_pressure(old.boils_at[0]);
        let [_, grown] = self.grown(old);
        let pressure = activity * water.saturation_pressure(t);
        let flux = grown * self.heater.evaporation_flux(pressure);
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
        Some(Evaporated { base, heat, steam })
    }

    /// Lets fuel and nitrate leave every cell at its old temperature; notes the heat it takes.
    pub(super) fn lose(&self, old: &State, new: &mut State, dt: f64, work: &mut Work) {
        let charge = self.charge;
        let nitrate = &charge.nitrate_loss;
        work.fuel_heat.clear();
        work.nitrate_heat.clear();
        for i in 0..old.w.len() {
            let t = old.t[self.settings.wall_cells + i];
            let unburnt = 1.0 - old.xi[i];
            let fuel = charge.fuel_loss.as_ref();
            let fuel = fuel.map_or(0.0, |l| l.leaving.step(old.lost[i], t, dt, unburnt));
            let salt = nitrate.leaving.step(old.nitrate[i], t, dt, unburnt);
            new.lost[i] = old.lost[i] + fuel;
            new.nitrate[i] = old.nitrate[i] + salt;
            if fuel > 0.0 || salt > 0.0 {
                new.left[i] = charge.left(new.lost[i], new.nitrate[i]);
            }
            work.fuel_heat.push(new.left[i].taken - old.left[i].taken);
            work.nitrate_heat.push(nitrate.heat * salt);
        }
    }
}

/// Water of a cell with its heat of binding, and their slopes with temperature.
struct Held {
    w: f64,
    w_slope: f64,
    b: f64,
    b_slope: f64,
}

impl CellStep<'_> {
    fn dries(&self, i: usize) -> bool {
        self.gel && self.base.w[i] <= self.slab.charge.gel.set_water * (1.0 + 1e-9)
    }

    /// Notes the enthalpy of the cells, and where they start to boil in this step, after drying. A cell too cold to get there
    /// in a step keeps the boiling point from before, which is lower.
    pub(super) fn prepare(&self, work: &mut Work) {
        work.kinks.clear();
        work.before.clear();
        let walls = self.slab.settings.wall_cells;
        let base = self.base;
        for (i, &boils) in base.boils_at.iter().enumerate() {
            let (t, w, xi) = (base.t[walls + i], base.w[i], base.xi[i]);
            work.before
                .push(self.slab.enthalpy(t, w, xi, base.binding[i]));
            let in_reach = self.old.t[walls + i] + LARGEST_CHANGE + NEAR_KINK > boils;
            work.kinks.push(if in_reach && self.dries(i) {
                let kdt = self.slab.charge.drying.rate(boils) * self.dt;
                let dried = self.base.w[i] / (1.0 + kdt);
                self.slab.drying.exact_boiling_temperature(dried)
            } else {
                boils
            });
        }
    }

    /// Water that cell `i` holds at `t`: on the boiling curve where it boils, else what drying
    /// leaves; and whether it boils.
    fn held(&self, i: usize, t: f64, work: &Work) -> (Held, bool) {
        let (w0, b0) = (self.base.w[i], self.base.binding[i]);
        let mut held = Held {
            w: w0,
            w_slope: 0.0,
            b: b0,
            b_slope: 0.0,
        };
        if self.dries(i) {
            let drying = &self.slab.charge.drying;
            let kdt = drying.rate(t) * self.dt;
            held.w = w0 / (1.0 + kdt);
            held.w_slope =
                -held.w * kdt / (1.0 + kdt) * drying.activation_energy / (GAS_CONSTANT * t * t);
            if kdt > 1e-15 {
                let (binding, per_water) = self.slab.drying.binding(held.w);
                (held.b, held.b_slope) = (binding, per_water * held.w_slope);
            }
        }
        // The kink is where the curve is met at the old temperature: a little off at the new one.
        let near = t > work.kinks[i] - NEAR_KINK;
        let Some(point) = near.then(|| self.slab.curve.at(t)).flatten() else {
            return (held, false);
        };
        let boils = point.water < held.w && t > self.base.boils_at[i];
        if boils {
            (held.w, held.b) = (point.water, point.binding);
        }
        // Above the kink the slope of the curve, the greater one, keeps Newton's method from
        // jumping back and forth even where the curve is not met yet.
        if boils || t > work.kinks[i] {
            (held.w_slope, held.b_slope) = (point.water_slope, point.binding_slope);
        }
        (held, boils)
    }

    /// Energy that cell `i` has taken up since the old state if it is at `t` (J/m²), and its
    /// derivative; sets water, extent and binding of the new state.
    pub(super) fn energy(&self, new: &mut State, i: usize, t: f64, work: &Work) -> (f64, f64) {
        let slab = self.slab;
        let charge = slab.charge;
        let r = &charge.reaction;
        let water = &charge.water;
        let (w0, xi0) = (self.base.w[i], self.base.xi[i]);
        let theta = t - REFERENCE_TEMPERATURE;
        let (held, boils) = self.held(i, t, work);
        let Held {
            w,
            w_slope,
            b,
            b_slope,
        } = held;
        new.boils_at[i] = if boils { t } else { self.base.boils_at[i] };
        // Extent of reaction, backward Euler.
        let exponent = r.activation_energy / (GAS_CONSTANT * t);
        let (mut xi, mut xi_slope) = (xi0, 0.0);
        if exponent < 90.0 && xi0 < 1.0 {
            let kdt = r.pre_exponential * (-exponent).exp() * self.dt;
            if kdt > 1e-15 {
                xi = (xi0 + kdt) / (1.0 + kdt);
                xi_slope = kdt * exponent / t * (1.0 - xi0) / ((1.0 + kdt) * (1.0 + kdt));
            }
        }
        new.w[i] = w;
        new.xi[i] = xi;
        new.binding[i] = b;
        let before = work.before[i];
        let after = slab.enthalpy(t, w, xi, b);
        let steam = water.vapour_enthalpy(t);
        let gas = r.gas_fraction * r.gas_heat_capacity;
        let heat = self.old.left[i].reaction_heat;
        let lost = work.fuel_heat[i] + work.nitrate_heat[i] + self.evaporation;
        let energy = after - before + (w0 - w) * steam + (xi - xi0) * (gas * theta - heat) + lost;
        let product = (1.0 - r.gas_fraction) * r.product_heat_capacity;
        let capacity = slab.dry_capacity(xi)
            + w * water.liquid_heat_capacity
            + (product - charge.dry_heat_capacity) * xi_slope * theta
            + w_slope * (water.liquid_heat_capacity * theta - steam)
            - b_slope
            + (w0 - w) * water.vapour_heat_capacity
            + xi_slope * (gas * theta - heat)
            + (xi - xi0) * gas;
        (self.mass * energy, self.mass * capacity)
    }
}
