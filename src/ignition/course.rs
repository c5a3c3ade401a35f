//! The course of heating of a batch: stages, ignition or failure, what is left, energy.

mod notes;
mod outcome;
mod stage;

pub use notes::{CoolingNote, EnergyBook, LayerNote, MicrowaveNote};
pub use outcome::{Outcome, Place};
pub use stage::{Stage, StageName};

use super::IgnitionError;
use super::adapter::Common;
use super::burn::{BurnEstimate, burn_estimate};
use super::charge::{Charge, Heater, Wall};
use super::explain::{self, NoIgnition};
use super::history::{End, Sample};
use super::lumped::{LumpedEnd, lumped};
use super::slab::{Settings, Slab};
use crate::batch::Batch;
use crate::quantity::{Length, Power, Ratio, TemperatureInterval, ThermodynamicTemperature, Time};
use crate::tables::Tables;
use crate::tables::heating::{HeatingHazard, HeatingKind, HeatingWay};
use notes::{cooling, energy, layer, microwave};
use outcome::place;
use stage::stages;
use uom::si::length::meter;
use uom::si::ratio::ratio;
use uom::si::temperature_interval::kelvin as kelvin_interval;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;

/// The setting of a heating way that was reckoned with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Setting {
    /// Output of an oven into one litre, electric power of a lamp, power of a burner.
    pub power: Option<Power>,
    /// Share of the time that an oven is on.
    pub duty: Option<Ratio>,
    /// Temperature of plate, furnace or hot gas.
    pub temperature: Option<ThermodynamicTemperature>,
}

/// The course of heating on one way.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Heating way.
    pub way: String,
    /// Its kind.
    pub kind: HeatingKind,
    /// Its setting.
    pub setting: Setting,
    /// Stages in the order of time.
    pub stages: Vec<Stage>,
    /// Ignition or failure.
    pub outcome: Outcome,
    /// Share of the solvent left then.
    pub free_water_left: Ratio,
    /// Share of the water of crystallisation left then.
    pub hydrate_water_left: Ratio,
    /// Share of all water left: what the flame sees.
    pub water_left: Ratio,
    /// Mean temperature of the layer then: the start of the burn.
    pub start_temperature: ThermodynamicTemperature,
    /// Inner face of the floor less the middle of the layer.
    pub wall_minus_centre: TemperatureInterval,
    /// Share of the fuel, by reducing valence, that left by decomposition.
    pub fuel_lost: Ratio,
    /// Share of the layer that is still too wet to burn by itself.
    pub still_wet: Ratio,
    /// Energy.
    pub energy: EnergyBook,
    /// The burn that follows.
    pub burn: BurnEstimate,
    /// Cooling.
    pub cooling: CoolingNote,
    /// The layer.
    pub layer: LayerNote,
    /// Microwave oven.
    pub microwave: Option<MicrowaveNote>,
    /// Hottest temperature of the floor before ignition.
    pub floor_hottest: ThermodynamicTemperature,
    /// Temperature above which the floor is damaged.
    pub floor_limit: ThermodynamicTemperature,
    /// Hazards of this way.
    pub hazards: Vec<HeatingHazard>,
    /// Time to ignition by the staged balance, if it ignites there.
    pub staged_time: Option<Time>,
    /// Points for charts.
    pub samples: Vec<CoursePoint>,
    /// Steps that the solver took.
    pub steps: usize,
}

/// A point of the course for charts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoursePoint {
    /// Time.
    pub time: Time,
    /// Coldest temperature in the layer.
    pub coldest: ThermodynamicTemperature,
    /// Mean temperature.
    pub mean: ThermodynamicTemperature,
    /// Hottest temperature.
    pub hottest: ThermodynamicTemperature,
    /// Share of all water left.
    pub water_left: Ratio,
}

impl Course {
    /// Time to ignition, if it ignites.
    #[must_use]
    pub fn time_to_ignition(&self) -> Option<Time> {
        match &self.outcome {
            Outcome::Ignites { time, .. } => Some(*time),
            Outcome::Fails { .. } => None,
        }
    }

    /// Why it does not ignite, if it does not.
    #[must_use]
    pub fn no_ignition(&self) -> Option<&NoIgnition> {
        match &self.outcome {
            Outcome::Ignites { .. } => None,
            Outcome::Fails { reason, .. } => Some(reason),
        }
    }
}

/// Inputs of both models, in coherent SI: for sweeps with [`super::lumped::lumped`] or runs of
/// [`Slab`] with other settings.
#[derive(Debug, Clone, PartialEq)]
pub struct ModelInputs {
    /// The batch in its vessel.
    pub charge: Charge,
    /// The floor of the vessel.
    pub wall: Wall,
    /// The heating way.
    pub heater: Heater,
    /// Solver and criteria.
    pub settings: Settings,
}

/// The inputs of the models for `batch` on `way`, or on the way that its file states.
///
/// # Errors
/// [`IgnitionError`] as for [`course`].
pub fn model_inputs(
    batch: &Batch,
    tables: &Tables,
    way: Option<&str>,
) -> Result<ModelInputs, IgnitionError> {
    let common = Common::new(batch, tables)?;
    let setup = common.setup(chosen_way(&common, tables, way)?)?;
    Ok(ModelInputs {
        charge: setup.charge,
        wall: setup.wall,
        heater: setup.heater,
        settings: setup.settings,
    })
}

