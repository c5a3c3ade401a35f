//! The course of heating over time, one block a heating way on a common logarithmic time axis:
//! stages, temperature at floor, middle and surface, what is left of water, fuel and nitrate, and
//! the power taken up.

use super::axes::{Panel, bounds};
use super::bars::piece;
use super::canvas::{Anchor, Canvas};
use super::picture::{Picture, WIDTH};
use super::scale::Scale;
use super::style::{Marker, TINTS};
use crate::ignition::{Course, CoursePoint, Ending, Judged, Stage, StageName};
use crate::names::capital;
use crate::quantity::ThermodynamicTemperature;
use crate::quantity::Time;
use crate::quantity::units::{degree_celsius, minute, percent, watt};
use crate::report::number::{celsius_text, significant, whole};

const LEFT: f64 = 40.0;
const RIGHT: f64 = 322.0;
/// Heights of a block: its name, the strip of stages, gaps, and the three panels.
const NAME: f64 = 18.0;
const STRIP: f64 = 13.0;
const GAP: f64 = 22.0;
const PANELS: [f64; 3] = [84.0, 44.0, 34.0];
const AXIS: f64 = 40.0;
/// The logarithmic axis starts at this share of the first event.
const BEFORE: f64 = 0.5;
/// Lines and what they stand for: temperatures, then what is left.
const PLACES: [&str; 3] = ["floor", "middle", "surface"];
const SHARES: [&str; 3] = ["water", "fuel", "nitrate"];

fn minutes(time: Time) -> f64 {
    time.get::<minute>()
}

fn celsius(temperature: ThermodynamicTemperature) -> f64 {
    temperature.get::<degree_celsius>()
}

/// Temperatures at floor, middle and surface, °C.
fn temperatures(point: &CoursePoint) -> [f64; 3] {
    [point.floor, point.middle, point.surface].map(celsius)
}

/// What is left of water, fuel and nitrate, %.
fn left(point: &CoursePoint) -> [f64; 3] {
    [point.water_left, point.fuel_left, point.nitrate_left].map(|share| share.get::<percent>())
}

/// Draws the courses under one another; none if there is none.
pub fn trace_picture(courses: &[&Judged]) -> Option<Picture> {
    let ends = |judged: &&Judged| {
        judged
            .course
            .stages
            .iter()
            .map(|s| minutes(s.end))
            .collect()
    };
    let events: Vec<Vec<f64>> = courses.iter().map(ends).collect();
    let all = events.iter().flatten().copied();
    let (first, last) = bounds(all.filter(|time| *time > 0.0))?;
    let x = Scale::decades(BEFORE * first, last, LEFT, RIGHT);
    let mut canvas = Canvas::default();
    let mut top = 0.0;
    for judged in courses {
        top = block(&mut canvas, judged, &x, top);
    }
    let height = legend(&mut canvas, top + 10.0, &stage_names(courses));
    let words: Vec<String> = courses.iter().map(|judged| words(judged)).collect();
    let rows = courses.iter().flat_map(|judged| rows(&judged.course));
    let title = match courses {
        [one] => format!("The heating over time: {}", one.course.way),
        _ => "The heating over time on each way".to_owned(),
    };
    let head = [
        "way",
        "stage",
        "until / min",
        "floor / °C",
        "middle / °C",
        "surface / °C",
        "water left / %",
        "fuel left / %",
        "nitrate left / %",
        "power / W",
    ];
    let picture = Picture::new("heating-courses", title, words.join(" "), canvas, height);
    Some(picture.with_numbers(&head, rows.collect()))
}

