//! What the heating leaves and how it then burns.

use crate::burn::HeatedBurn;
use crate::ignition::{Chance, Ending, Judged, duration};
use crate::plan::Plan;
use crate::quantity::units::{ratio, second};
use crate::report::document::{Section, percent_text};
use crate::report::ignition::MAY_LIGHT;
use crate::report::number::{celsius_text, significant, temperature_text};

pub(super) fn section(plan: &Plan) -> Section {
    let mut section = Section::default();
    if let Some(heated) = &plan.heated {
        section = after_heating(heated);
    }
    if !plan.failures.is_empty() {
        section.subtitle("Not worked out");
        for failure in &plan.failures {
            section.text(failure.clone());
        }
    }
    section
}

fn after_heating(heated: &HeatedBurn) -> Section {
    let Judged { course, verdict } = &heated.judged;
    let mut section = Section::new(format!("After heating: {}", course.way));
    section.text(format!("Verdict: {verdict}."));
    if verdict.chance() == Chance::MayLight {
        section.text(format!("{MAY_LIGHT}."));
    }
    match &course.ending {
        Ending::Fails { time, reason } => {
            let after = duration(time.get::<second>());
            section.text(format!(
                "At middle values it does not light (given up after {after}): {reason}."
            ));
            return section;
        }
        Ending::Ignites {
            time,
            place,
            temperature,
        } => section.text(format!(
            "At middle values it lights after {} {}, {} there; {} of the water left, {} of the fuel lost on \
             the way.",
            duration(time.get::<second>()),
            place.words(),
            celsius_text(*temperature),
            percent_text(course.water_left),
            percent_text(course.fuel_lost),
        )),
    }
    let Some(ignited) = &heated.ignited else {
        return section;
    };
    if let Some(stated) = heated.stated_water {
        section.text(format!(
            "The file says {} of the water is left at ignition, and that counts; the heating \
             model finds {}.",
            percent_text(stated),
            percent_text(course.water_left),
        ));
    }
    let flame = ignited.result.complete.flame.temperature();
    section.text(format!(
        "Then φ = {}, start at {}: flame {} with the stated losses.",
        significant(ignited.equivalence_ratio.get::<ratio>(), 3),
        celsius_text(course.start_temperature),
        flame.map_or("no flame".to_owned(), temperature_text)
    ));
    section
}
