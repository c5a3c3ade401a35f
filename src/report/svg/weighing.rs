//! How far off each weighed mass may be.

use super::axes::{Panel, bounds};
use super::canvas::{Anchor, Canvas};
use super::picture::Picture;
use super::scale::Scale;
use super::style::Marker;
use crate::quantity::units::percent;
use crate::quantity::{Mass, Ratio};
use crate::report::layout::shortened;
use crate::report::number::{mass_text, significant};

/// One weighed mass.
#[derive(Debug, Clone, PartialEq)]
pub struct WeighingBar {
    /// The substance.
    pub name: String,
    /// What is weighed.
    pub mass: Mass,
    /// The balance it is weighed on.
    pub balance: String,
    /// Expanded relative error, coverage factor 2.
    pub error: Ratio,
    /// Whether the mass is below what the balance should weigh.
    pub below_minimum: bool,
}

const LEFT: f64 = 22.0;
const RIGHT: f64 = 322.0;
const TOP: f64 = 6.0;
const ROW: f64 = 32.0;

/// Most letters that fit over a dot in the widest usual typefaces (6.2 units each).
const LETTERS: usize = 53;

/// The label if it fits, else without the balance (which the numbers name), else shortened.
fn fitting(bar: &WeighingBar, label: &str) -> String {
    if label.chars().count() <= LETTERS {
        return label.to_owned();
    }
    let mass = format!(", {}", mass_text(bar.mass));
    let room = LETTERS - mass.chars().count().min(LETTERS - 1);
    format!("{}{mass}", shortened(&bar.name, room))
}

/// Draws the relative error of every mass on a logarithmic axis.
pub fn weighing_picture(bars: &[WeighingBar]) -> Option<Picture> {
    let value = |bar: &WeighingBar| bar.error.get::<percent>();
    let (low, high) = bounds(bars.iter().map(value).filter(|error| *error > 0.0))?;
    let bottom = TOP + ROW * bars.len() as f64;
    let x = Scale::decades(low, high, LEFT, RIGHT);
    let panel = Panel::of_rows(x, [LEFT, RIGHT], [TOP, bottom]);
    let mut canvas = Canvas::default();
    panel.draw_x_grid(&mut canvas, 8);
    let mut words = Vec::new();
    let mut rows = Vec::new();
    for (at, bar) in bars.iter().enumerate() {
        let top = TOP + ROW * at as f64;
        let label = format!("{}, {} on {}", bar.name, mass_text(bar.mass), bar.balance);
        canvas.text(
            "small halo",
            (6.0, top + 11.0),
            Anchor::Start,
            &fitting(bar, &label),
        );
        let error = value(bar);
        let y = top + 21.0;
        if error > 0.0 {
            let x = panel.x.at(error);
            // A logarithmic axis has no zero for a bar to start from: a dot on its row.
            canvas.line("grid", (LEFT, y), (RIGHT, y));
            let shape = if bar.below_minimum {
                Marker::Notch
            } else {
                Marker::Disc
            };
            let class = if bar.below_minimum { "ring1" } else { "dot0" };
            canvas.marker(class, shape, (x, y));
        }
        let note = if bar.below_minimum {
            ", below what this balance should weigh"
        } else {
            ""
        };
        words.push(format!("{label}: ±{} %{note}.", significant(error, 2)));
        rows.push(vec![
            bar.name.clone(),
            mass_text(bar.mass),
            bar.balance.clone(),
            format!("±{} %{note}", significant(error, 2)),
        ]);
    }
    panel.draw_x(&mut canvas, 8, "error of the mass, k = 2 / % of it");
    let mut height = bottom + 36.0;
    if bars.iter().any(|bar| bar.below_minimum) {
        let y = bottom + 46.0;
        canvas.marker("ring1", Marker::Notch, (LEFT, y - 3.6));
        let text = "below what this balance should weigh";
        canvas.text("small", (LEFT + 9.0, y), Anchor::Start, text);
        height = y + 8.0;
    }
    let title = "How far off each mass may be";
    Some(
        Picture::new("weighing", title, words.join(" "), canvas, height)
            .with_numbers(&["substance", "mass", "balance", "error"], rows),
    )
}
