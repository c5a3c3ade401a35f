//! The course of heating of a batch: stages, ignition or failure, what is left, energy.

use super::burn::{BurnEstimate, burn_estimate};
use super::calibration::in_watt;
use super::charge::Charge;
use super::cooling::CoolingBody;
use super::explain::{self, NoIgnition};
use super::history::{End, History, Mark, Sample};
use super::lumped::lumped;
use super::microwave::Oven;
use super::slab::Slab;
use super::{
    IgnitionError,
    adapter::{Common, Setup},
};
use crate::batch::Batch;
use crate::quantity::{
    Energy, Length, Power, Ratio, TemperatureInterval, ThermodynamicTemperature, Time,
};
use crate::tables::Tables;
use crate::tables::heating::{HeatingHazard, HeatingKind, HeatingWay};
use std::fmt;
use uom::si::energy::joule;
use uom::si::length::meter;
use uom::si::power::watt;
use uom::si::ratio::ratio;
use uom::si::temperature_interval::kelvin as kelvin_interval;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;

/// Name of a stage of heating.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum StageName {
    /// From cold to boiling.
    HeatUp,
    /// The solvent boils off while the boiling point climbs.
    BoilOff,
    /// Syrup and gel: the water of crystallisation boils off.
    Gel,
    /// The driest part is dry and warms up.
    DryHeat,
    /// The reaction heats faster than the heating way, to ignition.
    Runaway,
}

impl StageName {
    /// A short code for files.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::HeatUp => "heat_up",
            Self::BoilOff => "boil_off",
            Self::Gel => "gel",
            Self::DryHeat => "dry_heat",
            Self::Runaway => "runaway",
        }
    }
}

impl fmt::Display for StageName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::HeatUp => "heating to the boil",
            Self::BoilOff => "boiling off the water",
            Self::Gel => "syrup and gel",
            Self::DryHeat => "dry heat",
            Self::Runaway => "runaway",
        })
    }
}

/// One stage of heating.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stage {
    /// Which.
    pub name: StageName,
    /// When it starts.
    pub start: Time,
    /// When it ends.
    pub end: Time,
    /// Mean temperature of the layer at its end.
    pub temperature: ThermodynamicTemperature,
}

/// Part of the layer where the burn starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// At the floor of the vessel.
    Wall,
    /// Inside the layer.
    Centre,
    /// At its free surface.
    Top,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Wall => "wall",
            Self::Centre => "centre",
            Self::Top => "top",
        })
    }
}

/// Whether and where the batch ignites.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// It runs away.
    Ignites {
        /// After this time of heating.
        time: Time,
        /// Where.
        place: Place,
        /// Temperature of that place then.
        temperature: ThermodynamicTemperature,
    },
    /// It does not.
    Fails {
        /// After this time of heating it was over or given up.
        time: Time,
        /// Why.
        reason: NoIgnition,
    },
}

/// Where the energy of heating went, from the start to ignition or failure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EnergyBook {
    /// Through the floor of the vessel (net).
    pub from_below: Energy,
    /// Through the free surface (net; negative: given off to the room).
    pub from_above: Energy,
    /// Microwaves absorbed.
    pub microwaves: Energy,
    /// Released by the reaction before ignition.
    pub reaction: Energy,
    /// Carried off by steam.
    pub steam: Energy,
    /// Carried off by gas and decomposing fuel.
    pub gas: Energy,
    /// Stored in floor and layer.
    pub stored: Energy,
    /// What does not add up: the solver's error.
    pub imbalance: Energy,
    /// Mean power taken up from the heating way.
    pub mean_power: Power,
}

/// The microwave oven and the batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MicrowaveNote {
    /// Power taken up by the solution at the start, magnetron on.
    pub absorbed_first: Power,
    /// Power taken up by the gel when its solvent has gone.
    pub absorbed_gel: Power,
    /// Depth in which the power falls to 1/e, in the solution at 25 °C.
    pub penetration_first: Length,
    /// The same in the hot, dry gel.
    pub penetration_gel: Length,
    /// Whether the layer is deep enough for Lambert's law at the start.
    pub lambert_holds: bool,
    /// Whether a product that goes on taking up microwaves is expected; `None` if no row tells.
    pub product_goes_on: Option<bool>,
}

/// Size of the layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerNote {
    /// Depth of the solution.
    pub solution_depth: Length,
    /// Depth of the dry gel with its froth.
    pub gel_depth: Length,
    /// Whether the area was assumed because the file names no vessel.
    pub assumed_area: bool,
    /// Thickness of dry gel below which it loses its heat as fast as it makes it, at the
    /// temperature of the reaction peak or of a cooler heating way.
    pub critical_depth: Option<Length>,
}

/// How long it stays hot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoolingNote {
    /// Temperature of vessel and powder after the burn.
    pub from: ThermodynamicTemperature,
    /// Temperature below which it may be touched.
    pub to: ThermodynamicTemperature,
    /// Time in still air, counted from the moment the heating way no longer heats it.
    pub time: Option<Time>,
}

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
    pub wall: super::charge::Wall,
    /// The heating way.
    pub heater: super::charge::Heater,
    /// Solver and criteria.
    pub settings: super::slab::Settings,
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
    let wet_level = criteria.si("still_wet") * hydrate.max(charge.gel.set_water);
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
            place: place(cell, cells, criteria.si("outer_face")),
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
        kind: row.kind,
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
        staged_time: (quick.end == super::lumped::LumpedEnd::Ignites).then(|| s(quick.time)),
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

