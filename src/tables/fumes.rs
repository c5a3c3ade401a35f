//! What comes off besides the main gases, as brackets, and the assumptions about the air.

use super::cited::{RawRange, RawValue, Reading, check_units};
use super::{Place, TableError, parse_toml, row_lines};
use crate::quantity::{Band, Ratio, Velocity, Volume};
use crate::source::{Bibliography, Seen, SourceId, Sourced};
use serde::Deserialize;
use std::collections::BTreeMap;
use uom::si::f64::Frequency;
use uom::si::frequency::cycle_per_hour;
use uom::si::ratio::ratio;
use uom::si::velocity::meter_per_second;
use uom::si::volume::cubic_meter;

const UNITS: [(&str, &str); 3] = [
    ("volume", "m3"),
    ("air_changes", "1/h"),
    ("velocity", "m/s"),
];

/// What a bracket counts by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
pub enum Basis {
    /// Nitrogen of all nitrate.
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
    /// Nitrogen of the fuels.
    #[serde(rename = "fuel nitrogen")]
    FuelNitrogen,
    /// Carbon of the fuels.
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
#[derive(Debug, Clone, PartialEq)]
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
    pub yield_band: Sourced<Band<Ratio>>,
}

/// Assumptions about the air of the room.
#[derive(Debug, Clone, PartialEq)]
pub struct AirAssumptions {
    /// Room taken if none is described.
    pub room_volume: Sourced<Volume>,
    /// Air changes of a room that states none.
    pub air_changes: Sourced<Frequency>,
    /// How much worse than a well-mixed room a real one is: local over mean concentration, and
    /// mean over real rate of clearing.
    pub mixing_factor: Sourced<Band<Ratio>>,
    /// Speed through the opening of a hood that draws as it should.
    pub face_velocity: Sourced<Band<Velocity>>,
    /// Share of the fumes that leaves a hood that draws as it should.
    pub escape: Sourced<Band<Ratio>>,
    /// Share that leaves a hood that does not.
    pub escape_of_weak_hood: Sourced<Band<Ratio>>,
    /// Share of the product that leaves the pot as dust where gas is faster than powder falls.
    pub dust_when_carried: Sourced<Band<Ratio>>,
    /// The same where the powder falls faster.
    pub dust_when_calm: Sourced<Band<Ratio>>,
}

/// Everything about fumes.
#[derive(Debug, Clone, PartialEq)]
pub struct FumeTable {
    /// Brackets.
    pub brackets: Vec<Bracket>,
    /// Metals whose nitrates hydrolyse on heating.
    pub hydrolysing: Vec<String>,
    /// Assumptions about the air.
    pub assumed: AirAssumptions,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    units: BTreeMap<String, String>,
    hydrolysing: Vec<String>,
    assumed: RawAssumed,
    bracket: Vec<RawBracket>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAssumed {
    room_volume: RawValue,
    air_changes: RawValue,
    mixing_factor: RawRange,
    face_velocity: RawRange,
    escape: RawRange,
    escape_of_weak_hood: RawRange,
    dust_when_carried: RawRange,
    dust_when_calm: RawRange,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawBracket {
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

/// Reads a file of brackets.
pub(super) fn read(
    text: &str,
    file: &str,
    sources: &Bibliography,
) -> Result<FumeTable, TableError> {
    let raw: RawFile = parse_toml(text, file)?;
    check_units(file, &raw.units, &UNITS)?;
    let place = |line| Place {
        file: file.to_owned(),
        line,
    };
    let reading = Reading {
        place: place(1),
        id: "[assumed]",
        sources,
    };
    let a = &raw.assumed;
    let share = Ratio::new::<ratio>;
    let assumed = AirAssumptions {
        room_volume: reading.value("room_volume", &a.room_volume, Volume::new::<cubic_meter>)?,
        air_changes: reading.value(
            "air_changes",
            &a.air_changes,
            Frequency::new::<cycle_per_hour>,
        )?,
        mixing_factor: reading.range("mixing_factor", &a.mixing_factor, share)?,
        face_velocity: reading.range(
            "face_velocity",
            &a.face_velocity,
            Velocity::new::<meter_per_second>,
        )?,
        escape: reading.range("escape", &a.escape, share)?,
        escape_of_weak_hood: reading.range("escape_of_weak_hood", &a.escape_of_weak_hood, share)?,
        dust_when_carried: reading.range("dust_when_carried", &a.dust_when_carried, share)?,
        dust_when_calm: reading.range("dust_when_calm", &a.dust_when_calm, share)?,
    };
    let mut brackets = Vec::new();
    for (row, line) in raw.bracket.into_iter().zip(row_lines(text, "[[bracket]]")) {
        let reading = Reading {
            place: place(line),
            id: &row.gas,
            sources,
        };
        let upper = row.phi_to.unwrap_or(f64::INFINITY);
        if !(row.phi_from >= 0.0 && upper > row.phi_from) {
            let expected = "it should be above `phi_from`, which should not be below zero";
            return Err(reading
                .place
                .value(&row.gas, "phi_to".to_owned(), upper, expected));
        }
        let band = RawRange::new(row.low, row.high, row.source, row.at, row.seen);
        brackets.push(Bracket {
            basis: row.of,
            equivalence_ratio: (row.phi_from, upper),
            slow: row.slow,
            yield_band: reading.range("yield", &band, share)?,
            fuels: row.fuels,
            gas: row.gas,
        });
    }
    Ok(FumeTable {
        brackets,
        hydrolysing: raw.hydrolysing,
        assumed,
    })
}
