//! The whole estimate of a batch, stage by stage.

use crate::batch::{Batch, SpeciesChoice};
use crate::enthalpy::{
    EnthalpyError, ReactantEnthalpy, WaterState, WaterStateName, reactant_enthalpy, water_states,
};
use crate::equation::{Equation, balanced_equation};
use crate::equilibrium::{AdiabaticEquilibrium, EquilibriumError, SpeciesSet, System};
use crate::flame::{
    CompleteCombustion, FlameError, LedgerItem, complete_combustion, equilibrium_burn,
    surplus_air_oxygen, system_of,
};
use crate::gas::{GasRelease, gas_release};
use crate::product::{ExpectedProduct, ProductError, expected_product};
use crate::quantity::{AmountOfSubstance, Energy, Ratio, ThermodynamicTemperature};
use crate::redox::{Mixture, Redox, RedoxError};
use crate::source::{Seen, SourceId};
use crate::spread::{Spread, spread};
use crate::tables::Tables;
use std::collections::BTreeMap;
use thiserror::Error;
use uom::si::amount_of_substance::mole;
use uom::si::ratio::ratio;

/// Why a batch cannot be estimated.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PlanError {
    /// The redox sum fails.
    #[error(transparent)]
    Redox(#[from] RedoxError),
    /// No expected product.
    #[error(transparent)]
    Product(#[from] ProductError),
    /// No enthalpy of the reactants.
    #[error(transparent)]
    Enthalpy(#[from] EnthalpyError),
    /// No flame temperature with fixed products.
    #[error(transparent)]
    Flame(#[from] FlameError),
    /// No equilibrium.
    #[error("equilibrium of the batch {state}: {source}")]
    Equilibrium {
        /// The state of the water.
        state: WaterStateName,
        /// What went wrong.
        source: Box<EquilibriumError>,
    },
}

/// What becomes of the fuel that the oxidiser cannot burn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SurplusFate {
    /// It leaves before or during the burn: φ falls to 1.
    Leaves,
    /// It cracks and shifts in the batch's own gas.
    OwnGas,
    /// It burns in air drawn in: this share of the air that it needs.
    Air(Ratio),
}

/// The burn of a rich batch for one fate of the surplus fuel.
#[derive(Debug, Clone)]
pub struct FateResult {
    /// What becomes of the surplus.
    pub fate: SurplusFate,
    /// Flame temperature with fixed products; `None` if the heat does not dry the batch.
    pub complete: Option<ThermodynamicTemperature>,
    /// Equilibrium with the chosen species set.
    pub equilibrium: AdiabaticEquilibrium,
}

/// Everything for one state of the water.
#[derive(Debug, Clone)]
pub struct StateResult {
    /// The water that is there.
    pub state: WaterState,
    /// Enthalpy of the reactants.
    pub reactants: ReactantEnthalpy,
    /// The burn with fixed products.
    pub complete: CompleteCombustion,
    /// Its gas.
    pub gas: GasRelease,
    /// Uncertainty of the flame temperature from the data.
    pub spread: Spread,
    /// The burn in equilibrium, with the species set the file asks for.
    pub equilibrium: AdiabaticEquilibrium,
    /// The same with the other species set.
    pub other_set: AdiabaticEquilibrium,
    /// The fates of surplus fuel; empty unless the batch is rich.
    pub fates: Vec<FateResult>,
}

/// A source that the plan rests on, with what was taken from it.
#[derive(Debug, Clone, PartialEq)]
pub struct UsedSource {
    /// Key in the bibliography.
    pub id: SourceId,
    /// How the least certain value from it was come by.
    pub seen: Seen,
    /// What it was used for, such as "Δ_fH° of urea".
    pub used_for: Vec<String>,
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
    /// Sources of the numbers used.
    pub sources: Vec<UsedSource>,
}

impl Plan {
    /// The result for a state of the water.
    #[must_use]
    pub fn state(&self, name: WaterStateName) -> Option<&StateResult> {
        self.states.iter().find(|result| result.state.name == name)
    }
}

/// Shares of the surplus fuel's air for which a rich batch is reported.
const AIR_SHARES: [f64; 3] = [0.25, 0.5, 1.0];

/// Estimates a batch: the stages in order.
///
/// # Errors
/// [`PlanError`] of the stage that fails.
pub fn plan(batch: &Batch, tables: &Tables) -> Result<Plan, PlanError> {
    let redox = batch.redox()?;
    let product = expected_product(batch, tables)?;
    let states = water_states(batch, None);
    let dried = WaterState {
        name: WaterStateName::Dried,
        solvent: AmountOfSubstance::new::<mole>(0.0),
        crystal_share: Ratio::new::<ratio>(0.0),
    };
    let dried = reactant_enthalpy(batch, &dried, tables)?;
    let mut burner = Burner::new(batch, &redox, &product, &dried, tables)?;
    let mut results = Vec::new();
    for state in states {
        results.push(burner.burn(&state)?);
    }
    let boiled = results
        .iter()
        .find(|result| result.state.name == WaterStateName::BoiledDown);
    let boiled = boiled
        .or(results.first())
        .expect("every batch has named water states");
    let equation = balanced_equation(batch, &redox, &product, &boiled.complete)?;
    let sources = used_sources(&results, tables);
    Ok(Plan {
        batch: batch.clone(),
        redox,
        product,
        equation,
        states: results,
        sources,
    })
}

/// What every state of one batch shares.
struct Burner<'a> {
    batch: &'a Batch,
    redox: &'a Redox,
    product: &'a ExpectedProduct,
    dried: &'a ReactantEnthalpy,
    tables: &'a Tables,
    chosen: System<'a>,
    other: System<'a>,
    /// The batch with φ = 1, if it is rich by its fuels.
    balanced: Option<(Batch, ReactantEnthalpy)>,
}

impl<'a> Burner<'a> {
    fn new(
        batch: &'a Batch,
        redox: &'a Redox,
        product: &'a ExpectedProduct,
        dried: &'a ReactantEnthalpy,
        tables: &'a Tables,
    ) -> Result<Self, PlanError> {
        let (set, other) = match batch.conditions.species {
            SpeciesChoice::Full => (SpeciesSet::Full, SpeciesSet::Fast),
            SpeciesChoice::Fast => (SpeciesSet::Fast, SpeciesSet::Full),
        };
        let balanced = match redox.mixture {
            Mixture::Rich => batch.with_equivalence_ratio(Ratio::new::<ratio>(1.0)).ok(),
            Mixture::Lean | Mixture::Balanced => None,
        };
        let balanced = match balanced {
            Some(batch) => {
                let state = WaterState {
                    name: WaterStateName::Dried,
                    solvent: AmountOfSubstance::new::<mole>(0.0),
                    crystal_share: Ratio::new::<ratio>(0.0),
                };
                let dried = reactant_enthalpy(&batch, &state, tables)?;
                Some((batch, dried))
            }
            None => None,
        };
        Ok(Self {
            batch,
            redox,
            product,
            dried,
            tables,
            chosen: system_of(batch, set, tables),
            other: system_of(batch, other, tables),
            balanced,
        })
    }

    fn burn(&mut self, state: &WaterState) -> Result<StateResult, PlanError> {
        let air = self.batch.conditions.air_drawn_in;
        let reactants = reactant_enthalpy(self.batch, state, self.tables)?;
        let complete = self.complete(state, &reactants, air)?;
        let gas = gas_release(self.batch, self.product, state, &complete);
        let spread = spread(&complete, &reactants, self.tables);
        let failed = |source| PlanError::Equilibrium {
            state: state.name,
            source: Box::new(source),
        };
        let loss = -complete.ledger.energy(LedgerItem::Loss);
        let oxygen = surplus_air_oxygen(self.redox.reducing, self.redox.oxidising, air);
        let batch = self.batch;
        let equilibrium =
            equilibrium_burn(&mut self.chosen, batch, state, &reactants, loss, oxygen)
                .map_err(failed)?;
        let other_set = equilibrium_burn(&mut self.other, batch, state, &reactants, loss, oxygen)
            .map_err(failed)?;
        let fates = self.fates(state, &reactants)?;
        Ok(StateResult {
            state: *state,
            reactants,
            complete,
            gas,
            spread,
            equilibrium,
            other_set,
            fates,
        })
    }

    fn complete(
        &self,
        state: &WaterState,
        reactants: &ReactantEnthalpy,
        air: Ratio,
    ) -> Result<CompleteCombustion, FlameError> {
        let (batch, product, tables) = (self.batch, self.product, self.tables);
        complete_combustion(batch, product, state, reactants, self.dried, air, tables)
    }

    /// The three fates of surplus fuel; nothing for a batch that is not rich.
    fn fates(
        &mut self,
        state: &WaterState,
        reactants: &ReactantEnthalpy,
    ) -> Result<Vec<FateResult>, PlanError> {
        if self.redox.mixture != Mixture::Rich {
            return Ok(Vec::new());
        }
        let none = AmountOfSubstance::new::<mole>(0.0);
        let failed = |source| PlanError::Equilibrium {
            state: state.name,
            source: Box::new(source),
        };
        let mut fates = Vec::new();
        if let Some((batch, dried)) = &self.balanced {
            let own = reactant_enthalpy(batch, state, self.tables)?;
            let no_air = Ratio::new::<ratio>(0.0);
            let complete =
                complete_combustion(batch, self.product, state, &own, dried, no_air, self.tables)?;
            let loss = -complete.ledger.energy(LedgerItem::Loss);
            let equilibrium = equilibrium_burn(&mut self.chosen, batch, state, &own, loss, none)
                .map_err(failed)?;
            let complete = complete.flame.temperature();
            fates.push(FateResult {
                fate: SurplusFate::Leaves,
                complete,
                equilibrium,
            });
        }
        let shares = std::iter::once(0.0).chain(AIR_SHARES);
        for share in shares.map(Ratio::new::<ratio>) {
            let complete = self.complete(state, reactants, share)?;
            let loss: Energy = -complete.ledger.energy(LedgerItem::Loss);
            let oxygen = surplus_air_oxygen(self.redox.reducing, self.redox.oxidising, share);
            let equilibrium =
                equilibrium_burn(&mut self.chosen, self.batch, state, reactants, loss, oxygen)
                    .map_err(failed)?;
            let own_gas = share.get::<ratio>() <= 0.0;
            let fate = if own_gas {
                SurplusFate::OwnGas
            } else {
                SurplusFate::Air(share)
            };
            fates.push(FateResult {
                fate,
                complete: complete.flame.temperature(),
                equilibrium,
            });
        }
        Ok(fates)
    }
}

/// Main products in equilibrium: amounts from this share of the gas or the powder on count.
const WORTH_A_SOURCE: f64 = 1e-3;

fn used_sources(results: &[StateResult], tables: &Tables) -> Vec<UsedSource> {
    let mut used: BTreeMap<SourceId, (Seen, Vec<String>)> = BTreeMap::new();
    let mut note = |id: &SourceId, seen: Seen, what: String| {
        let entry = used.entry(id.clone()).or_insert((seen, Vec::new()));
        entry.0 = entry.0.max(seen);
        if !entry.1.contains(&what) {
            entry.1.push(what);
        }
    };
    for result in results {
        for line in &result.reactants.lines {
            note(
                &line.source,
                line.seen,
                format!("enthalpy of {}", line.substance),
            );
        }
        let mut ids: Vec<&str> = result
            .complete
            .gas
            .iter()
            .chain(&result.complete.condensed)
            .map(|p| p.id.as_str())
            .collect();
        let equilibrium = &result.equilibrium.equilibrium;
        let gas = equilibrium.gas_amount.get::<mole>();
        ids.extend(
            equilibrium
                .amounts
                .iter()
                .filter(|s| s.amount.get::<mole>() > WORTH_A_SOURCE * gas)
                .map(|s| s.id.as_str()),
        );
        for id in ids {
            let Some(species) = tables.species_by_id(id) else {
                continue;
            };
            if let Some(enthalpy) = &species.formation_enthalpy {
                note(&enthalpy.source, enthalpy.seen, format!("enthalpy of {id}"));
            }
            let origin = &species.heat_capacity_origin;
            note(
                &origin.source,
                origin.seen,
                format!("heat capacity of {id}"),
            );
        }
    }
    used.into_iter()
        .map(|(id, (seen, used_for))| UsedSource { id, seen, used_for })
        .collect()
}
