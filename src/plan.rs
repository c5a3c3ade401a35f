//! The whole estimate of a batch, stage by stage.

mod sources;

pub use crate::burn::{FateResult, StateResult, SurplusFate};
pub use sources::UsedSource;

use crate::advice::{Advice, BurnFacts, BurnState, advice};
use crate::batch::{Batch, WaterAtIgnition};
use crate::burn::{BurnError, Burner, species_set};
use crate::cooling::{CoolingStep, cooling};
use crate::enthalpy::{WaterStateName, water_states};
use crate::equation::{Equation, balanced_equation};
use crate::equilibrium::EquilibriumError;
use crate::flame::{elements_in_pot, surplus_air_oxygen, system_of};
use crate::heated::{HeatedBurn, HeatedError, heated_burn};
use crate::outcome::{RunOutcome, run_outcome};
use crate::product::ExpectedProduct;
use crate::quantity::Band;
use crate::redox::{Redox, RedoxError};
use crate::tables::Tables;
use rayon::prelude::*;
use sources::used_sources;
use thiserror::Error;

/// Why a batch cannot be estimated.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PlanError {
    /// A burn fails.
    #[error(transparent)]
    Burn(#[from] BurnError),
    /// The burn after heating.
    #[error(transparent)]
    Heated(#[from] HeatedError),
    /// The equation cannot be balanced.
    #[error(transparent)]
    Equation(#[from] RedoxError),
}

/// The way down from the flame to 500 K.
#[derive(Debug, Clone)]
pub struct Cooled {
    /// State of the water.
    pub state: WaterStateName,
    /// The steps, or why there are none; empty for a state that is too wet to burn.
    pub steps: Result<Vec<CoolingStep>, EquilibriumError>,
}

/// The estimate of one batch.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The batch.
    pub batch: Batch,
    /// The redox sum.
    pub redox: Redox,
    /// The expected powder.
    pub product: ExpectedProduct,
    /// The balanced equation.
    pub equation: Equation,
    /// The results by state of the water, wettest first.
    pub states: Vec<StateResult>,
    /// The course of heating and the burn after it, if the file asks for the water "from
    /// ignition"; the state at ignition then stands in `states` as well.
    pub heated: Option<HeatedBurn>,
    /// What the products turn into on cooling, by state of the water in the order of `states`.
    pub cooled: Vec<Cooled>,
    /// What the run tells, if the file has one.
    pub run: Option<RunOutcome>,
    /// Vessel, violence, fumes, room and cautions.
    pub advice: Advice,
    /// Sources of the numbers used.
    pub sources: Vec<UsedSource>,
}

impl Plan {
    /// The result that matters most: at ignition if the water left then is known, else boiled
    /// down.
    #[must_use]
    pub fn main_state(&self) -> Option<&StateResult> {
        self.state(WaterStateName::AtIgnition)
            .or_else(|| self.state(WaterStateName::BoiledDown))
            .or_else(|| self.states.first())
    }

    /// The result for a state of the water.
    #[must_use]
    pub fn state(&self, name: WaterStateName) -> Option<&StateResult> {
        self.states.iter().find(|result| result.state.name == name)
    }
}

/// Estimates a batch: the stages in order.
///
/// # Errors
/// [`PlanError`] of the stage that fails.
pub fn plan(batch: &Batch, tables: &Tables) -> Result<Plan, PlanError> {
    let burner = Burner::new(batch, tables)?;
    let states = water_states(batch, None);
    // The states do not see each other; their order is kept.
    let mut results = states
        .par_iter()
        .map(|state| Burner::new(batch, tables)?.burn_in_full(state))
        .collect::<Result<Vec<_>, _>>()?;
    let heated = match batch.water_at_ignition {
        WaterAtIgnition::FromIgnition => Some(heated_burn(batch, tables)?),
        WaterAtIgnition::NotStated | WaterAtIgnition::Fraction(_) => None,
    };
    let ignited = heated.as_ref().and_then(|heated| heated.ignited.as_ref());
    results.extend(ignited.map(|ignited| ignited.result.clone()));
    let boiled = results
        .iter()
        .find(|result| result.state.name == WaterStateName::BoiledDown);
    let boiled = boiled
        .or(results.first())
        .expect("every batch has named water states");
    let (redox, product) = (burner.redox().clone(), burner.product().clone());
    let equation = balanced_equation(batch, &redox, &product, &boiled.complete)?;
    let cooled = cooled(batch, &redox, &results, tables);
    let burns = BurnState::possible(&results);
    let mut facts = BurnFacts::new(batch, &redox, &product, &burns, tables);
    if let Some(ignited) = heated.as_ref().and_then(|heated| heated.ignited.as_ref()) {
        // Fuel lost on heating makes the burn leaner than weighed: the fumes are those of both.
        let phi = &mut facts.fumes.equivalence_ratio;
        *phi = phi.hull(Band::exactly(ignited.equivalence_ratio));
    }
    let advice = advice(&facts, &tables.safety);
    let sources = used_sources(batch, &results, &advice, tables);
    Ok(Plan {
        advice,
        batch: batch.clone(),
        redox,
        product,
        equation,
        states: results,
        heated,
        cooled,
        run: run_outcome(batch, tables)?,
        sources,
    })
}

/// The cooling of every state in its own gas, with the air that was drawn in.
fn cooled(batch: &Batch, redox: &Redox, results: &[StateResult], tables: &Tables) -> Vec<Cooled> {
    let air = batch.conditions.air_drawn_in;
    let oxygen = surplus_air_oxygen(redox.reducing, redox.oxidising, air);
    results
        .par_iter()
        .map(|result| {
            let steps = match result.complete.flame.temperature() {
                // Too wet to burn: there is nothing hot to cool.
                None => Ok(Vec::new()),
                Some(_) => cooling(
                    &mut system_of(batch, species_set(batch), tables),
                    &elements_in_pot(batch, &result.state, oxygen),
                    result.equilibrium.equilibrium.temperature,
                    batch.conditions.pressure,
                    tables,
                ),
            };
            let state = result.state.name;
            Cooled { state, steps }
        })
        .collect()
}
