//! A run held against its estimate as JSON.

use crate::plan::Plan;
use serde_json::{Value, json};
use uom::si::ratio::ratio;
use uom::si::temperature_interval::kelvin as kelvins;

/// A run held against its estimate as JSON; null without a run.
pub(super) fn measured_json(plan: &Plan) -> Value {
    let Some(measured) = &plan.run else {
        return Value::Null;
    };
    let share = |value: Option<crate::quantity::Ratio>| value.map(|r| r.get::<ratio>());
    json!({
        "peak_minus_dried_bound_k": measured.below_dried.map(|d| d.get::<kelvins>()),
        "heat_loss_if_dry": share(measured.loss_if_dry),
        "water_left_if_no_loss": share(measured.water_if_no_loss),
        "powder_yield": share(measured.powder_yield),
    })
}
