//! Will it stay in the pot: froth, depth, gas speed at the mouth, wall temperature, refusals.
//!
//! Everything that is not exactly known is a band, and a check looks at the worse end. The
//! pressure that a closed vessel would reach is worked out only to give the reason why it is
//! refused.

mod refusal;
mod settling;
mod wall;

use refusal::refusals;

pub use refusal::Refusal;
pub use settling::{Medium, terminal_velocity};

use crate::batch::{Cover, VesselChoice};
use crate::gas::ideal_gas_volume;
use crate::quantity::units::{gram_per_mole, kelvin, kelvins, ratio};
use crate::quantity::{
    AmountOfSubstance, Area, Band, Energy, HeatCapacity, Length, Mass, MolarMass, Pressure, Ratio,
    TemperatureInterval, ThermodynamicTemperature, Time, Velocity, Volume, VolumeRate,
    temperature_difference,
};
use crate::tables::heating::HeatingKind;
use crate::tables::vessels::{Vessel, VesselAssumptions, Vessels};
use std::sync::Arc;

/// What the vessel has to hold and to stand.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Solution as it goes into the vessel.
    pub solution_volume: Volume,
    /// Dry oxidiser and fuel.
    pub dry_mass: Mass,
    /// Powder that is left.
    pub product_mass: Mass,
    /// Gas of the burn.
    pub gas_amount: AmountOfSubstance,
    /// Its mass.
    pub gas_mass: Mass,
    /// Heat that the burn sets free.
    pub heat: Energy,
    /// The burns in question: flame temperature (none: no flame) and gas.
    pub burns: Vec<(Option<ThermodynamicTemperature>, AmountOfSubstance)>,
    /// Flame temperature, from the wettest to the driest state in question.
    pub flame: Band<ThermodynamicTemperature>,
    /// Pressure of the air.
    pub pressure: Pressure,
    /// Reactant ids of the fuels, each with its share of the reducing valence.
    pub fuels: Vec<(String, Ratio)>,
    /// What heats it, if stated.
    pub heating: Option<HeatingKind>,
    /// Temperature that the plate or the furnace is set to, if it has one.
    pub set_temperature: Option<ThermodynamicTemperature>,
}

/// How a batch behaves: the hull over its main fuels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Behaviour {
    /// Volume of the froth over that of the solution.
    pub froth: Band<Ratio>,
    /// Volume of the vessel over that of the solution, at least.
    pub vessel_ratio: Ratio,
    /// How long it burns, from the hottest to the coldest flames of such fuels.
    pub burn_time: Band<Time>,
}

impl Behaviour {
    /// How long a burn with this flame temperature lasts.
    ///
    /// The hottest part of a front carries it: its speed goes with exp(−E/2RT) (thermal theory of
    /// the front, Zeldovich and Frank-Kamenetskii 1938, from memory), so the logarithm of the time
    /// is straight in 1/T. The table's band, scatter included, gives the ends of the line and so
    /// stands for E; the fuel ratio, the water and the losses count through the temperature. Flames
    /// hotter or colder than those ends burn faster or slower than the band.
    pub fn burn_time_at(
        &self,
        flame: ThermodynamicTemperature,
        assumed: &VesselAssumptions,
    ) -> Band<Time> {
        let ends = assumed.burn_time_flame.value;
        let inverse = |t: ThermodynamicTemperature| 1.0 / t.get::<kelvin>();
        let (cold, hot) = (inverse(ends.low), inverse(ends.high));
        let along = (cold - inverse(flame)) / (cold - hot);
        let Band { low, high } = self.burn_time;
        let span = (high / low).get::<ratio>();
        let scatter = assumed.burn_time_scatter.value.get::<ratio>();
        let scatter = scatter.min(span.sqrt());
        let middle = high / scatter * (scatter * scatter / span).powf(along);
        Band::between(middle / scatter, middle * scatter)
    }

    /// How long the burns of `load` last: the hull over those with a flame; without any, as long
    /// as such fuels ever burn.
    pub fn burn_time_of(&self, load: &Load, assumed: &VesselAssumptions) -> Band<Time> {
        let flames = load.burns.iter().filter_map(|(flame, _)| *flame);
        flames
            .map(|flame| self.burn_time_at(flame, assumed))
            .reduce(Band::hull)
            .unwrap_or(self.burn_time)
    }
}

/// Share of the reducing valence from which a fuel counts for how the batch behaves. Assumed: a
/// tenth of another fuel changes little.
const COUNTS_FROM: f64 = 0.1;

