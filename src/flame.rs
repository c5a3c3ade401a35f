//! Adiabatic flame temperature with fixed products: the hand check beside the equilibrium.
//!
//! Products are N2, CO2, H2O(g), the expected powder and, in a lean batch, the O2 left over. In a
//! rich batch the surplus C, H and O settle by the water–gas equilibrium
//! CO + H2O ⇌ CO2 + H2; what even that cannot oxidise is left as carbon. The powder follows its
//! stable phase at each temperature, so that the balance can end on a melting point.

mod balance;
mod condensed;
mod equilibrium;
mod error;
mod ledger;
mod products;
mod start;

pub use equilibrium::{elements_in_pot, equilibrium_burn, surplus_air_oxygen, system_of};
pub use error::FlameError;
pub use ledger::{Ledger, LedgerEntry, LedgerItem};
pub(crate) use products::NITROGEN_PER_OXYGEN;
pub use start::Start;

use crate::batch::Batch;
use crate::product::ExpectedProduct;
use crate::quantity::units::{joule, joule_per_kelvin, kelvin, mole, ratio};
use crate::quantity::{
    AmountOfSubstance, Energy, REFERENCE_TEMPERATURE, Ratio, TemperatureInterval,
    ThermodynamicTemperature,
};
use crate::tables::Tables;
pub(crate) use balance::COLDEST;
use balance::{Balance, temperature_of};
use products::Products;

/// Where the heat balance ends.
#[derive(Debug, Clone, PartialEq)]
pub enum Flame {
    /// At this temperature.
    At(ThermodynamicTemperature),
    /// On a transition of the powder, with this share of it transformed.
    OnTransition {
        /// Temperature of the transition.
        temperature: ThermodynamicTemperature,
        /// Id of the phase below it.
        from: String,
        /// Id of the phase above it.
        to: String,
        /// Share that has turned into `to`, 0 to 1.
        fraction: Ratio,
    },
    /// The heat does not even suffice for products at 100 °C with all water as vapour: too much
    /// water, or so much fuel that its cracking takes up more than the burn gives.
    TooWet {
        /// Heat that is lacking.
        short_by: Energy,
    },
}

impl Flame {
    /// The temperature, if there is one.
    pub fn temperature(&self) -> Option<ThermodynamicTemperature> {
        match self {
            Self::At(temperature) | Self::OnTransition { temperature, .. } => Some(*temperature),
            Self::TooWet { .. } => None,
        }
    }
}

/// One product at the end of the balance.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductAmount {
    /// Id of the species.
    pub id: String,
    pub amount: AmountOfSubstance,
}

/// The burn with fixed products, for one state of the water.
#[derive(Debug, Clone, PartialEq)]
pub struct CompleteCombustion {
    /// Where the balance ends.
    pub flame: Flame,
    /// Gases, in the order CO2, H2O, N2, O2, CO, H2, SO2, H2S, S2, HCl, those that are there.
    pub gas: Vec<ProductAmount>,
    /// Solids and melts, phase by phase.
    pub condensed: Vec<ProductAmount>,
    /// Whether the surplus fuel was settled by the water–gas equilibrium.
    pub shifted: bool,
    /// Oxygen drawn in with air.
    pub air_oxygen: AmountOfSubstance,
    /// Heat released at 298.15 K with all water as vapour.
    pub heat_released: Energy,
    /// Heat capacity of all products at the end, for the spread of the temperature.
    pub heat_capacity: crate::quantity::HeatCapacity,
    /// Where every kilojoule goes.
    pub ledger: Ledger,
}

impl CompleteCombustion {
    /// Change of the flame temperature for a change of the reactants' enthalpy by `heat`.
    pub fn temperature_change(&self, heat: Energy) -> TemperatureInterval {
        heat / self.heat_capacity
    }
}

/// Burns the batch to fixed products.
pub fn complete_combustion(
    start: &Start<'_>,
    tables: &Tables,
) -> Result<CompleteCombustion, FlameError> {
    let Start {
        batch,
        product,
        state,
        reactants,
        air,
        ..
    } = *start;
    let water = (state.solvent + state.crystal_water(batch)).get::<mole>();
    let products = Products::new(batch, product, water, air.get::<ratio>(), tables)?;
    let external = batch.conditions.external_heat.get::<joule>();
    let cold = products.enthalpy(REFERENCE_TEMPERATURE);
    let heat = reactants.total().get::<joule>() - cold;
    let loss = batch.conditions.heat_loss.get::<ratio>() * heat.max(0.0);
    let available = reactants.total().get::<joule>() + external - loss;
    let flame = temperature_of(&products, available)?;
    let (t, balance) = match &flame {
        Balance::Short { by } => (
            COLDEST,
            Flame::TooWet {
                short_by: joules(*by),
            },
        ),
        Balance::At { t } => (*t, Flame::At(ThermodynamicTemperature::new::<kelvin>(*t))),
        Balance::OnTransition { t, phase, fraction } => {
            let (from, to) = products.transition(*phase, *t);
            let flame = Flame::OnTransition {
                temperature: ThermodynamicTemperature::new::<kelvin>(*t),
                from,
                to,
                fraction: Ratio::new::<ratio>(*fraction),
            };
            (*t, flame)
        }
    };
    let gas = products.gas(t);
    let condensed = products.condensed_at(&flame, t);
    let ledger = ledger::ledger(&ledger::Inputs {
        products: &products,
        balance: &flame,
        t,
        start,
        loss,
        tables,
    })?;
    let amount = |(id, n): (String, f64)| ProductAmount {
        id,
        amount: AmountOfSubstance::new::<mole>(n),
    };
    Ok(CompleteCombustion {
        flame: balance,
        gas: gas
            .into_iter()
            .map(|(species, n)| amount((species.id.clone(), n)))
            .collect(),
        condensed: condensed.into_iter().map(amount).collect(),
        shifted: products.is_shifted(),
        air_oxygen: AmountOfSubstance::new::<mole>(products.air_oxygen()),
        heat_released: joules(heat),
        heat_capacity: crate::quantity::HeatCapacity::new::<joule_per_kelvin>(
            products.heat_capacity(t),
        ),
        ledger,
    })
}

/// Enthalpy of the fixed products of [`complete_combustion`] in J, elements at 298.15 K = 0, at each
/// of `temperatures_k`, with `water` left in the batch.
pub(crate) fn product_enthalpies(
    batch: &Batch,
    product: &ExpectedProduct,
    water: AmountOfSubstance,
    air: Ratio,
    temperatures_k: &[f64],
    tables: &Tables,
) -> Result<Vec<Energy>, FlameError> {
    let (water, air) = (water.get::<mole>(), air.get::<ratio>());
    let products = Products::new(batch, product, water, air, tables)?;
    let enthalpy = |t: &f64| joules(products.enthalpy(*t));
    Ok(temperatures_k.iter().map(enthalpy).collect())
}

fn joules(value: f64) -> Energy {
    Energy::new::<joule>(value)
}
