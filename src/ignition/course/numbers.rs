//! Numbers of the solver, in coherent SI, as quantities.

use crate::quantity::units::{kelvin, meter, ratio, second};
use crate::quantity::{Length, Ratio, ThermodynamicTemperature, Time};

pub(super) fn s(value: f64) -> Time {
    Time::new::<second>(value)
}
pub(super) fn k(value: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<kelvin>(value)
}
pub(super) fn r(value: f64) -> Ratio {
    Ratio::new::<ratio>(value)
}
pub(super) fn m(value: f64) -> Length {
    Length::new::<meter>(value)
}

/// `part / whole`, 0 for an empty whole.
pub(super) fn share(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}
