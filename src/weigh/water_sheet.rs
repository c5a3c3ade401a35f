//! The water of the bench sheet: needs, advice, boiling point, and what boiling it off costs.

use super::line::Line;
use super::water::{self, Solution, WaterAdvice, WaterCost, WaterError, WaterNeed};
use crate::batch::Batch;
use crate::ignition::{StageName, course, model_inputs};
use crate::quantity::units::{degree_celsius, kelvin, kilogram, liter, mole};
use crate::quantity::{AmountOfSubstance, Mass, ThermodynamicTemperature, Time, Volume};
use crate::tables::{Role, Tables};

/// How a boiling point was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoilingModel {
    /// The boiling curve of the ignition model: ions bind water.
    Sorption,
    /// Ideal mixing, a lower bound.
    Ideal,
}

/// Times on the heating way that the batch names, from its course of heating.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterTime {
    /// Heating way.
    pub way: String,
    /// From cold to boiling.
    pub heat_up: Time,
    /// Boiling off the solvent.
    pub boil_off: Time,
}

#[derive(Debug, Clone, PartialEq)]
pub struct WaterSheet {
    /// Solvent water of the batch, stock solutions and acid of the file included.
    pub solvent: Mass,
    /// Crystal water that counts as solvent.
    pub crystal: Mass,
    /// Water that the stock solutions planned here bring.
    pub carried: Volume,
    /// Need and saturation at room temperature.
    pub room: WaterNeed,
    /// Need and saturation warm.
    pub warm: WaterNeed,
    /// What to do.
    pub advice: WaterAdvice,
    /// Salts that melt in their own crystal water below 100 °C.
    pub melting: Vec<(String, ThermodynamicTemperature)>,
    /// Where the solution as mixed begins to boil; `None` without solvent.
    pub boiling: Option<(ThermodynamicTemperature, BoilingModel)>,
    /// What boiling off the solvent costs.
    pub cost: WaterCost,
    /// How long that takes on the heating way of the batch, if it names one and the model gets
    /// that far.
    pub time: Option<WaterTime>,
}

/// The water at the temperatures of the room and of the warmed solution.
pub(super) fn water_sheet(
    batch: &Batch,
    lines: &[Line],
    tables: &Tables,
    [room, warm]: [ThermodynamicTemperature; 2],
) -> Result<WaterSheet, WaterError> {
    let solution = Solution::of(batch);
    let carried = lines
        .iter()
        .map(|line| line.measure.carried_volume())
        .fold(Volume::new::<liter>(0.0), |sum, v| sum + v);
    let hundred = ThermodynamicTemperature::new::<degree_celsius>(100.0);
    let melting = solution
        .melting_below(hundred)
        .map(|(n, t)| (n.to_owned(), t))
        .collect();
    let pure = water::boiling_point(batch.conditions.pressure, tables)?;
    let boiling = boiling(batch, &solution, pure, tables);
    let at = boiling.map_or(pure, |(t, _)| t);
    let cost = water::cost(solution.solvent, room, at, None, tables)?;
    let [room, warm] = [room, warm].map(|at| solution.need(at));
    Ok(WaterSheet {
        advice: water::advice(&room, &warm),
        solvent: solution.solvent,
        crystal: solution.own_water(),
        carried,
        room,
        warm,
        melting,
        boiling,
        cost,
        time: time(batch, tables),
    })
}

/// Where the solution as mixed begins to boil; `None` without solvent.
fn boiling(
    batch: &Batch,
    solution: &Solution,
    pure: ThermodynamicTemperature,
    tables: &Tables,
) -> Option<(ThermodynamicTemperature, BoilingModel)> {
    if solution.solvent <= Mass::new::<kilogram>(0.0) {
        return None;
    }
    // The charge is the same on every heating way.
    let way = tables.heating.ways.first().map(|way| way.id.as_str());
    if let Ok(inputs) = model_inputs(batch, tables, way) {
        let charge = &inputs.charge;
        let t = charge
            .boiling_curve()
            .boiling_temperature(charge.initial_water());
        if t.is_finite() && t >= pure.get::<kelvin>() - 1.0 {
            let t = ThermodynamicTemperature::new::<kelvin>(t);
            return Some((t, BoilingModel::Sorption));
        }
    }
    let particles: AmountOfSubstance = batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role != Role::Solvent)
        .map(|i| water::particles(&i.reactant.formula) * i.amount)
        .fold(AmountOfSubstance::new::<mole>(0.0), |a, b| a + b);
    let all_water = batch.solvent_water() + batch.crystal_water();
    let heat = water::heat_of_boiling(pure, tables).ok()?;
    let t = water::ideal_boiling_point(pure, particles / all_water, heat);
    Some((t, BoilingModel::Ideal))
}

/// Times of the course of heating on the way that the batch names. No course is no time: the
/// command for the course says why.
fn time(batch: &Batch, tables: &Tables) -> Option<WaterTime> {
    batch.heating.as_ref()?.way.as_ref()?;
    let course = course(batch, tables, None).ok()?;
    let length = |name| {
        let stage = course.stages.iter().find(|stage| stage.name == name)?;
        Some(stage.end - stage.start)
    };
    Some(WaterTime {
        heat_up: length(StageName::HeatUp)?,
        boil_off: length(StageName::BoilOff)?,
        way: course.way.clone(),
    })
}
