//! The balance of one cell over a step, and what changes before it: evaporation and losses.

use super::work::{Balance, Line, Losses, Work};
use crate::ignition::slab::{Cell, Slab, State};
use crate::quantity::{GAS_CONSTANT, REFERENCE_TEMPERATURE};

/// Largest change of temperature in a step, K: far above what the error control lets pass.
pub(super) const LARGEST_CHANGE: f64 = 80.0;
/// Distance (K) below the kink at which the curve is looked at too.
const NEAR_KINK: f64 = 0.5;
/// Distance (K) of the temperature that is foretold from the boiling point before, below which a
/// cell may get to its kink.
const KINK_IN_REACH: f64 = 10.0;

/// The stirred liquid after evaporation from its surface.
pub(super) struct Evaporated {
    pub(super) base: Cell,
    /// Heat that it takes, J per kg dry mass.
    pub(super) heat: f64,
    /// Enthalpy of its steam, J per kg dry mass.
    pub(super) steam: f64,
}

/// A step as its cells see it.
pub(super) struct CellStep<'a> {
    pub(super) slab: &'a Slab<'a>,
    /// Cells before the step, after evaporation.
    pub(super) base: &'a [Cell],
    /// State before the step.
    pub(super) old: &'a State,
    pub(super) dt: f64,
    /// Dry mass per area, kg/m², and its shares by cell.
    pub(super) areal_mass: f64,
    pub(super) shares: &'a [f64],
    /// Heat that evaporation takes, J per kg dry mass.
    pub(super) evaporation: f64,
    /// Enthalpy that its steam carries off, J per kg dry mass.
    pub(super) steam: f64,
    /// Whether it is a gel, which dries, and no stirred liquid.
    pub(super) gel: bool,
}

impl Slab<'_> {
    /// The stirred liquid after evaporation from its free surface, with the heat it takes and the
    /// enthalpy of its steam, both per kg dry mass; `None` if nothing evaporates. A set gel dries
    /// instead.
    pub(super) fn evaporated(&self, old: &State, dt: f64, work: &Work) -> Option<Evaporated> {
        if !self.is_stirred(old) {
            return None;
        }
        let cell = old.cells[0];
        let t = work.halfway.t[self.settings.wall_cells];
        let water = &self.charge.water;
        let activity = self.curve.pressure / water.saturation_pressure(cell.boils_at);
        let [_, grown] = self.grown(&work.halfway);
        let pressure = activity * water.saturation_pressure(t);
        let flux = grown * self.heater.evaporation_flux(pressure);
        if flux <= 0.0 {
            return None;
        }
        let leaving = flux * dt / (water.latent_heat_at(t) * self.charge.areal_mass());
        // Leave the crossing into the set gel to boiling or to a later, shorter step.
        let w = (cell.w - leaving).max(0.5 * self.charge.gel.set_water);
        let boils_at = self.curve.boiling_temperature_near(w, cell.boils_at);
        let base = Cell {
            w,
            boils_at,
            binding: self.curve.at(boils_at).map_or(0.0, |p| p.binding),
            ..cell
        };
        let steam = (cell.w - w) * water.vapour_enthalpy(t);
        let heat = self.enthalpy(&base) - self.enthalpy(&cell) + steam;
        Some(Evaporated { base, heat, steam })
    }

    /// Lets fuel and nitrate leave every cell at the temperature foretold for the middle of the
    /// step; notes the heat it takes.
    pub(super) fn lose(&self, old: &State, new: &mut State, dt: f64, work: &mut Work) {
        let charge = self.charge;
        let fuel = charge.fuel_loss.as_ref().map(|loss| &loss.leaving);
        let nitrate = &charge.nitrate_loss;
        let halfway = &work.halfway.t[self.settings.wall_cells..];
        work.losses.clear();
        for ((old, new), &t) in old.cells.iter().zip(&mut new.cells).zip(halfway) {
            let unburnt = 1.0 - old.xi;
            let fuel = fuel.map_or(0.0, |fuel| fuel.step(old.lost, t, dt, unburnt));
            let salt = nitrate.leaving.step(old.nitrate, t, dt, unburnt);
            if fuel > 0.0 || salt > 0.0 {
                new.lost += fuel;
                new.nitrate += salt;
                new.left = charge.left(new.lost, new.nitrate);
            }
            work.losses.push(Losses {
                fuel: new.left.taken - old.left.taken,
                nitrate: nitrate.heat * salt,
            });
        }
    }
}