/// How a batch with these fuels behaves; an unknown or missing fuel counts as any fuel.
pub fn behaviour(fuels: &[(String, Ratio)], vessels: &Vessels) -> Behaviour {
    let least = Ratio::new::<ratio>(COUNTS_FROM);
    let mut ids: Vec<&str> = fuels
        .iter()
        .filter(|(_, share)| *share >= least)
        .map(|(id, _)| id.as_str())
        .collect();
    if ids.is_empty() {
        ids.push("*");
    }
    let mut hull: Option<Behaviour> = None;
    for row in ids.into_iter().map(|id| vessels.behaviour(id)) {
        let own = Behaviour {
            froth: row.froth.value,
            vessel_ratio: row.vessel_ratio.value,
            burn_time: row.burn_time.value,
        };
        hull = Some(match hull {
            None => own,
            Some(old) => Behaviour {
                froth: old.froth.hull(own.froth),
                vessel_ratio: larger(old.vessel_ratio, own.vessel_ratio),
                burn_time: old.burn_time.hull(own.burn_time),
            },
        });
    }
    hull.expect("the list of fuels is never empty")
}

fn larger<Q: PartialOrd>(a: Q, b: Q) -> Q {
    if b > a { b } else { a }
}

/// Result of the check of one vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct VesselCheck {
    /// What was checked.
    pub choice: VesselChoice,
    /// Volume to the brim.
    pub brimful: Volume,
    pub froth: Band<Volume>,
    /// Froth over the brimful volume.
    pub froth_fill: Band<Ratio>,
    /// Depth of the solution.
    pub depth: Length,
    /// Open area of the mouth.
    pub mouth_area: Area,
    /// How long it burns.
    pub burn_time: Band<Time>,
    /// Whether the user has stated that time.
    pub burn_time_stated: bool,
    /// Gas flow out of the mouth, mean over the burn.
    pub mean_flow: Band<VolumeRate>,
    /// Gas flow at its peak.
    pub peak_flow: Band<VolumeRate>,
    /// Gas speed at the mouth, mean over the burn.
    pub mouth_speed: Band<Velocity>,
    /// Fall speed of the agglomerates, from the finest and lightest to the coarsest and heaviest.
    pub fall_speed: Band<Velocity>,
    /// Gas speed over the fall speed of the coarsest agglomerate; above 1 even that one flies.
    pub carry_over: Band<Ratio>,
    /// Powder finer than this leaves the pot at the mean flow.
    pub carried_below: Band<Length>,
    /// Temperature of the inner wall at the end of the burn.
    pub wall: Band<ThermodynamicTemperature>,
    /// Sudden rise of the inner wall.
    pub wall_rise: Band<TemperatureInterval>,
    /// Wall temperature over the highest working temperature of the material.
    pub over_limit: Band<TemperatureInterval>,
    /// Wall temperature over the softening or melting point.
    pub over_softening: Band<TemperatureInterval>,
    /// Adiabatic flame temperature over the highest working temperature of the material.
    pub flame_over_limit: TemperatureInterval,
    /// Upper end of the rise over the best shock rating of the material, for brittle ones.
    pub over_shock: Option<TemperatureInterval>,
    /// Pressure that the gas would reach if the vessel were closed: the reason for refusing it.
    pub pressure_if_closed: Pressure,
    /// Brimful volume of the outer vessel over that of the inner one.
    pub outer_share: Option<Ratio>,
    /// Why the vessel is refused; empty if it is not.
    pub refusals: Vec<Refusal>,
    /// Heat capacity of the vessel and the powder in it, for its cooling.
    pub heat_capacity: HeatCapacity,
}

/// Checks `choice` against `load`.
pub fn check(choice: &VesselChoice, load: &Load, vessels: &Vessels) -> VesselCheck {
    let assumed = &vessels.assumed;
    let shape = &choice.vessel.shape;
    let brimful = shape.brimful();
    let behaviour = behaviour(&load.fuels, vessels);
    let froth = froth_volume(load, &behaviour, assumed);
    let burn_time = choice
        .flame_lasts
        .map_or_else(|| behaviour.burn_time_of(load, assumed), Band::exactly);
    let flow = Flow::of(load, burn_time, assumed);
    let mouth_area = shape.mouth_area();
    let mouth_speed = flow.mean.map(|flow| flow / mouth_area);
    let heating = WallHeating::of(choice, load, froth, burn_time, assumed);
    let material = &choice.vessel.material;
    let pressure_if_closed = pressure_if_closed(brimful, load);
    VesselCheck {
        brimful,
        froth,
        froth_fill: froth.map(|volume| volume / brimful),
        depth: shape.depth_of(load.solution_volume),
        mouth_area,
        burn_time,
        burn_time_stated: choice.flame_lasts.is_some(),
        mean_flow: flow.mean,
        peak_flow: flow.peak,
        mouth_speed,
        fall_speed: flow.fall_speed,
        carry_over: Band::between(
            mouth_speed.low / flow.fall_speed.high,
            mouth_speed.high / flow.fall_speed.high,
        ),
        carried_below: mouth_speed.map(|speed| {
            settling::diameter_falling_at(
                speed,
                assumed.agglomerate_density.value.high,
                &flow.medium_hot,
            )
        }),
        wall: heating.wall,
        wall_rise: heating.rise,
        over_limit: heating
            .wall
            .map(|wall| temperature_difference(wall, material.highest_wall.value)),
        over_softening: heating
            .wall
            .map(|wall| temperature_difference(wall, material.softening_point.value)),
        flame_over_limit: temperature_difference(load.flame.high, material.highest_wall.value),
        over_shock: material
            .thermal_shock
            .as_ref()
            .map(|shock| heating.rise.high - shock.value.high),
        pressure_if_closed,
        outer_share: choice
            .outer
            .as_ref()
            .map(|outer| outer.shape.brimful() / brimful),
        refusals: refusal::refusals(choice, load.heating, pressure_if_closed, assumed),
        heat_capacity: heat_capacity(choice, load),
        choice: choice.clone(),
    }
}

