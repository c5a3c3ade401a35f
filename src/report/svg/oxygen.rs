//! Oxygen pressure against temperature: couples, flame points and the way down on cooling.

use super::axes::{Panel, bounds};
use super::canvas::{Anchor, Canvas};
use super::labels::apart;
use super::picture::Picture;
use super::scale::Scale;
use super::style::{MARKERS, series_of};
use crate::enthalpy::WaterStateName;
use crate::names::capital;
use crate::quantity::ThermodynamicTemperature;
use crate::quantity::units::degree_celsius;
use crate::report::number::{celsius_text, significant, subscripts};

/// A temperature with log10(p(O2)/bar).
pub type OxygenPoint = (ThermodynamicTemperature, f64);

/// The line on which a reduced and an oxidised phase coexist.
#[derive(Debug, Clone, PartialEq)]
pub struct CoupleLine {
    /// Its name, such as "Fe/FeO".
    pub name: String,
    /// Points from cold to hot.
    pub points: Vec<OxygenPoint>,
    /// Decades by which the line may lie too low or too high, if known.
    pub band: Option<f64>,
}

/// The oxygen pressure of the burnt gas while it cools.
#[derive(Debug, Clone, PartialEq)]
pub struct CoolingPath {
    /// For which water state.
    pub state: WaterStateName,
    /// Points from the flame down.
    pub points: Vec<OxygenPoint>,
}

const LEFT: f64 = 38.0;
const RIGHT: f64 = 254.0;
const TOP: f64 = 24.0;
const BOTTOM: f64 = 252.0;
/// Lowest log10 p(O2) drawn: fainter pressures mean nothing in an open pot.
const FAINTEST: f64 = -40.0;

/// Draws the chart; none without a cooling path.
pub fn oxygen_picture(couples: &[CoupleLine], paths: &[CoolingPath]) -> Option<Picture> {
    let celsius = |point: &OxygenPoint| point.0.get::<degree_celsius>();
    let on_paths = || paths.iter().flat_map(|path| &path.points);
    let hot = bounds(on_paths().map(celsius))?;
    let within = |point: &&OxygenPoint| celsius(point) >= hot.0 && celsius(point) <= hot.1;
    let on_couples = couples.iter().flat_map(|line| &line.points).filter(within);
    let logs = on_paths().chain(on_couples).map(|point| point.1);
    let (low, high) = bounds(logs.filter(|log| *log >= FAINTEST).chain([0.0]))?;
    let panel = Panel {
        x: Scale::linear(hot.0, hot.1, LEFT, RIGHT),
        y: Scale::rounded(low, high, 6, BOTTOM, TOP),
        left: LEFT,
        right: RIGHT,
        top: TOP,
        bottom: BOTTOM,
    };
    let mut canvas = Canvas::default();
    panel.draw_y(&mut canvas, 6, "log₁₀(p(O₂) / bar)");
    panel.draw_x(&mut canvas, 5, "temperature / °C");
    draw_couples(&mut canvas, &panel, couples);
    for path in paths {
        let points = clipped(&panel, &path.points);
        let at = series_of(path.state);
        canvas.path(&format!("line{at}"), &points);
        if let Some(flame) = points.first() {
            canvas.marker(&format!("dot{at}"), MARKERS[at], *flame);
        }
    }
    let height = legend(&mut canvas, BOTTOM + 46.0, paths, !couples.is_empty());
    let names: Vec<&str> = couples.iter().map(|line| line.name.as_str()).collect();
    let ways: Vec<String> = paths.iter().filter_map(words).collect();
    let description = format!(
        "Oxygen pressure of the burnt gas from the flame downwards. {} Couples drawn: {}.",
        ways.join(" "),
        if names.is_empty() {
            "none".to_owned()
        } else {
            names.join(", ")
        }
    );
    let rows = paths
        .iter()
        .flat_map(|path| {
            path.points.iter().map(|point| {
                let t = celsius_text(point.0);
                vec![path.state.to_string(), t, significant(point.1, 3)]
            })
        })
        .collect();
    let title = "Oxygen pressure of the gas while it cools";
    Some(
        Picture::new("oxygen", title, description, canvas, height)
            .with_numbers(&["water", "temperature", "log10(p(O2)/bar)"], rows),
    )
}

