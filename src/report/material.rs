//! Everything that a report can draw on, beside the plan itself.

use super::svg::{
    CoolingPath, CoupleLine, Floor, FuelBurn, FuelPoint, HeatEntrance, HeatingLine, HeatingStage,
    Picture, WaterPoint, WeighingBar, course_picture, entrance_picture, fuel_ratio_picture,
    gas_picture, heat_picture, heating_picture, oxygen_picture, water_picture, weighing_picture,
};
use super::two_ways::TwoWays;
use crate::batch::Batch;
use crate::burn::{BatchAtIgnition, BurnError, Burner, species_set};
use crate::choose::Goal;
use crate::enthalpy::{WaterState, WaterStateName, water_states, with_share_left};
use crate::flame::{elements_in_pot, surplus_air_oxygen, system_of};
use crate::ignition::{Chance, Comparison, Judged, Reason};
use crate::oxygen::fields;
use crate::plan::Plan;
use crate::prepared::Prepared;
use crate::quantity::units::{kelvin, mole, ratio};
use crate::quantity::{EquivalenceRatio, Ratio, ThermodynamicTemperature};
use crate::redox::Mixture;
use crate::report::number::subscripts;
use crate::weigh::line::Line;
use crate::weigh::measure::Measure;
use crate::weigh::sheet::Sheet;
use crate::what_if::WhatIf;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// What a report is made from. Lists may be empty: then their section says so.
#[derive(Debug, Clone)]
pub struct Material<'a> {
    /// The estimate of the batch.
    pub plan: &'a Plan<'a>,
    /// The flame over the water left, driest first.
    pub water: Vec<WaterPoint>,
    /// The same batch at other fuel ratios, in rising order.
    pub sweep: Vec<FuelPoint>,
    /// Temperature that the burn should reach, if known.
    pub floor: Option<Floor>,
    /// Redox couples for the oxygen chart.
    pub couples: Vec<CoupleLine>,
    /// Oxygen pressure of the gas on cooling, by water state.
    pub cooling: Vec<CoolingPath>,
    /// The batch on several heating ways.
    pub heating: Vec<HeatingLine>,
    /// Two of these ways side by side, with what the live panel shows.
    pub two_ways: Option<TwoWays>,
    /// Reasons for the differences between the heating ways.
    pub heating_reasons: Vec<Reason>,
    /// The bench sheet, if there is one.
    pub sheet: Option<Sheet>,
    /// The table of the live panel, if the fuel can be varied.
    pub what_if: Option<LivePanel>,
}

/// What the live panel starts from.
#[derive(Debug, Clone)]
pub struct LivePanel {
    /// The batch as it burns: with the fuel that is left and from the temperature of the layer,
    /// where the heating is known.
    pub batch: Batch,
    /// Share of all water that is left.
    pub water_left: Ratio,
    pub table: WhatIf,
}

/// The live panel of a prepared batch; none if its fuel cannot be varied.
pub fn live_panel(prepared: &Prepared<'_>) -> Option<LivePanel> {
    let at_ignition = BatchAtIgnition::of(&prepared.batch, &prepared.heating);
    let (batch, state) = match at_ignition {
        Some(at_ignition) => (at_ignition.batch, at_ignition.state),
        None => {
            let boiled_down = prepared.state(WaterStateName::BoiledDown)?;
            (prepared.batch.clone(), boiled_down.state)
        }
    };
    Some(LivePanel {
        water_left: state.share_left(&batch),
        table: WhatIf::new(&batch, prepared.tables)?,
        batch,
    })
}

impl<'a> Material<'a> {
    /// Material that is only the plan.
    pub fn new(plan: &'a Plan<'a>) -> Self {
        Self {
            plan,
            water: Vec::new(),
            sweep: Vec::new(),
            floor: None,
            couples: Vec::new(),
            cooling: Vec::new(),
            heating: Vec::new(),
            two_ways: None,
            heating_reasons: Vec::new(),
            sheet: None,
            what_if: None,
        }
    }

