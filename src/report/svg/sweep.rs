//! A sweep as a picture: flame temperature and gas over what was varied, one line a level of the
//! second axis.

use super::axes::{Panel, bounds};
use super::canvas::{Anchor, Canvas};
use super::fuel_ratio::legend;
use super::labels::apart;
use super::picture::Picture;
use super::scale::Scale;
use super::style::MARKERS;
use super::sweep_map::{axis_name, map};
use crate::quantity::ThermodynamicTemperature;
use crate::quantity::units::{cubic_meter_per_kilogram, degree_celsius, kelvins};
use crate::report::layout::shortened;
use crate::report::number::{plain, significant, whole};
use crate::vary::{Axis, Factor, Point, Sweep};

const LEFT: f64 = 42.0;
const RIGHT: f64 = 262.0;
const HEIGHT: f64 = 372.0;
/// Least span of the temperatures, K.
const LEAST_SPAN: f64 = 100.0;
/// Room for the name of the batch, what is drawn and the water.
const HEAD: f64 = 44.0;
/// Letters of the batch's name that fit.
const LETTERS: usize = 48;

/// One line: the rows at one level of the second axis.
struct Series<'a> {
    name: String,
    /// Level of the first axis and what came out, if anything did.
    points: Vec<(f64, Option<&'a Point>)>,
}

/// Draws a sweep over one axis, or over two with at most five levels of the second, evenly chosen.
/// None if fewer than two rows have a result.
pub fn sweep_picture(sweep: &Sweep) -> Option<Picture> {
    let axis = sweep.axes.first()?;
    let series = series(sweep);
    let found = || series.iter().flat_map(|s| &s.points).filter_map(|p| p.1);
    if found().count() < 2 {
        return None;
    }
    let along = bounds(axis.levels.iter().copied())?;
    let hot = bounds(
        found()
            .flat_map(|point| [Some(point.equilibrium), point.complete])
            .flatten()
            .map(celsius),
    )?;
    // What hardly changes is drawn as flat as it is.
    let short = (LEAST_SPAN - (hot.1 - hot.0)).max(0.0) / 2.0;
    let hot = (hot.0 - short, hot.1 + short);
    let gas = bounds(found().map(gas_of).chain([0.0]))?;
    let mut canvas = Canvas::default();
    head(&mut canvas, sweep);
    let top = HEAD + map(&mut canvas, HEAD, sweep);
    let upper = Panel {
        x: Scale::linear(along.0, along.1, LEFT, RIGHT),
        y: Scale::rounded(hot.0, hot.1, 5, top + 212.0, top + 24.0),
        left: LEFT,
        right: RIGHT,
        top: top + 24.0,
        bottom: top + 212.0,
    };
    let lower = Panel {
        y: Scale::rounded(gas.0, gas.1, 3, top + 332.0, top + 250.0),
        top: top + 250.0,
        bottom: top + 332.0,
        ..upper.clone()
    };
    upper.draw_y(&mut canvas, 5, "flame / °C");
    upper.draw_x_ticks(&mut canvas, 6, false);
    lower.draw_y(&mut canvas, 3, "gas at 25 °C / L per g of powder");
    lower.draw_x(&mut canvas, 6, &axis_name(axis));
    balance(&mut canvas, axis, [&upper, &lower]);
    for (at, series) in series.iter().enumerate() {
        draw(&mut canvas, &upper, &lower, at, series);
    }
    if series.len() > 1 {
        label(&mut canvas, &upper, &series, |p| {
            celsius(p.complete.unwrap_or(p.equilibrium))
        });
    }
    let height = legend(&mut canvas, top + HEIGHT + 8.0, false);
    let title = format!("{}: flame and gas over {}", sweep.name, axis_name(axis));
    let description = description(sweep, &series);
    let (head, rows) = numbers(sweep);
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    Some(Picture::new("sweep", title, description, canvas, height).with_numbers(&head, rows))
}

/// Which batch, what is drawn, and the water it counts with.
fn head(canvas: &mut Canvas, sweep: &Sweep) {
    let name = shortened(&sweep.name, LETTERS);
    canvas.text("strong", (2.0, 12.0), Anchor::Start, &name);
    let names: Vec<String> = sweep.axes.iter().map(|a| a.factor.to_string()).collect();
    let over = format!("flame and gas over {}", names.join(" and "));
    canvas.text("small", (2.0, 25.0), Anchor::Start, &over);
    let water = format!("water: {}; the rest as in the file", sweep.state);
    canvas.text("small pale", (2.0, 37.0), Anchor::Start, &water);
}

/// A line where fuel and oxidiser balance.
fn balance(canvas: &mut Canvas, axis: &Axis, panels: [&Panel; 2]) {
    if axis.factor != Factor::FuelRatio || !panels[0].x.holds(1.0) {
        return;
    }
    let x = panels[0].x.at(1.0);
    for panel in panels {
        canvas.line("here", (x, panel.top), (x, panel.bottom));
    }
    let at = (x, panels[0].top - 4.0);
    canvas.text("small pale", at, Anchor::Middle, "φ = 1");
}

fn celsius(temperature: ThermodynamicTemperature) -> f64 {
    temperature.get::<degree_celsius>()
}

fn gas_of(point: &Point) -> f64 {
    point.gas_per_product.get::<cubic_meter_per_kilogram>()
}

