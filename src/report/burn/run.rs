//! A run held against its estimate.

use crate::burn::Measured;
use crate::plan::Plan;
use crate::quantity::Band;
use crate::quantity::units::{kelvins, percent, ratio, second};
use crate::report::document::{Section, percent_text};
use crate::report::number::{celsius_text, interval_text, mass_text, significant};
use crate::report::svg::{Picture, RunBar, runs_picture};

/// What was seen, what it implies and what to change one thing at a time.
pub(super) fn section(plan: &Plan) -> Section {
    let (Some(run), Some(outcome)) = (plan.batch.runs.last(), &plan.run) else {
        return Section::default();
    };
    let mut section = Section::new("Your runs");
    if let Some(picture) = bands(plan) {
        section.picture(picture);
    }
    if plan.batch.runs.len() > 1 {
        section.text(format!("Of {} runs, the last:", plan.batch.runs.len()));
    }
    if let Some(peak) = run.peak_temperature {
        let difference = outcome.below_dried.map_or(String::new(), |d| {
            let word = if d.get::<kelvins>() < 0.0 {
                "below"
            } else {
                "above"
            };
            let size = interval_text(d.abs());
            format!(", {size} {word} the bound for the dried batch")
        });
        section.text(format!("Measured peak {}{difference}.", celsius_text(peak)));
        section.item(explanation(outcome));
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
        section.text(format!(
            "Powder {}, {} of the expected{note}.",
            mass_text(mass),
            percent_text(share)
        ));
    }
    let seen = seen(plan);
    if !seen.is_empty() {
        section.text(format!("Seen: {}.", seen.join("; ")));
    }
    section
}

/// The expected band with the mark of every peak that was read.
fn bands(plan: &Plan) -> Option<Picture> {
    let before = Band::between(plan.expected.low?, plan.expected.high?);
    let bars: Vec<RunBar> = (1..)
        .zip(&plan.batch.runs)
        .filter_map(|(number, run)| {
            let label = run.label.as_ref().or(run.date.as_ref());
            let label = label.map_or(String::new(), |label| format!(" ({label})"));
            Some(RunBar {
                name: format!("run {number}{label}"),
                before,
                after: None,
                read: run.peak_temperature?,
            })
        })
        .collect();
    runs_picture(&bars)
}

fn seen(plan: &Plan) -> Vec<String> {
    let mut seen = Vec::new();
    let Some(run) = plan.batch.runs.last() else {
        return seen;
    };
    if let Some(time) = run.ignited_after {
        let course = plan.heated.as_ref().map(|heated| &heated.judged.course);
        let model = course.and_then(|course| course.time_to_ignition());
        let model = model.map_or(String::new(), |t| {
            format!(" (heating model: {} s)", significant(t.get::<second>(), 2))
        });
        let after = significant(time.get::<second>(), 3);
        seen.push(format!("ignited after {after} s{model}"));
    }
    if let Some(time) = run.flame_lasted {
        seen.push(format!("flame {} s", significant(time.get::<second>(), 2)));
    }
    seen.extend(run.remarks.clone());
    seen
}

fn explanation(outcome: &Measured) -> String {
    let mut causes = Vec::new();
    if let Some(loss) = outcome.loss_if_dry {
        let share = percent_text(loss);
        causes.push(format!("{share} of the heat was lost, if it burnt dry"));
    }
    if let Some(water) = outcome.water_if_no_loss {
        let share = significant(water.get::<percent>(), 2);
        causes.push(format!(
            "{share} % of all the water was still there, if nothing was lost"
        ));
    }
    if causes.is_empty() {
        return "Neither a loss nor water left explains it: check the thermometer, the masses, or \
                air drawn in by surplus fuel."
            .to_owned();
    }
    format!(
        "It fits if {}. The truth lies between; put your figure under [conditions] heat_loss or \
         [water] left_at_ignition, change one thing, and burn again.",
        causes.join("; or if ")
    )
}
