//! The burn after the course of heating, as text and as JSON.

use super::ignition_json::course_json;
use super::number::{celsius_text, significant, temperature_text, whole};
use super::text::{heading, wrapped};
use crate::batch::Batch;
use crate::burn::HeatedBurn;
use crate::ignition::{Outcome, duration};
use serde_json::{Value, json};
use std::fmt::{self, Write};
use uom::si::ratio::{percent, ratio};
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;

/// Writes what the heating leaves and how it then burns.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub(super) fn heated_text(heated: &HeatedBurn, out: &mut impl Write) -> fmt::Result {
    let course = &heated.course;
    heading(out, &format!("After heating: {}", course.way))?;
    match &course.outcome {
        Outcome::Fails { time, reason } => {
            let after = duration(time.get::<second>());
            return wrapped(
                out,
                0,
                &format!("It does not ignite (given up after {after}): {reason}"),
            );
        }
        Outcome::Ignites {
            time,
            place,
            temperature,
        } => wrapped(
            out,
            0,
            &format!(
                "Ignites after {} at the {place}, {} there; {} % of the water left, {} % of the fuel \
                 lost on the way.",
                duration(time.get::<second>()),
                celsius_text(*temperature),
                whole(course.water_left.get::<percent>()),
                whole(course.fuel_lost.get::<percent>()),
            ),
        )?,
    }
    let Some(ignited) = &heated.ignited else {
        return Ok(());
    };
    if let Some(stated) = heated.stated_water {
        let found = significant(course.water_left.get::<percent>(), 2);
        let stated = significant(stated.get::<percent>(), 2);
        let text = format!(
            "The file says {stated} % of the water is left at ignition, and that counts; the \
             heating model finds {found} %."
        );
        wrapped(out, 0, &text)?;
    }
    let phi = significant(ignited.equivalence_ratio.get::<ratio>(), 3);
    let flame = ignited.result.complete.flame.temperature();
    let flame = flame.map_or("no flame".to_owned(), temperature_text);
    wrapped(
        out,
        0,
        &format!(
            "Then φ = {phi}, start at {}: flame {flame} with the stated losses.",
            celsius_text(course.start_temperature)
        ),
    )
}

/// The same as JSON.
#[must_use]
pub(super) fn heated_json(batch: &Batch, heated: &HeatedBurn) -> Value {
    let ignited = heated.ignited.as_ref().map(|ignited| {
        json!({
            "equivalence_ratio": ignited.equivalence_ratio.get::<ratio>(),
            "start_temperature_k": heated.course.start_temperature.get::<kelvin>(),
        })
    });
    json!({
        "course": course_json(batch, &heated.course),
        "water_left_stated": heated.stated_water.map(|share| share.get::<ratio>()),
        "at_ignition": ignited,
    })
}
