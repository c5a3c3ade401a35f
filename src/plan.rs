//! The whole estimate of a batch: what was made ready, and what a report asks for beside it.

mod sources;

pub use crate::burn::{OtherBurns, StateResult, SurplusFuel};
pub use crate::prepared::{PrepareError, Refused};
pub use sources::UsedSource;

use crate::advice::Advice;
use crate::batch::{Batch, WaterAtIgnition};
use crate::burn::{
    BatchAtIgnition, BurnError, HeatedBurn, Heating, Measured, run_against_estimate, species_set,
};
use crate::cooling::{CoolingStep, cooling};
use crate::enthalpy::WaterStateName;
use crate::equation::{Equation, balanced_equation};
use crate::equilibrium::EquilibriumError;
use crate::expected::Expected;
use crate::flame::{elements_in_pot, surplus_air_oxygen, system_of};
use crate::ignition::Judged;
use crate::prepared::Prepared;
use crate::product::ExpectedProduct;
use crate::purity::Budget;
use crate::redox::{Redox, RedoxError};
use crate::tables::Tables;
use sources::used_sources;
use std::sync::OnceLock;
use thiserror::Error;

/// Why a batch cannot be estimated.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum PlanError {
    #[error(transparent)]
    Prepare(#[from] PrepareError),
    #[error(transparent)]
    Burn(#[from] BurnError),
    #[error(transparent)]
    Equation(#[from] RedoxError),
}

/// The way down from the flame to 500 K.
#[derive(Debug, Clone)]
pub struct Cooled {
    pub state: WaterStateName,
    /// The steps, or why there are none; empty for a state that is too wet to burn.
    pub steps: Result<Vec<CoolingStep>, BurnError>,
}

/// The estimate of one batch. What few readers ask for is worked out when it is asked for:
/// [`Plan::other_burns`], [`Plan::cooled`].
#[derive(Debug, Clone)]
pub struct Plan<'t> {
    /// The batch.
    pub batch: Batch,
    /// The tables that it was estimated from.
    pub tables: &'t Tables,
    /// The redox sum.
    pub redox: Redox,
    /// The expected powder.
    pub product: ExpectedProduct,
    /// The expected burn.
    pub expected: Expected,
    /// What it leaves: phases and gas at the expected peak, then on cooling; empty without one.
    pub powder: Vec<CoolingStep>,
    /// The balanced equation.
    pub equation: Equation,
    /// The results by state of the water, wettest first.
    pub states: Vec<StateResult>,
    /// The course of heating and the burn after it, if the file states a heating way; the state
    /// at ignition then stands in `states` as well.
    pub heated: Option<HeatedBurn>,
    /// Parts of the estimate that could not be worked out, each with the reason.
    pub failures: Vec<String>,
    /// What the run tells, if the file has one.
    pub run: Option<Measured>,
    /// Vessel, violence, fumes, room and cautions.
    pub advice: Advice,
    /// Impurities of the powder, if the file says something of bottles or water.
    pub purity: Option<Budget>,
    /// Sources of the numbers used.
    pub sources: Vec<UsedSource>,
    at_ignition: Option<BatchAtIgnition>,
    other_burns: OnceLock<Vec<OtherBurns>>,
    cooled: OnceLock<Vec<Cooled>>,
}

impl Plan<'_> {
    /// The result that matters most: at ignition if the water left then is known, else boiled
    /// down.
    pub fn main_state(&self) -> Option<&StateResult> {
        self.state(WaterStateName::AtIgnition)
            .or_else(|| self.state(WaterStateName::BoiledDown))
            .or_else(|| self.states.first())
    }

    /// The result for a state of the water.
    pub fn state(&self, name: WaterStateName) -> Option<&StateResult> {
        self.states.iter().find(|result| result.state.name == name)
    }

    /// The burns that each of `states` may have beside its own, in their order.
    pub fn other_burns(&self) -> &[OtherBurns] {
        let of = |result: &StateResult| {
            let state = &result.state;
            OtherBurns::of(self.burnt(state.name), state, self.tables)
        };
        let all = || self.states.iter().map(of).collect();
        self.other_burns.get_or_init(all)
    }

    /// What the products turn into on cooling, by state of the water in the order of `states`.
    pub fn cooled(&self) -> &[Cooled] {
        let of = |result| self.cooled_from(result);
        let all = || self.states.iter().map(of).collect();
        self.cooled.get_or_init(all)
    }

    /// The batch that burns in a state of the water: at ignition what the heating leaves.
    fn burnt(&self, state: WaterStateName) -> &Batch {
        match &self.at_ignition {
            Some(ignited) if state == WaterStateName::AtIgnition => &ignited.batch,
            _ => &self.batch,
        }
    }

    /// The cooling of one state in its own gas, with the air that was drawn in.
    fn cooled_from(&self, result: &StateResult) -> Cooled {
        let (batch, state) = (self.burnt(result.state.name), result.state.name);
        let hot = result.equilibrium_temperature();
        let hot = hot.filter(|_| result.complete.flame.temperature().is_some());
        // Too wet to burn: there is nothing hot to cool.
        let steps = hot.map_or(Ok(Vec::new()), |hot| {
            let redox = batch.redox()?;
            let air = batch.conditions.air_drawn_in;
            let oxygen = surplus_air_oxygen(redox.reducing, redox.oxidising, air);
            Ok(cooling(
                &mut system_of(batch, species_set(batch), self.tables),
                &elements_in_pot(batch, &result.state, oxygen),
                hot,
                batch.conditions.pressure,
                self.tables,
            )?)
        });
        Cooled { state, steps }
    }
}