    /// Draws the pictures.
    pub fn pictures(&self) -> Vec<Picture> {
        [
            course_picture(self.plan),
            water_picture(self.plan, &self.water),
            weighing_picture(&weighings(self.sheet.as_ref())),
            self.plan.main_state().and_then(heat_picture),
            gas_picture(self.plan),
            oxygen_picture(&self.couples, &self.cooling),
            heating_picture(&self.heating),
            entrance_picture(&self.heating),
            fuel_ratio_picture(&self.sweep, self.plan, self.floor.as_ref()),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

/// The heating ways of a comparison as lines of a picture, those with a course.
pub fn heating_lines(comparison: &Comparison) -> Vec<HeatingLine> {
    comparison
        .ways
        .iter()
        .filter_map(|way| {
            let Judged { course, verdict } = way.judged.as_ref().ok()?;
            let stages = course.stages.iter().map(|stage| HeatingStage {
                name: stage.name.to_string(),
                until: stage.end,
                live: stage.name.is_live(),
            });
            Some(HeatingLine {
                way: way.way.clone(),
                stages: stages.collect(),
                lights: verdict.time,
                heat: course.energy.shares().map(|shares| HeatEntrance {
                    below: shares[0],
                    above: shares[1],
                    inside: shares[2],
                }),
                sure: verdict.chance() == Chance::Lights,
                ending: verdict.brief(),
            })
        })
        .collect()
}

/// The weighed masses of a bench sheet.
fn weighings(sheet: Option<&Sheet>) -> Vec<WeighingBar> {
    let weighing = |line: &Line| match &line.measure {
        Measure::Weigh(weighing) => Some(weighing.clone()),
        Measure::Stock(plan) if plan.stock.is_none() => Some(plan.direct.clone()),
        Measure::Stock(_) | Measure::Draw(_) => None,
    };
    let lines = sheet.map_or(&[][..], |sheet| &sheet.lines);
    lines
        .iter()
        .filter_map(|line| {
            let weighing = weighing(line)?;
            Some(WeighingBar {
                name: line.ingredient.reactant.name.clone(),
                mass: weighing.mass,
                error: weighing.relative_error(),
                below_minimum: weighing.is_below_minimum(),
                balance: weighing.balance,
            })
        })
        .collect()
}

/// Points of the curve over the water left: dense where crystal water is left, since that decides.
const WATER_POINTS: u32 = 24;

/// The flame of complete combustion over the share of water left, from dry to wet, as far as it
/// burns.
pub fn water_curve(plan: &Plan) -> Vec<WaterPoint> {
    let batch = &plan.batch;
    let Ok(burner) = Burner::new(batch, plan.tables) else {
        return Vec::new();
    };
    let crystal = batch.crystal_water();
    let all = batch.solvent_water() + crystal;
    let steps = 0..=2 * WATER_POINTS;
    let shares = steps.map(|at| {
        let part = f64::from(at) / f64::from(WATER_POINTS);
        let left = if part <= 1.0 {
            part * crystal
        } else {
            crystal + (part - 1.0) * (all - crystal)
        };
        if all.get::<mole>() > 0.0 {
            left / all
        } else {
            Ratio::new::<ratio>(0.0)
        }
    });
    let mut curve = Vec::new();
    for share in shares {
        let state = with_share_left(batch, share);
        let Ok(complete) = burner.flame_temperature(&state) else {
            break;
        };
        curve.push(WaterPoint { share, complete });
        if complete.is_none() {
            break;
        }
    }
    curve
}

/// Fuel ratios of the usual sweep are multiples of this, or of twice this for a rich batch.
const FUEL_STEP: f64 = 0.05;
/// Most fuel ratios of that sweep; a batch that is nearly all fuel takes larger steps.
const MOST_RATIOS: f64 = 60.0;

/// The batch of `plan` at fuel ratios around its own, from 0.5 (or leaner) to 2 (or richer).
///
/// A ratio at which it cannot be burnt is left out; a batch whose fuel cannot be changed has none.
pub fn fuel_sweep(plan: &Plan) -> Vec<FuelPoint> {
    let here = plan.redox.equivalence_ratio.get::<ratio>();
    let (leanest, richest) = (0.5_f64.min(0.8 * here), 2.0_f64.max(1.2 * here));
    let step = if here < 1.6 {
        FUEL_STEP
    } else {
        2.0 * FUEL_STEP
    };
    let step = step.max((richest - leanest) / MOST_RATIOS);
    let first = (leanest / step).ceil().max(1.0) as u32;
    let last = (richest / step).floor() as u32;
    let share = plan
        .state(WaterStateName::AtIgnition)
        .map(|result| result.state.share_left(&plan.batch));
    (first..=last)
        .into_par_iter()
        .filter_map(|at| {
            let phi = EquivalenceRatio::new::<ratio>(f64::from(at) * step);
            let batch = plan.batch.with_equivalence_ratio(phi).ok()?;
            let mut burner = Burner::new(&batch, plan.tables).ok()?;
            let states = water_states(&batch, share)
                .iter()
                .map(|state| fuel_burn(&mut burner, state))
                .collect::<Result<Vec<_>, _>>()
                .ok()?;
            Some(FuelPoint {
                equivalence_ratio: burner.redox().equivalence_ratio,
                states,
            })
        })
        .collect()
}

fn fuel_burn(burner: &mut Burner<'_, '_>, state: &WaterState) -> Result<FuelBurn, BurnError> {
    let result = burner.burn(state)?;
    let in_air = if burner.redox().mixture == Mixture::Rich {
        let all = Ratio::new::<ratio>(1.0);
        burner.burn_with_air(state, all)?.equilibrium_temperature()
    } else {
        None
    };
    Ok(FuelBurn { result, in_air })
}

/// Coldest point of a cooling path, K: gas and powder no longer exchange oxygen below.
const COLDEST: f64 = 673.15;
/// Distance of the points of a cooling path, K.
const COOLING_STEP: f64 = 25.0;

/// Oxygen pressure of the burnt gas with its powder while it cools from the flame to 400 °C, for
/// every water state that burns, as long as all stays in equilibrium and no air comes in.
pub fn cooling_paths(plan: &Plan) -> Vec<CoolingPath> {
    let batch = &plan.batch;
    let redox = &plan.redox;
    let air = batch.conditions.air_drawn_in;
    let oxygen = surplus_air_oxygen(redox.reducing, redox.oxidising, air);
    plan.states
        .par_iter()
        .filter_map(|result| {
            let hot = result.equilibrium_temperature()?.get::<kelvin>();
            let amounts = elements_in_pot(batch, &result.state, oxygen);
            let mut system = system_of(batch, species_set(batch), plan.tables);
            let mut points = Vec::new();
            let mut t = hot;
            while t >= COLDEST {
                let temperature = ThermodynamicTemperature::new::<kelvin>(t);
                // A point without a proved minimum is left out of the line.
                let found = system
                    .equilibrium(&amounts, temperature, batch.conditions.pressure)
                    .ok();
                let log = found.and_then(|found| found.log10_oxygen_pressure);
                points.extend(log.map(|log| (temperature, log)));
                t -= COOLING_STEP;
            }
            let state = result.state.name;
            (points.len() > 1).then_some(CoolingPath { state, points })
        })
        .collect()
}

/// Temperatures at which the couples are worked out, K: as far as a cooling path can reach.
const COUPLE_TEMPERATURES: std::ops::RangeInclusive<u32> = 26..=120;
/// Distance of these temperatures, K.
const COUPLE_STEP: f64 = 25.0;

/// The couples of the batch's metals with oxygen: where one phase goes over into the next higher
/// one, as long as both are pure.
pub fn couple_lines(plan: &Plan) -> Vec<CoupleLine> {
    let mut lines: BTreeMap<String, CoupleLine> = BTreeMap::new();
    let elements = plan.batch.dry_elements();
    for metal in elements.keys().filter(|element| element.is_metal()) {
        for at in COUPLE_TEMPERATURES {
            let temperature = ThermodynamicTemperature::new::<kelvin>(f64::from(at) * COUPLE_STEP);
            let fields = fields(*metal, temperature, plan.tables);
            for pair in fields.windows(2) {
                let Some((log, band)) = pair[0].to else {
                    continue;
                };
                let [lower, upper] = [&pair[0].id, &pair[1].id]
                    .map(String::as_str)
                    .map(in_couple);
                if lower == upper {
                    continue;
                }
                let name = format!("{lower}/{upper}");
                let line = lines.entry(name.clone()).or_insert(CoupleLine {
                    name,
                    points: Vec::new(),
                    band: None,
                });
                line.points.push((temperature, log));
                line.band = Some(line.band.unwrap_or(0.0).max(band)).filter(|band| *band > 0.0);
            }
        }
    }
    lines.into_values().collect()
}

/// A phase in the name of a couple: its formula, for the couple stays the same where a phase melts;
/// an oxide short of metal that is tabulated in several compositions, as wüstite is, is one phase.
fn in_couple(id: &str) -> String {
    let formula = id.split('(').next().unwrap_or(id);
    let count = |c: char| c.is_ascii_digit() || c == '.';
    match formula.split_once(count) {
        Some((metal, rest)) if rest.starts_with('.') && rest.ends_with('O') => {
            format!("{metal}x{}", rest.trim_start_matches(count))
        }
        _ => formula.to_owned(),
    }
}

/// The temperature that the wanted phase asks for, if the tables or the file know one.
pub fn phase_floor(plan: &Plan) -> Option<Floor> {
    let goal = Goal::of(&plan.batch, plan.tables).ok()?;
    let name = goal
        .phase
        .as_ref()
        .map(|phase| subscripts(&phase.formula.to_string()));
    Some(Floor {
        temperature: goal.safe,
        least: (goal.least < goal.safe).then_some(goal.least),
        label: name.map_or("wanted".to_owned(), |name| format!("{name} forms")),
    })
}
