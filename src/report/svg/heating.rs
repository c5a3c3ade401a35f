//! The same batch on several heating ways: when it boils, sets, dries and ignites.

use super::axes::{Panel, bounds};
use super::bars::{KINDS, piece};
use super::canvas::{Anchor, Canvas, text_width};
use super::picture::{Picture, WIDTH};
use super::scale::Scale;
use super::style::Marker;
use crate::report::number::significant;
use uom::si::f64::Time;
use uom::si::time::minute;

/// A stage of heating.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatingStage {
    /// What happens, such as "boils".
    pub name: String,
    /// When it ends, from the start of heating.
    pub until: Time,
}

/// One heating way.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatingLine {
    /// What it is called.
    pub way: String,
    /// Stages in order.
    pub stages: Vec<HeatingStage>,
    /// When it ignites; none if it does not.
    pub ignition: Option<Time>,
    /// How it ends, in a few words.
    pub ending: String,
}

const LEFT: f64 = 8.0;
const RIGHT: f64 = 326.0;
const TOP: f64 = 6.0;
const ROW: f64 = 40.0;

/// Draws one row a heating way on a common time axis.
#[must_use]
pub fn heating_picture(lines: &[HeatingLine]) -> Option<Picture> {
    let minutes = |time: Time| time.get::<minute>();
    let last = |line: &HeatingLine| {
        let stages = line.stages.iter().map(|stage| minutes(stage.until));
        bounds(stages.chain(line.ignition.map(minutes))).map(|ends| ends.1)
    };
    let (_, longest) = bounds(lines.iter().filter_map(last))?;
    // Ways that never ignite run for hours: their bars are cut, or the others would be slivers.
    let slowest = bounds(lines.iter().filter_map(|line| line.ignition).map(minutes));
    let last = slowest.map_or(longest, |(_, slowest)| longest.min(1.6 * slowest));
    let bottom = TOP + ROW * lines.len() as f64;
    let panel = Panel {
        x: Scale::rounded(0.0, last, 6, LEFT, RIGHT),
        y: Scale::linear(0.0, 1.0, bottom, TOP),
        left: LEFT,
        right: RIGHT,
        top: TOP,
        bottom,
    };
    let names = stage_names(lines);
    let mut canvas = Canvas::default();
    panel.draw_x_grid(&mut canvas, 6);
    for (at, line) in lines.iter().enumerate() {
        draw_line(&mut canvas, &panel, TOP + ROW * at as f64, line, &names);
    }
    panel.draw_x(&mut canvas, 6, "time from the start of heating / min");
    let height = legend(&mut canvas, bottom + 46.0, &names);
    let words: Vec<String> = lines.iter().map(words).collect();
    let rows = lines
        .iter()
        .flat_map(|line| {
            let stage = |stage: &HeatingStage| {
                let until = significant(minutes(stage.until), 3);
                vec![line.way.clone(), stage.name.clone(), until]
            };
            line.stages.iter().map(stage).collect::<Vec<_>>()
        })
        .collect();
    let title = "The same batch on several heating ways";
    Some(
        Picture::new("heating-ways", title, words.join(" "), canvas, height)
            .with_numbers(&["way", "stage", "until / min"], rows),
    )
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

fn draw_line(canvas: &mut Canvas, panel: &Panel, top: f64, line: &HeatingLine, names: &[String]) {
    let (bar_top, bar_bottom) = (top + 16.0, top + ROW - 6.0);
    canvas.text("strong halo", (LEFT, top + 12.0), Anchor::Start, &line.way);
    let mut from = 0.0;
    for stage in &line.stages {
        let until = stage.until.get::<minute>();
        if from >= panel.x.high {
            break;
        }
        let ends = (panel.x.at(from), panel.x.at(until.min(panel.x.high)));
        let kind = kind_of(names, &stage.name);
        piece(canvas, kind, ends, (bar_top, bar_bottom), &stage.name);
        from = until;
    }
    let end = match line.ignition {
        Some(time) => {
            let x = panel.x.at(time.get::<minute>());
            canvas.line("axis", (x, bar_top - 3.0), (x, bar_bottom + 3.0));
            canvas.marker("dot1", Marker::Diamond, (x, (bar_top + bar_bottom) / 2.0));
            x
        }
        None => {
            if from > panel.x.high {
                cut(canvas, RIGHT, (bar_top, bar_bottom));
            }
            panel.x.at(from.min(panel.x.high))
        }
    };
    // Beside the bar if there is room, else above its end.
    if end + 8.0 + text_width(&line.ending, 10.0) < WIDTH {
        let at = (end + 7.0, (bar_top + bar_bottom) / 2.0 + 3.6);
        canvas.text("small halo", at, Anchor::Start, &line.ending);
    } else {
        let at = (RIGHT, top + 12.0);
        canvas.text("small halo", at, Anchor::End, &line.ending);
    }
}

/// Marks that a bar goes on beyond the axis.
fn cut(canvas: &mut Canvas, x: f64, (top, bottom): (f64, f64)) {
    let quarter = (bottom - top) / 4.0;
    let zigzag: Vec<(f64, f64)> = (0..5)
        .map(|at| {
            let side = if at % 2 == 0 { 3.0 } else { -3.0 };
            (x + side, top + f64::from(at) * quarter)
        })
        .collect();
    canvas.path("cut", &zigzag);
    canvas.path("axis", &zigzag);
}

fn legend(canvas: &mut Canvas, top: f64, names: &[String]) -> f64 {
    let (mut x, mut y) = (4.0, top);
    let mut room = |width: f64| {
        if x + width > WIDTH {
            x = 4.0;
            y += 20.0;
        }
        let at = (x, y);
        x += width;
        at
    };
    for name in names {
        let (x, y) = room(32.0 + text_width(name, 10.0));
        let ends = (x, x + 18.0);
        piece(canvas, kind_of(names, name), ends, (y - 12.0, y + 3.0), "");
        canvas.text("small", (x + 23.0, y), Anchor::Start, name);
    }
    let (x, y) = room(22.0 + text_width("ignites", 10.0));
    canvas.marker("dot1", Marker::Diamond, (x + 6.0, y - 3.6));
    canvas.text("small", (x + 15.0, y), Anchor::Start, "ignites");
    y + 10.0
}

fn words(line: &HeatingLine) -> String {
    let stages: Vec<String> = line
        .stages
        .iter()
        .map(|stage| {
            let until = significant(stage.until.get::<minute>(), 3);
            format!("{} until {until} min", stage.name)
        })
        .collect();
    format!("{}: {}; {}.", line.way, stages.join(", "), line.ending)
}
