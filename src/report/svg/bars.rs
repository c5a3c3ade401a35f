//! Pieces of stacked bars: each with its own hatch, so that they differ without colour.

use super::canvas::{Anchor, Canvas, text_width};

/// Fills with hatches; a stack with more pieces joins the rest.
pub(super) const KINDS: usize = 7;

/// Draws one piece from `left` to `right`, with its name upon it if there is room.
/// True if the name was written.
pub(super) fn piece(
    canvas: &mut Canvas,
    kind: usize,
    (left, right): (f64, f64),
    (top, bottom): (f64, f64),
    name: &str,
) -> bool {
    canvas.rectangle(&format!("fill{kind}"), (left, top), (right, bottom));
    hatch(canvas, kind, (left, right), (top, bottom));
    let fits = right - left >= text_width(name, 10.0) + 2.0;
    if fits {
        let at = ((left + right) / 2.0, (top + bottom) / 2.0 + 3.7);
        canvas.text("small", at, Anchor::Middle, name);
    }
    fits
}

/// The hatch of a kind of piece: none, lines down to the right, lines up to the right, upright
/// lines, level lines, both diagonals, none on paper. Only the upper and lower fifth bear it, the name between.
fn hatch(canvas: &mut Canvas, kind: usize, (left, right): (f64, f64), (top, bottom): (f64, f64)) {
    let depth = (bottom - top) / 5.0;
    let step = 2.0 * depth;
    for (top, bottom) in [(top, top + depth), (bottom - depth, bottom)] {
        let mut x = left + step / 2.0;
        while x + depth <= right {
            match kind {
                1 => canvas.line("hatch", (x, top), (x + depth, bottom)),
                2 => canvas.line("hatch", (x, bottom), (x + depth, top)),
                3 => canvas.line("hatch", (x, top), (x, bottom)),
                5 => {
                    canvas.line("hatch", (x, top), (x + depth, bottom));
                    canvas.line("hatch", (x, bottom), (x + depth, top));
                }
                _ => {}
            }
            x += step;
        }
        if kind == 4 {
            let middle = (top + bottom) / 2.0;
            canvas.line("hatch", (left, middle), (right, middle));
        }
    }
}