/// Makes a batch ready and estimates it.
///
/// # Errors
/// [`PlanError`] of the stage that fails; a batch that is refused has no plan.
pub fn plan<'t>(batch: &Batch, tables: &'t Tables) -> Result<Plan<'t>, PlanError> {
    plan_of(&Prepared::new(batch, tables)?)
}

/// The estimate of a batch that is ready.
///
/// # Errors
/// [`PlanError`] of the stage that fails.
pub fn plan_of<'t>(prepared: &Prepared<'t>) -> Result<Plan<'t>, PlanError> {
    let (batch, tables) = (&prepared.batch, prepared.tables);
    let (redox, product) = (&prepared.redox, &prepared.product);
    let states = &prepared.states;
    let boiled = prepared.state(WaterStateName::BoiledDown);
    let boiled = boiled
        .or(prepared.states.first())
        .expect("every batch has named water states");
    let mut failures = failures(batch, tables, &prepared.heating, states);
    let judged = prepared.heating.course().cloned().map(Judged::new);
    let judged = judged.and_then(|judged| {
        let failed = |error| failures.push(format!("verdict of the heating: {error}"));
        judged.map_err(failed).ok()
    });
    let heated = judged.map(|judged| HeatedBurn {
        judged,
        ignited: prepared.ignited.clone(),
        stated_water: match batch.water_at_ignition {
            WaterAtIgnition::Fraction(share) => Some(share),
            WaterAtIgnition::NotStated | WaterAtIgnition::FromIgnition => None,
        },
    });
    let powder = powder(prepared).unwrap_or_else(|error| {
        failures.push(format!("powder at the expected peak: {error}"));
        Vec::new()
    });
    Ok(Plan {
        powder,
        equation: balanced_equation(batch, redox, product, &boiled.complete)?,
        failures,
        run: run_against_estimate(batch, tables)?,
        sources: used_sources(batch, states, prepared),
        purity: prepared.purity.clone(),
        batch: batch.clone(),
        redox: redox.clone(),
        product: product.clone(),
        expected: prepared.expected.clone(),
        advice: prepared.advice.clone(),
        states: states.clone(),
        heated,
        tables,
        at_ignition: BatchAtIgnition::of(batch, &prepared.heating),
        other_burns: OnceLock::new(),
        cooled: OnceLock::new(),
    })
}

/// The expected burn from its peak down.
fn powder(prepared: &Prepared<'_>) -> Result<Vec<CoolingStep>, EquilibriumError> {
    let (batch, tables, expected) = (&prepared.batch, prepared.tables, &prepared.expected);
    let (Some(peak), Some(elements)) = (expected.temperature, &expected.elements) else {
        return Ok(Vec::new());
    };
    let mut system = system_of(batch, species_set(batch), tables);
    cooling(
        &mut system,
        elements,
        peak,
        batch.conditions.pressure,
        tables,
    )
}

/// What could not be worked out, in words.
fn failures(
    batch: &Batch,
    tables: &Tables,
    heating: &Heating,
    states: &[StateResult],
) -> Vec<String> {
    let mut failures = Vec::new();
    let system = system_of(batch, species_set(batch), tables);
    if batch.conditions.solid_solutions == Some(true) && system.solid_solutions().is_empty() {
        let none =
            "solid solutions: the tables hold none of these elements, so all phases stay pure";
        failures.push(none.to_owned());
    }
    if let Heating::Failed(error) = heating {
        failures.push(format!("course of heating: {error}"));
    }
    for result in states {
        if let Err(error) = &result.equilibrium {
            if error.is_no_flame() {
                continue;
            }
            failures.push(format!("equilibrium {}: {error}", result.state.name));
        }
    }
    failures
}
