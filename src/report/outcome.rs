//! A run held against its estimate as JSON.

use crate::plan::Plan;
use serde_json::{Value, json};
use uom::si::ratio::ratio;
use uom::si::temperature_interval::kelvin as kelvins;

/// A run held against its estimate as JSON; null without a run.
pub(super) fn outcome_json(plan: &Plan) -> Value {
    let Some(outcome) = &plan.run else {
        return Value::Null;
    };
    let share = |value: Option<crate::quantity::Ratio>| value.map(|r| r.get::<ratio>());
    json!({
        "peak_minus_dried_bound_k": outcome.below_dried.map(|d| d.get::<kelvins>()),
        "heat_loss_if_dry": share(outcome.loss_if_dry),
        "water_left_if_no_loss": share(outcome.water_if_no_loss),
        "powder_yield": share(outcome.powder_yield),
    })
}
