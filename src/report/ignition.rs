//! The course of heating as text. At most 100 columns.

use super::expected::expected_line;
use super::number::{celsius_text, significant, whole};
use super::text::{heading, wrapped};
use crate::advice::{Severity, Warning};
use crate::batch::Batch;
use crate::expected::Expected;
use crate::ignition::{Comparison, Course, Outcome, duration, watts};
use crate::prepared::Prepared;
use crate::tables::Tables;
use std::fmt::{self, Write};
use uom::si::energy::kilojoule;
use uom::si::length::{micrometer, millimeter};
use uom::si::ratio::percent;
use uom::si::temperature_interval::kelvin as kelvins;
use uom::si::time::second;

/// Widest line of the title rule.
const WIDTH: usize = 100;

/// Writes the course of heating on one way.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub fn course_text(prepared: &Prepared<'_>, course: &Course, out: &mut impl Write) -> fmt::Result {
    title(&prepared.batch, out)?;
    answer(course, out)?;
    dangers(&prepared.advice.warnings, out)?;
    stages(course, out)?;
    layer(course, out)?;
    energy(course, out)?;
    burn(course, &prepared.expected, out)?;
    hazards(course, out)?;
    basis(course, prepared.tables, out)
}

/// Writes all heating ways side by side with the reasons.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub fn comparison_text(
    prepared: &Prepared<'_>,
    comparison: &Comparison,
    out: &mut impl Write,
) -> fmt::Result {
    title(&prepared.batch, out)?;
    wrapped(
        out,
        0,
        "The same batch in the same vessel on every heating way of the tables, each at its usual setting (the stated way at the file's setting).",
    )?;
    heading(out, "Side by side")?;
    writeln!(
        out,
        "{:<16}{:>11}{:>9}{:>10}{:>9}{:>10}{:>10}{:>11}{:>9}",
        "", "ignites", "at the", "gel then", "water", "fuel", "floor −", "still too", "mean"
    )?;
    writeln!(
        out,
        "{:<16}{:>11}{:>9}{:>10}{:>9}{:>10}{:>10}{:>11}{:>9}",
        "way", "after", "", "", "left", "lost", "middle", "wet", "power"
    )?;
    for way in &comparison.ways {
        match &way.course {
            Ok(course) => row(course, out)?,
            Err(error) => writeln!(out, "{:<16}  {error}", way.way)?,
        }
    }
    heading(out, "Why")?;
    wrapped(out, 0, &comparison.reasons)?;
    dangers(&prepared.advice.warnings, out)?;
    writeln!(out)?;
    wrapped(out, 0, CAUTION)
}

/// Writes the warnings that need a decision (danger) before anything is heated.
fn dangers(warnings: &[Warning], out: &mut impl Write) -> fmt::Result {
    let serious = || warnings.iter().filter(|w| w.severity <= Severity::Danger);
    if serious().next().is_none() {
        return Ok(());
    }
    heading(out, "Dangers: decide these first")?;
    for warning in serious() {
        wrapped(out, 0, &format!("! {}", warning.text))?;
    }
    Ok(())
}

/// Ends every report about heating.
const CAUTION: &str = "Times are estimates for one vessel in one place, good within a factor of about two until the \
    oven or plate is calibrated with water. They never say how long it is safe to stand near. Local rules, the \
    institution's safety officer and trained supervision come first.";

fn title(batch: &Batch, out: &mut impl Write) -> fmt::Result {
    writeln!(out, "{}", batch.name)?;
    writeln!(out, "{}", "═".repeat(batch.name.chars().count().min(WIDTH)))
}

fn row(course: &Course, out: &mut impl Write) -> fmt::Result {
    let (after, place) = match &course.outcome {
        Outcome::Ignites { time, place, .. } => (duration(time.get::<second>()), place.to_string()),
        Outcome::Fails { .. } => ("no".to_owned(), "–".to_owned()),
    };
    let share = |r: crate::quantity::Ratio| format!("{} %", whole(r.get::<percent>()));
    writeln!(
        out,
        "{:<16}{:>11}{:>9}{:>10}{:>9}{:>10}{:>10}{:>11}{:>9}",
        course.way,
        after,
        place,
        celsius_text(course.start_temperature),
        share(course.water_left),
        share(course.fuel_lost),
        format!("{} K", whole(course.wall_minus_centre.get::<kelvins>())),
        share(course.still_wet),
        format!("{} W", whole(watts(course.energy.mean_power))),
    )
}

