//! How hot, over the water that is left when it lights: the states of the water are points of one
//! curve, and a measured peak is a mark.

use super::axes::{Panel, bounds};
use super::canvas::{Anchor, Canvas};
use super::labels::apart;
use super::picture::{PAGE_WIDTH, Picture, WIDTH};
use super::scale::Scale;
use super::style::Marker;
use crate::burn::{OtherBurns, StateResult};
use crate::names::capital;
use crate::plan::Plan;
use crate::quantity::units::{degree_celsius, kelvins, percent};
use crate::quantity::{Ratio, ThermodynamicTemperature};
use crate::report::number::{celsius_or_dash, celsius_text, interval_text, whole};

const LEFT: f64 = 42.0;
/// Room for the names at the right of the panel.
const NAMES: f64 = 78.0;
const TOP: f64 = 24.0;
const BOTTOM: f64 = 232.0;
/// Why the state at ignition lies beside the curve.
const WARM: &str = "at ignition: from the warm layer, with the fuel left";
/// Room to the right of the wettest state that still burns, as a share of the axis.
const MARGIN: f64 = 1.15;

/// The flame for one share of all water left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterPoint {
    /// Share of all water, solvent and crystal water, that is left.
    pub share: Ratio,
    /// Complete combustion; none if the heat does not dry the batch.
    pub complete: Option<ThermodynamicTemperature>,
}

/// A state of the water as a point.
struct State<'a> {
    result: &'a StateResult,
    share: f64,
    complete: Option<f64>,
    equilibrium: Option<f64>,
    surplus: Option<(f64, f64)>,
}

fn celsius(temperature: ThermodynamicTemperature) -> f64 {
    temperature.get::<degree_celsius>()
}

fn state<'a>(plan: &Plan, result: &'a StateResult, other: &OtherBurns) -> State<'a> {
    let surplus = other.surplus.iter();
    State {
        result,
        share: result.state.share_left(&plan.batch).get::<percent>(),
        complete: result.complete.flame.temperature().map(celsius),
        equilibrium: result.equilibrium_temperature().map(celsius),
        surplus: bounds(surplus.filter_map(|way| way.equilibrium_temperature().map(celsius))),
    }
}

/// Draws the flame over the water left: the `curve` of complete combustion, the states of the
/// water with their bands, equilibrium, the band of the expected peak, for a rich batch the span that the way of the surplus
/// fuel opens, and the peak of the last run. None for a batch that burns in no state.
pub fn water_picture(plan: &Plan, curve: &[WaterPoint]) -> Option<Picture> {
    let narrow = drawn(plan, curve, WIDTH)?;
    Some(narrow.with_wide(drawn(plan, curve, PAGE_WIDTH)?))
}

fn drawn(plan: &Plan, curve: &[WaterPoint], width: f64) -> Option<Picture> {
    let states: Vec<State<'_>> = plan
        .states
        .iter()
        .zip(plan.other_burns())
        .map(|(result, other)| state(plan, result, other))
        .collect();
    let burning: Vec<&State<'_>> = states.iter().filter(|s| s.complete.is_some()).collect();
    let run = plan.batch.runs.last();
    let measured = run.and_then(|run| run.peak_temperature).map(celsius);
    let expected = plan.expected.high.map(celsius);
    let panel = panel(&burning, curve, (expected, measured), width - NAMES)?;
    let mut canvas = Canvas::default();
    expected_band(&mut canvas, &panel, plan);
    panel.draw_y(&mut canvas, 5, "flame / °C");
    panel.draw_x(&mut canvas, 5, "water left, % of all water");
    let points = curve.iter().filter_map(|point| {
        let share = point.share.get::<percent>();
        let flame = celsius(point.complete?);
        (share <= panel.x.high).then(|| panel.point(share, flame))
    });
    canvas.path("line0", &points.collect::<Vec<_>>());
    for state in &burning {
        draw_state(&mut canvas, &panel, state);
    }
    name_states(&mut canvas, &panel, &burning);
    if let Some(peak) = measured {
        let y = panel.y.at(peak);
        canvas.line("edge", (LEFT, y), (panel.right, y));
        canvas.text(
            "small halo",
            (panel.right + 4.0, y + 3.6),
            Anchor::Start,
            "measured",
        );
    }
    let wet = states.iter().filter(|state| state.complete.is_none());
    let wet: Vec<String> = wet
        .map(|state| {
            let (name, share) = (state.result.state.name, whole(state.share));
            format!("too wet to burn: {name} ({share} %)")
        })
        .collect();
    let warm = plan
        .heated
        .as_ref()
        .is_some_and(|heated| heated.ignited.is_some());
    let wet: Vec<String> = wet
        .into_iter()
        .chain(warm.then(|| WARM.to_owned()))
        .collect();
    let rich = burning.iter().any(|state| state.surplus.is_some());
    let banded = plan.expected.low.is_some();
    let height = legend(&mut canvas, BOTTOM + 50.0, (rich, banded), &wet);
    let description: Vec<String> = plan.states.iter().map(words).collect();
    let picture = Picture::new(
        "water-left",
        "How hot, by the water that is left when it lights",
        description.join(" "),
        canvas,
        height,
    );
    Some(with_table(picture, &states))
}

