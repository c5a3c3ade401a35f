//! Flame temperature and gas against the fuel ratio φ, by water state.

use super::axes::{Panel, bounds};
use super::canvas::{Anchor, Canvas, text_width};
use super::labels::apart;
use super::picture::Picture;
use super::scale::Scale;
use super::style::{MARKERS, series_of};
use crate::burn::StateResult;
use crate::enthalpy::WaterStateName;
use crate::names::capital;
use crate::plan::Plan;
use crate::quantity::units::{cubic_meter_per_kilogram, degree_celsius, kelvins, ratio};
use crate::quantity::{EquivalenceRatio, ThermodynamicTemperature};
use crate::report::number::{celsius_text, significant, whole};

/// A temperature that the burn should reach.
#[derive(Debug, Clone, PartialEq)]
pub struct Floor {
    /// The temperature from which on it is reached for sure.
    pub temperature: ThermodynamicTemperature,
    /// The temperature from which on it may be reached, if lower.
    pub least: Option<ThermodynamicTemperature>,
    /// What it is for, such as "ZnAl2O4 forms".
    pub label: String,
}

const LEFT: f64 = 42.0;
const RIGHT: f64 = 252.0;
const HEIGHT: f64 = 372.0;

/// One water state over the sweep.
struct Series {
    name: WaterStateName,
    /// φ, temperature in °C with its half width, temperature in equilibrium, with all the air that
    /// the surplus needs, and gas in L/g.
    points: Vec<Point>,
}

struct Point {
    phi: f64,
    complete: Option<(f64, f64)>,
    equilibrium: f64,
    with_air: Option<f64>,
    gas: f64,
}

/// The batch at one fuel ratio.
#[derive(Debug, Clone)]
pub struct FuelPoint {
    /// Its φ.
    pub equivalence_ratio: EquivalenceRatio,
    /// Its burn for every water state.
    pub states: Vec<FuelBurn>,
}

/// A burn at one fuel ratio.
#[derive(Debug, Clone)]
pub struct FuelBurn {
    /// With the air that the file lets in.
    pub result: StateResult,
    /// Equilibrium with all the air that surplus fuel needs; none without surplus or flame.
    pub in_air: Option<ThermodynamicTemperature>,
}

fn point(at: &FuelPoint, name: WaterStateName) -> Option<Point> {
    let mut states = at.states.iter();
    let FuelBurn { result, in_air } = states.find(|burn| burn.result.state.name == name)?;
    let celsius = |t: ThermodynamicTemperature| t.get::<degree_celsius>();
    let half = result.band.half_width.get::<kelvins>();
    let flame = result.complete.flame.temperature();
    Some(Point {
        phi: at.equivalence_ratio.get::<ratio>(),
        complete: flame.map(|t| (celsius(t), half)),
        equilibrium: celsius(result.equilibrium_temperature()?),
        with_air: in_air.map(celsius),
        gas: result.gas.per_product.get::<cubic_meter_per_kilogram>(),
    })
}

/// Draws temperature and gas over φ from a sweep in rising order, `here` being the batch itself.
///
/// The full line is complete combustion with the band of the data, rings are equilibrium. None
/// if the sweep has fewer than two points.
pub fn fuel_ratio_picture(
    sweep: &[FuelPoint],
    here: &Plan,
    floor: Option<&Floor>,
) -> Option<Picture> {
    if sweep.len() < 2 {
        return None;
    }
    let series: Vec<Series> = here
        .states
        .iter()
        .map(|state| Series {
            name: state.state.name,
            points: sweep
                .iter()
                .filter_map(|at| point(at, state.state.name))
                .collect(),
        })
        .filter(|series| series.points.len() > 1)
        .collect();
    let all = || series.iter().flat_map(|series| &series.points);
    let phi = bounds(all().map(|p| p.phi))?;
    let temperatures = all()
        .flat_map(|p| [Some(p.equilibrium), p.complete.map(|c| c.0), p.with_air])
        .flatten()
        .chain(floor.map(|f| f.temperature.get::<degree_celsius>()))
        .chain(floor.and_then(|f| Some(f.least?.get::<degree_celsius>())));
    let hot = bounds(temperatures)?;
    let gas = bounds(all().map(|p| p.gas).chain([0.0]))?;
    let (upper, lower) = panels(phi, hot, gas);
    let mut canvas = Canvas::default();
    draw_axes(&mut canvas, &upper, &lower);
    draw_floor(&mut canvas, &upper, floor);
    draw_marks(&mut canvas, &upper, &lower, here);
    for series in &series {
        let at = series_of(series.name);
        draw_temperature(&mut canvas, &upper, at, series);
        let points = series.points.iter().map(|p| (p.phi, Some(p.gas)));
        draw_runs(&mut canvas, &lower, &format!("line{at}"), points);
    }
    end_labels(&mut canvas, &upper, &series, |p| {
        p.complete.map_or(p.equilibrium, |c| c.0)
    });
    end_labels(&mut canvas, &lower, &series, |p| p.gas);
    let with_air = all().any(|p| p.with_air.is_some());
    let height = legend(&mut canvas, HEIGHT + 8.0, with_air);
    let height = name_floor(&mut canvas, height, floor);
    let description = description(&series, here, floor);
    let (head, rows) = numbers(&series);
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let title = "Flame temperature and gas against the fuel ratio";
    Some(Picture::new("fuel-ratio", title, description, canvas, height).with_numbers(&head, rows))
}

