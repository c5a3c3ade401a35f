//! One burn by the stages above it.

use crate::batch::{Batch, SpeciesChoice};
use crate::enthalpy::{
    EnthalpyError, ReactantEnthalpy, WaterState, WaterStateName, reactant_enthalpy, with_share_left,
};
use crate::equilibrium::{AdiabaticEquilibrium, Equilibrium, EquilibriumError, SpeciesSet, System};
use crate::flame::{
    CompleteCombustion, FlameError, LedgerItem, Start, complete_combustion, equilibrium_burn,
    product_enthalpies, surplus_air_oxygen, system_of,
};
use crate::flame_band::{FlameBand, flame_band};
use crate::gas::{GasRelease, gas_release};
use crate::product::{ExpectedProduct, ProductError, expected_product};
use crate::quantity::units::{mole, ratio};
use crate::quantity::{AmountOfSubstance, Energy, Ratio, ThermodynamicTemperature};
use crate::redox::{Mixture, Redox, RedoxError};
use crate::tables::Tables;
use thiserror::Error;

/// Why a batch cannot be burnt.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum BurnError {
    #[error(transparent)]
    Redox(#[from] RedoxError),
    #[error(transparent)]
    Product(#[from] ProductError),
    #[error(transparent)]
    Enthalpy(#[from] EnthalpyError),
    #[error(transparent)]
    Flame(#[from] FlameError),
}

/// What becomes of the fuel that the oxidiser cannot burn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SurplusFuel {
    /// It leaves before or during the burn: φ falls to 1.
    Leaves,
    /// It cracks and shifts in the batch's own gas.
    OwnGas,
    /// It burns in air drawn in: this share of the air that it needs.
    Air(Ratio),
}

/// The burn of a rich batch for one way of the surplus fuel.
#[derive(Debug, Clone)]
pub struct SurplusResult {
    /// What becomes of the surplus.
    pub way: SurplusFuel,
    /// Flame temperature with fixed products; `None` if the heat does not dry the batch.
    pub complete: Option<ThermodynamicTemperature>,
    /// Equilibrium with the chosen species set, or why there is none.
    pub equilibrium: Result<AdiabaticEquilibrium, EquilibriumError>,
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
    pub band: FlameBand,
    /// The burn in equilibrium, with the species set the file asks for, or why there is none: a
    /// batch too cold to burn has no flame, and the other states of the water stand.
    pub equilibrium: Result<AdiabaticEquilibrium, EquilibriumError>,
    /// The same with the other species set; `None` if it was not asked for.
    pub other_set: Option<Result<AdiabaticEquilibrium, EquilibriumError>>,
    /// The burns by what becomes of surplus fuel; empty unless the batch is rich and they were asked for.
    pub surplus: Vec<SurplusResult>,
}

impl StateResult {
    /// The equilibrium, if there is one.
    pub fn settled(&self) -> Option<&Equilibrium> {
        self.equilibrium.as_ref().ok().map(|burn| &burn.equilibrium)
    }

    /// Temperature of the equilibrium with the other species set, if that was asked for.
    pub fn other_set_temperature(&self) -> Option<ThermodynamicTemperature> {
        let settled = self
            .other_set
            .as_ref()
            .and_then(|other| other.as_ref().ok());
        settled.map(|burn| burn.equilibrium.temperature)
    }

    /// Temperature of the equilibrium, if there is one.
    pub fn equilibrium_temperature(&self) -> Option<ThermodynamicTemperature> {
        self.settled().map(|equilibrium| equilibrium.temperature)
    }
}

impl SurplusResult {
    pub fn equilibrium_temperature(&self) -> Option<ThermodynamicTemperature> {
        let settled = self.equilibrium.as_ref().ok();
        settled.map(|burn| burn.equilibrium.temperature)
    }
}

/// Shares of the surplus fuel's air for which a rich batch is reported.
const AIR_SHARES: [f64; 3] = [0.25, 0.5, 1.0];

/// Both sides of the heat balance.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct HeatBalance {
    /// Enthalpy of the reactants, elements at 298.15 K = 0.
    pub reactants: Energy,
    /// That of the products at each temperature asked for.
    pub products: Vec<Energy>,
}

/// What every state of one batch shares.
#[derive(Debug)]
pub struct Burner<'b, 't> {
    batch: &'b Batch,
    tables: &'t Tables,
    redox: Redox,
    product: ExpectedProduct,
    dried: ReactantEnthalpy,
    system: System<'t>,
}

impl<'b, 't> Burner<'b, 't> {
    /// Prepares the burns of `batch`.
    ///
    /// # Errors
    /// [`BurnError`] if the redox sum, the product or the dry reactants' enthalpy fails.
    pub fn new(batch: &'b Batch, tables: &'t Tables) -> Result<Self, BurnError> {
        let system = system_of(batch, species_set(batch), tables);
        Self::with_system(batch, system, tables)
    }

    /// As [`Burner::new`] with a system that is there already: of the same elements and species
    /// set, as left by [`Burner::into_system`]. Saves its construction in a sweep.
    ///
    /// # Errors
    /// [`BurnError`] as for [`Burner::new`].
    pub fn with_system(
        batch: &'b Batch,
        system: System<'t>,
        tables: &'t Tables,
    ) -> Result<Self, BurnError> {
        Ok(Self {
            batch,
            tables,
            redox: batch.redox()?,
            product: expected_product(batch, tables)?,
            dried: dried_enthalpy(batch, tables)?,
            system,
        })
    }

    /// The redox sum.
    pub fn redox(&self) -> &Redox {
        &self.redox
    }

    /// The expected powder.
    pub fn product(&self) -> &ExpectedProduct {
        &self.product
    }

    /// The system of species, for the next batch of the same elements.
    pub fn into_system(self) -> System<'t> {
        self.system
    }

    /// Burns the batch with the water of `state`: fixed products, gas, band, and equilibrium
    /// with the species set that the file asks for.
    ///
    /// # Errors
    /// [`BurnError`] of the stage that fails.
    pub fn burn(&mut self, state: &WaterState) -> Result<StateResult, BurnError> {
        let air = self.batch.conditions.air_drawn_in;
        let reactants = reactant_enthalpy(self.batch, state, self.tables)?;
        let complete = self.complete(state, &reactants, air)?;
        let gas = gas_release(self.batch, &self.product, state, &complete);
        let band = flame_band(&complete, &reactants, self.tables);
        let (loss, oxygen) = (loss(&complete), self.air_oxygen(air));
        let equilibrium = equilibrium_burn(
            &mut self.system,
            self.batch,
            state,
            &reactants,
            loss,
            oxygen,
        );
        Ok(StateResult {
            state: *state,
            reactants,
            complete,
            gas,
            band,
            equilibrium,
            other_set: None,
            surplus: Vec::new(),
        })
    }

    /// Flame temperature with fixed products for the water of `state`, as in [`Burner::burn`];
    /// `None` if there is no flame.
    ///
    /// # Errors
    /// [`BurnError`] of the stage that fails.
    pub fn flame_temperature(
        &self,
        state: &WaterState,
    ) -> Result<Option<ThermodynamicTemperature>, BurnError> {
        let reactants = reactant_enthalpy(self.batch, state, self.tables)?;
        let air = self.batch.conditions.air_drawn_in;
        Ok(self.complete(state, &reactants, air)?.flame.temperature())
    }

    /// The batch.
    pub fn batch(&self) -> &Batch {
        self.batch
    }

    /// Both sides of the heat balance with fixed products: the share `left` of all water is there,
    /// `air` of the air that surplus fuel needs is drawn in.
    pub(crate) fn heat_balance(
        &self,
        left: Ratio,
        air: Ratio,
        temperatures_k: &[f64],
    ) -> Result<HeatBalance, BurnError> {
        let state = with_share_left(self.batch, left);
        let reactants = reactant_enthalpy(self.batch, &state, self.tables)?.total();
        let water = state.solvent + state.crystal_water(self.batch);
        let (product, tables) = (&self.product, self.tables);
        let products = product_enthalpies(self.batch, product, water, air, temperatures_k, tables)?;
        Ok(HeatBalance {
            reactants,
            products,
        })
    }

    /// As [`Burner::burn`], with the other species set and the ways of surplus fuel.
    ///
    /// # Errors
    /// [`BurnError`] of the stage that fails.
    pub fn burn_in_full(&mut self, state: &WaterState) -> Result<StateResult, BurnError> {
        let result = self.burn(state)?;
        self.in_full(result)
    }

    /// A result of [`Burner::burn`] with the other species set and the ways of surplus fuel.
    ///
    /// # Errors
    /// [`BurnError`] of the stage that fails.
    pub fn in_full(&mut self, mut result: StateResult) -> Result<StateResult, BurnError> {
        let state = result.state;
        let other = match species_set(self.batch) {
            SpeciesSet::Full => SpeciesSet::Fast,
            SpeciesSet::Fast => SpeciesSet::Full,
        };
        let mut other = system_of(self.batch, other, self.tables);
        let loss = loss(&result.complete);
        let oxygen = self.air_oxygen(self.batch.conditions.air_drawn_in);
        let other_set = equilibrium_burn(
            &mut other,
            self.batch,
            &state,
            &result.reactants,
            loss,
            oxygen,
        );
        result.other_set = Some(other_set);
        result.surplus = self.surplus(&state, &result.reactants)?;
        Ok(result)
    }

    fn complete(
        &self,
        state: &WaterState,
        reactants: &ReactantEnthalpy,
        air: Ratio,
    ) -> Result<CompleteCombustion, FlameError> {
        let start = Start {
            batch: self.batch,
            product: &self.product,
            state,
            reactants,
            dried: &self.dried,
            air,
        };
        complete_combustion(&start, self.tables)
    }

    fn air_oxygen(&self, air: Ratio) -> AmountOfSubstance {
        surplus_air_oxygen(self.redox.reducing, self.redox.oxidising, air)
    }

    /// The three ways of surplus fuel; nothing for a batch that is not rich.
    fn surplus(
        &mut self,
        state: &WaterState,
        reactants: &ReactantEnthalpy,
    ) -> Result<Vec<SurplusResult>, BurnError> {
        if self.redox.mixture != Mixture::Rich {
            return Ok(Vec::new());
        }
        let mut burns: Vec<SurplusResult> = self.surplus_leaves(state)?.into_iter().collect();
        let shares = std::iter::once(0.0).chain(AIR_SHARES);
        for share in shares.map(Ratio::new::<ratio>) {
            let complete = self.complete(state, reactants, share)?;
            let oxygen = self.air_oxygen(share);
            let loss = loss(&complete);
            let equilibrium =
                equilibrium_burn(&mut self.system, self.batch, state, reactants, loss, oxygen);
            let own_gas = share.get::<ratio>() <= 0.0;
            let way = if own_gas {
                SurplusFuel::OwnGas
            } else {
                SurplusFuel::Air(share)
            };
            burns.push(SurplusResult {
                way,
                complete: complete.flame.temperature(),
                equilibrium,
            });
        }
        Ok(burns)
    }

    /// The burn at φ = 1, if taking fuel away can bring the batch there.
    fn surplus_leaves(&mut self, state: &WaterState) -> Result<Option<SurplusResult>, BurnError> {
        let one = Ratio::new::<ratio>(1.0);
        let Ok(balanced) = self.batch.with_equivalence_ratio(one) else {
            return Ok(None);
        };
        let dried = dried_enthalpy(&balanced, self.tables)?;
        let reactants = reactant_enthalpy(&balanced, state, self.tables)?;
        let start = Start {
            batch: &balanced,
            product: &self.product,
            state,
            reactants: &reactants,
            dried: &dried,
            air: Ratio::new::<ratio>(0.0),
        };
        let complete = complete_combustion(&start, self.tables)?;
        let none = AmountOfSubstance::new::<mole>(0.0);
        let loss = loss(&complete);
        let equilibrium =
            equilibrium_burn(&mut self.system, &balanced, state, &reactants, loss, none);
        Ok(Some(SurplusResult {
            way: SurplusFuel::Leaves,
            complete: complete.flame.temperature(),
            equilibrium,
        }))
    }
}

/// The species set that the batch asks for.
pub fn species_set(batch: &Batch) -> SpeciesSet {
    match batch.conditions.species {
        SpeciesChoice::Full => SpeciesSet::Full,
        SpeciesChoice::Fast => SpeciesSet::Fast,
    }
}

/// Enthalpy of the reactants without any water.
fn dried_enthalpy(batch: &Batch, tables: &Tables) -> Result<ReactantEnthalpy, EnthalpyError> {
    let state = WaterState {
        name: WaterStateName::Dried,
        solvent: AmountOfSubstance::new::<mole>(0.0),
        crystal_share: Ratio::new::<ratio>(0.0),
    };
    reactant_enthalpy(batch, &state, tables)
}

/// Heat lost before the products are hot.
fn loss(complete: &CompleteCombustion) -> Energy {
    -complete.ledger.energy(LedgerItem::Loss)
}
