//! The smallest vessel of the tables that holds a batch.

use super::{Load, VesselCheck, above_zero, behaviour, check, larger, open_vessel};
use crate::quantity::{Ratio, Volume};
use crate::tables::vessels::{Vessel, Vessels};
use std::sync::Arc;
use uom::si::ratio::ratio;

/// The smallest named vessel, open, that passes every check with `load`; none if none does. It
/// never proposes a cover, and never looks at anything but the batch as it is.
#[must_use]
pub fn smallest_fitting(load: &Load, vessels: &Vessels) -> Option<Arc<Vessel>> {
    let least = behaviour(&load.fuels, vessels).vessel_ratio * load.solution_volume;
    let mut fitting: Vec<&Arc<Vessel>> = vessels
        .vessels
        .iter()
        .filter(|vessel| {
            let checked = check(&open_vessel(vessel), load, vessels);
            fits(&checked, least, vessels)
        })
        .collect();
    // metal last: acid nitrate solutions dissolve it
    fitting.sort_by(|a, b| {
        let volume = |vessel: &Vessel| vessel.shape.brimful().value;
        let by_volume = volume(a).total_cmp(&volume(b));
        a.material.metal.cmp(&b.material.metal).then(by_volume)
    });
    fitting.first().map(|vessel| Arc::clone(vessel))
}

fn fits(checked: &VesselCheck, least: Volume, vessels: &Vessels) -> bool {
    let assumed = &vessels.assumed;
    let full = Ratio::new::<ratio>(1.0);
    let froth_share = if assumed.froth_share.value < full {
        assumed.froth_share.value
    } else {
        full
    };
    checked.refusals.is_empty()
        && checked.froth_fill.high <= froth_share
        && checked.brimful >= larger(least, checked.froth.high)
        && checked.depth <= assumed.liquid_depth.value
        && !above_zero(checked.over_limit.high)
}
