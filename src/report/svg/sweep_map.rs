//! The map of a sweep over two things: a tinted cell a level of both, with its flame in °C.

use super::axes::bounds;
use super::canvas::{Anchor, Canvas, text_width};
use super::style::TINTS;
use crate::quantity::units::degree_celsius;
use crate::report::number::{plain, whole};
use crate::vary::{Axis, Sweep};

const LEFT: f64 = 42.0;
const RIGHT: f64 = 332.0;
const ROW: f64 = 17.0;
/// Least space between levels below the map.
const GAP: f64 = 4.0;
/// Most rows and columns of cells that can be read.
const MOST: (usize, usize) = (12, 40);

/// Draws the flame in equilibrium over both axes from `top` on; gives the height it takes, none for
/// a sweep over one thing or with more cells than can be read.
pub(super) fn map(canvas: &mut Canvas, top: f64, sweep: &Sweep) -> f64 {
    let [first, second] = &sweep.axes[..] else {
        return 0.0;
    };
    let (columns, rows) = (first.levels.len(), second.levels.len());
    if rows < 2 || rows > MOST.0 || columns > MOST.1 {
        return 0.0;
    }
    let flame = |at: usize| {
        let point = sweep.rows.get(at)?.outcome.as_ref().ok()?;
        Some(point.equilibrium.get::<degree_celsius>())
    };
    let Some((cold, hot)) = bounds((0..sweep.rows.len()).filter_map(flame)) else {
        return 0.0;
    };
    let name = "flame in equilibrium / °C";
    canvas.text("strong", (2.0, top + 10.0), Anchor::Start, name);
    let upwards = format!("upwards: {}", axis_name(second));
    canvas.text("small pale", (2.0, top + 24.0), Anchor::Start, &upwards);
    let grid = Grid {
        top: top + 32.0,
        width: (RIGHT - LEFT) / columns as f64,
        rows,
    };
    for row in 0..rows {
        let level = plain(second.levels[row], 3);
        let at = (LEFT - 6.0, grid.bottom(row) - 5.0);
        canvas.text("small pale", at, Anchor::End, &level);
        for column in 0..columns {
            if let Some(t) = flame(column * rows + row) {
                // The hottest belongs to the last tint.
                let share = (t - cold) / (hot - cold).max(1.0);
                let tint = (share * TINTS.len() as f64) as usize;
                grid.cell(canvas, (column, row), tint.min(TINTS.len() - 1), &whole(t));
            }
        }
    }
    grid.below(canvas, first);
    grid.bottom(0) + 44.0 - top
}

/// Where the cells lie.
struct Grid {
    top: f64,
    width: f64,
    rows: usize,
}

impl Grid {
    /// The lower edge of a row; the first level is the lowest row.
    fn bottom(&self, row: usize) -> f64 {
        self.top + ROW * (self.rows - row) as f64
    }

    fn cell(&self, canvas: &mut Canvas, (column, row): (usize, usize), tint: usize, text: &str) {
        let left = LEFT + self.width * column as f64;
        let bottom = self.bottom(row);
        let (a, b) = ((left, bottom - ROW), (left + self.width, bottom));
        canvas.rectangle(&format!("tint{tint}"), a, b);
        if text_width(text, 10.0) <= self.width {
            let at = (left + self.width / 2.0, bottom - 5.0);
            canvas.text("small", at, Anchor::Middle, text);
        }
    }

    /// The levels of the first axis, as many as fit, and its name.
    fn below(&self, canvas: &mut Canvas, axis: &Axis) {
        let levels: Vec<String> = axis.levels.iter().map(|level| plain(*level, 3)).collect();
        let widest = levels.iter().map(|level| text_width(level, 10.0));
        let widest = GAP + widest.fold(0.0, f64::max);
        let every = (widest / self.width).ceil().max(1.0) as usize;
        for (column, level) in levels.iter().enumerate().step_by(every) {
            let x = LEFT + self.width * (column as f64 + 0.5);
            let at = (x, self.bottom(0) + 12.0);
            canvas.text("small pale", at, Anchor::Middle, level);
        }
        let at = ((LEFT + RIGHT) / 2.0, self.bottom(0) + 27.0);
        canvas.text("strong", at, Anchor::Middle, &axis_name(axis));
    }
}

/// What an axis shows, with its unit.
pub(super) fn axis_name(axis: &Axis) -> String {
    match axis.factor.unit() {
        "" => axis.factor.to_string(),
        unit => format!("{} / {unit}", axis.factor),
    }
}
