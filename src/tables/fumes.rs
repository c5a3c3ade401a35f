//! What comes off besides the main gases, as brackets, and the assumptions about the air.

use super::cited::{Cited, CitedBand, band};
use super::error::TableError;
use super::read::{Row, TableFile};
use super::unit::{CubicMetre, MetrePerSecond, One, PerHour, Share};
use crate::quantity::{Band, Ratio};
use crate::source::{Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What a bracket counts by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
pub enum Basis {
    #[serde(rename = "nitrate nitrogen")]
    NitrateNitrogen,
    /// Nitrogen of the nitrate that finds no fuel: (1 − φ) of all in a lean batch, else none.
    #[serde(rename = "surplus nitrate")]
    SurplusNitrate,
    /// Nitrogen of the nitrates whose metals hydrolyse on heating (Al, Fe, Cr, Zr, Ti, Ga, In, Bi).
    #[serde(rename = "hydrolysing nitrate")]
    HydrolysingNitrate,
    /// Nitric acid added as such.
    #[serde(rename = "free acid")]
    FreeAcid,
    #[serde(rename = "fuel nitrogen")]
    FuelNitrogen,
    #[serde(rename = "fuel carbon")]
    FuelCarbon,
    /// Carbon of the fuel that finds no nitrate: (1 − 1/φ) of all in a rich batch, else none.
    #[serde(rename = "surplus carbon")]
    SurplusCarbon,
    /// Urea, in mol.
    #[serde(rename = "urea")]
    Urea,
    /// Urea that finds no nitrate: (1 − 1/φ) of all in a rich batch, else none.
    #[serde(rename = "surplus urea")]
    SurplusUrea,
    /// Nitrogen of ammonium salts.
    #[serde(rename = "ammonium")]
    Ammonium,
    /// Sulfur in the batch.
    #[serde(rename = "sulfur")]
    Sulfur,
    /// Chlorine in the batch.
    #[serde(rename = "chlorine")]
    Chlorine,
}

/// How much of a gas comes off per mole of the basis: a range, never a point.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "Written")]
pub struct Bracket {
    /// The gas, such as `NO2`.
    pub gas: String,
    /// What it counts by.
    pub basis: Basis,
    /// Equivalence ratios for which it holds: from the first up to, not including, the second.
    pub equivalence_ratio: (f64, f64),
    /// Only on slow heating (plate, furnace, lamp), only on quick heating, or both.
    pub slow: Option<bool>,
    /// Only with one of these fuels; empty for any.
    pub fuels: Vec<String>,
    /// Mol of gas per mol of the basis.
    pub yield_band: CitedBand<One>,
}

/// A bracket as it is written: the ends of both ranges side by side.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    gas: String,
    of: Basis,
    #[serde(default)]
    phi_from: f64,
    phi_to: Option<f64>,
    slow: Option<bool>,
    #[serde(default)]
    fuels: Vec<String>,
    low: f64,
    high: f64,
    source: SourceId,
    at: String,
    seen: Seen,
}

impl TryFrom<Written> for Bracket {
    type Error = String;

    fn try_from(row: Written) -> Result<Self, String> {
        let (from, to) = (row.phi_from, row.phi_to.unwrap_or(f64::INFINITY));
        if !(from >= 0.0 && to > from) {
            return Err(format!(
                "`phi_from` is {from} and `phi_to` {to}: they should rise from zero or more"
            ));
        }
        let value: Band<Ratio> = band::<One>(row.low, row.high)?;
        Ok(Self {
            gas: row.gas,
            basis: row.of,
            equivalence_ratio: (from, to),
            slow: row.slow,
            fuels: row.fuels,
            yield_band: CitedBand {
                value,
                source: row.source,
                locator: row.at,
                seen: row.seen,
            },
        })
    }
}

impl Row for Bracket {
    const ARRAY: &'static str = "bracket";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        self.gas.clone()
    }
}

/// Assumptions about the air of the room.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AirAssumptions {
    /// Room taken if none is described.
    pub room_volume: Cited<CubicMetre>,
    /// Air changes of a room that states none.
    pub air_changes: Cited<PerHour>,
    /// How much worse than a well-mixed room a real one is: local over mean concentration, and
    /// mean over real rate of clearing.
    pub mixing_factor: CitedBand<One>,
    /// Speed through the opening of a hood that draws as it should.
    pub face_velocity: CitedBand<MetrePerSecond>,
    /// Share of the fumes that leaves a hood that draws as it should.
    pub escape: CitedBand<Share>,
    /// Share that leaves a hood that does not.
    pub escape_of_weak_hood: CitedBand<Share>,
    /// Share of the product that leaves the pot as dust where gas is faster than powder falls.
    pub dust_when_carried: CitedBand<Share>,
    /// The same where the powder falls faster.
    pub dust_when_calm: CitedBand<Share>,
}

/// Everything about fumes.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FumeTable {
    units: BTreeMap<String, String>,
    /// Metals whose nitrates hydrolyse on heating.
    pub hydrolysing: Vec<String>,
    /// Assumptions about the air.
    pub assumed: AirAssumptions,
    #[serde(rename = "bracket")]
    pub brackets: Vec<Bracket>,
}

impl FumeTable {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("fumes.toml");
        let table: Self = file.parse()?;
        let units = [
            ("volume", "m3"),
            ("air_changes", "1/h"),
            ("velocity", "m/s"),
        ];
        file.check_units(&table.units, &units)?;
        file.check(&table.brackets)?;
        Ok(table)
    }
}
