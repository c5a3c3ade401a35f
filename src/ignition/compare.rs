//! The same batch on every heating way, side by side, with the reasons in plain words.

use super::adapter::Common;
use super::course::course_on;
use super::error::IgnitionError;
use super::verdict::{Judged, WayResult};
use super::why::{Reason, reasons};
use crate::batch::Batch;
use crate::tables::Tables;

/// The comparison.
#[derive(Debug)]
pub struct Comparison {
    /// The ways in the order of the tables.
    pub ways: Vec<WayResult>,
    /// Reasons, each with its numbers.
    pub why: Vec<Reason>,
    /// The same as one paragraph.
    pub reasons: String,
}

impl Comparison {
    /// The ways that have a course, in their order.
    pub fn judged(&self) -> impl Iterator<Item = &Judged> {
        self.ways.iter().filter_map(|way| way.judged.as_ref().ok())
    }
}

/// Heats `batch` on every way of the tables.
///
/// # Errors
/// [`IgnitionError`] if the batch itself cannot be balanced; what goes wrong on one way only is
/// kept beside that way.
pub fn all_ways(batch: &Batch, tables: &Tables) -> Result<Comparison, IgnitionError> {
    let common = Common::new(batch, tables)?;
    let ways: Vec<WayResult> = tables
        .heating
        .ways
        .iter()
        .map(|row| WayResult {
            way: row.id.clone(),
            judged: course_on(&common, row).and_then(Judged::new),
        })
        .collect();
    let reasons = reasons(&ways);
    let text: Vec<String> = reasons.iter().map(Reason::to_string).collect();
    Ok(Comparison {
        ways,
        why: reasons,
        reasons: text.join(" "),
    })
}