fn panel(
    burning: &[&State<'_>],
    curve: &[WaterPoint],
    (expected, measured): (Option<f64>, Option<f64>),
    right: f64,
) -> Option<Panel> {
    let temperatures = burning.iter().flat_map(|state| {
        let half = state.result.band.half_width.get::<kelvins>();
        let complete = state.complete.map(|t| [t - half, t + half]);
        let surplus = state.surplus.map(|(low, high)| [low, high]);
        let all = complete.into_iter().chain(surplus).flatten();
        all.chain(state.equilibrium).collect::<Vec<_>>()
    });
    let (_, high) = bounds(temperatures.chain(expected).chain(measured))?;
    let wettest = burning.iter().map(|state| state.share).fold(0.0, f64::max);
    let last = curve.iter().filter(|point| point.complete.is_some());
    let last = last
        .map(|point| point.share.get::<percent>())
        .fold(wettest, f64::max);
    let most = (MARGIN * last).clamp(1.0, 100.0);
    Some(Panel {
        x: Scale::linear(0.0, most, LEFT, right),
        y: Scale::rounded(0.0, high, 5, BOTTOM, TOP),
        left: LEFT,
        right,
        top: TOP,
        bottom: BOTTOM,
    })
}

/// The band of the expected peak across the whole width, with its median as a line.
fn expected_band(canvas: &mut Canvas, panel: &Panel, plan: &Plan) {
    let expected = &plan.expected;
    let ends = [expected.low, expected.temperature, expected.high];
    let [Some(low), Some(middle), Some(high)] = ends.map(|t| t.map(celsius)) else {
        return;
    };
    let place = |t: f64| panel.y.at(t.max(0.0));
    canvas.rectangle("band1", (LEFT, place(high)), (panel.right, place(low)));
    canvas.line("line1", (LEFT, place(middle)), (panel.right, place(middle)));
}

fn draw_state(canvas: &mut Canvas, panel: &Panel, state: &State<'_>) {
    let x = panel.x.at(state.share);
    if let Some((low, high)) = state.surplus {
        let (from, to) = (panel.y.at(low), panel.y.at(high));
        canvas.rectangle("zone", (x - 5.0, from), (x + 5.0, to));
        for y in [from, to] {
            canvas.line("edge", (x - 5.0, y), (x + 5.0, y));
        }
    }
    if let Some(t) = state.complete {
        let half = state.result.band.half_width.get::<kelvins>();
        let (low, high) = (panel.y.at(t - half), panel.y.at(t + half));
        canvas.line("axis", (x, low), (x, high));
        for y in [low, high] {
            canvas.line("axis", (x - 3.5, y), (x + 3.5, y));
        }
        canvas.marker("dot0", Marker::Disc, (x, panel.y.at(t)));
    }
    if let Some(equilibrium) = state.equilibrium {
        canvas.marker("ring1", Marker::Diamond, (x, panel.y.at(equilibrium)));
    }
}

/// Names at the right edge, tied to their points by thin lines; with the width of a page beside the
/// points, where the curve, which falls, does not go.
fn name_states(canvas: &mut Canvas, panel: &Panel, burning: &[&State<'_>]) {
    let place = |state: &State<'_>| panel.point(state.share, state.complete.unwrap_or(0.0));
    let beside = panel.right > WIDTH;
    let lift = if beside { 9.0 } else { 0.0 };
    let wanted: Vec<f64> = burning.iter().map(|state| place(state).1 - lift).collect();
    let places = apart(&wanted, 13.0, TOP + 4.0, BOTTOM - 2.0);
    for (state, y) in burning.iter().zip(places) {
        let (x, _) = place(state);
        let left = if beside { x + 9.0 } else { panel.right + 4.0 };
        if !beside {
            canvas.line("thin0", place(state), (left - 2.0, y));
        }
        let name = state.result.state.name.to_string();
        canvas.text("small halo", (left, y + 3.6), Anchor::Start, &name);
    }
}

/// The legend from `top` on; gives the height of the picture.
fn legend(canvas: &mut Canvas, top: f64, (rich, banded): (bool, bool), remarks: &[String]) -> f64 {
    let mut y = top;
    canvas.marker("dot0", Marker::Disc, (12.0, y - 3.6));
    let text = "complete combustion ± data";
    canvas.text("small", (22.0, y), Anchor::Start, text);
    canvas.marker("ring1", Marker::Diamond, (196.0, y - 3.6));
    canvas.text("small", (206.0, y), Anchor::Start, "equilibrium");
    if rich {
        y += 16.0;
        canvas.rectangle("zone", (7.0, y - 10.0), (17.0, y + 2.0));
        let text = "span by what becomes of surplus fuel (equilibrium)";
        canvas.text("small", (22.0, y), Anchor::Start, text);
    }
    if banded {
        y += 16.0;
        canvas.rectangle("band1", (7.0, y - 10.0), (17.0, y + 2.0));
        canvas.line("line1", (7.0, y - 4.0), (17.0, y - 4.0));
        let text = "expected peak: 8 of 10 lie in the band, half above the line";
        canvas.text("small", (22.0, y), Anchor::Start, text);
    }
    for remark in remarks {
        y += 16.0;
        canvas.text("small", (22.0, y), Anchor::Start, remark);
    }
    y + 8.0
}

fn words(result: &StateResult) -> String {
    let name = capital(&result.state.name.to_string());
    let equilibrium = celsius_or_dash(result.equilibrium_temperature());
    match result.complete.flame.temperature() {
        Some(t) => format!(
            "{name}: {} ± {}, in equilibrium {equilibrium}.",
            celsius_text(t),
            interval_text(result.band.half_width)
        ),
        None if result.equilibrium_temperature().is_none() => {
            format!("{name}: no flame, the heat does not dry it.")
        }
        None => format!("{name}: no flame, the heat does not dry it; equilibrium {equilibrium}."),
    }
}

fn with_table(picture: Picture, states: &[State<'_>]) -> Picture {
    let rows = states.iter().map(|state| {
        let span = |(low, high): (f64, f64)| format!("{} to {}", whole(low), whole(high));
        vec![
            state.result.state.name.to_string(),
            whole(state.share),
            state.complete.map_or("no flame".to_owned(), whole),
            state.complete.map_or("–".to_owned(), |_| {
                interval_text(state.result.band.half_width)
            }),
            state.equilibrium.map_or("–".to_owned(), whole),
            state.surplus.map_or("–".to_owned(), span),
        ]
    });
    let head = [
        "water",
        "left / %",
        "complete / °C",
        "±",
        "equilibrium / °C",
        "by surplus fuel / °C",
    ];
    picture.with_numbers(&head, rows.collect())
}
