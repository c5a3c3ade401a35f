//! The burn that follows ignition: how long it lasts.

use super::adapter::{Common, Setup};
use super::error::IgnitionError;
use crate::enthalpy::{WaterStateName, reactant_enthalpy, water_states, with_share_left};
use crate::flame::{Start, complete_combustion};
use crate::product::expected_product;
use crate::quantity::units::{ratio, second};
use crate::quantity::{Ratio, ThermodynamicTemperature, Time};

/// Duration of the burn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BurnEstimate {
    /// Flame temperature without losses for the water left at ignition, if there is a flame.
    pub flame: Option<ThermodynamicTemperature>,
    /// Shortest and longest time of the whole burn.
    pub duration: (Time, Time),
}

/// A front of the fuel's speed crosses the layer: the whole burn takes the longer of depth and
/// radius at the slow end, the depth at the fast end.
pub(super) fn burn_estimate(
    common: &Common<'_>,
    setup: &Setup,
    water_left: f64,
) -> Result<BurnEstimate, IgnitionError> {
    let (batch, tables) = (common.batch(), common.tables());
    let product = expected_product(batch, tables)?;
    let state = with_share_left(batch, Ratio::new::<ratio>(water_left.clamp(0.0, 1.0)));
    let states = water_states(batch, None);
    let dried = states
        .iter()
        .find(|s| s.name == WaterStateName::Dried)
        .ok_or(IgnitionError::NoWater)?;
    let reactants = reactant_enthalpy(batch, &state, tables)?;
    let dry = reactant_enthalpy(batch, dried, tables)?;
    let start = Start {
        batch,
        product: &product,
        state: &state,
        reactants: &reactants,
        dried: &dry,
        air: batch.conditions.air_drawn_in,
    };
    let burn = complete_combustion(&start, tables)?;
    let flame = burn.flame.temperature();
    let charge = &setup.charge;
    let n = &setup.fuel;
    let (slow, fast) = (n.front_low.si(), n.front_high.si());
    let depth = charge.dry_depth();
    let radius = (charge.area / std::f64::consts::PI).sqrt();
    Ok(BurnEstimate {
        flame,
        duration: (
            Time::new::<second>(depth / fast),
            Time::new::<second>(depth.max(radius) / slow),
        ),
    })
}
