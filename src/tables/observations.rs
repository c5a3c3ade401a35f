//! How far readings of runs may be off: `tables/observations.toml`.

use super::TableError;
use super::cited::Cited;
use super::read::TableFile;
use super::unit::{KelvinStep, Number, Percent};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What weights the sample when runs are learned from; the head of the table says more.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Observations {
    /// Standard deviation of a measured peak by instrument.
    pub error: PeakErrors,
    /// Scatter of runs of one batch.
    pub scatter: Scatter,
    /// How draws are weighted.
    pub weight: Weighting,
}

/// Standard deviation of a measured peak.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PeakErrors {
    /// By a thermocouple.
    pub thermocouple: Cited<KelvinStep>,
    /// By a pyrometer at one wavelength.
    pub pyrometer: Cited<KelvinStep>,
    /// By a pyrometer at two.
    pub two_colour_pyrometer: Cited<KelvinStep>,
    /// By a thermal camera.
    pub camera: Cited<KelvinStep>,
    /// By an instrument that the file does not name.
    pub not_stated: Cited<KelvinStep>,
}

/// Standard deviation of runs of one batch in one pot.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scatter {
    /// Of the peak.
    pub peak: Cited<KelvinStep>,
    /// Of the time to ignition, as a share of it.
    pub time: Cited<Percent>,
}

/// How draws are weighted.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weighting {
    /// Degrees of freedom of Student's t.
    pub freedom: Cited<Number>,
    /// Chance that a run lights against its draw, or fails against it.
    pub other_way: Cited<Percent>,
    /// Standard deviation of the time scale before any run, as a factor.
    pub time_factor: Cited<Number>,
    /// Effective draws that are aimed at.
    pub enough_draws: Cited<Number>,
    /// Effective draws below which bands are rough.
    pub few_draws: Cited<Number>,
    /// Blocks of draws at most.
    pub most_blocks: Cited<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    error: PeakErrors,
    scatter: Scatter,
    weight: Weighting,
}

const UNITS: [(&str, &str); 3] = [("interval", "K"), ("share", "%"), ("number", "1")];

/// Reads the table.
pub(super) fn built_in() -> Result<Observations, TableError> {
    let file = TableFile::built_in("observations.toml");
    let rows: File = file.parse()?;
    file.check_units(&rows.units, &UNITS)?;
    Ok(Observations {
        error: rows.error,
        scatter: rows.scatter,
        weight: rows.weight,
    })
}