/// Froth from the solution, or from the syrup that its dry mass makes if that is more: little
/// water added does not mean little froth.
fn froth_volume(load: &Load, behaviour: &Behaviour, assumed: &VesselAssumptions) -> Band<Volume> {
    let syrup: Volume = load.dry_mass / assumed.syrup_density.value;
    let liquid = larger(load.solution_volume, syrup);
    behaviour.froth.map(|factor| factor * liquid)
}

/// p = n R T / V with all gas at the upper flame temperature, above the pressure of the air that
/// was in it.
fn pressure_if_closed(brimful: Volume, load: &Load) -> Pressure {
    let free = ideal_gas_volume(load.gas_amount, load.flame.high, load.pressure);
    load.pressure + load.pressure * (free / brimful)
}

fn heat_capacity(choice: &VesselChoice, load: &Load) -> HeatCapacity {
    let vessel = &choice.vessel;
    let glass: Mass = vessel.shape.inner_area() * vessel.wall * vessel.material.density.value;
    // the powder adds little; it is counted with the heat capacity of the vessel's material
    (glass + load.product_mass) * vessel.material.heat_capacity.value
}

/// Gas flow and what falls in it.
struct Flow {
    mean: Band<VolumeRate>,
    peak: Band<VolumeRate>,
    fall_speed: Band<Velocity>,
    medium_hot: Medium,
}

impl Flow {
    fn of(load: &Load, burn_time: Band<Time>, assumed: &VesselAssumptions) -> Self {
        let mouth = assumed.mouth_temperature.value;
        let scaled = |t: ThermodynamicTemperature, share: Ratio| {
            let t = t.get::<kelvin>() * share.get::<ratio>();
            ThermodynamicTemperature::new::<kelvin>(t.max(COLDEST_MOUTH))
        };
        let cool = scaled(load.flame.low, mouth.low);
        let hot = scaled(load.flame.high, mouth.high);
        let volume = |t| ideal_gas_volume(load.gas_amount, t, load.pressure);
        let mean = Band::between(volume(cool) / burn_time.high, volume(hot) / burn_time.low);
        let peak = assumed.peak_flow.value;
        let molar_mass = molar_mass(load);
        let medium = |t| Medium::hot_gas(t, load.pressure, molar_mass, assumed);
        let (medium_cool, medium_hot) = (medium(cool), medium(hot));
        let diameter = assumed.agglomerate_diameter.value;
        let density = assumed.agglomerate_density.value;
        // hot gas is the more viscous: powder falls slowest in it
        let slowest = settling::terminal_velocity(diameter.low, density.low, &medium_hot);
        let fastest = settling::terminal_velocity(diameter.high, density.high, &medium_cool);
        Self {
            mean,
            peak: Band {
                low: peak.low * mean.low,
                high: peak.high * mean.high,
            },
            fall_speed: Band::between(slowest, fastest),
            medium_hot,
        }
    }
}

/// Mean and peak flow of gas out of the mouth over `burn_time`.
pub fn gas_flow(
    load: &Load,
    burn_time: Band<Time>,
    vessels: &Vessels,
) -> (Band<VolumeRate>, Band<VolumeRate>) {
    let flow = Flow::of(load, burn_time, &vessels.assumed);
    (flow.mean, flow.peak)
}

/// Gas at the mouth is never colder than steam, in K.
const COLDEST_MOUTH: f64 = 373.15;

/// Mean molar mass of the gas; that of air, 29 g/mol, if no gas is there.
fn molar_mass(load: &Load) -> MolarMass {
    let own = load.gas_mass / load.gas_amount;
    let least = MolarMass::new::<gram_per_mole>(2.0);
    if own >= least {
        own
    } else {
        MolarMass::new::<gram_per_mole>(29.0)
    }
}