fn place(cell: usize, cells: usize, outer: f64) -> Place {
    let position = (cell as f64 + 0.5) / cells as f64;
    if position < outer {
        Place::Wall
    } else if position > 1.0 - outer {
        Place::Top
    } else {
        Place::Centre
    }
}

/// The time line from the marks of the run.
fn stages(history: &History) -> Vec<Stage> {
    let end = history.state.time;
    let mut marks: Vec<(StageName, f64, f64)> = Vec::new();
    let ignites = matches!(history.end, End::Ignites { .. });
    for moment in &history.moments {
        let name = match moment.mark {
            Mark::Boils => StageName::BoilOff,
            Mark::SolventGone => StageName::Gel,
            Mark::PartlyDry => StageName::DryHeat,
            Mark::HeatsItself if ignites => StageName::Runaway,
            Mark::HeatsItself | Mark::GelSets => continue,
        };
        marks.push((name, moment.time.min(end), moment.temperature));
    }
    marks.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut stages = Vec::new();
    let mut name = StageName::HeatUp;
    let mut start = 0.0;
    for (next, time, temperature) in marks {
        // A later stage may begin before an earlier one has ended somewhere else in the layer:
        // the time line goes forward only.
        if next < name {
            continue;
        }
        if time > start {
            stages.push(Stage {
                name,
                start: s(start),
                end: s(time),
                temperature: k(temperature),
            });
        }
        (name, start) = (next, time);
    }
    stages.push(Stage {
        name,
        start: s(start),
        end: s(end),
        temperature: k(history.mean),
    });
    stages
}

fn energy(history: &History, charge: &Charge) -> EnergyBook {
    let l = &history.ledger;
    let j = |value: f64| Energy::new::<joule>(value * charge.area);
    let taken = l.bottom + l.top + l.microwave;
    EnergyBook {
        from_below: j(l.bottom),
        from_above: j(l.top),
        microwaves: j(l.microwave),
        reaction: j(l.reaction),
        steam: j(l.steam),
        gas: j(l.gas + l.fuel_loss),
        stored: j(l.stored_last - l.stored_first),
        imbalance: j(l.imbalance()),
        mean_power: Power::new::<watt>(share(taken * charge.area, history.state.time)),
    }
}

fn layer(setup: &Setup) -> LayerNote {
    let charge = &setup.charge;
    LayerNote {
        solution_depth: m(setup.volume / charge.area),
        gel_depth: m(charge.dry_depth()),
        assumed_area: setup.assumed_area,
        critical_depth: explain::critical_depth(setup).map(m),
    }
}

fn microwave(common: &Common<'_>, setup: &Setup, oven: &Oven) -> MicrowaveNote {
    let charge = &setup.charge;
    let gel = charge.dry_mass / charge.gel.density.max(1000.0) * oven.gel_load;
    let watt_of = |w: f64| {
        Power::new::<watt>(
            oven.power * oven.load_share(w * charge.dry_mass / charge.water.density + gel),
        )
    };
    let first = oven.dielectric.penetration_depth(
        1.0 / (1.0 + charge.initial_water()),
        crate::quantity::REFERENCE_TEMPERATURE,
    );
    let limit = common.tables().heating.dielectric.si("lambert_limit");
    MicrowaveNote {
        absorbed_first: watt_of(charge.initial_water()),
        absorbed_gel: watt_of(charge.gel.set_water),
        penetration_first: m(first),
        penetration_gel: m(oven.dielectric.penetration_depth(1.0, charge.reaction.peak)),
        lambert_holds: setup.volume / charge.area > limit * first,
        product_goes_on: explain::product_goes_on(common),
    }
}

fn cooling(
    common: &Common<'_>,
    setup: &Setup,
    history: &History,
    burn: &BurnEstimate,
) -> CoolingNote {
    let charge = &setup.charge;
    let wall = &setup.wall;
    // Floor and as much side wall as three floors: a dish or low beaker.
    let vessel = 3.0 * charge.area * wall.thickness * wall.volumetric_heat_capacity;
    let powder = charge.dry_mass
        * (1.0 - charge.reaction.gas_fraction)
        * charge.reaction.product_heat_capacity;
    let flame = burn.flame.map_or(history.hottest, |t| t.get::<kelvin>());
    let from = (vessel * history.floor_hottest + powder * flame) / (vessel + powder);
    let criteria = &common.tables().heating.criteria;
    let body = CoolingBody {
        heat_capacity: vessel + powder,
        area: 4.0 * charge.area,
        transfer: 8.0,
        emissivity: 0.9,
        room: charge.room_temperature,
    };
    CoolingNote {
        from: k(from),
        to: k(common.touch()),
        time: body.time(from, criteria.si("touch")).map(s),
    }
}

/// Power in W; kept here so that reports need no unit of their own.
#[must_use]
pub fn watts(power: Power) -> f64 {
    in_watt(power)
}
