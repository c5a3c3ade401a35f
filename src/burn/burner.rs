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
#[derive(Debug, Clone, Error)]
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
    #[error(transparent)]
    Equilibrium(#[from] EquilibriumError),
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
    /// The burn, or why there is none.
    pub burn: Result<StateResult, BurnError>,
}

/// The burns that a state of the water may have beside that of its [`StateResult`].
#[derive(Debug, Clone)]
pub struct OtherBurns {
    /// The burn with the species set that the file does not ask for, or why there is none.
    pub other_set: Result<StateResult, BurnError>,
    /// The burns by what becomes of surplus fuel; empty unless the batch is rich.
    pub surplus: Vec<SurplusResult>,
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
}

impl StateResult {
    /// The equilibrium, if there is one.
    pub fn settled(&self) -> Option<&Equilibrium> {
        self.equilibrium.as_ref().ok().map(|burn| &burn.equilibrium)
    }

    /// Temperature of the equilibrium, if there is one.
    pub fn equilibrium_temperature(&self) -> Option<ThermodynamicTemperature> {
        self.settled().map(|equilibrium| equilibrium.temperature)
    }
}

impl OtherBurns {
    /// Burns `batch` with the water of `state` in the other ways.
    pub fn of(batch: &Batch, state: &WaterState, tables: &Tables) -> Self {
        let other = match species_set(batch) {
            SpeciesSet::Full => SpeciesSet::Fast,
            SpeciesSet::Fast => SpeciesSet::Full,
        };
        let other = Burner::with_system(batch, system_of(batch, other, tables), tables);
        let surplus = Burner::new(batch, tables).map(|mut burner| burner.surplus(state));
        Self {
            other_set: other.and_then(|mut burner| burner.burn(state)),
            // Without a burner `other_set` tells why.
            surplus: surplus.unwrap_or_default(),
        }
    }
}

impl SurplusResult {
    /// Temperature of the equilibrium, if there is one.
    pub fn equilibrium_temperature(&self) -> Option<ThermodynamicTemperature> {
        self.burn.as_ref().ok()?.equilibrium_temperature()
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
        self.burn_with_air(state, self.batch.conditions.air_drawn_in)
    }

    /// The same with `air`, the share that is drawn in of the air that surplus fuel needs.
    ///
    /// # Errors
    /// [`BurnError`] as for [`Burner::burn`].
    pub fn burn_with_air(
        &mut self,
        state: &WaterState,
        air: Ratio,
    ) -> Result<StateResult, BurnError> {
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

    /// The burns by what becomes of surplus fuel; nothing for a batch that is not rich, and no burn
    /// at φ = 1 where no less of the fuel brings it there.
    fn surplus(&mut self, state: &WaterState) -> Vec<SurplusResult> {
        if self.redox.mixture != Mixture::Rich {
            return Vec::new();
        }
        let none = Ratio::new::<ratio>(0.0);
        let balanced = self.batch.with_equivalence_ratio(Ratio::new::<ratio>(1.0));
        let leaves = balanced.ok().map(|batch| {
            let burner = Burner::new(&batch, self.tables);
            burner.and_then(|mut burner| burner.burn_with_air(state, none))
        });
        let leaves = leaves.map(|burn| (SurplusFuel::Leaves, burn));
        let own_gas = (SurplusFuel::OwnGas, self.burn_with_air(state, none));
        let in_air = AIR_SHARES.map(|share| {
            let share = Ratio::new::<ratio>(share);
            (SurplusFuel::Air(share), self.burn_with_air(state, share))
        });
        let burns = leaves.into_iter().chain([own_gas]).chain(in_air);
        burns
            .map(|(way, burn)| SurplusResult { way, burn })
            .collect()
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
