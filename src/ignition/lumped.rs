//! The staged balance: the same course of heating as the layer model, with one temperature at a
//! time, for planning and sweeps. Micro- instead of milliseconds.
//!
//! First the liquid with its floor (module `liquid`), then the part of the set gel that the heating way
//! reaches first, with reaction (module `gel`). That part is as thick as conduction keeps up with the
//! supply, λ/U, or the whole layer in a microwave. Averages the duty cycle; the floor follows the
//! liquid with its own lag in temperature.
//!
//! Neither stage lands on the boiling point by shortening its steps: a step has a length, and
//! its balance is solved for the temperature between two brackets, on whichever side of the
//! boiling point that lies. So every step moves time, temperature, water or reaction on by a
//! stated amount, and their number is bounded (`STEP_LIMIT`).

mod gel;
mod liquid;

use super::boiling::BoilingCurve;
use super::charge::{Charge, Face, Heater, Wall};
use super::history::{Mark, Moment};
use super::slab::{Settings, SlabError};
use roots::{SimpleConvergency, find_root_brent};

/// Steps after which a course is given up. A day in the longest steps takes 3000.
const STEP_LIMIT: usize = 20_000;
/// Tolerance of the time of an event, of the step's length.
const EVENT_TOLERANCE: f64 = 1e-9;

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
    /// Steps of both stages.
    pub steps: usize,
}

/// Heat flow into the layer per area, W/m², at layer temperature and time.
struct Supply<'a> {
    charge: &'a Charge,
    wall: &'a Wall,
    heater: &'a Heater,
}

impl Supply<'_> {
    /// Through the floor; `inner` is the resistance from the floor's face inward (m² K/W).
    fn bottom(&self, time: f64, t: f64, w: f64, inner: f64) -> f64 {
        let face = &self.heater.bottom;
        let [grown, _] = self.grown(w);
        let source = face.source_at(time);
        let resistance = self.wall.thickness / self.wall.thermal_conductivity + inner;
        // One correction of the outer face's temperature for the radiation.
        let into = |t: f64| (grown * face.total_transfer(source, t)).max(1e-9);
        let first = 1.0 / (1.0 / into(t) + resistance);
        let outer = t + first * (source - t) * resistance;
        let transfer = 1.0 / (1.0 / into(outer) + resistance);
        (transfer * (source - t)).min(face.largest_flux) + face.imposed_flux
    }

    fn top(&self, time: f64, t: f64, w: f64) -> f64 {
        let face: &Face = &self.heater.top;
        let [_, grown] = self.grown(w);
        let source = face.source_at(time);
        grown * (face.total_transfer(source, t) * (source - t) + face.imposed_flux)
    }

    /// Growth of both faces with the froth at water `w`.
    fn grown(&self, w: f64) -> [f64; 2] {
        self.heater.growth.at(self.charge.boiled(w))
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

    /// Heat that evaporation takes from a liquid (W/m²) at `t` with water `w` that boils at `boils`.
    fn evaporation(&self, t: f64, w: f64, boils: f64, curve: &BoilingCurve) -> f64 {
        let water = &self.charge.water;
        let activity = curve.pressure / water.saturation_pressure(boils);
        let [_, grown] = self.grown(w);
        grown
            * self
                .heater
                .evaporation_flux(activity * water.saturation_pressure(t))
    }

    fn liquid(&self, time: f64, t: f64, w: f64) -> f64 {
        self.bottom(time, t, w, 1.0 / self.wall.boiling_transfer)
            + self.top(time, t, w)
            + self.microwave(time, w)
    }
}

/// The staged balance of a charge on a heating way.
///
/// # Errors
/// `SlabError::NotPositive` for a dry mass, area or gel that is not positive; the other variants
/// if a stage does not come to an end.
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
        steps: 0,
        moments: Vec::with_capacity(6),
    };
    if let Some(early) = march.liquid_stage()? {
        return Ok(early);
    }
    march.gel_stage()
}

/// The length at which `excess`, which changes its sign within a step of length `dt`, is zero.
fn until_zero(dt: f64, excess: impl Fn(f64) -> f64) -> f64 {
    let mut tolerance = SimpleConvergency {
        eps: EVENT_TOLERANCE,
        max_iter: 60,
    };
    let part = find_root_brent(0.0, 1.0, |part: f64| excess(part * dt), &mut tolerance);
    dt * part.unwrap_or(1.0)
}

struct March<'a> {
    supply: Supply<'a>,
    settings: &'a Settings,
    time: f64,
    heat: f64,
    /// Steps taken.
    steps: usize,
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
            steps: self.steps,
        }
    }

    /// Counts a step of a stage whose layer is at `t` (K) with water `w`.
    fn count(&mut self, t: f64, w: f64) -> Result<(), SlabError> {
        self.steps += 1;
        if self.steps > STEP_LIMIT {
            return Err(SlabError::StageWithoutEnd {
                steps: STEP_LIMIT,
                time_s: self.time,
                temperature_k: t,
                water: w,
            });
        }
        Ok(())
    }
}
