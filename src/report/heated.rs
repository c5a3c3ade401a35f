//! The burn after the course of heating as JSON.

use super::ignition_json::course_json;
use crate::batch::Batch;
use crate::burn::HeatedBurn;
use serde_json::{Value, json};
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;

/// The burn after the course of heating as JSON.
#[must_use]
pub(super) fn heated_json(batch: &Batch, heated: &HeatedBurn) -> Value {
    let ignited = heated.ignited.as_ref().map(|ignited| {
        json!({
            "equivalence_ratio": ignited.equivalence_ratio.get::<ratio>(),
            "start_temperature_k": heated.judged.course.start_temperature.get::<kelvin>(),
        })
    });
    json!({
        "course": course_json(batch, &heated.judged),
        "water_left_stated": heated.stated_water.map(|share| share.get::<ratio>()),
        "at_ignition": ignited,
    })
}