/// What the burn does to the wall.
struct WallHeating {
    wall: Band<ThermodynamicTemperature>,
    rise: Band<TemperatureInterval>,
}

impl WallHeating {
    fn of(
        choice: &VesselChoice,
        load: &Load,
        froth: Band<Volume>,
        burn_time: Band<Time>,
        assumed: &VesselAssumptions,
    ) -> Self {
        let vessel = &choice.vessel;
        let mut start = assumed.wall_at_ignition.value;
        if let Some(set) = load.set_temperature {
            // the bottom on a plate lies between the boiling syrup and the plate; in a furnace
            // the wall goes on towards the furnace
            start.high = larger(start.low, set);
        }
        let transfer = assumed.flame_transfer.value;
        let share = assumed.heat_to_wall.value;
        let whole = vessel.shape.inner_area();
        // at least the wall that the froth has wetted takes part
        let wetted = vessel.shape.wetted_area(froth.low);
        let rise = |wall, flame, transfer, time, heat, area| {
            let heating = wall::Heating {
                wall,
                flame,
                transfer,
                time,
                heat,
                area,
            };
            wall::rise(&vessel.material, vessel.wall, &heating)
        };
        let (least, most) = (share.low * load.heat, share.high * load.heat);
        let low = rise(
            start.low,
            load.flame.low,
            transfer.low,
            burn_time.low,
            least,
            whole,
        );
        let high = rise(
            start.high,
            load.flame.high,
            transfer.high,
            burn_time.high,
            most,
            wetted,
        );
        Self {
            wall: Band::between(start.low + low, start.high + high),
            rise: Band::between(low, high),
        }
    }
}

/// Time until the vessel may be touched, from its lower and upper wall temperature on; none if
/// the air of the room is too warm for it.
pub fn time_until_touchable(
    check: &VesselCheck,
    air: ThermodynamicTemperature,
    vessels: &Vessels,
) -> Option<Band<Time>> {
    let assumed = &vessels.assumed;
    let area = check.choice.vessel.shape.inner_area();
    let from = |hot| {
        let cooling = wall::Cooling {
            hot,
            air,
            capacity: check.heat_capacity,
            area,
            transfer: assumed.cooling_transfer.value,
        };
        wall::cooling_time(&cooling, assumed.touchable.value)
    };
    Some(from(check.wall.low)?.hull(from(check.wall.high)?))
}

/// A named vessel, open and alone, as a choice.
pub fn open_vessel(vessel: &Arc<Vessel>) -> VesselChoice {
    VesselChoice {
        vessel: Arc::clone(vessel),
        cover: Cover::Open,
        outer: None,
        flame_lasts: None,
        stirrer: None,
    }
}

/// Zero or above, for warnings that start at a limit.
pub(crate) fn above_zero(step: TemperatureInterval) -> bool {
    step > TemperatureInterval::new::<kelvins>(0.0)
}

/// The smallest named vessel, open, that passes every check with `load`; none if none does. It
/// never proposes a cover, and never looks at anything but the batch as it is.
pub fn smallest_fitting(load: &Load, vessels: &Vessels) -> Option<Arc<Vessel>> {
    let behaviour = behaviour(&load.fuels, vessels);
    let mut fitting: Vec<&Arc<Vessel>> = vessels
        .vessels
        .iter()
        .filter(|vessel| fits(vessel, load, &behaviour, vessels))
        .collect();
    // metal last: acid nitrate solutions dissolve it
    fitting.sort_by(|a, b| {
        let volume = |vessel: &Vessel| vessel.shape.brimful().value;
        let by_volume = volume(a).total_cmp(&volume(b));
        a.material.metal.cmp(&b.material.metal).then(by_volume)
    });
    fitting.first().map(|vessel| Arc::clone(vessel))
}

/// The checks of [`check`] that decide, without the flow of gas.
fn fits(vessel: &Arc<Vessel>, load: &Load, behaviour: &Behaviour, vessels: &Vessels) -> bool {
    let assumed = &vessels.assumed;
    let choice = open_vessel(vessel);
    let shape = &vessel.shape;
    let brimful = shape.brimful();
    let froth = froth_volume(load, behaviour, assumed);
    let least = larger(behaviour.vessel_ratio * load.solution_volume, froth.high);
    if brimful < least
        || froth.high > assumed.froth_share.value * brimful
        || shape.depth_of(load.solution_volume) > assumed.liquid_depth.value
    {
        return false;
    }
    let pressure = pressure_if_closed(brimful, load);
    let burn_time = behaviour.burn_time_of(load, assumed);
    let wall = WallHeating::of(&choice, load, froth, burn_time, assumed).wall;
    refusals(&choice, load.heating, pressure, assumed).is_empty()
        && !above_zero(temperature_difference(
            wall.high,
            vessel.material.highest_wall.value,
        ))
}
