//! A run held against its estimate, as text and as JSON.

use super::number::{celsius_text, interval_text, mass_text, significant, whole};
use super::text::{heading, wrapped};
use crate::burn::RunOutcome;
use crate::plan::Plan;
use serde_json::{Value, json};
use std::fmt::{self, Write};
use uom::si::ratio::{percent, ratio};
use uom::si::temperature_interval::kelvin as kelvins;
use uom::si::time::second;

/// Writes what was seen, what it implies and what to change one thing at a time.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub(super) fn outcome_text(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    let (Some(run), Some(outcome)) = (plan.batch.runs.last(), &plan.run) else {
        return Ok(());
    };
    heading(out, "Your run against the estimate")?;
    if let Some(peak) = run.peak_temperature {
        let difference = outcome.below_dried.map_or(String::new(), |d| {
            let word = if d.get::<kelvins>() < 0.0 {
                "below"
            } else {
                "above"
            };
            format!(
                ", {} {word} the bound for the dried batch",
                interval_text(d.abs())
            )
        });
        wrapped(
            out,
            0,
            &format!("Measured peak {}{difference}.", celsius_text(peak)),
        )?;
        explanation(outcome, out)?;
    }
    if let (Some(mass), Some(share)) = (run.powder_mass, outcome.powder_yield) {
        let note = match share.get::<ratio>() {
            y if y > 1.05 => {
                ": more than the oxide can weigh, so carbon, carbonate, nitrate or water is left in \
                 it; calcine a weighed part"
            }
            y if y < 0.85 => ": powder was carried off; a deeper pot or a mesh keeps more of it",
            _ => "",
        };
        let share = whole(share.get::<percent>());
        wrapped(
            out,
            0,
            &format!(
                "Powder {}, {share} % of the expected{note}.",
                mass_text(mass)
            ),
        )?;
    }
    let mut seen = Vec::new();
    if let Some(time) = run.ignited_after {
        let model = plan
            .heated
            .as_ref()
            .and_then(|h| h.course.time_to_ignition());
        let model = model.map_or(String::new(), |t| {
            format!(" (heating model: {} s)", significant(t.get::<second>(), 2))
        });
        seen.push(format!(
            "ignited after {} s{model}",
            significant(time.get::<second>(), 3)
        ));
    }
    if let Some(time) = run.flame_lasted {
        seen.push(format!("flame {} s", significant(time.get::<second>(), 2)));
    }
    seen.extend(run.remarks.clone());
    if seen.is_empty() {
        Ok(())
    } else {
        wrapped(out, 0, &format!("Seen: {}.", seen.join("; ")))
    }
}

fn explanation(outcome: &RunOutcome, out: &mut impl Write) -> fmt::Result {
    let mut causes = Vec::new();
    if let Some(loss) = outcome.loss_if_dry {
        let share = whole(loss.get::<percent>());
        causes.push(format!("{share} % of the heat was lost, if it burnt dry"));
    }
    if let Some(water) = outcome.water_if_no_loss {
        let share = significant(water.get::<percent>(), 2);
        causes.push(format!(
            "{share} % of all the water was still there, if nothing was lost"
        ));
    }
    if causes.is_empty() {
        return wrapped(
            out,
            2,
            "Neither a loss nor water left explains it: check the thermometer, the masses, or air \
             drawn in by surplus fuel.",
        );
    }
    wrapped(
        out,
        2,
        &format!(
            "It fits if {}. The truth lies between; put your figure under [conditions] heat_loss or \
             [water] left_at_ignition, change one thing, and burn again.",
            causes.join("; or if ")
        ),
    )
}

/// The same as JSON; null without a run.
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