fn panels(phi: (f64, f64), hot: (f64, f64), gas: (f64, f64)) -> (Panel, Panel) {
    let upper = Panel {
        x: Scale::linear(phi.0, phi.1, LEFT, RIGHT),
        y: Scale::rounded(hot.0, hot.1, 5, 212.0, 36.0),
        left: LEFT,
        right: RIGHT,
        top: 36.0,
        bottom: 212.0,
    };
    let lower = Panel {
        y: Scale::rounded(gas.0, gas.1, 3, 332.0, 258.0),
        top: 258.0,
        bottom: 332.0,
        ..upper.clone()
    };
    (upper, lower)
}

fn draw_axes(canvas: &mut Canvas, upper: &Panel, lower: &Panel) {
    upper.draw_y(canvas, 5, "");
    canvas.text("strong", (2.0, 12.0), Anchor::Start, "flame / °C");
    upper.draw_x_ticks(canvas, 6, false);
    lower.draw_y(canvas, 3, "gas at 25 °C / L per g of powder");
    lower.draw_x(canvas, 6, "fuel ratio φ (above 1: fuel-rich)");
}

/// The same axes without any result, to sketch upon: temperature up to 2500 °C and gas up to
/// 30 L/g whatever the batch, so that the axes give nothing away.
pub fn fuel_ratio_axes() -> Picture {
    let (upper, lower) = panels((0.5, 2.0), (0.0, 2500.0), (0.0, 30.0));
    let mut canvas = Canvas::default();
    draw_axes(&mut canvas, &upper, &lower);
    let title = "Sketch: flame temperature and gas against the fuel ratio";
    let description = "Empty axes: the fuel ratio φ from 0.5 to 2 along, flame temperature up to \
                       2500 °C in the upper panel, gas up to 30 L/g in the lower one.";
    Picture::new("sketch", title, description, canvas, HEIGHT)
}

/// Unbroken runs of points that have a value.
fn draw_runs(
    canvas: &mut Canvas,
    panel: &Panel,
    class: &str,
    points: impl Iterator<Item = (f64, Option<f64>)>,
) {
    let mut run = Vec::new();
    for (x, y) in points {
        match y {
            Some(y) => run.push(panel.point(x, y)),
            None => canvas.path(class, &std::mem::take(&mut run)),
        }
    }
    canvas.path(class, &run);
}

fn draw_temperature(canvas: &mut Canvas, panel: &Panel, at: usize, series: &Series) {
    let flames = || {
        series
            .points
            .iter()
            .filter_map(|p| Some((p.phi, p.complete?)))
    };
    let above = flames().map(|(phi, (t, half))| panel.inside(phi, t + half));
    let below = flames().map(|(phi, (t, half))| panel.inside(phi, t - half));
    let mut outline: Vec<(f64, f64)> = above.collect();
    outline.extend(below.collect::<Vec<_>>().into_iter().rev());
    canvas.area(&format!("band{at}"), &outline);
    let air = series.points.iter().map(|p| (p.phi, p.with_air));
    draw_runs(canvas, panel, &format!("thin{at}"), air);
    let line = series
        .points
        .iter()
        .map(|p| (p.phi, p.complete.map(|c| c.0)));
    draw_runs(canvas, panel, &format!("line{at}"), line);
    // Every fourth ring is enough to see where equilibrium lies.
    for point in series.points.iter().skip(at % 4).step_by(4) {
        let place = panel.point(point.phi, point.equilibrium);
        canvas.marker(&format!("ring{at}"), MARKERS[at % MARKERS.len()], place);
    }
}

/// What the floor is, below a legend of this height, where it covers no curve.
fn name_floor(canvas: &mut Canvas, height: f64, floor: Option<&Floor>) -> f64 {
    let Some(floor) = floor else {
        return height;
    };
    let y = height + 8.0;
    canvas.line("floor", (4.0, y - 3.6), (28.0, y - 3.6));
    let text = format!("{}: {}", floor.label, celsius_text(floor.temperature));
    canvas.text("small", (34.0, y), Anchor::Start, &text);
    y + 8.0
}

fn draw_floor(canvas: &mut Canvas, panel: &Panel, floor: Option<&Floor>) {
    if let Some(floor) = floor {
        let y = panel.y.at(floor.temperature.get::<degree_celsius>());
        if let Some(least) = floor.least {
            let least = panel.y.at(least.get::<degree_celsius>());
            canvas.rectangle("zone", (panel.left, y), (panel.right, least));
        }
        canvas.line("floor", (panel.left, y), (panel.right, y));
    }
}

