//! The course of heating as JSON. Units are in the names.

use super::advice::WarningView;
use super::expected::ExpectedBurn;
use super::view::{json_of, list, view};
use crate::batch::Batch;
use crate::ignition::{
    BurnEstimate, Comparison, CoolingNote, Course, CoursePoint, Ending, EnergyBook, Judged,
    LitPlace, MicrowaveNote, NoIgnition, Setting, Stage, Verdict, WayResult,
};
use crate::prepared::Prepared;
use crate::quantity::units::{joule, kelvin, kelvins, meter, mole, ratio, second, watt};
use crate::quantity::{ThermodynamicTemperature, Time};
use crate::tables::heating::HeatingHazard;
use serde_json::Value;
use std::collections::BTreeMap;

/// The course on one way with the batch's warnings, as a JSON value.
pub fn ignite_json(prepared: &Prepared<'_>, judged: &Judged) -> Value {
    json_of(OneWay::from((prepared, judged)))
}

/// All ways as a JSON value.
pub fn comparison_json(prepared: &Prepared<'_>, comparison: &Comparison) -> Value {
    json_of(AllWays::from((prepared, comparison)))
}

view! {
    /// The batch on one heating way.
    OneWay((prepared, judged): (&Prepared<'_>, &Judged)) {
        /// The course.
        #[serde(flatten)]
        course: NamedCourse = NamedCourse::from((&prepared.batch, judged)),
        /// The expected burn.
        expected: ExpectedBurn = ExpectedBurn::from(&prepared.expected),
        /// Warnings, the gravest first.
        warnings: Vec<WarningView> = list(&prepared.advice.warnings),
    }
}

view! {
    /// The batch on all ways of heating.
    result AllWays((prepared, comparison): (&Prepared<'_>, &Comparison)) {
        /// Name of the batch.
        name: String = prepared.batch.name.clone(),
        /// The expected burn.
        expected: ExpectedBurn = ExpectedBurn::from(&prepared.expected),
        /// The ways in the order of the tables.
        ways: Vec<WayOrError> = list(&comparison.ways),
        /// Why they differ.
        reasons: String = comparison.reasons.clone(),
        /// Warnings, the gravest first.
        warnings: Vec<WarningView> = list(&prepared.advice.warnings),
    }
}

/// The course on a way, or why there is none.
#[derive(serde::Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
#[serde(untagged)]
pub(super) enum WayOrError {
    /// The course.
    Course(Box<WayCourse>),
    /// No course.
    Failed {
        /// The heating way.
        heating_way: String,
        /// Why there is no course.
        error: String,
    },
}

impl From<&WayResult> for WayOrError {
    fn from(way: &WayResult) -> Self {
        match &way.judged {
            Ok(judged) => Self::Course(Box::new((&judged.course, &judged.verdict).into())),
            Err(error) => Self::Failed {
                heating_way: way.way.clone(),
                error: error.to_string(),
            },
        }
    }
}

view! {
    /// The course of a batch over time.
    result NamedCourse((batch, judged): (&Batch, &Judged)) {
        /// Name of the batch.
        name: String = batch.name.clone(),
        /// The course.
        #[serde(flatten)]
        course: WayCourse = WayCourse::from((&judged.course, &judged.verdict)),
        /// The course over time.
        trace: Vec<TracePoint> = list(&judged.course.trace),
    }
}

view! {
    /// The course on one heating way.
    WayCourse((course, verdict): (&Course, &Verdict)) {
        /// The heating way.
        heating_way: String = course.way.clone(),
        /// Kind of heater.
        kind: String = course.kind.to_string(),
        /// How the heater is set.
        setting: HeaterSetting = HeaterSetting::from(&course.setting),
        /// Stages of the heating.
        stages: Vec<HeatingStage> = list(&course.stages),
        /// Verdict over the sampled courses.
        verdict: HeatingVerdict = HeatingVerdict::from(verdict),
        /// Time to ignition of the middle course; null if it does not light.
        time_to_ignition_s: Option<f64> = lit(course).map(|(time, ..)| time.get::<second>()),
        /// Why it does not light; null if it does.
        no_ignition: Option<WhyNot> = match &course.ending {
            Ending::Ignites { .. } => None,
            Ending::Fails { reason, .. } => Some(reason.into()),
        },
        /// Time that was followed.
        heating_time_s: f64 = match &course.ending {
            Ending::Ignites { time, .. } | Ending::Fails { time, .. } => time.get::<second>(),
        },
        /// Where it lights first: "wall", "centre" or "top"; null if nowhere.
        ignites_at: Option<String> = lit(course).map(|(_, place, _)| place.code().to_owned()),
        /// Temperature there; null if it does not light.
        hottest_temperature_k: Option<f64> =
            lit(course).map(|(.., hottest)| hottest.get::<kelvin>()),
        /// Share of all water that is left.
        water_left_fraction: f64 = course.water_left.get::<ratio>(),
        /// Share of the solvent left.
        free_water_left_fraction: f64 = course.free_water_left.get::<ratio>(),
        /// Share of the crystal water left.
        hydrate_water_left_fraction: f64 = course.hydrate_water_left.get::<ratio>(),
        /// Temperature at which the burn starts.
        start_temperature_k: f64 = course.start_temperature.get::<kelvin>(),
        /// Temperature of the wall over that of the centre.
        wall_minus_centre_k: f64 = course.wall_minus_centre.get::<kelvins>(),
        /// Share of the fuel lost on heating.
        fuel_lost_fraction: f64 = course.fuel_lost.get::<ratio>(),
        /// Share of the nitrate lost on heating.
        nitrate_lost_fraction: f64 = course.nitrate_lost.get::<ratio>(),
        /// φ of what is left.
        equivalence_ratio_left: f64 = course.equivalence_ratio.get::<ratio>(),
        /// Gases that left before the burn.
        early_gases_mol: BTreeMap<String, f64> = course.early_gases.iter()
            .map(|gas| (gas.formula.clone(), gas.amount.get::<mole>()))
            .collect(),
        /// Share of the layer that is still wet.
        still_wet_fraction: f64 = course.still_wet.get::<ratio>(),
        /// Where the energy of heating came from and went.
        energy: HeatingEnergy = HeatingEnergy::from(&course.energy),
        /// The burn that follows.
        burn: BurnThen = BurnThen::from(&course.burn),
        /// The powder after the burn.
        cooling: CoolingThen = CoolingThen::from(&course.cooling),
        /// The layer in the vessel.
        layer: LayerThen = LayerThen::from(course),
        /// What the microwaves do; null on other ways.
        microwave: Option<MicrowavesIn> = course.microwave.as_ref().map(MicrowavesIn::from),
        /// Dangers of the way.
        hazards: Vec<WayHazard> = list(&course.hazards),
        /// Time to ignition by the staged balance.
        staged_time_to_ignition_s: Option<f64> = course.staged_time.map(|t| t.get::<second>()),
        /// Steps in time.
        solver_steps: usize = course.steps,
    }
}

/// When, where and how hot it lights; `None` if it does not.
fn lit(course: &Course) -> Option<(Time, LitPlace, ThermodynamicTemperature)> {
    match course.ending {
        Ending::Ignites {
            time,
            place,
            temperature,
        } => Some((time, place, temperature)),
        Ending::Fails { .. } => None,
    }
}

view! {
    /// How the heater is set.
    HeaterSetting(setting: &Setting) {
        /// Power taken up by the batch; null if it is not set.
        power_w: Option<f64> = setting.power.map(|p| p.get::<watt>()),
        /// Share of the time that it is on; null if it is not set.
        duty_fraction: Option<f64> = setting.duty.map(|d| d.get::<ratio>()),
        /// Temperature; null if it is not set.
        temperature_k: Option<f64> = setting.temperature.map(|t| t.get::<kelvin>()),
    }
}

view! {
    /// A stage of the heating.
    HeatingStage(stage: &Stage) {
        /// Name.
        name: &'static str = stage.name.code(),
        /// Start.
        start_s: f64 = stage.start.get::<second>(),
        /// End.
        end_s: f64 = stage.end.get::<second>(),
        /// Temperature at the end.
        temperature_k: f64 = stage.temperature.get::<kelvin>(),
        /// Mean power.
        mean_power_w: f64 = stage.power.get::<watt>(),
    }
}

view! {
    /// The energy of heating.
    HeatingEnergy(book: &EnergyBook) {
        /// Heat from below.
        from_below_j: f64 = book.from_below.get::<joule>(),
        /// Heat from above.
        from_above_j: f64 = book.from_above.get::<joule>(),
        /// Heat from microwaves.
        microwaves_j: f64 = book.microwaves.get::<joule>(),
        /// Heat of reaction.
        reaction_j: f64 = book.reaction.get::<joule>(),
        /// Taken away by steam.
        steam_j: f64 = book.steam.get::<joule>(),
        /// Taken away by other gas.
        gas_j: f64 = book.gas.get::<joule>(),
        /// Kept by batch and vessel.
        stored_j: f64 = book.stored.get::<joule>(),
        /// What does not add up.
        imbalance_j: f64 = book.imbalance.get::<joule>(),
        /// Mean power.
        mean_power_w: f64 = book.mean_power.get::<watt>(),
    }
}

view! {
    /// The burn after heating.
    BurnThen(burn: &BurnEstimate) {
        /// Temperature of the flame; null without flame.
        flame_temperature_k: Option<f64> = burn.flame.map(|t| t.get::<kelvin>()),
        /// Shortest time.
        shortest_s: f64 = burn.duration.0.get::<second>(),
        /// Longest time.
        longest_s: f64 = burn.duration.1.get::<second>(),
    }
}

view! {
    /// The powder after the burn.
    CoolingThen(cooling: &CoolingNote) {
        /// Temperature at the start.
        from_temperature_k: f64 = cooling.from.get::<kelvin>(),
        /// Temperature at the end.
        to_temperature_k: f64 = cooling.to.get::<kelvin>(),
        /// Temperature of the furnace in which it cools; null outside one.
        furnace_k: Option<f64> = cooling.furnace.map(|t| t.get::<kelvin>()),
        /// Time between them; null if it does not get there.
        time_s: Option<f64> = cooling.time.map(|t| t.get::<second>()),
    }
}

view! {
    /// The layer in the vessel.
    LayerThen(course: &Course) {
        /// Depth of the solution.
        solution_depth_m: f64 = course.layer.solution_depth.get::<meter>(),
        /// Depth of the gel.
        gel_depth_m: f64 = course.layer.gel_depth.get::<meter>(),
        /// True if the area was assumed.
        assumed_area: bool = course.layer.assumed_area,
        /// Depth above which the gel runs away; null if none does.
        critical_depth_m: Option<f64> = course.layer.critical_depth.map(|d| d.get::<meter>()),
        /// Hottest temperature of the floor.
        floor_hottest_k: f64 = course.floor_hottest.get::<kelvin>(),
        /// Highest temperature that the vessel stands.
        floor_limit_k: f64 = course.floor_limit.get::<kelvin>(),
    }
}

view! {
    /// Microwaves in the batch.
    MicrowavesIn(note: &MicrowaveNote) {
        /// Power absorbed by the solution.
        absorbed_by_solution_w: f64 = note.absorbed_first.get::<watt>(),
        /// Power absorbed by the gel.
        absorbed_by_gel_w: f64 = note.absorbed_gel.get::<watt>(),
        /// Depth of penetration in the solution.
        penetration_in_solution_m: f64 = note.penetration_first.get::<meter>(),
        /// Depth of penetration in the gel.
        penetration_in_gel_m: f64 = note.penetration_gel.get::<meter>(),
        /// True if the layer is deep against the wavelength.
        lambert_holds: bool = note.lambert_holds,
        /// Whether the powder goes on absorbing; null if unknown.
        product_goes_on: Option<bool> = note.product_goes_on,
    }
}

view! {
    /// The verdict over the sampled courses.
    HeatingVerdict(verdict: &Verdict) {
        /// "lights", "may_light" or "does_not_light".
        chance: &'static str = verdict.chance().code(),
        /// As a sentence.
        text: String = verdict.to_string(),
        /// Courses that light.
        lit: usize = verdict.lit,
        /// Courses in all.
        of: usize = verdict.of,
        /// Lower end of the time that holds eight of ten that light; null if none does.
        from_s: Option<f64> = verdict.time.map(|t| t.low.get::<second>()),
        /// Upper end of that time.
        to_s: Option<f64> = verdict.time.map(|t| t.high.get::<second>()),
        /// Earliest of all.
        earliest_s: Option<f64> = verdict.earliest.map(|t| t.get::<second>()),
    }
}

view! {
    /// A point of the course.
    TracePoint(point: &CoursePoint) {
        /// Time.
        time_s: f64 = point.time.get::<second>(),
        /// Temperature of the floor.
        floor_k: f64 = point.floor.get::<kelvin>(),
        /// Temperature of the middle.
        middle_k: f64 = point.middle.get::<kelvin>(),
        /// Temperature of the surface.
        surface_k: f64 = point.surface.get::<kelvin>(),
        /// Share of all water that is left.
        water_left_fraction: f64 = point.water_left.get::<ratio>(),
        /// Share of the fuel left.
        fuel_left_fraction: f64 = point.fuel_left.get::<ratio>(),
        /// Share of the nitrate left.
        nitrate_left_fraction: f64 = point.nitrate_left.get::<ratio>(),
        /// Power taken up by the batch.
        power_w: f64 = point.power.get::<watt>(),
        /// Stage.
        stage: &'static str = point.stage.code(),
    }
}

view! {
    /// Why it does not light.
    WhyNot(reason: &NoIgnition) {
        /// Code, the same in all versions.
        code: &'static str = reason.code(),
        /// Why.
        reason: String = reason.to_string(),
    }
}

view! {
    /// A danger of the heating way.
    WayHazard(hazard: &HeatingHazard) {
        /// Name in the tables.
        id: String = hazard.id.clone(),
        /// When it holds.
        when: String = hazard.when.clone(),
        /// As a sentence.
        text: String = hazard.text.clone(),
    }
}
