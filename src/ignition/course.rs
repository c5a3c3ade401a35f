//! The course of heating of a batch: stages, ignition or failure, what is left, energy.

mod ending;
mod notes;
mod numbers;
mod remains;
mod stage;
mod stirring;
mod trace;

pub use ending::{Ending, LitPlace};
pub use notes::{CoolingNote, EnergyBook, LayerNote, MicrowaveNote};
pub(super) use remains::Remains;
pub use stage::{Stage, StageName};
pub use trace::{CoursePoint, TRACE_POINTS, thinned};

use super::adapter::{Common, Setup};
use super::burn::{BurnEstimate, burn_estimate};
use super::charge::{Charge, Heater, Wall};
use super::error::IgnitionError;
use super::explain::{self, NoIgnition};
use super::history::{End, History};
use super::lumped::{LumpedEnd, lumped};
use super::setting::Setting;
use super::slab::{Settings, Slab};
use crate::batch::Batch;
use crate::quantity::units::{joule, kelvins, mole};
use crate::quantity::{
    AmountOfSubstance, Energy, EquivalenceRatio, Ratio, TemperatureInterval,
    ThermodynamicTemperature, Time,
};
use crate::tables::Tables;
use crate::tables::heating::{HeatingHazard, HeatingKind, HeatingWay};
pub(super) use ending::place;
use notes::{cooling, energy, layer, microwave};
use numbers::{k, r, s};
use stage::stages;
use trace::trace;

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
    /// Ignition or failure with every input at its middle.
    pub ending: Ending,
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
    /// Share of the nitrate, by oxidising valence, that left as nitric acid or nitrogen oxides.
    pub nitrate_lost: Ratio,
    /// Heat that the decomposing fuel stored in what stays of it; the burn gives it back.
    pub stored_heat: Energy,
    /// Equivalence ratio φ of what is left.
    pub equivalence_ratio: EquivalenceRatio,
    /// Gases that left before the burn, steam aside.
    pub early_gases: Vec<EarlyGas>,
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
    /// Points for charts, at most `TRACE_POINTS`.
    pub trace: Vec<CoursePoint>,
    /// Steps that the solver took.
    pub steps: usize,
    /// What it was made from.
    pub(super) setup: Box<Setup>,
}

/// A gas that leaves before the burn.
#[derive(Debug, Clone, PartialEq)]
pub struct EarlyGas {
    /// Formula; nitrogen oxides and nitric acid are counted together as HNO3.
    pub formula: String,
    pub amount: AmountOfSubstance,
}

impl Course {
    /// Time to ignition, if it ignites.
    pub fn time_to_ignition(&self) -> Option<Time> {
        match &self.ending {
            Ending::Ignites { time, .. } => Some(*time),
            Ending::Fails { .. } => None,
        }
    }