fn chosen_way<'t>(
    common: &Common<'_>,
    tables: &'t Tables,
    way: Option<&str>,
) -> Result<&'t HeatingWay, IgnitionError> {
    let known = || {
        tables
            .heating
            .ways
            .iter()
            .map(|w| w.id.clone())
            .collect::<Vec<_>>()
            .join(", ")
    };
    let name = way
        .or(common.stated_way())
        .ok_or_else(|| IgnitionError::NoWayStated { known: known() })?;
    tables
        .heating
        .way(name)
        .ok_or_else(|| IgnitionError::UnknownWay {
            name: name.to_owned(),
            known: known(),
        })
}

/// The course of heating of `batch` on `way`, or on the way that its file states.
///
/// # Errors
/// [`IgnitionError`] if no way is stated or known, the batch cannot be balanced, or the model
/// does not get to an end.
pub fn course(batch: &Batch, tables: &Tables, way: Option<&str>) -> Result<Course, IgnitionError> {
    let common = Common::new(batch, tables)?;
    course_on(&common, chosen_way(&common, tables, way)?)
}

/// The course on one row, with the charge already worked out.
pub(super) fn course_on(common: &Common<'_>, row: &HeatingWay) -> Result<Course, IgnitionError> {
    let setup = common.setup(row)?;
    let slab = Slab::new(&setup.charge, &setup.wall, &setup.heater, setup.settings)?;
    let history = slab.run()?;
    let quick = lumped(&setup.charge, &setup.wall, &setup.heater, &setup.settings)?;
    let charge = &setup.charge;
    let state = &history.state;
    let cells = state.w.len() as f64;
    let mean_water = state.w.iter().sum::<f64>() / cells;
    let hydrate = charge.hydrate_ratio();
    let free = charge.initial_water() - hydrate;
    let criteria = &common.tables().heating.criteria;
    let wet_level = criteria.still_wet.si() * hydrate.max(charge.gel.set_water);
    let wet = state.w.iter().filter(|w| **w > wet_level).count() as f64 / cells;
    let decomposed = state.lost.iter().sum::<f64>() / cells;
    let escape = charge
        .fuel_loss
        .as_ref()
        .map_or(0.0, |loss| loss.escape_share);
    let fuel_lost = decomposed * escape * setup.volatile_share;
    let outcome = match history.end {
        End::Ignites { cell, cells } => Outcome::Ignites {
            time: s(state.time),
            place: place(cell, cells, criteria.outer_face.si()),
            temperature: k(history.hottest),
        },
        End::BurntOut | End::TimeLimit => Outcome::Fails {
            time: s(state.time),
            reason: explain::reason(&setup, &history, fuel_lost),
        },
    };
    let water_left = share(mean_water, charge.initial_water());
    let burn = burn_estimate(common, &setup, water_left)?;
    Ok(Course {
        way: row.id.clone(),
        kind: row.kind(),
        setting: setup.setting,
        stages: stages(&history),
        free_water_left: r(if free > 0.0 {
            ((mean_water - hydrate) / free).max(0.0)
        } else {
            0.0
        }),
        hydrate_water_left: r(share(mean_water.min(hydrate), hydrate)),
        water_left: r(water_left),
        start_temperature: k(history.mean),
        wall_minus_centre: TemperatureInterval::new::<kelvin_interval>(history.wall_minus_centre),
        fuel_lost: r(fuel_lost),
        still_wet: r(wet),
        energy: energy(&history, charge),
        cooling: cooling(common, &setup, &history, &burn),
        layer: layer(&setup),
        microwave: setup
            .heater
            .oven
            .as_ref()
            .map(|oven| microwave(common, &setup, oven)),
        floor_hottest: k(history.floor_hottest),
        floor_limit: k(setup.floor_highest),
        hazards: row
            .hazards
            .iter()
            .filter_map(|id| common.tables().heating.hazard(id))
            .cloned()
            .collect(),
        staged_time: (quick.end == LumpedEnd::Ignites).then(|| s(quick.time)),
        samples: history
            .samples
            .iter()
            .map(|sample| point(sample, charge))
            .collect(),
        steps: history.steps,
        burn,
        outcome,
    })
}

// Numbers of the solver, in coherent SI, as quantities.

fn s(value: f64) -> Time {
    Time::new::<second>(value)
}
fn k(value: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<kelvin>(value)
}
fn r(value: f64) -> Ratio {
    Ratio::new::<ratio>(value)
}
fn m(value: f64) -> Length {
    Length::new::<meter>(value)
}

/// `part / whole`, 0 for an empty whole.
fn share(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}

fn point(sample: &Sample, charge: &Charge) -> CoursePoint {
    CoursePoint {
        time: s(sample.time),
        coldest: k(sample.temperatures[0]),
        mean: k(sample.temperatures[1]),
        hottest: k(sample.temperatures[2]),
        water_left: r(share(sample.water, charge.initial_water())),
    }
}
