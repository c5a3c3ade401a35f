//! Where the heat enters: for each heating way a vessel with arrows as wide as the share of the
//! heat that comes through the floor, through the free surface, or is made inside.

use super::canvas::{Anchor, Canvas};
use super::heating_line::{HeatEntrance, HeatingLine};
use super::picture::{Picture, WIDTH};
use crate::quantity::Ratio;
use crate::quantity::units::percent;

/// Vessels in a row.
const ROW: usize = 3;
const CELL: f64 = WIDTH / ROW as f64;
const HEIGHT: f64 = 112.0;
/// Half width and height of a vessel, and the place of its floor in the cell.
const HALF: f64 = 22.0;
const WALL: f64 = 26.0;
const FLOOR: f64 = 66.0;
/// Length of an arrow and half its width for all of the heat.
const ARROW: f64 = 14.0;
const WIDEST: f64 = 14.0;
/// Shares below this have no arrow, %.
const FAINT: f64 = 1.0;

/// Draws the ways that take up heat; none if there is none.
pub fn entrance_picture(lines: &[HeatingLine]) -> Option<Picture> {
    let ways: Vec<(&str, HeatEntrance)> = lines
        .iter()
        .filter_map(|line| Some((line.way.as_str(), line.heat?)))
        .collect();
    if ways.is_empty() {
        return None;
    }
    let mut canvas = Canvas::default();
    for (at, (way, heat)) in ways.iter().enumerate() {
        let middle = CELL * ((at % ROW) as f64 + 0.5);
        let top = HEIGHT * (at / ROW) as f64;
        let name = (middle, top + 12.0);
        canvas.text("small strong", name, Anchor::Middle, way);
        draw(&mut canvas, heat, (middle, top));
    }
    let height = HEIGHT * ways.len().div_ceil(ROW) as f64;
    let words: Vec<String> = ways
        .iter()
        .map(|(way, heat)| format!("{way}: {}.", shares(heat, WORDS).join(", ")))
        .collect();
    let rows = ways.iter().map(|(way, heat)| {
        let share = |share: Ratio| format!("{:.0}", share.get::<percent>());
        let (below, above) = (share(heat.below), share(heat.above));
        vec![(*way).to_owned(), below, above, share(heat.inside)]
    });
    let title = "Where the heat enters";
    let picture = Picture::new("heat-entrance", title, words.join(" "), canvas, height);
    let head = ["way", "floor / %", "free surface / %", "inside / %"];
    Some(picture.with_numbers(&head, rows.collect()))
}

/// Below, above, inside: in words, and beside the drawing, where there is little room.
const WORDS: [&str; 3] = [
    "through the floor",
    "through the free surface",
    "made inside",
];
const SHORT: [&str; 3] = ["from below", "from above", "made inside"];

fn shares(heat: &HeatEntrance, [below, above, inside]: [&str; 3]) -> Vec<String> {
    let parts = [
        (heat.below, below),
        (heat.above, above),
        (heat.inside, inside),
    ];
    let parts = parts
        .into_iter()
        .map(|(share, how)| (share.get::<percent>(), how));
    parts
        .filter(|(share, _)| *share >= FAINT)
        .map(|(share, how)| format!("{share:.0} % {how}"))
        .collect()
}

fn draw(canvas: &mut Canvas, heat: &HeatEntrance, (x, top): (f64, f64)) {
    let floor = top + FLOOR;
    let level = floor - 0.5 * WALL;
    canvas.rectangle("fill0", (x - HALF, level), (x + HALF, floor));
    let walls = [
        (x - HALF, floor - WALL),
        (x - HALF, floor),
        (x + HALF, floor),
        (x + HALF, floor - WALL),
    ];
    canvas.path("axis", &walls);
    let width = |share: Ratio| {
        let share = share.get::<percent>();
        (share >= FAINT).then_some(WIDEST * share / 100.0)
    };
    if let Some(half) = width(heat.below) {
        arrow(canvas, (x, floor + ARROW + 3.0), (x, floor + 3.0), half);
    }
    if let Some(half) = width(heat.above) {
        arrow(canvas, (x, level - ARROW - 3.0), (x, level - 3.0), half);
    }
    if let Some(half) = width(heat.inside) {
        // Made everywhere at once: out from the middle to both sides.
        let middle = 0.5 * (level + floor);
        for side in [-1.0, 1.0] {
            let tip = (x + side * (HALF - 3.0), middle);
            arrow(canvas, (x + side * 4.0, middle), tip, 0.4 * half);
        }
    }
    for (at, words) in shares(heat, SHORT).iter().enumerate() {
        let y = floor + ARROW + 14.0 + 11.0 * at as f64;
        canvas.text("small pale", (x, y), Anchor::Middle, words);
    }
}

/// A filled arrow from `tail` to `tip`, `half` wide on both sides of its shaft.
fn arrow(canvas: &mut Canvas, tail: (f64, f64), tip: (f64, f64), half: f64) {
    let (dx, dy) = (tip.0 - tail.0, tip.1 - tail.1);
    let length = dx.hypot(dy);
    let (ux, uy) = (dx / length, dy / length);
    let head = (0.5 * length).min(8.0);
    let neck = (tip.0 - head * ux, tip.1 - head * uy);
    let beside = |at: (f64, f64), by: f64| (at.0 - by * uy, at.1 + by * ux);
    canvas.area(
        "gain",
        &[
            beside(tail, half),
            beside(neck, half),
            beside(neck, half + 3.0),
            tip,
            beside(neck, -half - 3.0),
            beside(neck, -half),
            beside(tail, -half),
        ],
    );
}
