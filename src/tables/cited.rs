//! Values and ranges as the tables of the safety side write them, each with its source.

pub(super) use super::value::RawValue;
use super::{Place, TableError};
use crate::quantity::Band;
use crate::source::{Bibliography, Seen, SourceId, Sourced};
use serde::Deserialize;
use std::collections::BTreeMap;

/// A range with its source.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawRange {
    low: f64,
    high: f64,
    source: SourceId,
    at: String,
    seen: Seen,
}

impl RawRange {
    /// A range put together from keys of a row.
    pub fn new(low: f64, high: f64, source: SourceId, at: String, seen: Seen) -> Self {
        Self {
            low,
            high,
            source,
            at,
            seen,
        }
    }
}

/// A row being read: where it stands, what it is called, and the sources it may cite.
pub(super) struct Reading<'a> {
    pub place: Place,
    pub id: &'a str,
    pub sources: &'a Bibliography,
}

impl Reading<'_> {
    /// Refuses a number that is not finite or not above zero.
    pub fn positive(&self, quantity: &str, number: f64) -> Result<f64, TableError> {
        if number.is_finite() && number > 0.0 {
            return Ok(number);
        }
        Err(self.place.value(
            self.id,
            quantity.to_owned(),
            number,
            "it should be above zero",
        ))
    }

    /// Refuses a source key that is not in the bibliography.
    pub fn cite(&self, key: &SourceId) -> Result<(), TableError> {
        self.place.check_source(self.id, key, self.sources)
    }

    /// A number above zero, turned into a quantity by `unit`.
    pub fn value<Q>(
        &self,
        quantity: &str,
        raw: &RawValue,
        unit: fn(f64) -> Q,
    ) -> Result<Sourced<Q>, TableError> {
        self.positive(quantity, raw.value)?;
        self.cite(&raw.source)?;
        Ok(Sourced {
            value: unit(raw.value),
            uncertainty: raw.uncertainty.map(unit),
            source: raw.source.clone(),
            locator: raw.at.clone(),
            seen: raw.seen,
        })
    }

    /// A range that does not start below zero, turned into quantities by `unit`.
    pub fn range<Q: Copy + PartialOrd>(
        &self,
        quantity: &str,
        raw: &RawRange,
        unit: fn(f64) -> Q,
    ) -> Result<Sourced<Band<Q>>, TableError> {
        if !(raw.low.is_finite() && raw.low >= 0.0) {
            return Err(self.place.value(
                self.id,
                quantity.to_owned(),
                raw.low,
                "it should be finite and not below zero",
            ));
        }
        if !(raw.high.is_finite() && raw.high >= raw.low) {
            let expected = "the upper end should be finite and not below the lower one";
            return Err(self
                .place
                .value(self.id, quantity.to_owned(), raw.high, expected));
        }
        self.cite(&raw.source)?;
        Ok(Sourced {
            value: Band {
                low: unit(raw.low),
                high: unit(raw.high),
            },
            uncertainty: None,
            source: raw.source.clone(),
            locator: raw.at.clone(),
            seen: raw.seen,
        })
    }
}

/// Refuses units other than the expected ones, and units that are missing.
pub(super) fn check_units(
    file: &str,
    found: &BTreeMap<String, String>,
    expected: &[(&str, &'static str)],
) -> Result<(), TableError> {
    for (key, unit) in found {
        let Some((_, wanted)) = expected.iter().find(|(name, _)| name == key) else {
            return Err(TableError::Unit {
                file: file.to_owned(),
                key: key.clone(),
                found: unit.clone(),
                expected: "nothing: this file has no such quantity",
            });
        };
        if unit != wanted {
            return Err(TableError::Unit {
                file: file.to_owned(),
                key: key.clone(),
                found: unit.clone(),
                expected: wanted,
            });
        }
    }
    match expected.iter().find(|(name, _)| !found.contains_key(*name)) {
        None => Ok(()),
        Some((name, unit)) => Err(TableError::Unit {
            file: file.to_owned(),
            key: (*name).to_owned(),
            found: String::new(),
            expected: unit,
        }),
    }
}
