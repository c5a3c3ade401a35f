//! The frame of a chart: axes with ticks, grid, names and units.

use super::canvas::{Anchor, Canvas};
use super::scale::Scale;

/// A panel: where its axes lie.
#[derive(Debug, Clone)]
pub(super) struct Panel {
    pub(super) x: Scale,
    pub(super) y: Scale,
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
}

impl Panel {
    /// A panel of rows under one another, from `left` to `right` and `top` to `bottom`.
    pub(super) fn of_rows(x: Scale, [left, right]: [f64; 2], [top, bottom]: [f64; 2]) -> Self {
        Self {
            x,
            y: Scale::linear(0.0, 1.0, bottom, top),
            left,
            right,
            top,
            bottom,
        }
    }

    pub(super) fn point(&self, x: f64, y: f64) -> (f64, f64) {
        (self.x.at(x), self.y.at(y))
    }

    /// The place of a value; one beyond the vertical axis stands on the frame.
    pub(super) fn inside(&self, x: f64, y: f64) -> (f64, f64) {
        self.point(x, y.clamp(self.y.low, self.y.high))
    }

    /// Grid and numbers of the vertical axis, with its name and unit above it.
    pub(super) fn draw_y(&self, canvas: &mut Canvas, count: usize, name: &str) {
        for tick in self.y.ticks(count) {
            let y = self.y.at(tick.value);
            if !tick.label.is_empty() {
                canvas.line("grid", (self.left, y), (self.right, y));
                let at = (self.left - 6.0, y + 3.8);
                canvas.text("small pale", at, Anchor::End, &tick.label);
            }
            canvas.line("tick", (self.left - 3.0, y), (self.left, y));
        }
        canvas.line("axis", (self.left, self.top), (self.left, self.bottom));
        if !name.is_empty() {
            let at = (2.0, self.top - 7.0);
            canvas.text("strong", at, Anchor::Start, name);
        }
    }

    /// Numbers of the horizontal axis, with its name and unit below it.
    pub(super) fn draw_x(&self, canvas: &mut Canvas, count: usize, name: &str) {
        self.draw_x_ticks(canvas, count, true);
        let at = ((self.left + self.right) / 2.0, self.bottom + 29.0);
        canvas.text("strong", at, Anchor::Middle, name);
    }

    /// The horizontal axis alone, with or without numbers.
    pub(super) fn draw_x_ticks(&self, canvas: &mut Canvas, count: usize, numbers: bool) {
        for tick in self.x.ticks(count) {
            let x = self.x.at(tick.value);
            canvas.line("tick", (x, self.bottom), (x, self.bottom + 3.0));
            if numbers && !tick.label.is_empty() {
                let at = (x, self.bottom + 14.0);
                canvas.text("small pale", at, Anchor::Middle, &tick.label);
            }
        }
        canvas.line("axis", (self.left, self.bottom), (self.right, self.bottom));
    }

    /// Vertical grid lines at the numbered ticks, for charts that are read downwards.
    pub(super) fn draw_x_grid(&self, canvas: &mut Canvas, count: usize) {
        for tick in self.x.ticks(count).iter().filter(|t| !t.label.is_empty()) {
            let x = self.x.at(tick.value);
            canvas.line("grid", (x, self.top), (x, self.bottom));
        }
    }
}

/// Least and greatest of the finite values; none if there are none.
pub(super) fn bounds(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values
        .into_iter()
        .filter(|value| value.is_finite())
        .fold(None, |range, value| match range {
            None => Some((value, value)),
            Some((low, high)) => Some((f64::min(low, value), f64::max(high, value))),
        })
}
