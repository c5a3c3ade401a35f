//! The gel stage: the leading part of the set gel to runaway or failure.
//!
//! dT/dt = [P(T)/m + own heat − loss of fuel] / c, with the boil-off of bound water in c. A step
//! follows the relaxation to the heating way exactly for a straight P(T), ΔT = (dT/dt) φ Δt with
//! φ = (1 − e^(−z))/z, z = −P′ Δt/(m c): a thin part that follows its floor takes long steps.

use super::{LumpedCourse, LumpedEnd, March, until_zero};
use crate::ignition::boiling::BoilingCurve;
use crate::ignition::history::Mark;
use crate::ignition::slab::SlabError;
use crate::quantity::{GAS_CONSTANT, REFERENCE_TEMPERATURE};

/// Temperature step, K.
const GEL_STEP: f64 = 2.0;
/// Step in the extent of reaction and loss.
const EXTENT_STEP: f64 = 0.2;
/// Water per dry mass that no longer counts, kg/kg.
const DRY: f64 = 1e-3;
/// Share by which the water may lie below the boiling curve and still boil: the rounding of the
/// place where the curve was reached.
const ON_CURVE: f64 = 1e-6;
/// Part of a fuel's decomposition over which its heat is read.
const LOSS_SLOPE: f64 = 1e-6;
/// Difference for the slope of the supply, K.
const SLOPE_STEP: f64 = 0.1;
/// Extent of reaction that counts as burnt out.
const BURNT_OUT: f64 = 0.97;

/// The part that leads.
struct Lead {
    /// Thickness, m.
    thickness: f64,
    /// Dry mass per area, kg/m².
    mass: f64,
    /// Whether the heat comes from above.
    from_top: bool,
    /// Whether it is the whole depth.
    whole: bool,
}

/// State of the leading part.
#[derive(Clone, Copy)]
struct Gel {
    t: f64,
    w: f64,
    /// Temperature (K) at which its water boils.
    boils: f64,
    xi: f64,
    lost: f64,
    nitrate: f64,
}

/// Rates of the leading part.
struct Rates {
    /// Heat taken up from outside, W/m².
    supply: f64,
    /// Reaction, loss of fuel and of nitrate, drying, 1/s.
    reaction: f64,
    loss: f64,
    nitrate: f64,
    drying: f64,
    /// Self-heating and net heating, K/s.
    heating: f64,
    net: f64,
    /// Rate at which the temperature relaxes to the heating way, 1/s.
    relaxation: f64,
    /// Heat capacity per area, J/(m² K).
    inertia: f64,
    /// Whether its water boils.
    on_curve: bool,
}

