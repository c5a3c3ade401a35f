//! The staged balance: the same course of heating as the layer model, with one temperature at a
//! time, for planning and sweeps. Micro- instead of milliseconds.
//!
//! Stage by stage: heat-up of liquid and floor; boil-off along the boiling curve, where every
//! step takes ΔE = m (c Δθ − ΔB − h_steam Δw) and lasts ΔE/P; then the part of the set gel that
//! the heating way reaches first, with reaction, as an ordinary differential equation. That part
//! is as thick as conduction keeps up with the supply, λ/U, or the whole layer in a microwave.
//! Averages the duty cycle; the floor follows the liquid with its own lag in temperature.

use super::charge::{Charge, Face, Heater, Wall};
use super::history::{Mark, Moment};
use super::slab::{Settings, SlabError};
use crate::quantity::REFERENCE_TEMPERATURE;

/// Steps of the heat-up.
const HEAT_UP_STEPS: usize = 8;
/// Steps along the boiling curve.
const BOIL_OFF_STEPS: usize = 24;
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

    /// Spends `energy` (J/m²) at the supply of layer temperature `t`; false at the time limit.
    fn spend(&mut self, energy: f64, t: f64, w: f64) -> bool {
        let (first, _) = self.supply.liquid(self.time, t, w);
        let guess = if first > 0.0 {
            energy / first
        } else {
            self.settings.time_limit
        };
        // The source may still be warming up: take the supply half-way through the step.
        let (middle, _) = self.supply.liquid(self.time + 0.5 * guess.min(300.0), t, w);
        if middle <= 0.0 || self.time + energy / middle > self.settings.time_limit {
            self.time = self.settings.time_limit;
            return false;
        }
        self.time += (energy / middle).max(0.0);
        self.heat += energy;
        true
    }

    /// Heat in the floor (J/m²) over its start, with the layer at `t`.
    fn floor(&self, t: f64, w: f64) -> f64 {
        let wall = self.supply.wall;
        let (_, bottom) = self.supply.liquid(self.time, t, w);
        let lag = bottom
            * (1.0 / wall.boiling_transfer + 0.5 * wall.thickness / wall.thermal_conductivity);
        wall.thickness
            * wall.volumetric_heat_capacity
            * (t + lag - self.supply.charge.start_temperature)
    }

    /// Heat-up and boil-off; a course only if the time limit ends it.
    fn liquid_stages(&mut self) -> Option<LumpedCourse> {
        let charge = self.supply.charge;
        if let Some(oven) = &self.supply.heater.oven {
            self.time = oven.start_delay;
        }
        let curve = charge.boiling_curve();
        let m = charge.areal_mass();
        let w0 = charge.initial_water();
        let capacity = |w: f64| charge.dry_heat_capacity + w * charge.water.liquid_heat_capacity;
        let boils = curve.boiling_temperature(w0);
        let step = (boils - charge.start_temperature) / HEAT_UP_STEPS as f64;
        let mut floor = 0.0;
        let mut t = charge.start_temperature;
        for _ in 0..HEAT_UP_STEPS {
            let middle = t + 0.5 * step;
            let next_floor = self.floor(middle + 0.5 * step, w0);
            let energy = m * capacity(w0) * step + next_floor - floor;
            if !self.spend(energy, middle, w0) {
                return Some(self.course(LumpedEnd::TimeLimit, t, w0, 0.0));
            }
            floor = next_floor;
            t += step;
        }
        self.mark(Mark::Boils, t);
        let set = charge.gel.set_water;
        if w0 <= set {
            return None;
        }
        // Equal ratios of T − T_pure: fine where the curve is steep, coarse where it is flat.
        let pure = curve.water.boiling_temperature(curve.pressure);
        let ratio = (curve.boiling_temperature(set) - pure) / (boils - pure);
        let mut w = w0;
        let mut binding = curve.binding(w0);
        let hydrate = charge.hydrate_ratio();
        for k in 1..=BOIL_OFF_STEPS {
            let next = pure + (boils - pure) * ratio.powf(k as f64 / BOIL_OFF_STEPS as f64);
            let point = curve.at(next)?;
            let middle = 0.5 * (t + next);
            let theta = |t: f64| t - REFERENCE_TEMPERATURE;
            let stored =
                capacity(point.water) * theta(next) - point.binding - capacity(w) * theta(t)
                    + binding;
            let steam = (w - point.water) * charge.water.vapour_enthalpy(middle);
            let next_floor = self.floor(next, point.water);
            let energy = m * (stored + steam) + next_floor - floor;
            let before = self.time;
            if !self.spend(energy, middle, 0.5 * (w + point.water)) {
                return Some(self.course(LumpedEnd::TimeLimit, t, w, 0.0));
            }
            if w > hydrate && point.water <= hydrate {
                let part = (w - hydrate) / (w - point.water);
                let time = before + part * (self.time - before);
                let temperature = t + part * (next - t);
                self.moments.push(Moment {
                    mark: Mark::SolventGone,
                    time,
                    temperature,
                });
            }
            floor = next_floor;
            (t, w, binding) = (next, point.water, point.binding);
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
