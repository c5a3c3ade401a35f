//! The answer at a glance: how hot, by the water that is still there.

use super::axes::{Panel, bounds};
use super::canvas::{Anchor, Canvas};
use super::fuel_ratio::capital;
use super::picture::Picture;
use super::scale::Scale;
use super::style::Marker;
use crate::burn::StateResult;
use crate::plan::Plan;
use crate::report::number::{celsius_or_dash, celsius_text, interval_text, whole};
use uom::si::temperature_interval::kelvin as kelvins;
use uom::si::thermodynamic_temperature::degree_celsius;

const LEFT: f64 = 78.0;
const RIGHT: f64 = 326.0;
const TOP: f64 = 14.0;
const ROW: f64 = 30.0;

struct Row {
    name: String,
    complete: Option<(f64, f64)>,
    equilibrium: Option<f64>,
    fates: Option<(f64, f64)>,
}

fn row(result: &StateResult) -> Row {
    let half = result.spread.half_width.get::<kelvins>();
    let fates = result.fates.iter();
    let fates =
        fates.filter_map(|fate| Some(fate.equilibrium_temperature()?.get::<degree_celsius>()));
    Row {
        name: result.state.name.to_string(),
        complete: result
            .complete
            .flame
            .temperature()
            .map(|t| (t.get::<degree_celsius>(), half)),
        equilibrium: result
            .equilibrium_temperature()
            .map(|t| t.get::<degree_celsius>()),
        fates: bounds(fates),
    }
}

/// Draws the flame temperature of every water state: complete combustion with its band,
/// equilibrium, and for a rich batch the span that the fate of the surplus fuel opens.
#[must_use]
pub fn water_picture(plan: &Plan) -> Option<Picture> {
    let rows: Vec<Row> = plan.states.iter().map(row).collect();
    let ends = rows.iter().flat_map(|row| {
        let complete = row.complete.map(|(t, half)| [t - half, t + half]);
        let fates = row.fates.map(|(low, high)| [low, high]);
        let found = complete.into_iter().chain(fates).flatten();
        found.chain(row.equilibrium).collect::<Vec<_>>()
    });
    let (low, high) = bounds(ends)?;
    let bottom = TOP + ROW * rows.len() as f64;
    let panel = Panel {
        x: Scale::rounded(low, high, 5, LEFT, RIGHT),
        y: Scale::linear(0.0, 1.0, bottom, TOP),
        left: LEFT,
        right: RIGHT,
        top: TOP,
        bottom,
    };
    let mut canvas = Canvas::default();
    panel.draw_x_grid(&mut canvas, 5);
    panel.draw_x(&mut canvas, 5, "flame temperature / °C");
    for (at, row) in rows.iter().enumerate() {
        let y = TOP + ROW * (at as f64 + 0.5);
        let label = (LEFT - 8.0, y + 3.8);
        canvas.text("", label, Anchor::End, &row.name);
        draw_row(&mut canvas, &panel, row, y);
    }
    let rich = rows.iter().any(|row| row.fates.is_some());
    let height = legend(&mut canvas, bottom + 46.0, rich);
    let words: Vec<String> = plan.states.iter().map(words).collect();
    let numbers = plan
        .states
        .iter()
        .zip(&rows)
        .map(|(result, row)| {
            vec![
                row.name.clone(),
                row.complete.map_or("no flame".to_owned(), |c| whole(c.0)),
                row.complete.map_or("–".to_owned(), |_| {
                    interval_text(result.spread.half_width)
                }),
                row.equilibrium.map_or("–".to_owned(), whole),
                row.fates.map_or("–".to_owned(), |(low, high)| {
                    format!("{} to {}", whole(low), whole(high))
                }),
            ]
        })
        .collect();
    let head = [
        "water",
        "complete / °C",
        "±",
        "equilibrium / °C",
        "fates of surplus fuel / °C",
    ];
    let title = "How hot, by the water that is still there";
    Some(
        Picture::new("water-states", title, words.join(" "), canvas, height)
            .with_numbers(&head, numbers),
    )
}

fn draw_row(canvas: &mut Canvas, panel: &Panel, row: &Row, y: f64) {
    if let Some((low, high)) = row.fates {
        let (from, to) = (panel.x.at(low), panel.x.at(high));
        canvas.rectangle("zone", (from, y - 8.0), (to, y + 8.0));
        for x in [from, to] {
            canvas.line("edge", (x, y - 8.0), (x, y + 8.0));
        }
    }
    let ring = row.equilibrium.map(|t| panel.x.at(t));
    let zone_end = row.fates.map(|(_, high)| panel.x.at(high));
    let end = ring.into_iter().chain(zone_end).fold(panel.left, f64::max);
    if let Some((t, half)) = row.complete {
        let (from, to) = (panel.x.at(t - half), panel.x.at(t + half));
        canvas.line("axis", (from, y), (to, y));
        for x in [from, to] {
            canvas.line("axis", (x, y - 4.5), (x, y + 4.5));
        }
        canvas.marker("dot0", Marker::Disc, (panel.x.at(t), y));
    } else {
        let at = (end + 9.0, y + 3.6);
        canvas.text("small halo", at, Anchor::Start, "no flame: too wet");
    }
    if let Some(x) = ring {
        canvas.marker("ring1", Marker::Diamond, (x, y));
    }
}

/// The legend from `top` on; gives the height of the picture.
fn legend(canvas: &mut Canvas, top: f64, rich: bool) -> f64 {
    let mut y = top;
    canvas.marker("dot0", Marker::Disc, (12.0, y - 3.6));
    canvas.text(
        "small",
        (22.0, y),
        Anchor::Start,
        "complete combustion ± data",
    );
    canvas.marker("ring1", Marker::Diamond, (196.0, y - 3.6));
    canvas.text("small", (206.0, y), Anchor::Start, "equilibrium");
    if rich {
        y += 16.0;
        canvas.rectangle("zone", (4.0, y - 10.0), (18.0, y + 2.0));
        for x in [4.0, 18.0] {
            canvas.line("edge", (x, y - 10.0), (x, y + 2.0));
        }
        let text = "span by the fate of the surplus fuel (equilibrium)";
        canvas.text("small", (22.0, y), Anchor::Start, text);
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
            interval_text(result.spread.half_width)
        ),
        None => format!("{name}: no flame, the heat does not dry it; equilibrium {equilibrium}."),
    }
}