impl March<'_> {
    /// The gel's leading part, to runaway or failure.
    pub(super) fn gel_stage(&mut self) -> Result<LumpedCourse, SlabError> {
        let charge = self.supply.charge;
        let curve = charge.boiling_curve();
        let set = charge.gel.set_water.min(charge.initial_water());
        let boils = curve.boiling_temperature(set);
        let mut now = Gel {
            t: boils.min(self.moments.last().map_or(boils, |x| x.temperature)),
            w: set,
            boils,
            xi: 0.0,
            lost: 0.0,
            nitrate: 0.0,
        };
        let lead = self.lead(now.t);
        let hydrate = charge.hydrate_ratio();
        let mut dry_noted = false;
        loop {
            self.count(now.t, now.w)?;
            let rates = self.rates(&lead, now, &curve);
            let settings = self.settings;
            let end = if rates.heating >= settings.runaway_rate
                && rates.net >= settings.kept_share * settings.runaway_rate
            {
                Some(LumpedEnd::Ignites)
            } else if now.xi > BURNT_OUT {
                Some(LumpedEnd::BurntOut)
            } else if self.time >= settings.time_limit {
                Some(LumpedEnd::TimeLimit)
            } else {
                None
            };
            if let Some(end) = end {
                return Ok(self.course(end, now.t, now.w, now.lost));
            }
            now = self.advance(now, &rates, &curve);
            if !dry_noted && now.w < 0.1 * hydrate {
                dry_noted = true;
                self.mark(Mark::PartlyDry, now.t);
            }
        }
    }

    /// Which part leads: everything in a microwave, else what conduction reaches.
    fn lead(&self, t: f64) -> Lead {
        let charge = self.supply.charge;
        let depth = charge.dry_depth();
        let set = charge.gel.set_water;
        let from_top =
            self.supply.top(self.time, t, set) > self.supply.bottom(self.time, t, set, 0.0);
        let [below, above] = self.supply.grown(set);
        let (face, grown) = if from_top {
            (&self.supply.heater.top, above)
        } else {
            (&self.supply.heater.bottom, below)
        };
        let transfer = grown * face.total_transfer(face.source_at(self.time), t);
        let reach = charge.gel.thermal_conductivity / transfer.max(1e-9);
        let whole = self.supply.heater.oven.is_some() || reach >= depth;
        let thickness = if whole { depth } else { reach };
        Lead {
            thickness,
            mass: charge.areal_mass() * thickness / depth,
            from_top,
            whole,
        }
    }

    /// Heat flow into the leading part, W/m².
    fn onto_lead(&self, lead: &Lead, t: f64, w: f64) -> f64 {
        let inner = 0.5 * lead.thickness / self.supply.charge.gel.thermal_conductivity;
        let bottom = |t: f64| self.supply.bottom(self.time, t, w, inner);
        let top = |t: f64| self.supply.top(self.time, t, w);
        if lead.whole {
            bottom(t) + top(t) + self.supply.microwave(self.time, w)
        } else if lead.from_top {
            top(t)
        } else {
            bottom(t)
        }
    }

    fn rates(&self, lead: &Lead, now: Gel, curve: &BoilingCurve) -> Rates {
        let charge = self.supply.charge;
        let r = &charge.reaction;
        let Gel {
            t,
            w,
            xi,
            lost,
            nitrate,
            ..
        } = now;
        let supply = self.onto_lead(lead, t, w);
        let reaction = r.rate(t) * (1.0 - xi);
        let heat = charge.heat_left(lost, nitrate);
        let dry = (1.0 - xi) * charge.dry_heat_capacity
            + xi * (1.0 - r.gas_fraction) * r.product_heat_capacity;
        let mut capacity = dry + w * charge.water.liquid_heat_capacity;
        let point = curve
            .at(t)
            .filter(|p| t >= now.boils && p.water <= w * (1.0 + ON_CURVE));
        if let Some(p) = point {
            capacity += -p.water_slope * charge.water.latent_heat_at(t) - p.binding_slope;
        }
        let fuel = charge.fuel_loss.as_ref();
        let loss = fuel.map_or(0.0, |l| l.leaving.rate(lost, t, 1.0 - xi));
        let salt = &charge.nitrate_loss;
        let nitrate = salt.leaving.rate(nitrate, t, 1.0 - xi);
        let drying = charge.drying.rate(t);
        // Heat of the step that it is in, per whole decomposition.
        let step = charge.fuel_loss_heat((lost + LOSS_SLOPE).min(1.0))
            - charge.fuel_loss_heat((lost + LOSS_SLOPE).min(1.0) - LOSS_SLOPE);
        let loss_heat = step / LOSS_SLOPE * loss
            + salt.heat * nitrate
            + w * drying * charge.water.latent_heat_at(t);
        // A warmer gel dries faster, which holds it back.
        let latent = charge.water.latent_heat_at(t);
        let damping = w * drying * latent * charge.drying.activation_energy
            / (GAS_CONSTANT * t * t * capacity);
        let gas = r.gas_fraction * r.gas_heat_capacity * (t - REFERENCE_TEMPERATURE);
        let warmer = self.onto_lead(lead, t + SLOPE_STEP, w);
        Rates {
            supply,
            reaction,
            loss,
            nitrate,
            drying,
            heating: heat * reaction / capacity,
            net: (supply / lead.mass + (heat - gas) * reaction - loss_heat) / capacity,
            inertia: lead.mass * capacity,
            relaxation: ((supply - warmer) / (SLOPE_STEP * lead.mass * capacity)).max(0.0)
                + damping,
            on_curve: point.is_some(),
        }
    }

    /// The next state; moves the clock and the heat taken up.
    fn advance(&mut self, now: Gel, rates: &Rates, curve: &BoilingCurve) -> Gel {
        let left = self.settings.time_limit - self.time;
        let drying = if now.w > DRY { rates.drying } else { 0.0 };
        let mut dt =
            self.settings.longest_step.min(left).min(
                EXTENT_STEP / (rates.reaction + rates.loss + rates.nitrate + drying).max(1e-9),
            );
        // Change of temperature over a time, and the time for a change.
        let k = rates.relaxation;
        let change = |dt: f64| {
            let z = k * dt;
            let phi = if z > 1e-8 { -(-z).exp_m1() / z } else { 1.0 };
            rates.net * phi * dt
        };
        let time_for = |kelvin: f64| {
            let part = k * kelvin / rates.net.abs();
            if part < 1e-8 {
                kelvin / rates.net.abs()
            } else if part < 1.0 {
                -(-part).ln_1p() / k
            } else {
                f64::INFINITY
            }
        };
        dt = dt.min(time_for(GEL_STEP));
        let after = |dt: f64| now.w * (-rates.drying * dt).exp();
        let boils_after = |dt: f64| curve.boiling_temperature_after(after(dt), now.boils);
        // Up to the boiling point of the bound water, which climbs as the gel dries: the next step
        // starts on it.
        let reaches = now.t < now.boils && now.t + change(dt) >= boils_after(dt);
        if reaches {
            let missing = |dt: f64| now.t + change(dt) - boils_after(dt);
            dt = until_zero(dt, missing);
        }
        let dried = after(dt);
        let t = if reaches {
            boils_after(dt)
        } else {
            now.t + change(dt)
        };
        self.time = if dt >= left {
            self.settings.time_limit
        } else {
            self.time + dt
        };
        self.heat += rates.supply * dt - rates.inertia * (rates.net * dt - change(dt));
        let held = curve.at(t).map_or(dried, |p| p.water.min(dried));
        let boils_on = rates.on_curve && t > now.t && held < dried;
        Gel {
            t,
            w: if boils_on { held } else { dried },
            boils: if boils_on { t } else { boils_after(dt) },
            xi: (now.xi + rates.reaction * dt).min(1.0),
            lost: (now.lost + rates.loss * dt).min(1.0),
            nitrate: (now.nitrate + rates.nitrate * dt).min(1.0),
        }
    }
}