/// The line φ = 1 with its sides, and the batch itself.
fn draw_marks(canvas: &mut Canvas, upper: &Panel, lower: &Panel, here: &Plan) {
    if upper.x.holds(1.0) {
        let x = upper.x.at(1.0);
        canvas.line("tick", (x, upper.top), (x, upper.bottom));
        canvas.line("tick", (x, lower.top), (x, lower.bottom));
        let y = upper.top - 4.0;
        canvas.text("small pale", (x - 5.0, y), Anchor::End, "lean");
        canvas.text("small pale", (x + 5.0, y), Anchor::Start, "rich");
    }
    let phi = here.redox.equivalence_ratio.get::<ratio>();
    if upper.x.holds(phi) {
        let x = upper.x.at(phi);
        canvas.line("here", (x, upper.top), (x, upper.bottom));
        canvas.line("here", (x, lower.top), (x, lower.bottom));
        let text = format!("this batch, φ = {}", significant(phi, 3));
        let half = text_width(&text, 10.0) / 2.0;
        let x = x.clamp(upper.left + half, upper.right - half);
        let at = (x, upper.bottom + 16.0);
        canvas.text("small halo", at, Anchor::Middle, &text);
    }
}

fn end_labels(
    canvas: &mut Canvas,
    panel: &Panel,
    series: &[Series],
    value: impl Fn(&Point) -> f64,
) {
    let ends: Vec<f64> = series
        .iter()
        .map(|series| series.points.last().map_or(0.0, |p| panel.y.at(value(p))))
        .collect();
    let places = apart(&ends, 13.0, panel.top + 4.0, panel.bottom - 2.0);
    for ((series, end), place) in series.iter().zip(&ends).zip(places) {
        let at = series_of(series.name);
        let from = (panel.right + 1.0, *end);
        canvas.line(&format!("thin{at}"), from, (panel.right + 8.0, place));
        canvas.text(
            &format!("small name{at}"),
            (panel.right + 11.0, place + 3.6),
            Anchor::Start,
            &series.name.to_string(),
        );
    }
}

/// What lines and rings stand for, from `top` on; gives the height of the picture.
pub(super) fn legend(canvas: &mut Canvas, top: f64, with_air: bool) -> f64 {
    let middle = top - 3.6;
    canvas.rectangle("band0", (4.0, middle - 4.0), (28.0, middle + 4.0));
    canvas.path("line0", &[(4.0, middle), (28.0, middle)]);
    let text = "complete combustion, band of data";
    canvas.text("small", (34.0, top), Anchor::Start, text);
    canvas.marker("ring0", MARKERS[0], (248.0, middle));
    canvas.text("small", (256.0, top), Anchor::Start, "equilibrium");
    if !with_air {
        return top + 8.0;
    }
    let next = top + 16.0;
    canvas.path("thin0", &[(4.0, next - 3.6), (28.0, next - 3.6)]);
    let text = "equilibrium with all the air that surplus fuel needs";
    canvas.text("small", (34.0, next), Anchor::Start, text);
    next + 8.0
}

fn description(series: &[Series], here: &Plan, floor: Option<&Floor>) -> String {
    let mut text = format!(
        "Two panels over the fuel ratio φ. This batch has φ = {}. ",
        significant(here.redox.equivalence_ratio.get::<ratio>(), 3)
    );
    for series in series {
        let (Some(first), Some(last)) = (series.points.first(), series.points.last()) else {
            continue;
        };
        let hottest = series
            .points
            .iter()
            .filter_map(|p| Some((p.phi, p.complete?.0)))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        match hottest {
            Some((phi, t)) => text.push_str(&format!(
                "{}: hottest at φ = {} with {} °C in complete combustion; gas from {} to {} L/g. ",
                capital(&series.name.to_string()),
                significant(phi, 3),
                whole(t),
                significant(first.gas, 3),
                significant(last.gas, 3),
            )),
            None => text.push_str(&format!(
                "{}: no flame anywhere. ",
                capital(&series.name.to_string())
            )),
        }
    }
    text.push_str(
        "Lines: complete combustion, with the band of the data; rings: equilibrium; thin lines on \
         the rich side: with all the air that the surplus fuel needs.",
    );
    if let Some(floor) = floor {
        text.push_str(&format!(
            " Floor: {} from {} on.",
            floor.label,
            celsius_text(floor.temperature)
        ));
    }
    text
}

fn numbers(series: &[Series]) -> (Vec<String>, Vec<Vec<String>>) {
    let mut head = vec!["φ".to_owned()];
    for series in series {
        head.push(format!("{}, complete / °C", series.name));
        head.push(format!("{}, equilibrium / °C", series.name));
        head.push(format!("{}, gas / L/g", series.name));
    }
    let Some(first) = series.first() else {
        return (head, Vec::new());
    };
    let rows = (0..first.points.len())
        .map(|at| {
            let mut row = vec![significant(first.points[at].phi, 3)];
            for series in series {
                match series.points.get(at) {
                    Some(p) => row.extend([
                        p.complete.map_or("no flame".to_owned(), |c| whole(c.0)),
                        whole(p.equilibrium),
                        significant(p.gas, 3),
                    ]),
                    None => row.extend(["–".to_owned(), "–".to_owned(), "–".to_owned()]),
                }
            }
            row
        })
        .collect();
    (head, rows)
}