impl CellStep<'_> {
    /// Dry mass of cell `i` per area, kg/m².
    pub(super) fn mass(&self, i: usize) -> f64 {
        self.areal_mass * self.shares[i]
    }

    fn dries(&self, cell: &Cell) -> bool {
        self.gel && cell.w <= self.slab.charge.gel.set_water * (1.0 + 1e-9)
    }

    /// Notes the enthalpy of the cells, and where they start to boil in this step, after drying. A
    /// cell too cold to get there in a step keeps the boiling point from before, which is lower.
    pub(super) fn prepare(&self, work: &mut Work) {
        work.kinks.clear();
        work.before.clear();
        let foretold = &work.t[self.slab.settings.wall_cells..];
        for (cell, t) in self.base.iter().zip(foretold) {
            work.before.push(self.slab.enthalpy(cell));
            let in_reach = t + KINK_IN_REACH > cell.boils_at;
            work.kinks.push(if in_reach && self.dries(cell) {
                let kept = self.undried(cell.boils_at).value;
                self.slab.drying.boiling_temperature(kept * cell.w)
            } else {
                cell.boils_at
            });
        }
    }

    /// Water that `cell` holds at `t` with its heat of binding: on the boiling curve where it boils,
    /// else what drying leaves; and whether it boils, which it starts to at `kink` (K).
    fn held(&self, cell: &Cell, t: f64, kink: f64) -> (Line, Line, bool) {
        let (mut w, mut binding) = (Line::level(cell.w), Line::level(cell.binding));
        if self.dries(cell) {
            let kept = self.undried(t);
            if kept.value < 1.0 {
                w = kept.times(cell.w);
                let (value, per_water) = self.slab.drying.binding(w.value);
                binding = Line {
                    value,
                    slope: per_water * w.slope,
                };
            }
        }
        // The kink is where the curve is met at the old temperature: a little off at the new one.
        let near = t > kink - NEAR_KINK;
        let Some(point) = near.then(|| self.slab.curve.at(t)).flatten() else {
            return (w, binding, false);
        };
        let boils = point.water < w.value && t > cell.boils_at;
        if boils {
            (w.value, binding.value) = (point.water, point.binding);
        }
        // Above the kink the slope of the curve, the greater one, keeps Newton's method from
        // jumping back and forth even where the curve is not met yet.
        if boils || t > kink {
            (w.slope, binding.slope) = (point.water_slope, point.binding_slope);
        }
        (w, binding, boils)
    }

    /// Share of its water that drying leaves a gel at `t` (K).
    fn undried(&self, t: f64) -> Line {
        let drying = &self.slab.charge.drying;
        self.kept(drying.pre_exponential, drying.activation_energy, t)
    }

    /// Share that a first-order reaction leaves at `t` (K) by the end of the step, backward Euler.
    fn kept(&self, pre_exponential: f64, activation_energy: f64, t: f64) -> Line {
        let exponent = activation_energy / (GAS_CONSTANT * t);
        let kdt = pre_exponential * (-exponent).exp() * self.dt;
        let value = 1.0 / (1.0 + kdt);
        Line {
            value,
            slope: -value * value * kdt * exponent / t,
        }
    }

    /// Cell `i` if it is at `t` (K).
    pub(super) fn balance(&self, i: usize, t: f64, work: &Work) -> Balance {
        let (slab, cell) = (self.slab, &self.base[i]);
        let charge = slab.charge;
        let r = &charge.reaction;
        let water = &charge.water;
        let theta = t - REFERENCE_TEMPERATURE;
        let (w, binding, boils) = self.held(cell, t, work.kinks[i]);
        let kept = self.kept(r.pre_exponential, r.activation_energy, t);
        let unburnt = kept.times(1.0 - cell.xi);
        let xi = Line {
            value: 1.0 - unburnt.value,
            slope: -unburnt.slope,
        };
        let gas = r.gas_fraction * r.gas_heat_capacity;
        let (dried, burnt) = (cell.w - w.value, xi.value - cell.xi);
        let steam = water.vapour_enthalpy(t);
        let burning = gas * theta - self.old.cells[i].left.reaction_heat;
        let holds = slab.dry_capacity(xi.value) + w.value * water.liquid_heat_capacity;
        let taken = holds * theta - binding.value - work.before[i]
            + dried * steam
            + burnt * burning
            + work.losses[i].heat()
            + self.evaporation;
        let product = (1.0 - r.gas_fraction) * r.product_heat_capacity;
        let capacity = holds
            + (product - charge.dry_heat_capacity) * xi.slope * theta
            + w.slope * (water.liquid_heat_capacity * theta - steam)
            - binding.slope
            + dried * water.vapour_heat_capacity
            + xi.slope * burning
            + burnt * gas;
        let energy = Line {
            value: taken,
            slope: capacity,
        };
        Balance {
            energy: energy.times(self.mass(i)),
            w,
            xi,
            binding,
            boils,
        }
    }
}
