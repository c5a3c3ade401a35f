//! The liquid stage: heat-up, drying below the boiling point and boil-off, down to the set gel.
//!
//! Balance of a step from (t, w) to (x, w(x)) over Δt, per area, all rates at the mean temperature:
//!
//!   m { [c + w(x) c_w] θ(x) − [c + w c_w] θ(t) − ΔB + [w − w(x)] h_steam } + C_floor (x − t) = Δt P
//!
//! with w(x) the lesser of what evaporation leaves and what the boiling curve lets it hold at x.
//! The left side rises with x and the right side falls, so there is one root, found by bracketing.

use super::{LumpedCourse, LumpedEnd, March, Supply, until_zero};
use crate::ignition::boiling::BoilingCurve;
use crate::ignition::history::{Mark, Moment};
use crate::ignition::slab::SlabError;
use crate::quantity::REFERENCE_TEMPERATURE;
use roots::{SimpleConvergency, find_root_brent};

/// Temperature step of the heat-up, K.
const HEAT_UP_STEP: f64 = 8.0;
/// Longest step, s.
const LONGEST_STEP: f64 = 60.0;
/// Share of the water that may leave in a step.
const DRYING_SHARE: f64 = 0.1;
/// Tolerance of a step's temperature (K) and of its balance (J/m²).
const TOLERANCE: f64 = 1e-9;
/// Coldest temperature a bracket is opened to, K.
const COLDEST: f64 = 50.0;

/// Temperature (K), water per dry mass, and the temperature at which that boils (K).
#[derive(Clone, Copy)]
struct Liquid {
    t: f64,
    w: f64,
    boils: f64,
}

/// A step that was solved: the state at its end and the heat taken up, J/m².
struct Step {
    after: Liquid,
    heat: f64,
    /// Part of the step after which the liquid boils; 1 if it does not reach the boil.
    boils_from: f64,
}

/// The liquid on its floor; what does not change over the stage.
struct Pool<'a> {
    supply: &'a Supply<'a>,
    curve: BoilingCurve,
    /// Dry mass per area, kg/m².
    mass: f64,
    /// Heat capacity of the floor per area, J/(m² K).
    floor: f64,
}

impl Pool<'_> {
    fn capacity(&self, w: f64) -> f64 {
        let charge = self.supply.charge;
        self.mass * (charge.dry_heat_capacity + w * charge.water.liquid_heat_capacity) + self.floor
    }

    /// Longest step (s) from `now` in which neither temperature nor water moves too far.
    fn length(&self, now: Liquid, time: f64) -> f64 {
        let water = &self.supply.charge.water;
        let supply = self.supply.liquid(time, now.t, now.w);
        let evaporation = self
            .supply
            .evaporation(now.t, now.w, now.boils, &self.curve);
        let net = supply - evaporation;
        let latent = self.mass * now.w * water.latent_heat_at(now.t);
        let longest = LONGEST_STEP.min(DRYING_SHARE * latent / evaporation.max(1e-12));
        if now.t >= now.boils && net > 0.0 {
            // Boiling: until a share of the water has gone.
            let less = (1.0 - DRYING_SHARE) * now.w;
            let warmer = self.curve.boiling_temperature_near(less, now.boils);
            let energy = DRYING_SHARE * latent + self.capacity(now.w) * (warmer - now.t);
            longest.min(energy / supply)
        } else {
            longest.min(HEAT_UP_STEP * self.capacity(now.w) / net.abs().max(1e-12))
        }
    }

    /// Solves the step of length `dt` from `now` at `time`; see the head of the file.
    fn step(&self, now: Liquid, time: f64, dt: f64) -> Result<Step, SlabError> {
        let charge = self.supply.charge;
        let water = &charge.water;
        let supply = |x: f64| {
            self.supply
                .liquid(time + 0.5 * dt, 0.5 * (now.t + x), now.w)
        };
        // Heat of binding per water that leaves; zero where the curve cannot resolve it.
        let start = self.curve.at(now.boils);
        let per_water = start.map_or(0.0, |p| p.binding_slope / p.water_slope);
        let left = |x: f64| {
            let middle = 0.5 * (now.t + x);
            let evaporation = self
                .supply
                .evaporation(middle, now.w, now.boils, &self.curve);
            let gone = evaporation * dt / (water.latent_heat_at(middle) * self.mass);
            let dried = (now.w - gone).max(0.5 * now.w);
            match self.curve.at(x) {
                Some(point) if point.water < dried => {
                    let before = start.map_or(point.binding, |p| p.binding);
                    (point.water, point.binding - before)
                }
                _ => (dried, per_water * (dried - now.w)),
            }
        };
        let theta = |t: f64| t - REFERENCE_TEMPERATURE;
        let own = |w: f64| charge.dry_heat_capacity + w * water.liquid_heat_capacity;
        let taken = |x: f64| {
            let (w, binding) = left(x);
            let steam = (now.w - w) * water.vapour_enthalpy(0.5 * (now.t + x));
            self.mass * (own(w) * theta(x) - own(now.w) * theta(now.t) - binding + steam)
                + self.floor * (x - now.t)
        };
        let balance = |x: f64| taken(x) - dt * supply(x);
        let x = root(now.t, balance).ok_or(SlabError::NoBalance {
            time_s: time,
            temperature_k: now.t,
            step_s: dt,
        })?;
        let (w, _) = left(x);
        let on_curve = self.curve.at(x).is_some_and(|p| p.water <= w);
        let boils = if on_curve {
            x
        } else {
            self.curve.boiling_temperature_near(w, now.boils)
        };
        let heat = dt * supply(x);
        let boils_from = match on_curve {
            false => 1.0,
            true if heat > 0.0 => {
                (self.capacity(now.w) * (now.boils - now.t) / heat).clamp(0.0, 1.0)
            }
            true => 0.0,
        };
        Ok(Step {
            after: Liquid { t: x, w, boils },
            heat,
            boils_from,
        })
    }

    /// The length of the step at whose end the water has fallen to `set`, of a step of length
    /// `dt` that ends below it.
    fn length_to_set(&self, now: Liquid, time: f64, dt: f64, set: f64) -> f64 {
        until_zero(dt, |dt| {
            let water = self.step(now, time, dt).map_or(set, |s| s.after.w);
            water - set
        })
    }
}