    /// Why it does not ignite, if it does not.
    pub fn no_ignition(&self) -> Option<&NoIgnition> {
        match &self.ending {
            Ending::Ignites { .. } => None,
            Ending::Fails { reason, .. } => Some(reason),
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
    let name = way.or(common.stated_way());
    let name = name.ok_or_else(|| IgnitionError::NoWayStated {
        known: known_ways(tables),
    })?;
    heating_way(tables, name)
}

fn known_ways(tables: &Tables) -> String {
    let ways = tables.heating.ways.iter();
    ways.map(|way| way.id.as_str())
        .collect::<Vec<_>>()
        .join(", ")
}

/// The heating way of this name.
///
/// # Errors
/// [`IgnitionError::UnknownWay`] names those that there are.
pub fn heating_way<'t>(tables: &'t Tables, name: &str) -> Result<&'t HeatingWay, IgnitionError> {
    let unknown = || IgnitionError::UnknownWay {
        name: name.to_owned(),
        known: known_ways(tables),
    };
    tables.heating.way(name).ok_or_else(unknown)
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

/// The same with coarse cells and steps, for one of many batches that are only set side by side.
///
/// # Errors
/// As for [`course`].
pub(crate) fn coarse_course(batch: &Batch, tables: &Tables) -> Result<Course, IgnitionError> {
    let common = Common::new(batch, tables)?;
    let row = chosen_way(&common, tables, None)?;
    let mut setup = common.setup(row)?;
    setup.settings = setup.settings.coarse();
    course_of(&common, row, setup)
}

/// The course on one row, with the charge already worked out.
pub(super) fn course_on(common: &Common<'_>, row: &HeatingWay) -> Result<Course, IgnitionError> {
    course_of(common, row, common.setup(row)?)
}

fn course_of(common: &Common<'_>, row: &HeatingWay, setup: Setup) -> Result<Course, IgnitionError> {
    let slab = Slab::new(&setup.charge, &setup.wall, &setup.heater, setup.settings)?;
    let history = slab.run()?;
    let quick = lumped(&setup.charge, &setup.wall, &setup.heater, &setup.settings)?;
    let charge = &setup.charge;
    let left = Remains::of(charge, &history);
    let ending = ending(&setup, &history, &left);
    let burn = burn_estimate(common, &setup, left.water)?;
    let staged_time = (quick.end == LumpedEnd::Ignites).then_some(quick.time);
    let stages = stages(&history, charge);
    Ok(Course {
        way: row.id.clone(),
        kind: row.kind(),
        setting: setup.setting,
        free_water_left: r(left.solvent),
        hydrate_water_left: r(left.hydrate),
        water_left: r(left.water),
        start_temperature: k(history.mean),
        wall_minus_centre: TemperatureInterval::new::<kelvins>(history.wall_minus_centre),
        fuel_lost: r(left.fuel_lost),
        nitrate_lost: r(left.nitrate_lost),
        stored_heat: Energy::new::<joule>(left.stored * charge.dry_mass),
        equivalence_ratio: r(charge.reaction.equivalence_ratio * (1.0 - left.fuel_lost)
            / (1.0 - left.nitrate_lost).max(1e-9)),
        early_gases: early_gases(common, &setup, &left),
        still_wet: r(still_wet(common, charge, &history)),
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
        staged_time: staged_time.map(s),
        trace: trace(&history.samples, &stages, charge),
        stages,
        steps: history.steps,
        burn,
        ending,
        setup: Box::new(setup),
    })
}

fn ending(setup: &Setup, history: &History, left: &Remains) -> Ending {
    let time = s(history.state.time);
    match history.end {
        End::Ignites { at } => Ending::Ignites {
            time,
            place: place(at, setup.outer_face),
            temperature: k(history.hottest),
        },
        End::BurntOut | End::TimeLimit => Ending::Fails {
            time,
            reason: explain::reason(setup, history, left.fuel_lost),
        },
    }
}

/// Share of the layer that is still too wet to burn by itself.
fn still_wet(common: &Common<'_>, charge: &Charge, history: &History) -> f64 {
    let criteria = &common.tables().heating.criteria;
    let wet = criteria.still_wet.si() * charge.hydrate_ratio().max(charge.gel.set_water);
    history.mean_of(|cell| if cell.w > wet { 1.0 } else { 0.0 })
}

/// Gases of the fuel that decomposed and of the nitrate that left.
fn early_gases(common: &Common<'_>, setup: &Setup, left: &Remains) -> Vec<EarlyGas> {
    let gas = |formula: &str, amount: f64| EarlyGas {
        formula: formula.to_owned(),
        amount: AmountOfSubstance::new::<mole>(amount),
    };
    let mut gases = Vec::new();
    if let Some((fuel, amount)) = &setup.volatile.fuel {
        let steps = common.tables().kinetics.steps_of(fuel);
        for (step, done) in steps.zip(left.fuel_steps) {
            let fumes = step.gases.iter().map(|g| (g.formula.to_string(), g));
            for (formula, row) in fumes.filter(|(formula, _)| formula != "H2O") {
                gases.push(gas(&formula, amount * done * row.number.si()));
            }
        }
    }
    gases.push(gas("HNO3", setup.volatile.nitrate * left.nitrate_gone));
    gases.retain(|g| g.amount.get::<mole>() > 0.0);
    gases
}
