//! A result as a document: what is said, apart from how it is written.
//!
//! A command turns its result into a [`Document`] once; the writers make text ([`text`]), a part
//! of a page ([`html`]) or a table for a spreadsheet ([`csv`]) of it. Which lines are worth saying
//! is decided here above, never in a writer.

mod csv;
mod html;
mod parts;
mod text;

pub use csv::decimal_comma;
pub(super) use csv::quoted;
pub(super) use html::{figure, prose};
pub(super) use parts::LABELS;
pub use parts::{Cell, Document, Part, Section, Table};

use super::number::{ends, whole};
use crate::quantity::units::{hour, minute, percent, second};
use crate::quantity::{Band, Time};

/// Two numbers as `a to b`; one if they print alike, and `up to b` if the lower one is nothing.
pub(super) fn band_text<Q: Copy>(band: Band<Q>, digits: i32, show: impl Fn(Q) -> f64) -> String {
    let (low, high) = (show(band.low), show(band.high));
    let (low_text, high_text) = ends(low, high, digits);
    if low_text == high_text {
        low_text
    } else if low.abs() < 1e-3 * high.abs() {
        format!("up to {high_text}")
    } else {
        format!("{low_text} to {high_text}")
    }
}

/// A time band in seconds, minutes or hours, whichever suits the upper end.
pub(super) fn time_text(band: Band<Time>) -> String {
    let seconds = band.high.get::<second>();
    if seconds < 120.0 {
        format!("{} s", band_text(band, 2, |t| t.get::<second>()))
    } else if seconds < 7200.0 {
        format!("{} min", band_text(band, 2, |t| t.get::<minute>()))
    } else {
        format!("{} h", band_text(band, 2, |t| t.get::<hour>()))
    }
}

/// The share `part` of `whole` in whole percent.
pub(super) fn percent_text(share: crate::quantity::Ratio) -> String {
    format!("{} %", whole(share.get::<percent>()))
}
