//! The staged balance: the same course of heating as the layer model, with one temperature at a
//! time, for planning and sweeps. Micro- instead of milliseconds.
//!
//! Stage by stage: heat-up of liquid and floor; boil-off along the boiling curve, where every
//! step takes ΔE = m (c Δθ − ΔB − h_steam Δw) and lasts ΔE/P (evaporation below it counted); then the part of the set gel that
//! the heating way reaches first, with reaction, as an ordinary differential equation. That part
//! is as thick as conduction keeps up with the supply, λ/U, or the whole layer in a microwave.
//! Averages the duty cycle; the floor follows the liquid with its own lag in temperature.

use super::boiling::BoilingCurve;
use super::charge::{Charge, Face, Heater, Wall};
use super::history::{Mark, Moment};
use super::slab::{Settings, SlabError};
use crate::quantity::REFERENCE_TEMPERATURE;

/// Temperature step of the heat-up, K.
const HEAT_UP_STEP: f64 = 8.0;
/// Longest step of a liquid that dries without boiling, s.
const DRYING_STEP: f64 = 60.0;
/// Water after a step of boiling over that before.
const BOIL_OFF_RATIO: f64 = 0.9;
/// Temperature step in the gel, K.
const GEL_STEP: f64 = 2.0;

/// How the lumped course ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LumpedEnd {
    /// It runs away.
    Ignites,
    /// It reacts through without running away.
    BurntOut,
    /// The time limit comes first.
    TimeLimit,
}

/// Result of the staged balance.
#[derive(Debug, Clone, PartialEq)]
pub struct LumpedCourse {
    /// Time line.
    pub moments: Vec<Moment>,
    /// How it ends.
    pub end: LumpedEnd,
    /// When it ends, s.
    pub time: f64,
    /// Temperature then, K.
    pub temperature: f64,
    /// Water per dry mass in the part that ignites, kg/kg.
    pub water: f64,
    /// Decomposed share of the volatile fuel there.
    pub lost: f64,
    /// Heat taken up by the charge and floor until then, J.
    pub heat_in: f64,
}

/// Heat flow into the layer per area, W/m², at layer temperature and time.
struct Supply<'a> {
    charge: &'a Charge,
    wall: &'a Wall,
    heater: &'a Heater,
}

impl Supply<'_> {
    /// Through the floor; `inner` is the resistance from the floor's face inward (m² K/W).
    fn bottom(&self, time: f64, t: f64, inner: f64) -> f64 {
        let face = &self.heater.bottom;
        let source = face.source_at(time);
        let resistance = self.wall.thickness / self.wall.thermal_conductivity + inner;
        // One correction of the outer face's temperature for the radiation.
        let first = 1.0 / (1.0 / face.total_transfer(source, t).max(1e-9) + resistance);
        let outer = t + first * (source - t) * resistance;
        let transfer = 1.0 / (1.0 / face.total_transfer(source, outer).max(1e-9) + resistance);
        (transfer * (source - t)).min(face.largest_flux) + face.imposed_flux
    }

    fn top(&self, time: f64, t: f64) -> f64 {
        let face: &Face = &self.heater.top;
        let source = face.source_at(time);
        face.total_transfer(source, t) * (source - t) + face.imposed_flux
    }

    fn microwave(&self, time: f64, w: f64) -> f64 {
        let Some(oven) = &self.heater.oven else {
            return 0.0;
        };
        if time < oven.start_delay {
            return 0.0;
        }
        let charge = self.charge;
        let gel = charge.dry_mass / charge.gel.density.max(1000.0) * oven.gel_load;
        let volume = charge.dry_mass * w / charge.water.density + gel;
        oven.power * oven.duty * oven.load_share(volume) / charge.area
    }

    /// Heat that evaporation takes from the liquid (W/m²) while it does not boil.
    fn evaporation(&self, t: f64, boils: f64, curve: &BoilingCurve) -> f64 {
        let water = &self.charge.water;
        let activity = curve.pressure / water.saturation_pressure(boils);
        self.heater
            .evaporation_flux(activity * water.saturation_pressure(t))
    }

    fn liquid(&self, time: f64, t: f64, w: f64) -> (f64, f64) {
        let bottom = self.bottom(time, t, 1.0 / self.wall.boiling_transfer);
        (bottom + self.top(time, t) + self.microwave(time, w), bottom)
    }
}

/// The staged balance of a charge on a heating way.
///
/// # Errors
/// [`SlabError::NotPositive`] for a dry mass, area or gel that is not positive.
pub fn lumped(
    charge: &Charge,
    wall: &Wall,
    heater: &Heater,
    settings: &Settings,
) -> Result<LumpedCourse, SlabError> {
    for (name, value) in [
        ("dry mass", charge.dry_mass),
        ("area", charge.area),
        ("water", charge.initial_water()),
        ("gel density", charge.gel.density),
        (
            "binding sites",
            charge.sorption.ionic_sites + charge.sorption.molecules,
        ),
    ] {
        if !(value.is_finite() && value > 0.0) {
            return Err(SlabError::NotPositive { name, value });
        }
    }
    let mut march = March {
        supply: Supply {
            charge,
            wall,
            heater,
        },
        settings,
        time: 0.0,
        heat: 0.0,
        moments: Vec::with_capacity(6),
    };
    if let Some(early) = march.liquid_stages() {
        return Ok(early);
    }
    Ok(march.gel_stage())
}

