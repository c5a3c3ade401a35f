//! The burn that follows ignition: how long it lasts and what it loses meanwhile.

use super::IgnitionError;
use super::adapter::{Common, Setup};
use crate::enthalpy::{WaterStateName, reactant_enthalpy, water_states, with_share_left};
use crate::flame::complete_combustion;
use crate::product::expected_product;
use crate::quantity::{Ratio, ThermodynamicTemperature, Time};
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;

/// Stefan–Boltzmann constant, W/(m² K⁴) (exact in the SI of 2019 to the digits given).
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Duration of the burn and heat lost during it, as bands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BurnEstimate {
    /// Flame temperature without losses for the water left at ignition, if there is a flame.
    pub flame: Option<ThermodynamicTemperature>,
    /// Shortest and longest time of the whole burn.
    pub duration: (Time, Time),
    /// Least and greatest share of the heat that is lost to wall and room before the part that
    /// burns has burnt.
    pub heat_loss: (Ratio, Ratio),
}

/// A front of the fuel's speed crosses the layer: the whole burn takes the longer of depth and
/// radius at the slow end, the depth at the fast end. A column of the layer loses heat from both
/// its faces while the front passes through its depth; as its temperature falls in proportion to
/// the loss, the share lost is x/(1 + x), x the loss at flame temperature over the heat.
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
    let burn = complete_combustion(
        batch,
        &product,
        &state,
        &reactants,
        &dry,
        batch.conditions.air_drawn_in,
        tables,
    )?;
    let flame = burn.flame.temperature();
    let charge = &setup.charge;
    let n = &setup.fuel;
    let (slow, fast) = (n.front_low.si(), n.front_high.si());
    let depth = charge.dry_depth();
    let radius = (charge.area / std::f64::consts::PI).sqrt();
    let criteria = &tables.heating.criteria;
    let hot = flame.map_or(charge.room_temperature, |t| t.get::<kelvin>());
    let room = charge.room_temperature;
    let flux = criteria.flame_emissivity.si() * STEFAN_BOLTZMANN * (hot.powi(4) - room.powi(4))
        + criteria.flame_transfer.si() * (hot - room);
    let heat = charge.areal_mass() * charge.reaction.heat.max(0.0);
    let lost = |speed: f64| {
        let x = if heat > 0.0 {
            2.0 * flux * depth / (speed * heat)
        } else {
            0.0
        };
        Ratio::new::<ratio>(x / (1.0 + x))
    };
    Ok(BurnEstimate {
        flame,
        duration: (
            Time::new::<second>(depth / fast),
            Time::new::<second>(depth.max(radius) / slow),
        ),
        heat_loss: (lost(fast), lost(slow)),
    })
}