/// One way from `top` down; returns where the next one starts.
fn block(canvas: &mut Canvas, judged: &Judged, x: &Scale, top: f64) -> f64 {
    let course = &judged.course;
    let name = (4.0, top + 12.0);
    canvas.text("strong", name, Anchor::Start, &capital(&course.way));
    let ending = (RIGHT, top + 12.0);
    canvas.text("small", ending, Anchor::End, &judged.verdict.brief());
    let strip = top + NAME;
    stages(canvas, &course.stages, x, strip);
    let mut at = strip + STRIP + GAP;
    let trace = &course.trace;
    let warmest = trace.iter().flat_map(temperatures).fold(100.0, f64::max);
    let panel = panel(
        x,
        Scale::rounded(0.0, warmest, 4, at + PANELS[0], at),
        at,
        PANELS[0],
    );
    frame(canvas, &panel, "temperature / °C", 4);
    curves(canvas, &panel, trace, temperatures, 0);
    if let Some(end) = trace.last() {
        let hot = temperatures(end);
        let place = match &course.ending {
            Ending::Ignites { place, .. } => Some(*place as usize),
            Ending::Fails { .. } => None,
        };
        if let Some(place) = place {
            let lit = panel.inside(minutes(end.time), hot[place]);
            canvas.marker("dot1", Marker::Diamond, lit);
        }
        section(canvas, (LEFT + 8.0, at + 3.0), hot, (warmest, place));
    }
    at += PANELS[0] + GAP;
    let panel = self::panel(
        x,
        Scale::linear(0.0, 100.0, at + PANELS[1], at),
        at,
        PANELS[1],
    );
    frame(canvas, &panel, "left / %", 2);
    curves(canvas, &panel, trace, left, 0);
    at += PANELS[1] + GAP;
    let strongest = trace
        .iter()
        .map(|p| p.power.get::<watt>())
        .fold(1.0, f64::max);
    let panel = self::panel(
        x,
        Scale::rounded(0.0, strongest, 2, at + PANELS[2], at),
        at,
        PANELS[2],
    );
    frame(canvas, &panel, "power taken up / W", 2);
    power(canvas, &panel, trace);
    panel.draw_x(canvas, 6, "minutes since the heating began");
    at + PANELS[2] + AXIS
}

/// The vessel in section at the end of heating, in the corner that no curve reaches: floor, middle
/// and surface in the stronger colour the hotter they are, a diamond where it lights.
fn section(
    canvas: &mut Canvas,
    (left, top): (f64, f64),
    hot: [f64; 3],
    (warmest, place): (f64, Option<usize>),
) {
    let (right, deep) = (left + 52.0, 11.0);
    let floor = top + 3.0 * deep;
    for (at, t) in hot.iter().enumerate() {
        let tint = ((t / warmest).clamp(0.0, 1.0) * (TINTS.len() - 1) as f64).round();
        let level = floor - deep * at as f64;
        let (a, b) = ((left, level - deep), (right, level));
        canvas.rectangle(&format!("tint{tint}"), a, b);
        if place == Some(at) {
            let middle = (0.5 * (left + right), level - 0.5 * deep);
            canvas.marker("dot1", Marker::Diamond, middle);
        }
    }
    let wall = [(left, top - 3.0), (left, floor)];
    canvas.path(
        "axis",
        &[wall[0], wall[1], (right, floor), (right, top - 3.0)],
    );
}

fn panel(x: &Scale, y: Scale, top: f64, height: f64) -> Panel {
    Panel {
        x: x.clone(),
        y,
        left: LEFT,
        right: RIGHT,
        top,
        bottom: top + height,
    }
}

fn frame(canvas: &mut Canvas, panel: &Panel, name: &str, ticks: usize) {
    panel.draw_x_grid(canvas, 6);
    panel.draw_y(canvas, ticks, name);
    canvas.line(
        "axis",
        (panel.left, panel.bottom),
        (panel.right, panel.bottom),
    );
}

fn stages(canvas: &mut Canvas, stages: &[Stage], x: &Scale, top: f64) {
    let place = |time: Time| x.at(minutes(time)).clamp(LEFT, RIGHT);
    for stage in stages {
        let ends = (place(stage.start), place(stage.end));
        let bar = (top, top + STRIP);
        piece(
            canvas,
            stage.name as usize,
            ends,
            bar,
            &stage.name.to_string(),
        );
    }
}

