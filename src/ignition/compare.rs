//! The same batch on every heating way, side by side, with the reasons in plain words.

use super::IgnitionError;
use super::adapter::Common;
use super::calibration::watts;
use super::course::{Course, Outcome, Place, StageName, course_on};
use crate::batch::Batch;
use crate::quantity::Time;
use crate::tables::Tables;
use crate::tables::heating::HeatingKind;
use uom::si::length::millimeter;
use uom::si::ratio::percent;
use uom::si::temperature_interval::kelvin as kelvin_interval;
use uom::si::time::{minute, second};

/// One heating way of a comparison.
#[derive(Debug)]
pub struct WayResult {
    /// Heating way.
    pub way: String,
    /// Its course, or why there is none.
    pub course: Result<Course, IgnitionError>,
}

/// The comparison.
#[derive(Debug)]
pub struct Comparison {
    /// The ways in the order of the tables.
    pub ways: Vec<WayResult>,
    /// Reasons, one paragraph.
    pub reasons: String,
}

/// Heats `batch` on every way of the tables.
///
/// # Errors
/// [`IgnitionError`] if the batch itself cannot be balanced; what goes wrong on one way only is
/// kept beside that way.
pub fn all_ways(batch: &Batch, tables: &Tables) -> Result<Comparison, IgnitionError> {
    let common = Common::new(batch, tables)?;
    let ways: Vec<WayResult> = tables
        .heating
        .ways
        .iter()
        .map(|row| WayResult {
            way: row.id.clone(),
            course: course_on(&common, row),
        })
        .collect();
    let reasons = reasons(&ways);
    Ok(Comparison { ways, reasons })
}

/// A paragraph of reasons. Every sentence rests on a number of the courses.
fn reasons(ways: &[WayResult]) -> String {
    let courses: Vec<&Course> = ways.iter().filter_map(|w| w.course.as_ref().ok()).collect();
    let mut text = Vec::new();
    let mut timed: Vec<(&Course, f64)> = courses
        .iter()
        .filter_map(|c| c.time_to_ignition().map(|t| (*c, t.get::<second>())))
        .collect();
    timed.sort_by(|a, b| a.1.total_cmp(&b.1));
    match (timed.first(), timed.last()) {
        (Some(first), Some(last)) if timed.len() > 1 => text.push(format!(
            "The {} is quickest, {}, the {} slowest of those that ignite, {}. Heating and boiling \
             off the solvent take {:.0} % and {:.0} % of that time, and the ways differ in the \
             power they bring to it (mean {:.0} W against {:.0} W).",
            first.0.way,
            duration(first.1),
            last.0.way,
            duration(last.1),
            100.0 * wet_time(first.0) / first.1,
            100.0 * wet_time(last.0) / last.1,
            watts(first.0.energy.mean_power),
            watts(last.0.energy.mean_power),
        )),
        (Some(only), _) => text.push(format!(
            "Only the {} ignites it, after {}.",
            only.0.way,
            duration(only.1)
        )),
        _ => text.push("No heating way ignites this batch.".to_owned()),
    }
    for course in &courses {
        text.extend(sentence(course));
    }
    text.join(" ")
}

/// Time (s) until the solvent has gone.
fn wet_time(course: &Course) -> f64 {
    let wet = [StageName::HeatUp, StageName::BoilOff];
    let ends = course
        .stages
        .iter()
        .filter(|s| wet.contains(&s.name))
        .map(|s| s.end.get::<second>());
    ends.fold(0.0, f64::max)
}

fn sentence(course: &Course) -> Option<String> {
    let difference = course.wall_minus_centre.get::<kelvin_interval>();
    let wet = course.still_wet.get::<percent>();
    let lost = course.fuel_lost.get::<percent>();
    match &course.outcome {
        Outcome::Fails { reason, .. } => Some(format!("{}: {reason}.", capital(&course.way))),
        Outcome::Ignites { place, .. } => {
            let mut parts = Vec::new();
            match (course.kind, place) {
                (HeatingKind::Microwave, _) => {
                    let note = course.microwave.as_ref()?;
                    parts.push(format!(
                        "microwaves make the heat inside the layer (they reach {:.0} mm into the solution, {:.0} mm into the dry gel), so wall and middle differ by only {:.0} K",
                        note.penetration_first.get::<millimeter>(),
                        note.penetration_gel.get::<millimeter>(),
                        difference.abs()
                    ));
                    if note.product_goes_on == Some(true) {
                        parts.push("the powder goes on heating after the burn unless the power is cut".to_owned());
                    }
                }
                (_, Place::Top) => parts.push(format!(
                    "heat comes from above, so the surface ignites first over a middle that is {:.0} K away from the wall",
                    difference.abs()
                )),
                (_, Place::Wall) => parts.push(format!(
                    "the gel on the hot floor ignites first, {:.0} K hotter than the middle",
                    difference
                )),
                (_, Place::Centre) => parts.push(format!("it ignites inside the layer; floor and middle differ by {:.0} K", difference.abs())),
            }
            if wet >= 1.0 {
                parts.push(format!(
                    "{wet:.0} % of the layer is still wet then and cools the burn"
                ));
            }
            if lost >= 1.0 {
                parts.push(format!(
                    "{lost:.0} % of the fuel has already left by decomposition"
                ));
            }
            Some(format!("{}: {}.", capital(&course.way), parts.join("; ")))
        }
    }
}

/// A time in words: seconds below two minutes, else minutes.
#[must_use]
pub fn duration(seconds: f64) -> String {
    let minutes = Time::new::<second>(seconds).get::<minute>();
    if minutes < 2.0 {
        format!("{seconds:.0} s")
    } else if minutes < 10.0 {
        format!("{minutes:.1} min")
    } else {
        format!("{minutes:.0} min")
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
