//! The setting of a heating way.

use crate::quantity::{Power, Ratio, ThermodynamicTemperature};

/// The setting of a heating way that was reckoned with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Setting {
    /// Output of an oven into one litre, electric power of a lamp, power of a burner.
    pub power: Option<Power>,
    /// Share of the time that an oven is on.
    pub duty: Option<Ratio>,
    /// Temperature of plate, furnace or hot gas.
    pub temperature: Option<ThermodynamicTemperature>,
}
