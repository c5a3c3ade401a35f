//! One draw of the expected burn.

use crate::quantity::{EquivalenceRatio, Ratio, ThermodynamicTemperature};

/// One draw: what it takes for what nobody knows, and the burn that follows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// Share of all water left at ignition.
    pub water_left: Ratio,
    /// Share of the fuel lost on the way, by reducing valence.
    pub fuel_lost: Ratio,
    /// Share of the nitrate lost on the way, by oxidising valence.
    pub nitrate_lost: Ratio,
    /// Temperature at which the burn starts.
    pub start: ThermodynamicTemperature,
    /// Share of the heat of the burn that the piece of gel loses meanwhile.
    pub heat_lost: Ratio,
    /// Share of the air for the surplus fuel that it finds.
    pub air: Ratio,
    /// φ as it burns: after the loss of fuel, with the true assays.
    pub equivalence_ratio: EquivalenceRatio,
    /// Peak temperature; `None` if it gets no hotter than it started.
    pub peak: Option<ThermodynamicTemperature>,
}
