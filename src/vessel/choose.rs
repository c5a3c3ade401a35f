//! The smallest vessel of the tables that holds a batch.

use super::refusal::refusals;
use super::{
    Behaviour, Load, WallHeating, above_zero, behaviour, froth_volume, larger, open_vessel,
    pressure_if_closed,
};
use crate::quantity::temperature_difference;
use crate::tables::vessels::{Vessel, Vessels};
use std::sync::Arc;

/// The smallest named vessel, open, that passes every check with `load`; none if none does. It
/// never proposes a cover, and never looks at anything but the batch as it is.
pub fn smallest_fitting(load: &Load, vessels: &Vessels) -> Option<Arc<Vessel>> {
    let behaviour = behaviour(&load.fuels, vessels);
    let mut fitting: Vec<&Arc<Vessel>> = vessels
        .vessels
        .iter()
        .filter(|vessel| fits(vessel, load, &behaviour, vessels))
        .collect();
    // metal last: acid nitrate solutions dissolve it
    fitting.sort_by(|a, b| {
        let volume = |vessel: &Vessel| vessel.shape.brimful().value;
        let by_volume = volume(a).total_cmp(&volume(b));
        a.material.metal.cmp(&b.material.metal).then(by_volume)
    });
    fitting.first().map(|vessel| Arc::clone(vessel))
}

/// The checks of [`super::check`] that decide, without the flow of gas.
fn fits(vessel: &Arc<Vessel>, load: &Load, behaviour: &Behaviour, vessels: &Vessels) -> bool {
    let assumed = &vessels.assumed;
    let choice = open_vessel(vessel);
    let shape = &vessel.shape;
    let brimful = shape.brimful();
    let froth = froth_volume(load, behaviour, assumed);
    let least = larger(behaviour.vessel_ratio * load.solution_volume, froth.high);
    if brimful < least
        || froth.high > assumed.froth_share.value * brimful
        || shape.depth_of(load.solution_volume) > assumed.liquid_depth.value
    {
        return false;
    }
    let pressure = pressure_if_closed(brimful, load);
    let burn_time = behaviour.burn_time_of(load, assumed);
    let wall = WallHeating::of(&choice, load, froth, burn_time, assumed).wall;
    refusals(&choice, load.heating, pressure, assumed).is_empty()
        && !above_zero(temperature_difference(
            wall.high,
            vessel.material.highest_wall.value,
        ))
}
