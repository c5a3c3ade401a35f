//! Courses of heating over what nobody knows exactly: kinetics, absorbed power, contact, filling,
//! froth, losses. Latin hypercube with a fixed seed, so that every run and machine draws the same.
//!
//! Every input lies evenly within its band (`tables/gel.toml`, the uncertainties of
//! `tables/kinetics.toml`). Each draw runs the layer model with coarse cells and carries water,
//! fuel, nitrate and temperature together, because slow heating changes all of them at once.

use super::adapter::{Doubt, Setup};
use super::boiling::DryingTable;
use super::charge::{Charge, Heater, Wall};
use super::course::{LitPlace, Remains, place};
use super::history::End;
use super::leaving::Leaving;
use super::slab::{Slab, SlabError};
use super::thermal_explosion::kissinger_pre_exponential;
use crate::quantity::units::{kelvin, ratio, second};
use crate::quantity::{GAS_CONSTANT, Ratio, ThermodynamicTemperature, Time};
use crate::sample::latin_hypercube;

/// Draws of a course: enough to tell 1 in 10 from none.
pub const DRAWS: usize = 30;
/// Seed of the draws.
const SEED: u64 = 0x6865_6174;
/// Uncertain inputs.
const INPUTS: usize = 14;
/// Temperature (K) at which a shift of a peak is turned into a factor on the rate: between the
/// boil and the usual ignition.
const MIDDLE: f64 = 450.0;

/// One sampled course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CourseDraw {
    /// Time of heating until it lights; none if it does not.
    pub time: Option<Time>,
    /// Where it lights.
    pub place: Option<LitPlace>,
    /// Share of all water left at the end of heating.
    pub water_left: Ratio,
    /// Share of the fuel, by reducing valence, that left before.
    pub fuel_lost: Ratio,
    /// Share of the nitrate, by oxidising valence, that left before.
    pub nitrate_lost: Ratio,
    /// Mean temperature of the layer then.
    pub start_temperature: ThermodynamicTemperature,
}

/// Runs the draws.
pub(super) fn draws(setup: &Setup) -> Result<Vec<CourseDraw>, SlabError> {
    let wettest = setup.charge.gel.set_water * (1.0 + setup.doubt.set_water);
    let drying = DryingTable::new(
        setup.charge.boiling_curve(),
        wettest.min(setup.charge.initial_water()),
    );
    let settings = setup.settings.coarse();
    latin_hypercube(DRAWS, INPUTS, SEED)
        .iter()
        .map(|point| {
            // From the unit cube to both sides of the middle.
            let (charge, wall, heater) = drawn(setup, &|input| 2.0 * point[input] - 1.0);
            let inputs = (&charge, &wall, &heater);
            let history = Slab::drying_along(&drying, inputs, settings)?.run()?;
            let left = Remains::of(&charge, &history);
            let place = match history.end {
                End::Ignites { at } => Some(place(at, setup.outer_face)),
                End::BurntOut | End::TimeLimit => None,
            };
            let r = Ratio::new::<ratio>;
            Ok(CourseDraw {
                time: place.map(|_| Time::new::<second>(history.state.time)),
                place,
                water_left: r(left.water),
                fuel_lost: r(left.fuel_lost),
                nitrate_lost: r(left.nitrate_lost),
                start_temperature: ThermodynamicTemperature::new::<kelvin>(history.mean),
            })
        })
        .collect()
}

/// The set-up with its inputs moved within their bands.
fn drawn(setup: &Setup, u: &dyn Fn(usize) -> f64) -> (Charge, Wall, Heater) {
    let doubt = &setup.doubt;
    let mut charge = setup.charge;
    kinetics(&mut charge, doubt, u);
    losses(&mut charge, doubt, u);
    charge.area /= 1.0 + doubt.depth * u(5);
    let froth = 1.0 + doubt.froth * u(6);
    charge.gel.density /= froth;
    charge.gel.thermal_conductivity /= froth;
    charge.gel.set_water *= 1.0 + doubt.set_water * u(7);
    let mut heater = setup.heater.clone();
    for grown in [&mut heater.growth.bottom, &mut heater.growth.top] {
        *grown = 1.0 + (*grown - 1.0) * froth;
    }
    let room = charge.room_temperature;
    let power = 1.0 + doubt.power * u(2);
    if let Some(oven) = &mut heater.oven {
        oven.power *= power;
        // The ripple of the duty cycle is far below the other doubts: its mean, as in the staged
        // balance.
        oven.cycle = 0.0;
    }
    for face in [&mut heater.bottom, &mut heater.top] {
        let heats = face.source > room;
        if heats {
            face.transfer *= 1.0 + doubt.contact * u(3);
            face.source = room + (face.source - room) * (1.0 + doubt.source * u(4));
        }
        face.largest_flux *= power;
        face.imposed_flux *= power;
    }
    (charge, setup.wall, heater)
}

fn kinetics(charge: &mut Charge, doubt: &Doubt, u: &dyn Fn(usize) -> f64) {
    let r = &mut charge.reaction;
    r.activation_energy += doubt.activation_energy * u(0);
    r.peak += doubt.peak * u(1) + doubt.metal_shift * u(8);
    r.pre_exponential = kissinger_pre_exponential(r.activation_energy, r.peak, doubt.scan);
    charge.drying.pre_exponential *=
        shifted(charge.drying.activation_energy, doubt.drying_peak * u(9));
}

fn losses(charge: &mut Charge, doubt: &Doubt, u: &dyn Fn(usize) -> f64) {
    if let Some(loss) = &mut charge.fuel_loss {
        for step in &mut loss.steps {
            step.escape_share = (step.escape_share * (1.0 + doubt.escape * u(10))).clamp(0.0, 1.0);
        }
        scale(&mut loss.leaving, 1.0, doubt.fuel_peak * u(11));
    }
    let share = 1.0 + doubt.nitrate_in_gel * u(12);
    scale(
        &mut charge.nitrate_loss.leaving,
        share,
        doubt.nitrate_peak * u(13),
    );
}

/// Factor on a rate whose peak moves up by `shift` (K).
fn shifted(activation_energy: f64, shift: f64) -> f64 {
    (-activation_energy * shift / (GAS_CONSTANT * MIDDLE * MIDDLE)).exp()
}

fn scale(leaving: &mut Leaving, share: f64, shift: f64) {
    for pool in &mut leaving.pools {
        pool.share *= share;
        pool.pre_exponential *= shifted(pool.activation_energy, shift);
    }
}