fn answer(course: &Course, out: &mut impl Write) -> fmt::Result {
    let mut setting = String::new();
    if let Some(power) = course.setting.power {
        let _ = write!(setting, ", {} W", whole(watts(power)));
    }
    if let Some(duty) = course.setting.duty {
        let _ = write!(
            setting,
            ", on {} % of the time",
            whole(duty.get::<percent>())
        );
    }
    if let Some(temperature) = course.setting.temperature {
        let _ = write!(setting, ", {}", celsius_text(temperature));
    }
    writeln!(out, "Heating   {}{setting}", course.way)?;
    match &course.outcome {
        Outcome::Ignites {
            time,
            place,
            temperature,
        } => {
            let place = match place {
                crate::ignition::Place::Wall => "at the floor of the vessel",
                crate::ignition::Place::Centre => "inside the layer",
                crate::ignition::Place::Top => "at the free surface",
            };
            writeln!(
                out,
                "Ignites   after {} ({} s), {place}, which has {} then",
                duration(time.get::<second>()),
                whole(time.get::<second>()),
                celsius_text(*temperature)
            )?;
        }
        Outcome::Fails { time, reason } => {
            writeln!(
                out,
                "Ignites   no (over after {})",
                duration(time.get::<second>())
            )?;
            wrapped(out, 10, &reason.to_string())?;
        }
    }
    let share = |r: crate::quantity::Ratio| format!("{} %", significant(r.get::<percent>(), 2));
    writeln!(
        out,
        "Water     {} of all water is left then: {} of the solvent, {} of the water of crystallisation",
        share(course.water_left),
        share(course.free_water_left),
        share(course.hydrate_water_left)
    )?;
    writeln!(
        out,
        "Fuel      {} of it (by valence) left by decomposition",
        share(course.fuel_lost)
    )?;
    writeln!(
        out,
        "Evenness  floor − middle {} K; {} of the layer still too wet to burn by itself",
        whole(course.wall_minus_centre.get::<kelvins>()),
        share(course.still_wet)
    )?;
    if let Some(staged) = course.staged_time {
        writeln!(
            out,
            "Check     the staged balance with one temperature gives {} s",
            whole(staged.get::<second>())
        )?;
    }
    Ok(())
}

fn stages(course: &Course, out: &mut impl Write) -> fmt::Result {
    heading(out, "Time line")?;
    writeln!(
        out,
        "{:>8}{:>9}   {:<26}{:>16}",
        "from", "to", "stage", "mean at its end"
    )?;
    for stage in &course.stages {
        writeln!(
            out,
            "{:>6} s{:>7} s   {:<26}{:>16}",
            whole(stage.start.get::<second>()),
            whole(stage.end.get::<second>()),
            stage.name,
            celsius_text(stage.temperature)
        )?;
    }
    Ok(())
}