/// Root of the rising function `balance` near `guess`, by opening a bracket and closing it.
fn root(guess: f64, balance: impl Fn(f64) -> f64) -> Option<f64> {
    let first = balance(guess);
    if first.abs() < TOLERANCE {
        return Some(guess);
    }
    let upward = first < 0.0;
    let (mut near, mut width) = (guess, 1.0);
    let far = loop {
        let next = if upward { guess + width } else { guess - width }.max(COLDEST);
        let value = balance(next);
        if !value.is_finite() || width > 1e5 {
            return None;
        }
        if (value < 0.0) != upward {
            break next;
        }
        near = next;
        width *= 3.0;
    };
    let mut tolerance = SimpleConvergency {
        eps: TOLERANCE,
        max_iter: 200,
    };
    find_root_brent(near.min(far), near.max(far), balance, &mut tolerance).ok()
}

impl March<'_> {
    /// Heat-up and boil-off until the gel sets; a course only if the time limit ends it.
    pub(super) fn liquid_stage(&mut self) -> Result<Option<LumpedCourse>, SlabError> {
        let charge = self.supply.charge;
        let (heater, wall) = (self.supply.heater, self.supply.wall);
        let curve = charge.boiling_curve();
        let w = charge.initial_water();
        let mut now = Liquid {
            t: charge.start_temperature,
            w,
            boils: curve.boiling_temperature(w),
        };
        self.time = match &heater.oven {
            Some(oven) => oven.start_delay,
            None => self.lag_of_floor(now),
        };
        let supply = Supply {
            charge,
            wall,
            heater,
        };
        let pool = Pool {
            supply: &supply,
            curve,
            mass: charge.areal_mass(),
            floor: wall.thickness * wall.volumetric_heat_capacity,
        };
        let set = charge.gel.set_water;
        let mut boiling_noted = false;
        while now.w > set {
            self.count(now.t, now.w)?;
            let left = self.settings.time_limit - self.time;
            if left <= 0.0 {
                return Ok(Some(self.course(LumpedEnd::TimeLimit, now.t, now.w, 0.0)));
            }
            let mut dt = pool.length(now, self.time).min(left);
            let mut step = pool.step(now, self.time, dt)?;
            let sets = step.after.w <= set;
            if sets {
                dt = pool.length_to_set(now, self.time, dt, set);
                step = pool.step(now, self.time, dt)?;
            }
            if step.boils_from < 1.0 && !boiling_noted {
                boiling_noted = true;
                self.moments.push(Moment {
                    mark: Mark::Boils,
                    time: self.time + step.boils_from * dt,
                    temperature: now.boils,
                });
            }
            self.note_solvent_gone(now, step.after, dt);
            self.time += dt;
            self.heat += step.heat;
            now = step.after;
            if sets {
                break;
            }
        }
        self.mark(Mark::GelSets, now.t);
        Ok(None)
    }

    /// Time (s) that the extra heat of the floor costs: it runs ahead of the liquid by its
    /// resistance times the flux, and gives that at the mean flux.
    fn lag_of_floor(&self, start: Liquid) -> f64 {
        let wall = self.supply.wall;
        let inner = 1.0 / wall.boiling_transfer;
        let w = self.supply.charge.initial_water();
        let flux = |t: f64| self.supply.bottom(0.0, t, w, inner);
        let floor = wall.thickness * wall.volumetric_heat_capacity;
        let resistance = inner + 0.5 * wall.thickness / wall.thermal_conductivity;
        let (mean, last) = (flux(0.5 * (start.t + start.boils)), flux(start.boils));
        if mean > 0.0 && last > 0.0 {
            floor * resistance * last / mean
        } else {
            0.0
        }
    }

    fn note_solvent_gone(&mut self, before: Liquid, after: Liquid, dt: f64) {
        let hydrate = self.supply.charge.hydrate_ratio();
        if before.w > hydrate && after.w <= hydrate {
            let part = (before.w - hydrate) / (before.w - after.w);
            self.moments.push(Moment {
                mark: Mark::SolventGone,
                time: self.time + part * dt,
                temperature: before.t + part * (after.t - before.t),
            });
        }
    }
}