/// Three curves over the points within the time axis.
fn curves(
    canvas: &mut Canvas,
    panel: &Panel,
    trace: &[CoursePoint],
    values: fn(&CoursePoint) -> [f64; 3],
    series: usize,
) {
    for curve in (0..3).rev() {
        let points: Vec<(f64, f64)> = trace
            .iter()
            .filter(|point| minutes(point.time) >= panel.x.low)
            .map(|point| panel.inside(minutes(point.time), values(point)[curve]))
            .collect();
        canvas.path(&format!("line{}", series + curve), &points);
    }
}

/// The power as steps: each value is the mean since the point before.
fn power(canvas: &mut Canvas, panel: &Panel, trace: &[CoursePoint]) {
    let mut points = Vec::new();
    for pair in trace.windows(2) {
        let watts = pair[1].power.get::<watt>();
        for time in [pair[0].time, pair[1].time] {
            points.push(panel.inside(minutes(time).max(panel.x.low), watts));
        }
    }
    points.dedup();
    canvas.path("thin3", &points);
}

/// The stages that occur, in their order.
fn stage_names(courses: &[&Judged]) -> Vec<StageName> {
    let stages = courses.iter().flat_map(|judged| &judged.course.stages);
    let mut names: Vec<StageName> = stages.map(|stage| stage.name).collect();
    names.sort_unstable();
    names.dedup();
    names
}

fn legend(canvas: &mut Canvas, top: f64, stages: &[StageName]) -> f64 {
    let width = (WIDTH - 8.0) / 3.0;
    for (at, (place, share)) in PLACES.iter().zip(SHARES).enumerate() {
        let x = 4.0 + width * at as f64;
        canvas.line(&format!("line{at}"), (x, top - 3.6), (x + 20.0, top - 3.6));
        let words = format!("{place}; {share}");
        canvas.text("small", (x + 25.0, top), Anchor::Start, &words);
    }
    canvas.marker("dot1", Marker::Diamond, (8.0, top + 12.0));
    let words = [
        "lights there at middle values",
        "vessel: the stronger the colour, the hotter",
    ];
    canvas.text("small", (17.0, top + 15.6), Anchor::Start, words[0]);
    canvas.text("small", (4.0, top + 30.6), Anchor::Start, words[1]);
    let mut y = top + 32.0;
    for (at, name) in stages.iter().enumerate() {
        let x = 4.0 + (WIDTH - 8.0) / 2.0 * (at % 2) as f64;
        y += if at % 2 == 0 { 18.0 } else { 0.0 };
        piece(
            canvas,
            *name as usize,
            (x, x + 18.0),
            (y - 12.0, y + 2.0),
            "",
        );
        canvas.text("small", (x + 23.0, y), Anchor::Start, &name.to_string());
    }
    y + 8.0
}

/// The last point of a stage.
fn at_end(course: &Course, stage: StageName) -> Option<&CoursePoint> {
    course.trace.iter().rfind(|point| point.stage == stage)
}

fn words(judged: &Judged) -> String {
    let course = &judged.course;
    let stages = course.stages.iter().filter_map(|stage| {
        let end = at_end(course, stage.name)?;
        Some(format!(
            "{} until {} min, then {} in the middle and {} % of the water left",
            stage.name,
            significant(minutes(stage.end), 3),
            celsius_text(end.middle),
            whole(end.water_left.get::<percent>())
        ))
    });
    let stages: Vec<String> = stages.collect();
    format!(
        "{}: {}; {}.",
        course.way,
        stages.join("; "),
        judged.verdict.brief()
    )
}

fn rows(course: &Course) -> Vec<Vec<String>> {
    let row = |stage: &Stage| {
        let end = at_end(course, stage.name)?;
        let mut row = vec![
            course.way.clone(),
            stage.name.to_string(),
            significant(minutes(stage.end), 3),
        ];
        row.extend(temperatures(end).into_iter().chain(left(end)).map(whole));
        row.push(whole(stage.power.get::<watt>()));
        Some(row)
    };
    course.stages.iter().filter_map(row).collect()
}
