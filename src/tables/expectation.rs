//! The bands of the expected burn: `tables/expectation.toml`.

use super::numbers::{Class, Numbers, RawNumber, celsius, check_units, percent, same};
use super::{Place, TableError, parse_toml};
use crate::source::Bibliography;
use serde::Deserialize;
use std::collections::BTreeMap;

const FILE: (&str, &str) = (
    "expectation.toml",
    include_str!("../../tables/expectation.toml"),
);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    units: BTreeMap<String, String>,
    prior: BTreeMap<String, RawNumber>,
}

const CLASSES: [Class; 5] = [
    Class {
        name: "share",
        unit: "%",
        to_si: percent,
        range: (0.0, 100.0),
    },
    Class {
        name: "number",
        unit: "1",
        to_si: same,
        range: (0.0, 10_000.0),
    },
    Class {
        name: "interval",
        unit: "K",
        to_si: same,
        range: (0.0, 200.0),
    },
    Class {
        name: "temperature",
        unit: "°C",
        to_si: celsius,
        range: (20.0, 300.0),
    },
    Class {
        name: "transfer",
        unit: "W/(m2 K)",
        to_si: same,
        range: (0.0, 1000.0),
    },
];

const KEYS: [(&str, &str); 14] = [
    ("draws", "number"),
    ("seed", "number"),
    ("dry_power", "number"),
    ("lost_power", "number"),
    ("start_from", "temperature"),
    ("start_share", "share"),
    ("course_factor", "number"),
    ("course_interval", "interval"),
    ("water_kept", "share"),
    ("exposure_low", "share"),
    ("exposure_high", "share"),
    ("transfer_low", "transfer"),
    ("transfer_high", "transfer"),
    ("air_most", "share"),
];

/// Reads the bands.
pub(super) fn built_in(sources: &Bibliography) -> Result<Numbers, TableError> {
    let raw: RawFile = parse_toml(FILE.1, FILE.0)?;
    check_units(FILE.0, &raw.units, &CLASSES)?;
    let place = Place {
        file: FILE.0.to_owned(),
        line: 1,
    };
    let needed = KEYS.map(|(key, _)| key);
    Numbers::read(
        raw.prior,
        "prior",
        &place,
        (&CLASSES, &KEYS),
        &needed,
        sources,
    )
}
