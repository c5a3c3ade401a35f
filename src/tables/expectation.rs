//! The bands of the expected burn: `tables/expectation.toml`.

use super::cited::Cited;
use super::error::TableError;
use super::read::TableFile;
use super::unit::{DegreeCelsius, KelvinStep, Number, Percent, WattPerSquareMetreKelvin};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The bands from which the expected burn is drawn; the head of the table says how they are used.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ExpectationBands {
    pub draws: Cited<Number>,
    /// Seed of the sample.
    pub seed: Cited<Number>,
    /// Power of the crystal water left with how fast the batch is heated.
    pub dry_power: Cited<Number>,
    /// Power of the fuel lost with how slowly it is heated.
    pub lost_power: Cited<Number>,
    /// Coldest start.
    pub start_from: Cited<DegreeCelsius>,
    /// Share of the way from there to the peak of the fuel at the warmest start.
    pub start_share: Cited<Percent>,
    /// Factor by which water and lost fuel of a course may be off.
    pub course_factor: Cited<Number>,
    /// Step by which its start may be off.
    pub course_interval: Cited<KelvinStep>,
    /// Most crystal water that stays although the model has it gone.
    pub water_kept: Cited<Percent>,
    /// Least share of the faces of a burning piece that sees the room.
    pub exposure_low: Cited<Percent>,
    /// Greatest.
    pub exposure_high: Cited<Percent>,
    /// Least heat transfer from a burning piece.
    pub transfer_low: Cited<WattPerSquareMetreKelvin>,
    /// Greatest.
    pub transfer_high: Cited<WattPerSquareMetreKelvin>,
    /// Most air joined, as a share of what the surplus fuel needs.
    pub air_most: Cited<Percent>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    prior: ExpectationBands,
}

const UNITS: [(&str, &str); 5] = [
    ("share", "%"),
    ("number", "1"),
    ("interval", "K"),
    ("temperature", "°C"),
    ("transfer", "W/(m2 K)"),
];

/// Reads the bands.
pub(super) fn built_in() -> Result<ExpectationBands, TableError> {
    let file = TableFile::built_in("expectation.toml");
    let rows: File = file.parse()?;
    file.check_units(&rows.units, &UNITS)?;
    Ok(rows.prior)
}