/// The lines, at most as many as there are markers.
fn series(sweep: &Sweep) -> Vec<Series<'_>> {
    let outcome = |at: usize| sweep.rows.get(at).and_then(|row| row.outcome.as_ref().ok());
    let first = &sweep.axes[0].levels;
    let Some(second) = sweep.axes.get(1) else {
        let points = first.iter().enumerate().map(|(at, x)| (*x, outcome(at)));
        return vec![Series {
            name: String::new(),
            points: points.collect(),
        }];
    };
    let count = second.levels.len().min(MARKERS.len());
    let last = second.levels.len() - 1;
    (0..count)
        .map(|line| {
            let column = if count > 1 {
                line * last / (count - 1)
            } else {
                0
            };
            let unit = second.factor.unit();
            let name = format!("{} {unit}", plain(second.levels[column], 3));
            let row = |at: usize| outcome(at * second.levels.len() + column);
            let points = first.iter().enumerate().map(|(at, x)| (*x, row(at)));
            Series {
                name: name.trim().to_owned(),
                points: points.collect(),
            }
        })
        .collect()
}

fn draw(canvas: &mut Canvas, upper: &Panel, lower: &Panel, at: usize, series: &Series<'_>) {
    let flame = |p: &Point| Some((celsius(p.complete?), p.half_width.get::<kelvins>()));
    let runs = |value: &dyn Fn(&Point) -> Option<f64>| -> Vec<Vec<(f64, f64)>> {
        let mut runs = vec![Vec::new()];
        for (x, point) in &series.points {
            match point.and_then(value) {
                Some(y) => runs
                    .last_mut()
                    .expect("there is always a run")
                    .push((*x, y)),
                None => runs.push(Vec::new()),
            }
        }
        runs
    };
    let above = runs(&|p| flame(p).map(|(t, half)| t + half));
    let below = runs(&|p| flame(p).map(|(t, half)| t - half));
    for (above, below) in above.iter().zip(&below) {
        let ring = above.iter().chain(below.iter().rev());
        let ring: Vec<_> = ring.map(|(x, y)| upper.inside(*x, *y)).collect();
        canvas.area(&format!("band{at}"), &ring);
    }
    for run in runs(&|p| flame(p).map(|(t, _)| t)) {
        let run: Vec<_> = run.iter().map(|(x, y)| upper.point(*x, *y)).collect();
        canvas.path(&format!("line{at}"), &run);
    }
    for run in runs(&|p| Some(gas_of(p))) {
        let run: Vec<_> = run.iter().map(|(x, y)| lower.point(*x, *y)).collect();
        canvas.path(&format!("line{at}"), &run);
    }
    // About eight rings a line show where equilibrium lies.
    let every = series.points.len().div_ceil(8).max(1);
    for (x, point) in series.points.iter().step_by(every) {
        if let Some(point) = point {
            let place = upper.point(*x, celsius(point.equilibrium));
            canvas.marker(&format!("ring{at}"), MARKERS[at % MARKERS.len()], place);
        }
    }
}

fn label(canvas: &mut Canvas, panel: &Panel, series: &[Series<'_>], value: impl Fn(&Point) -> f64) {
    let end = |series: &Series<'_>| {
        let last = series
            .points
            .iter()
            .rev()
            .find_map(|(x, p)| Some((*x, (*p)?)));
        last.map_or((panel.right, panel.bottom), |(x, p)| {
            panel.point(x, value(p))
        })
    };
    let ends: Vec<(f64, f64)> = series.iter().map(end).collect();
    let wanted: Vec<f64> = ends.iter().map(|end| end.1).collect();
    let places = apart(&wanted, 13.0, panel.top + 4.0, panel.bottom - 2.0);
    for (at, series) in series.iter().enumerate() {
        let to = (panel.right + 8.0, places[at]);
        canvas.line(&format!("thin{at}"), ends[at], to);
        let place = (panel.right + 11.0, places[at] + 3.6);
        canvas.text(
            &format!("small name{at}"),
            place,
            Anchor::Start,
            &series.name,
        );
    }
}

fn description(sweep: &Sweep, series: &[Series<'_>]) -> String {
    let mut text = format!("Water {}. ", sweep.state);
    for series in series {
        let flames = series.points.iter().filter_map(|(x, point)| {
            let complete = (*point)?.complete?;
            Some((*x, celsius(complete)))
        });
        let Some((low, high)) = bounds(flames.clone().map(|flame| flame.1)) else {
            text.push_str(&format!("{}: no flame anywhere. ", series.name));
            continue;
        };
        let hottest = flames.max_by(|a, b| a.1.total_cmp(&b.1));
        let at = hottest.map_or(String::new(), |(x, _)| {
            format!(", hottest at {}", significant(x, 3))
        });
        let name = match series.name.as_str() {
            "" => String::new(),
            name => format!("{name}: "),
        };
        text.push_str(&format!("{name}{} to {} °C{at}. ", whole(low), whole(high)));
    }
    let failed = sweep.rows.iter().filter(|row| row.outcome.is_err()).count();
    if failed > 0 {
        text.push_str(&format!("{failed} rows have no result. "));
    }
    text.push_str("Lines: complete combustion with the band of the data; rings: equilibrium.");
    text
}

fn numbers(sweep: &Sweep) -> (Vec<String>, Vec<Vec<String>>) {
    let mut head: Vec<String> = sweep.axes.iter().map(axis_name).collect();
    head.extend(["complete / °C", "±/K", "equilibrium / °C", "gas / L/g"].map(str::to_owned));
    let rows = sweep
        .rows
        .iter()
        .map(|row| {
            let mut cells: Vec<String> = row.levels.iter().map(|x| significant(*x, 4)).collect();
            match &row.outcome {
                Ok(point) => cells.extend([
                    point
                        .complete
                        .map_or("no flame".to_owned(), |t| whole(celsius(t))),
                    whole(point.half_width.get::<kelvins>()),
                    whole(celsius(point.equilibrium)),
                    significant(gas_of(point), 3),
                ]),
                Err(error) => {
                    cells.push(error.to_string());
                    cells.extend(["–", "–", "–"].map(str::to_owned));
                }
            }
            cells
        })
        .collect();
    (head, rows)
}
