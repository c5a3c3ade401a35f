//! What goes with a course: energy, layer, microwaves and cooling.

use super::numbers::{k, m, s, share};
use crate::ignition::adapter::{Common, Setup};
use crate::ignition::burn::BurnEstimate;
use crate::ignition::charge::Charge;
use crate::ignition::cooling::CoolingBody;
use crate::ignition::explain;
use crate::ignition::history::History;
use crate::ignition::microwave::Oven;
use crate::quantity::units::{joule, kelvin, watt};
use crate::quantity::{
    Energy, Length, Power, REFERENCE_TEMPERATURE, Ratio, ThermodynamicTemperature, Time,
};
use crate::tables::heating::HeatingKind;

/// Coefficient of convection from a hot dish to still air, W/(m² K) (assumed).
const STILL_AIR: f64 = 8.0;
/// Emissivity of glass, glaze and powder (assumed).
const VESSEL_EMISSIVITY: f64 = 0.9;

/// Where the energy of heating went, from the start to ignition or failure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EnergyBook {
    /// Through the floor of the vessel (net).
    pub from_below: Energy,
    /// Through the free surface (net; negative: given off to the room).
    pub from_above: Energy,
    /// Microwaves absorbed.
    pub microwaves: Energy,
    /// Released by the reaction before ignition.
    pub reaction: Energy,
    /// Carried off by steam.
    pub steam: Energy,
    /// Carried off by gas, decomposing fuel and nitrate.
    pub gas: Energy,
    /// Stored in floor and layer.
    pub stored: Energy,
    /// What does not add up: the solver's error.
    pub imbalance: Energy,
    /// Mean power taken up from the heating way.
    pub mean_power: Power,
}

impl EnergyBook {
    /// Shares of all heat taken up that came through the floor, through the free surface, and as
    /// microwaves; what gives heat off has none. `None` if none is taken up.
    pub fn shares(&self) -> Option<[Ratio; 3]> {
        let zero = Energy::new::<joule>(0.0);
        let parts = [self.from_below, self.from_above, self.microwaves];
        let taken = parts.map(|part| if part > zero { part } else { zero });
        let all = taken[0] + taken[1] + taken[2];
        (all > zero).then(|| taken.map(|part| part / all))
    }
}

/// The microwave oven and the batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MicrowaveNote {
    /// Power taken up by the solution at the start, magnetron on.
    pub absorbed_first: Power,
    /// Power taken up by the gel when its solvent has gone.
    pub absorbed_gel: Power,
    /// Depth in which the power falls to 1/e, in the solution at 25 °C.
    pub penetration_first: Length,
    /// The same in the hot, dry gel.
    pub penetration_gel: Length,
    /// Whether the layer is deep enough for Lambert's law at the start.
    pub lambert_holds: bool,
    /// Whether a product that goes on taking up microwaves is expected; `None` if no row tells.
    pub product_goes_on: Option<bool>,
}

/// Size of the layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerNote {
    pub solution_depth: Length,
    /// Depth of the dry gel with its froth.
    pub gel_depth: Length,
    /// Whether the area was assumed because the file names no vessel.
    pub assumed_area: bool,
    /// Thickness of dry gel below which it loses its heat as fast as it makes it, at the
    /// temperature of the reaction peak or of a cooler heating way.
    pub critical_depth: Option<Length>,
}

/// How long it stays hot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoolingNote {
    /// Temperature of vessel and powder after the burn.
    pub from: ThermodynamicTemperature,
    /// Temperature below which it may be touched.
    pub to: ThermodynamicTemperature,
    /// Time in still air, counted from the moment the heating way no longer heats it.
    pub time: Option<Time>,
    /// Temperature that a furnace keeps it at until it is switched off or emptied.
    pub furnace: Option<ThermodynamicTemperature>,
}

pub(super) fn energy(history: &History, charge: &Charge) -> EnergyBook {
    let l = &history.ledger;
    let j = |value: f64| Energy::new::<joule>(value * charge.area);
    let taken = l.bottom + l.top + l.microwave;
    EnergyBook {
        from_below: j(l.bottom),
        from_above: j(l.top),
        microwaves: j(l.microwave),
        reaction: j(l.reaction),
        steam: j(l.steam),
        gas: j(l.gas + l.fuel_loss + l.nitrate_loss),
        stored: j(l.stored_last - l.stored_first),
        imbalance: j(l.imbalance()),
        mean_power: Power::new::<watt>(share(taken * charge.area, history.state.time)),
    }
}

pub(super) fn layer(setup: &Setup) -> LayerNote {
    let charge = &setup.charge;
    LayerNote {
        solution_depth: m(setup.volume / charge.area),
        gel_depth: m(charge.dry_depth()),
        assumed_area: setup.assumed_area,
        critical_depth: explain::critical_depth(setup).map(m),
    }
}

pub(super) fn microwave(common: &Common<'_>, setup: &Setup, oven: &Oven) -> MicrowaveNote {
    let charge = &setup.charge;
    let gel = charge.dry_mass / charge.gel.density.max(1000.0) * oven.gel_load;
    let watt_of = |w: f64| {
        Power::new::<watt>(
            oven.power * oven.load_share(w * charge.dry_mass / charge.water.density + gel),
        )
    };
    let first = oven
        .dielectric
        .penetration_depth(1.0 / (1.0 + charge.initial_water()), REFERENCE_TEMPERATURE);
    let limit = common.tables().heating.dielectric.lambert_limit.si();
    MicrowaveNote {
        absorbed_first: watt_of(charge.initial_water()),
        absorbed_gel: watt_of(charge.gel.set_water),
        penetration_first: m(first),
        penetration_gel: m(oven.dielectric.penetration_depth(1.0, charge.reaction.peak)),
        lambert_holds: setup.volume / charge.area > limit * first,
        product_goes_on: explain::product_goes_on(common),
    }
}

pub(super) fn cooling(
    common: &Common<'_>,
    setup: &Setup,
    history: &History,
    burn: &BurnEstimate,
) -> CoolingNote {
    let charge = &setup.charge;
    let wall = &setup.wall;
    // Floor and as much side wall as three floors: a dish or low beaker.
    let vessel = 3.0 * charge.area * wall.thickness * wall.volumetric_heat_capacity;
    let powder = charge.dry_mass
        * (1.0 - charge.reaction.gas_fraction)
        * charge.reaction.product_heat_capacity;
    let flame = burn.flame.map_or(history.hottest, |t| t.get::<kelvin>());
    let from = (vessel * history.floor_hottest + powder * flame) / (vessel + powder);
    // In a furnace it comes to the furnace's temperature first, hotter or cooler as it may be.
    let furnace = (setup.kind == HeatingKind::Furnace).then_some(setup.heater.top.source);
    let from = furnace.unwrap_or(from);
    let criteria = &common.tables().heating.criteria;
    let body = CoolingBody {
        heat_capacity: vessel + powder,
        area: 4.0 * charge.area,
        transfer: STILL_AIR,
        emissivity: VESSEL_EMISSIVITY,
        room: charge.room_temperature,
    };
    CoolingNote {
        from: k(from),
        to: k(common.touch()),
        time: body.time(from, criteria.touch.si()).map(s),
        furnace: furnace.map(k),
    }
}
