//! Everything that a report can draw on, beside the plan itself.

use super::svg::{
    CoolingPath, CoupleLine, Floor, HeatingLine, Picture, WeighingBar, fuel_ratio_picture,
    gas_picture, heat_picture, heating_picture, oxygen_picture, water_picture, weighing_picture,
};
use crate::enthalpy::WaterStateName;
use crate::plan::{Plan, StateResult};
use crate::tables::Tables;

/// What a report is made from. Lists may be empty: then their section says so.
#[derive(Debug, Clone)]
pub struct Material<'a> {
    /// The estimate of the batch.
    pub plan: &'a Plan,
    /// The tables, for titles of sources.
    pub tables: &'a Tables,
    /// Plans of the same batch at other fuel ratios, in rising order.
    pub sweep: Vec<Plan>,
    /// Temperature that the burn should reach, if known.
    pub floor: Option<Floor>,
    /// Redox couples for the oxygen chart.
    pub couples: Vec<CoupleLine>,
    /// Oxygen pressure of the gas on cooling, by water state.
    pub cooling: Vec<CoolingPath>,
    /// The batch on several heating ways.
    pub heating: Vec<HeatingLine>,
    /// Errors of the weighed masses.
    pub weighing: Vec<WeighingBar>,
}

/// The pictures of a report, those that there is material for.
#[derive(Debug, Clone, Default)]
pub struct Pictures {
    /// Flame temperature by water state.
    pub water: Option<Picture>,
    /// Flame temperature and gas against φ.
    pub fuel_ratio: Option<Picture>,
    /// Composition of the gas.
    pub gas: Option<Picture>,
    /// Energy ledger.
    pub heat: Option<Picture>,
    /// Oxygen pressure against temperature.
    pub oxygen: Option<Picture>,
    /// Time lines of the heating ways.
    pub heating: Option<Picture>,
    /// Weighing errors.
    pub weighing: Option<Picture>,
}

impl<'a> Material<'a> {
    /// Material that is only the plan.
    #[must_use]
    pub fn new(plan: &'a Plan, tables: &'a Tables) -> Self {
        Self {
            plan,
            tables,
            sweep: Vec::new(),
            floor: None,
            couples: Vec::new(),
            cooling: Vec::new(),
            heating: Vec::new(),
            weighing: Vec::new(),
        }
    }

    /// The result that matters most: at ignition if the water left then is known, else boiled
    /// down.
    #[must_use]
    pub fn main_state(&self) -> Option<&StateResult> {
        self.plan
            .state(WaterStateName::AtIgnition)
            .or_else(|| self.plan.state(WaterStateName::BoiledDown))
            .or_else(|| self.plan.states.first())
    }

    /// Draws the pictures.
    #[must_use]
    pub fn pictures(&self) -> Pictures {
        Pictures {
            water: water_picture(self.plan),
            fuel_ratio: fuel_ratio_picture(&self.sweep, self.plan, self.floor.as_ref()),
            gas: gas_picture(self.plan),
            heat: self.main_state().and_then(heat_picture),
            oxygen: oxygen_picture(&self.couples, &self.cooling),
            heating: heating_picture(&self.heating),
            weighing: weighing_picture(&self.weighing),
        }
    }
}

impl Pictures {
    /// The pictures in the order of the report.
    pub fn iter(&self) -> impl Iterator<Item = &Picture> {
        [
            &self.water,
            &self.weighing,
            &self.heat,
            &self.gas,
            &self.oxygen,
            &self.heating,
            &self.fuel_ratio,
        ]
        .into_iter()
        .flatten()
    }
}