struct March<'a> {
    supply: Supply<'a>,
    settings: &'a Settings,
    time: f64,
    heat: f64,
    moments: Vec<Moment>,
}

impl March<'_> {
    fn mark(&mut self, mark: Mark, temperature: f64) {
        self.moments.push(Moment {
            mark,
            time: self.time,
            temperature,
        });
    }

    fn course(&mut self, end: LumpedEnd, temperature: f64, water: f64, lost: f64) -> LumpedCourse {
        LumpedCourse {
            moments: std::mem::take(&mut self.moments),
            end,
            time: self.time,
            temperature,
            water,
            lost,
            heat_in: self.heat * self.supply.charge.area,
        }
    }

    /// Heat-up and boil-off by steps in temperature and water; a course only if the time limit
    /// ends it.
    fn liquid_stages(&mut self) -> Option<LumpedCourse> {
        let charge = self.supply.charge;
        let wall = self.supply.wall;
        let water = &charge.water;
        if let Some(oven) = &self.supply.heater.oven {
            self.time = oven.start_delay;
        }
        let curve = charge.boiling_curve();
        let m = charge.areal_mass();
        let floor = wall.thickness * wall.volumetric_heat_capacity;
        let capacity =
            |w: f64| m * (charge.dry_heat_capacity + w * water.liquid_heat_capacity) + floor;
        let (mut t, mut w) = (charge.start_temperature, charge.initial_water());
        let mut boils = curve.boiling_temperature(w);
        let set = charge.gel.set_water;
        let hydrate = charge.hydrate_ratio();
        // The floor runs ahead of the liquid by its resistance times the flux. Its extra heat when
        // the liquid boils costs time at the mean flux.
        if self.supply.heater.oven.is_none() {
            let flux = |t: f64| {
                self.supply
                    .bottom(self.time, t, 1.0 / wall.boiling_transfer)
            };
            let resistance =
                1.0 / wall.boiling_transfer + 0.5 * wall.thickness / wall.thermal_conductivity;
            let (mean, last) = (flux(0.5 * (t + boils)), flux(boils));
            if mean > 0.0 && last > 0.0 {
                self.time += floor * resistance * last / mean;
            }
        }
        let mut boiling_noted = false;
        while w > set {
            if self.time >= self.settings.time_limit {
                return Some(self.course(LumpedEnd::TimeLimit, t, w, 0.0));
            }
            let (time_before, t_before, w_before) = (self.time, t, w);
            let (supply, _) = self.supply.liquid(self.time, t, w);
            let evaporation = self.supply.evaporation(t, boils, &curve);
            let net = supply - evaporation;
            let left = self.settings.time_limit - self.time;
            if t < boils - 1e-9 || net <= 0.0 {
                // Below the boiling point: warms, or dries at a temperature that holds itself.
                let rate = net / capacity(w);
                let drying = evaporation / (water.latent_heat_at(t) * m);
                let mut dt = (HEAT_UP_STEP / rate.abs().max(1e-12))
                    .min(left)
                    .min(DRYING_STEP);
                dt = dt.min(0.1 * w / drying.max(1e-12));
                let middle = t + 0.5 * rate * dt;
                let (later, _) = self.supply.liquid(self.time + 0.5 * dt, middle, w);
                let net = later - self.supply.evaporation(middle, boils, &curve);
                let rate = net / capacity(w);
                if rate > 0.0 {
                    dt = dt.min((boils - t).max(0.0) / rate + 1e-9);
                }
                t = (t + rate * dt).min(boils);
                w -= (drying * dt).min(0.5 * w);
                self.time += dt;
                self.heat += later * dt;
                boils = curve.boiling_temperature_near(w, boils);
            } else {
                if !boiling_noted {
                    boiling_noted = true;
                    self.mark(Mark::Boils, t);
                }
                let next_w = (BOIL_OFF_RATIO * w).max(set);
                let next = curve.boiling_temperature_near(next_w, boils);
                let middle = 0.5 * (t + next);
                let binding = |t: f64| curve.at(t).map_or(0.0, |p| p.binding);
                let theta = |t: f64| t - REFERENCE_TEMPERATURE;
                let own = |w: f64| charge.dry_heat_capacity + w * water.liquid_heat_capacity;
                let stored =
                    own(next_w) * theta(next) - binding(next) - own(w) * theta(t) + binding(t);
                let steam = (w - next_w) * water.vapour_enthalpy(middle);
                let energy = m * (stored + steam) + floor * (next - t);
                let guess = (energy / supply).clamp(0.0, left);
                let (later, _) =
                    self.supply
                        .liquid(self.time + 0.5 * guess, middle, 0.5 * (w + next_w));
                let dt = if later > 0.0 {
                    (energy / later).max(0.0)
                } else {
                    left
                };
                if dt > left {
                    self.time = self.settings.time_limit;
                    return Some(self.course(LumpedEnd::TimeLimit, t, w, 0.0));
                }
                self.time += dt;
                self.heat += energy;
                (t, w, boils) = (next, next_w, next);
            }
            if w_before > hydrate && w <= hydrate {
                let part = (w_before - hydrate) / (w_before - w);
                let time = time_before + part * (self.time - time_before);
                let temperature = t_before + part * (t - t_before);
                self.moments.push(Moment {
                    mark: Mark::SolventGone,
                    time,
                    temperature,
                });
            }
        }
        self.mark(Mark::GelSets, t);
        None
    }

    /// The gel's leading part, to runaway or failure.
    fn gel_stage(&mut self) -> LumpedCourse {
        let charge = self.supply.charge;
        let curve = charge.boiling_curve();
        let m = charge.areal_mass();
        let depth = charge.dry_depth();
        let k = charge.gel.thermal_conductivity;
        let r = &charge.reaction;
        let set = charge.gel.set_water.min(charge.initial_water());
        let mut boils = curve.boiling_temperature(set);
        let (mut t, mut w) = (
            boils.min(self.moments.last().map_or(boils, |x| x.temperature)),
            set,
        );
        let (mut xi, mut lost) = (0.0_f64, 0.0_f64);
        let mut dry_noted = false;
        let hydrate = charge.hydrate_ratio();
        // Which part leads: everything in a microwave, else what conduction reaches.
        let is_oven = self.supply.heater.oven.is_some();
        let from_top = self.supply.top(self.time, t) > self.supply.bottom(self.time, t, 0.0);
        let face = if from_top {
            &self.supply.heater.top
        } else {
            &self.supply.heater.bottom
        };
        let reach = k / face.total_transfer(face.source_at(self.time), t).max(1e-9);
        let thickness = if is_oven { depth } else { depth.min(reach) };
        let mass = m * thickness / depth;
        loop {
            let inner = 0.5 * thickness / k;
            let (bottom, top) = (
                self.supply.bottom(self.time, t, inner),
                self.supply.top(self.time, t),
            );
            let supply = if is_oven {
                bottom + top + self.supply.microwave(self.time, w)
            } else if from_top {
                top + if thickness < depth { 0.0 } else { bottom }
            } else {
                bottom + if thickness < depth { 0.0 } else { top }
            };
            let rate = r.rate(t) * (1.0 - xi);
            let heat = r.heat * charge.heat_share(lost);
            let dry = (1.0 - xi) * charge.dry_heat_capacity
                + xi * (1.0 - r.gas_fraction) * r.product_heat_capacity;
            let mut capacity = dry + w * charge.water.liquid_heat_capacity;
            let mut slope = 0.0;
            if t >= boils {
                if let Some(point) = curve.at(t).filter(|p| p.water <= w) {
                    slope = point.water_slope;
                    capacity += -slope * charge.water.latent_heat_at(t) - point.binding_slope;
                }
            }
            let loss_rate = charge
                .fuel_loss
                .as_ref()
                .map_or(0.0, |l| l.rate(t) * (1.0 - lost) * (1.0 - xi));
            let loss_heat = charge
                .fuel_loss
                .as_ref()
                .map_or(0.0, |l| l.mass_share * l.escape_share * l.heat * loss_rate);
            let own =
                (heat - r.gas_fraction * r.gas_heat_capacity * (t - REFERENCE_TEMPERATURE)) * rate;
            let net = (supply / mass + own - loss_heat) / capacity;
            let heating = heat * rate / capacity;
            if heating >= self.settings.runaway_rate && net >= self.settings.kept_share * heating {
                return self.course(LumpedEnd::Ignites, t, w, lost);
            }
            if xi > 0.97 {
                return self.course(LumpedEnd::BurntOut, t, w, lost);
            }
            if self.time >= self.settings.time_limit {
                return self.course(LumpedEnd::TimeLimit, t, w, lost);
            }
            let mut dt = self
                .settings
                .longest_step
                .min(self.settings.time_limit - self.time + 1e-9);
            dt = dt
                .min(GEL_STEP / net.abs().max(1e-9))
                .min(0.2 / (rate + loss_rate).max(1e-9));
            self.time += dt;
            self.heat += supply * dt;
            t += net * dt;
            xi = (xi + rate * dt).min(1.0);
            lost = (lost + loss_rate * dt).min(1.0);
            if slope < 0.0 && net > 0.0 {
                w = curve.at(t).map_or(w, |p| p.water.min(w));
                boils = t;
            }
            if !dry_noted && w < 0.1 * hydrate {
                dry_noted = true;
                self.mark(Mark::PartlyDry, t);
            }
        }
    }
}
