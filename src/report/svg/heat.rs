//! The energy ledger as a waterfall: where every kilojoule goes.

use super::axes::{Panel, bounds};
use super::canvas::{Anchor, Canvas, text_width};
use super::picture::Picture;
use super::scale::Scale;
use crate::burn::StateResult;
use crate::flame::LedgerItem;
use crate::quantity::units::kilojoule;
use crate::report::number::significant;

const LEFT: f64 = 8.0;
const RIGHT: f64 = 330.0;
const TOP: f64 = 8.0;
const ROW: f64 = 31.0;

/// Draws the ledger of one water state. Each step starts where the last one ended; heat that comes
/// in leads to the right, heat that goes into something to the left, back to nothing.
pub fn heat_picture(result: &StateResult) -> Option<Picture> {
    let entries = &result.complete.ledger.entries;
    let mut level = 0.0;
    let mut steps = Vec::new();
    for entry in entries {
        let energy = entry.energy.get::<kilojoule>();
        steps.push((entry.item, energy, level, level + energy));
        level += energy;
    }
    let (low, high) = bounds(steps.iter().flat_map(|step| [step.2, step.3]))?;
    let bottom = TOP + ROW * steps.len() as f64;
    let x = Scale::rounded(low, high, 5, LEFT, RIGHT);
    let panel = Panel::of_rows(x, [LEFT, RIGHT], [TOP, bottom]);
    let mut canvas = Canvas::default();
    panel.draw_x_grid(&mut canvas, 5);
    for (at, (item, energy, from, to)) in steps.iter().enumerate() {
        let top = TOP + ROW * at as f64;
        let (bar_top, bar_bottom) = (top + 15.0, top + ROW - 3.0);
        let (x0, x1) = (panel.x.at(*from), panel.x.at(*to));
        let class = match (item, *energy > 0.0) {
            (LedgerItem::Lacking, _) => "lack",
            (_, true) => "gain",
            (_, false) => "drain",
        };
        canvas.rectangle(class, (x0, bar_top), (x1, bar_bottom));
        arrow(&mut canvas, (x0, x1), (bar_top + bar_bottom) / 2.0);
        if at + 1 < steps.len() {
            canvas.line("tick", (x1, bar_bottom), (x1, bar_bottom + 18.0));
        }
        let sign = if *energy > 0.0 { "+" } else { "" };
        let text = format!("{item}: {sign}{} kJ", significant(*energy, 3));
        let width = text_width(&text, 10.0);
        let (x, anchor) = if x0.min(x1) + width < RIGHT {
            (x0.min(x1), Anchor::Start)
        } else {
            (RIGHT, Anchor::End)
        };
        canvas.text("small halo", (x, top + 11.0), anchor, &text);
    }
    panel.draw_x(&mut canvas, 5, "heat of the whole batch / kJ");
    let lines: Vec<String> = entries
        .iter()
        .map(|entry| {
            let value = significant(entry.energy.get::<kilojoule>(), 3);
            format!("{} {value} kJ", entry.item)
        })
        .collect();
    let title = format!("Where the heat goes ({})", result.state.name);
    let numbers = entries
        .iter()
        .map(|entry| {
            vec![
                entry.item.to_string(),
                significant(entry.energy.get::<kilojoule>(), 4),
            ]
        })
        .collect();
    let description = format!("Steps that add up to nothing: {}.", lines.join("; "));
    Some(
        Picture::new("heat", title, description, canvas, bottom + 36.0)
            .with_numbers(&["step", "energy / kJ"], numbers),
    )
}

/// A small arrow head within the bar, towards its end, if there is room.
fn arrow(canvas: &mut Canvas, (from, to): (f64, f64), y: f64) {
    if (to - from).abs() < 16.0 {
        return;
    }
    let side = if to > from { 1.0 } else { -1.0 };
    let tip = to - 3.0 * side;
    let back = tip - 5.0 * side;
    canvas.path("edge", &[(back, y - 4.0), (tip, y), (back, y + 4.0)]);
}