fn layer(course: &Course, out: &mut impl Write) -> fmt::Result {
    heading(out, "Layer")?;
    let layer = &course.layer;
    let mm = |length: crate::quantity::Length| {
        format!("{} mm", significant(length.get::<millimeter>(), 2))
    };
    let assumed = if layer.assumed_area {
        " (assumed: the file names no vessel)"
    } else {
        ""
    };
    writeln!(out, "Solution  {} deep{assumed}", mm(layer.solution_depth))?;
    writeln!(out, "Dry gel   {} with its froth", mm(layer.gel_depth))?;
    if let Some(critical) = layer.critical_depth {
        let micrometres = critical.get::<micrometer>();
        let words = if micrometres < 1000.0 {
            format!("{} µm", significant(micrometres, 2))
        } else {
            mm(critical)
        };
        writeln!(
            out,
            "Too thin  below {words}: such a film loses its heat as fast as it makes it"
        )?;
    }
    writeln!(
        out,
        "Floor     reaches {}; its limit is {}",
        celsius_text(course.floor_hottest),
        celsius_text(course.floor_limit)
    )?;
    if course.floor_hottest > course.floor_limit {
        wrapped(
            out,
            10,
            "The floor gets hotter than its material stands: choose another vessel or a cooler setting.",
        )?;
    }
    if let Some(note) = &course.microwave {
        writeln!(
            out,
            "Oven      gives {} W to the solution, {} W to the gel",
            whole(watts(note.absorbed_first)),
            whole(watts(note.absorbed_gel))
        )?;
        writeln!(
            out,
            "Reach     the power falls to 37 % in {} of solution, in {} of dry gel",
            mm(note.penetration_first),
            mm(note.penetration_gel)
        )?;
        if !note.lambert_holds {
            wrapped(
                out,
                10,
                "The layer is thinner than 2.7 such depths: the field inside is a standing wave, not the falling exponential that the model takes; the heat is more even or in other places than shown.",
            )?;
        }
        match note.product_goes_on {
            Some(true) => wrapped(
                out,
                10,
                "The powder goes on taking up microwaves after the burn: cut the power at the flame.",
            )?,
            Some(false) => wrapped(
                out,
                10,
                "The dry powder hardly takes up microwaves: it cools once it has burnt.",
            )?,
            None => {}
        }
    }
    Ok(())
}

fn energy(course: &Course, out: &mut impl Write) -> fmt::Result {
    heading(out, "Energy until then")?;
    let book = &course.energy;
    let lines = [
        ("through the floor", book.from_below),
        ("through the free surface", book.from_above),
        ("microwaves", book.microwaves),
        ("reaction before ignition", book.reaction),
        ("carried off by steam", -book.steam),
        ("carried off by gas and decomposing fuel", -book.gas),
        ("stored in floor and layer", -book.stored),
    ];
    for (name, value) in lines {
        let value = value.get::<kilojoule>();
        if value.abs() >= 5e-4 {
            let sign = if value > 0.0 { "+" } else { "" };
            writeln!(
                out,
                "{name:<42}{:>10} kJ",
                format!("{sign}{value:.2}").replace('-', "−")
            )?;
        }
    }
    writeln!(
        out,
        "{:<42}{:>10} W",
        "mean power taken up",
        whole(watts(book.mean_power))
    )
}

fn burn(course: &Course, expected: &Expected, out: &mut impl Write) -> fmt::Result {
    heading(out, "The burn that follows")?;
    let burn = &course.burn;
    writeln!(out, "Peak      {}", expected_line(expected))?;
    let (short, long) = burn.duration;
    writeln!(
        out,
        "Duration  {} to {}",
        duration(short.get::<second>()),
        duration(long.get::<second>())
    )?;
    if let Some(time) = course.cooling.time {
        writeln!(
            out,
            "Cooling   {} from {} to {} in still air, counted from when nothing heats it any more",
            duration(time.get::<second>()),
            celsius_text(course.cooling.from),
            celsius_text(course.cooling.to)
        )?;
    }
    Ok(())
}

fn hazards(course: &Course, out: &mut impl Write) -> fmt::Result {
    heading(out, "While heating")?;
    for moment in ["always", "before", "boiling", "gel", "burn", "after"] {
        for hazard in course.hazards.iter().filter(|h| h.when == moment) {
            wrapped(out, 0, &format!("• {moment}: {}", hazard.text))?;
        }
    }
    writeln!(out)?;
    wrapped(out, 0, CAUTION)
}

fn basis(course: &Course, tables: &Tables, out: &mut impl Write) -> fmt::Result {
    heading(out, "What the heating way's numbers rest on")?;
    let Some(way) = tables.heating.way(&course.way) else {
        return Ok(());
    };
    for (name, number) in way.numbers.iter() {
        let name = name.replace('_', " ");
        let unit = if number.unit == "1" {
            String::new()
        } else {
            format!(" {}", number.unit)
        };
        let from = &number.si;
        let line = format!(
            "{name} {}{unit}: {} ({}; {})",
            significant(number.written, 3),
            from.locator,
            from.seen,
            from.source
        );
        wrapped(out, 0, &line)?;
    }
    Ok(())
}
