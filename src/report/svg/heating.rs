//! The same batch on several heating ways: when it boils, sets, dries and lights, on a
//! logarithmic time axis. Dry gel below its ignition is drawn for as long as it lasts, because
//! that is the state in which nobody may lean over it; lighting is a band.

use super::axes::{Panel, bounds};
use super::bars::{KINDS, piece};
use super::canvas::{Anchor, Canvas, text_width};
use super::heating_line::HeatingLine;
use super::picture::{Picture, WIDTH};
use super::scale::Scale;
use super::style::Marker;
use crate::quantity::Time;
use crate::quantity::units::minute;
use crate::report::number::significant;

const LEFT: f64 = 8.0;
const RIGHT: f64 = 326.0;
const TOP: f64 = 6.0;
const ROW: f64 = 46.0;
/// Names in the legend of what is no stage.
const LIVE: &str = "dry gel, live";
const LIGHTS: &str = "lights, 8 of 10";
const MAY: &str = "may light";

fn minutes(time: Time) -> f64 {
    time.get::<minute>()
}

/// Draws one row a heating way on a common time axis.
pub fn heating_picture(lines: &[HeatingLine]) -> Option<Picture> {
    let events = |line: &HeatingLine| {
        let stages = line.stages.iter().map(|stage| minutes(stage.until));
        let lights = line.lights.iter().flat_map(|band| [band.low, band.high]);
        stages.chain(lights.map(minutes)).collect::<Vec<f64>>()
    };
    let all = lines.iter().flat_map(events);
    let (first, last) = bounds(all.filter(|time| *time > 0.0))?;
    let bottom = TOP + ROW * lines.len() as f64;
    let x = Scale::decades(first, last, LEFT, RIGHT);
    let panel = Panel::of_rows(x, [LEFT, RIGHT], [TOP, bottom]);
    let names = stage_names(lines);
    let mut canvas = Canvas::default();
    panel.draw_x_grid(&mut canvas, 6);
    for (at, line) in lines.iter().enumerate() {
        draw_line(&mut canvas, &panel, TOP + ROW * at as f64, line, &names);
    }
    panel.draw_x(&mut canvas, 6, "time from the start of heating / min");
    let height = legend(&mut canvas, bottom + 46.0, &names);
    let words: Vec<String> = lines.iter().map(words).collect();
    let rows = lines.iter().flat_map(rows).collect();
    let title = "The same batch on several heating ways";
    Some(
        Picture::new("heating-ways", title, words.join(" "), canvas, height)
            .with_numbers(&["way", "stage", "until / min"], rows),
    )
}

fn rows(line: &HeatingLine) -> Vec<Vec<String>> {
    let row = |name: &str, time: Time| {
        let time = significant(minutes(time), 3);
        vec![line.way.clone(), name.to_owned(), time]
    };
    let mut rows: Vec<Vec<String>> = line
        .stages
        .iter()
        .map(|stage| row(&stage.name, stage.until))
        .collect();
    if let Some(band) = line.lights {
        rows.push(row("lights, from", band.low));
        rows.push(row("lights, to", band.high));
    }
    rows
}

/// Names of the stages in the order of their first appearance; more than the hatches share one.
fn stage_names(lines: &[HeatingLine]) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for stage in lines.iter().flat_map(|line| &line.stages) {
        if !names.contains(&stage.name) {
            names.push(stage.name.clone());
        }
    }
    names
}

fn kind_of(names: &[String], name: &str) -> usize {
    let at = names.iter().position(|known| known == name);
    at.unwrap_or(KINDS - 1).min(KINDS - 1)
}

/// Half the width of a mark.
const MARK: f64 = 5.0;

fn draw_line(canvas: &mut Canvas, panel: &Panel, top: f64, line: &HeatingLine, names: &[String]) {
    let (bar_top, bar_bottom) = (top + 16.0, top + ROW - 12.0);
    canvas.text("strong halo", (LEFT, top + 12.0), Anchor::Start, &line.way);
    let place = |time: Time| panel.x.at(minutes(time)).clamp(LEFT, RIGHT);
    let mut from = LEFT;
    for stage in &line.stages {
        let until = place(stage.until);
        let kind = kind_of(names, &stage.name);
        // The legend names what the marks of lighting would cover.
        let covered = line
            .lights
            .is_some_and(|band| place(band.low) < until + MARK && place(band.high) > from - MARK);
        let name = if covered { "" } else { &stage.name };
        piece(canvas, kind, (from, until), (bar_top, bar_bottom), name);
        if stage.live {
            live(canvas, (from, until), bar_bottom + 4.0);
        }
        from = until;
    }
    if let Some(band) = line.lights {
        let y = (bar_top + bar_bottom) / 2.0;
        lighting(canvas, (place(band.low), place(band.high)), y, line.sure);
    }
    let width = text_width(&line.ending, 10.0);
    let at = (RIGHT.min(WIDTH - 4.0), top + 12.0);
    if width < RIGHT - LEFT {
        canvas.text("small halo", at, Anchor::End, &line.ending);
    }
}

/// The line under the bar while there is dry gel that has not lit.
fn live(canvas: &mut Canvas, (from, until): (f64, f64), y: f64) {
    canvas.line("line1", (from, y), (until.max(from + 1.0), y));
}

/// The band in which it lights: filled diamonds if it does, open ones if it may.
fn lighting(canvas: &mut Canvas, (from, to): (f64, f64), y: f64, sure: bool) {
    let class = if sure { "dot1" } else { "ring1" };
    canvas.line("thin1", (from, y), (to, y));
    canvas.marker(class, Marker::Diamond, (from, y));
    canvas.marker(class, Marker::Diamond, (to, y));
}

fn legend(canvas: &mut Canvas, top: f64, names: &[String]) -> f64 {
    let (mut x, mut y) = (4.0, top);
    let mut room = |name: &str| {
        let width = 32.0 + text_width(name, 10.0);
        if x + width > WIDTH {
            x = 4.0;
            y += 20.0;
        }
        let at = (x, y);
        x += width;
        at
    };
    let mut named = |canvas: &mut Canvas, name: &str, draw: &dyn Fn(&mut Canvas, f64, f64)| {
        let (x, y) = room(name);
        draw(canvas, x, y);
        canvas.text("small", (x + 23.0, y), Anchor::Start, name);
        y
    };
    for name in names {
        named(canvas, name, &|canvas, x, y| {
            piece(
                canvas,
                kind_of(names, name),
                (x, x + 18.0),
                (y - 12.0, y + 3.0),
                "",
            );
        });
    }
    named(canvas, LIVE, &|canvas, x, y| {
        live(canvas, (x, x + 18.0), y - 3.6)
    });
    let mark = |sure: bool| {
        move |canvas: &mut Canvas, x: f64, y: f64| {
            lighting(canvas, (x + 3.0, x + 15.0), y - 3.6, sure);
        }
    };
    named(canvas, LIGHTS, &mark(true));
    named(canvas, MAY, &mark(false)) + 10.0
}

fn words(line: &HeatingLine) -> String {
    let stages: Vec<String> = line
        .stages
        .iter()
        .map(|stage| {
            let until = significant(minutes(stage.until), 3);
            let live = if stage.live { " (dry gel, live)" } else { "" };
            format!("{}{live} until {until} min", stage.name)
        })
        .collect();
    format!("{}: {}; {}.", line.way, stages.join(", "), line.ending)
}