/// Points within the panel, with the crossing of its edges added.
fn clipped(panel: &Panel, points: &[OxygenPoint]) -> Vec<(f64, f64)> {
    let plain: Vec<(f64, f64)> = points
        .iter()
        .map(|(t, log)| (t.get::<degree_celsius>(), *log))
        .filter(|(t, log)| t.is_finite() && log.is_finite())
        .collect();
    let inside = |p: &(f64, f64)| panel.x.holds(p.0) && panel.y.holds(p.1);
    let mut out = Vec::new();
    for (at, point) in plain.iter().enumerate() {
        if let Some(before) = at.checked_sub(1).map(|before| plain[before]) {
            if inside(&before) != inside(point) {
                out.push(crossing(panel, before, *point));
            }
        }
        if inside(point) {
            out.push(*point);
        }
    }
    out.into_iter().map(|(x, y)| panel.point(x, y)).collect()
}

/// Where the straight line between a point inside and one outside meets the edge: by halving.
fn crossing(panel: &Panel, a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    let inside = |p: (f64, f64)| panel.x.holds(p.0) && panel.y.holds(p.1);
    let (mut within, mut beyond) = if inside(a) { (a, b) } else { (b, a) };
    // 40 halvings: far below a tenth of a unit.
    for _ in 0..40 {
        let middle = ((within.0 + beyond.0) / 2.0, (within.1 + beyond.1) / 2.0);
        if inside(middle) {
            within = middle;
        } else {
            beyond = middle;
        }
    }
    within
}

/// Room for the name of a couple within the chart.
const NAME_WIDTH: f64 = 80.0;

fn draw_couples(canvas: &mut Canvas, panel: &Panel, couples: &[CoupleLine]) {
    let lines: Vec<(&CoupleLine, Vec<(f64, f64)>)> = couples
        .iter()
        .map(|line| (line, clipped(panel, &line.points)))
        .filter(|(_, points)| points.len() > 1)
        .collect();
    for (line, points) in &lines {
        if let Some(band) = line.band {
            let moved = |by: f64| -> Vec<OxygenPoint> {
                line.points.iter().map(|p| (p.0, p.1 + by)).collect()
            };
            let mut outline = clipped(panel, &moved(band));
            outline.extend(clipped(panel, &moved(-band)).into_iter().rev());
            canvas.area("zone", &outline);
        }
        canvas.path("edge", points);
    }
    // A line that ends within the chart bears its name there, the others beside the chart.
    let end = |points: &[(f64, f64)]| points.last().copied().unwrap_or((panel.left, panel.top));
    let (inner, outer): (Vec<_>, Vec<_>) = lines
        .iter()
        .map(|(line, points)| (subscripts(&line.name), end(points)))
        .partition(|(_, end)| end.0 < panel.right - NAME_WIDTH);
    for (name, end) in &inner {
        let at = (end.0 + 3.0, end.1 + 10.0);
        canvas.text("small halo", at, Anchor::Start, name);
    }
    let wanted: Vec<f64> = outer.iter().map(|(_, end)| end.1).collect();
    let places = apart(&wanted, 12.0, panel.top + 3.0, panel.bottom - 1.0);
    for ((name, end), place) in outer.iter().zip(places) {
        canvas.line("tick", *end, (panel.right + 7.0, place));
        let at = (panel.right + 9.0, place + 3.6);
        canvas.text("small", at, Anchor::Start, name);
    }
}

fn legend(canvas: &mut Canvas, top: f64, paths: &[CoolingPath], couples: bool) -> f64 {
    let mut y = top;
    for path in paths {
        let at = series_of(path.state);
        canvas.path(&format!("line{at}"), &[(6.0, y - 3.6), (36.0, y - 3.6)]);
        canvas.marker(&format!("dot{at}"), MARKERS[at], (6.0, y - 3.6));
        let text = format!("gas cooling from its flame, {}", path.state);
        canvas.text("small", (44.0, y), Anchor::Start, &text);
        y += 16.0;
    }
    if couples {
        canvas.line("edge", (6.0, y - 3.6), (36.0, y - 3.6));
        let text = "couple: reduced phase below, oxidised above";
        canvas.text("small", (44.0, y), Anchor::Start, text);
        y += 16.0;
    }
    y - 8.0
}

fn words(path: &CoolingPath) -> Option<String> {
    let (first, last) = (path.points.first()?, path.points.last()?);
    Some(format!(
        "{}: from {} at {} to {} at {}.",
        capital(&path.state.to_string()),
        significant(first.1, 3),
        celsius_text(first.0),
        significant(last.1, 3),
        celsius_text(last.0)
    ))
}
