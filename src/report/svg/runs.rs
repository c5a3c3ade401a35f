//! Peaks that were read against what was predicted: one row a run.

use super::axes::{Panel, bounds};
use super::bars::piece;
use super::canvas::{Anchor, Canvas, text_width};
use super::picture::Picture;
use super::scale::Scale;
use super::style::Marker;
use crate::quantity::units::degree_celsius;
use crate::quantity::{Band, ThermodynamicTemperature};
use crate::report::layout::shortened;
use crate::report::number::whole;

/// One run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunBar {
    /// What it is called.
    pub name: String,
    /// What was predicted before, 8 of 10.
    pub before: Band<ThermodynamicTemperature>,
    /// What was learned to predict, 8 of 10.
    pub after: Option<Band<ThermodynamicTemperature>>,
    /// What was read.
    pub read: ThermodynamicTemperature,
}

const LEFT: f64 = 16.0;
const RIGHT: f64 = 322.0;
const TOP: f64 = 6.0;
const ROW: f64 = 42.0;
/// Most letters that fit over a bar in the widest usual typefaces (6.2 units each).
const LETTERS: usize = 51;
/// Room to both sides of the bands, K.
const MARGIN: f64 = 40.0;

/// Draws the bands predicted before and after learning, with what was read.
pub fn runs_picture(runs: &[RunBar]) -> Option<Picture> {
    let celsius = |t: ThermodynamicTemperature| t.get::<degree_celsius>();
    let ends = |run: &RunBar| {
        let bands = [Some(run.before), run.after].into_iter().flatten();
        let mut ends = vec![celsius(run.read)];
        ends.extend(bands.flat_map(|band| [celsius(band.low), celsius(band.high)]));
        ends
    };
    let (low, high) = bounds(runs.iter().flat_map(ends))?;
    let bottom = TOP + ROW * runs.len() as f64;
    let x = Scale::rounded(low - MARGIN, high + MARGIN, 6, LEFT, RIGHT);
    let panel = Panel::of_rows(x, [LEFT, RIGHT], [TOP, bottom]);
    let mut canvas = Canvas::default();
    panel.draw_x_grid(&mut canvas, 6);
    for (at, run) in runs.iter().enumerate() {
        let top = TOP + ROW * at as f64;
        let name = shortened(&run.name, LETTERS);
        canvas.text("small halo", (6.0, top + 11.0), Anchor::Start, &name);
        let x = |t| panel.x.at(celsius(t));
        let bands = [(0_u8, Some(run.before)), (1, run.after)];
        for (kind, band) in bands {
            let Some(band) = band else { continue };
            let y = top + 15.0 + 11.0 * f64::from(kind);
            piece(
                &mut canvas,
                usize::from(kind),
                (x(band.low), x(band.high)),
                (y, y + 9.0),
                "",
            );
        }
        let (y, x) = (top + 25.0, x(run.read));
        canvas.line("axis", (x, y - 11.0), (x, y + 12.0));
        canvas.marker("dot1", Marker::Diamond, (x, y));
    }
    panel.draw_x(&mut canvas, 6, "peak / °C");
    let learned = runs.iter().any(|run| run.after.is_some());
    let height = legend(&mut canvas, bottom + 48.0, learned);
    let words: Vec<String> = runs.iter().map(words).collect();
    let rows = runs.iter().map(row).collect();
    let title = "Peaks read, and what was predicted";
    Some(
        Picture::new("runs", title, words.join(" "), canvas, height).with_numbers(
            &["run", "read / °C", "predicted / °C", "learned / °C"],
            rows,
        ),
    )
}

fn legend(canvas: &mut Canvas, y: f64, learned: bool) -> f64 {
    let mut x = LEFT;
    let mut entries = vec![(0, "predicted, 8 of 10")];
    if learned {
        entries.push((1, "learned, 8 of 10"));
    }
    for (kind, name) in entries {
        piece(canvas, kind, (x, x + 18.0), (y - 10.0, y), "");
        canvas.text("small", (x + 23.0, y), Anchor::Start, name);
        x += 34.0 + text_width(name, 10.0);
    }
    canvas.marker("dot1", Marker::Diamond, (x + 5.0, y - 4.0));
    canvas.text("small", (x + 14.0, y), Anchor::Start, "read");
    y + 8.0
}

fn band_words(band: Band<ThermodynamicTemperature>) -> String {
    let celsius = |t: ThermodynamicTemperature| whole(t.get::<degree_celsius>());
    format!("{} to {}", celsius(band.low), celsius(band.high))
}

fn words(run: &RunBar) -> String {
    let read = whole(run.read.get::<degree_celsius>());
    let learned = run.after.map_or(String::new(), |band| {
        format!(", learned {} °C", band_words(band))
    });
    format!(
        "{}: read {read} °C, predicted {} °C{learned}.",
        run.name,
        band_words(run.before)
    )
}

fn row(run: &RunBar) -> Vec<String> {
    vec![
        run.name.clone(),
        whole(run.read.get::<degree_celsius>()),
        band_words(run.before),
        run.after.map_or("–".to_owned(), band_words),
    ]
}
