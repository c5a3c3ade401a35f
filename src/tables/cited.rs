//! A value of a table with its unit and its source: the one form in which tables hold numbers.

use super::unit::Unit;
use crate::quantity::Band;
use crate::source::{Seen, SourceId};
use serde::de::Error;
use serde::{Deserialize, Deserializer};

/// A value with its source; `U` is the unit in which the table writes it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "WrittenValue", bound = "")]
pub struct Cited<U: Unit> {
    /// The value.
    pub value: U::Quantity,
    /// Half width of the band around it (about two standard deviations), if one is known.
    pub uncertainty: Option<U::Difference>,
    /// Key of the source in the bibliography.
    pub source: SourceId,
    /// Page, table, equation or method.
    pub locator: String,
    /// How the value was found.
    pub seen: Seen,
}

/// A range with its source.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "WrittenRange", bound = "")]
pub struct CitedBand<U: Unit> {
    /// The range.
    pub value: Band<U::Quantity>,
    /// Key of the source in the bibliography.
    pub source: SourceId,
    /// Page, table, equation or method.
    pub locator: String,
    /// How the range was found.
    pub seen: Seen,
}

/// `{ value = …, uncertainty = …, source = "key", at = "locator", seen = "document" }`.
#[derive(Deserialize)]
#[serde(
    deny_unknown_fields,
    expecting = "a number with its source: { value = …, source = \"memory\", at = \"handbook\", seen = \"from memory\" }"
)]
struct WrittenValue {
    value: f64,
    uncertainty: Option<f64>,
    source: SourceId,
    at: String,
    seen: Seen,
}

/// `{ low = …, high = …, source = "key", at = "locator", seen = "document" }`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenRange {
    low: f64,
    high: f64,
    source: SourceId,
    at: String,
    seen: Seen,
}

/// The quantity of a number, if it can be meant.
pub(super) fn plausible<U: Unit>(number: f64) -> Result<U::Quantity, String> {
    let (low, high) = U::RANGE;
    if (low..=high).contains(&number) {
        return Ok(U::quantity(number));
    }
    let unit = if U::NAME == "1" { "" } else { U::NAME };
    Err(format!(
        "{number} {unit} should be from {low} to {high} {unit}"
    ))
}

impl<U: Unit> TryFrom<WrittenValue> for Cited<U> {
    type Error = String;

    fn try_from(written: WrittenValue) -> Result<Self, String> {
        if let Some(band) = written
            .uncertainty
            .filter(|band| band.is_nan() || *band < 0.0)
        {
            return Err(format!("an uncertainty of {band} should be zero or more"));
        }
        Ok(Self {
            value: plausible::<U>(written.value)?,
            uncertainty: written.uncertainty.map(U::difference),
            source: written.source,
            locator: written.at,
            seen: written.seen,
        })
    }
}

impl<U: Unit> TryFrom<WrittenRange> for CitedBand<U> {
    type Error = String;

    fn try_from(written: WrittenRange) -> Result<Self, String> {
        let WrittenRange { low, high, .. } = written;
        Ok(Self {
            value: band::<U>(low, high)?,
            source: written.source,
            locator: written.at,
            seen: written.seen,
        })
    }
}

/// The band between two numbers of a unit.
pub(super) fn band<U: Unit>(low: f64, high: f64) -> Result<Band<U::Quantity>, String> {
    if high.is_nan() || low.is_nan() || high < low {
        return Err(format!("`high` is {high}, which is below `low`, {low}"));
    }
    Ok(Band {
        low: plausible::<U>(low)?,
        high: plausible::<U>(high)?,
    })
}

impl<U: Unit> Cited<U> {
    /// The number as the table writes it.
    pub fn written(&self) -> f64 {
        U::number(self.value)
    }

    /// The half width of the band as the table writes it.
    pub fn written_uncertainty(&self) -> Option<f64> {
        self.uncertainty.map(U::step)
    }

    /// The half width of the band in the coherent SI unit; zero if none is known.
    pub(crate) fn si_uncertainty(&self) -> f64 {
        let one = U::si(U::quantity(1.0)) - U::si(U::quantity(0.0));
        self.written_uncertainty().map_or(0.0, |band| one * band)
    }

    /// The bare number in the coherent SI unit, for the kernels.
    pub(crate) fn si(&self) -> f64 {
        U::si(self.value)
    }
}

/// A bare number of a row as the quantity it is, for fields without a source of their own.
pub(super) fn quantity<'de, U: Unit, D: Deserializer<'de>>(
    deserializer: D,
) -> Result<U::Quantity, D::Error> {
    plausible::<U>(f64::deserialize(deserializer)?).map_err(D::Error::custom)
}

/// [`quantity`] for a field that may be left out.
pub(super) fn optional_quantity<'de, U: Unit, D: Deserializer<'de>>(
    deserializer: D,
) -> Result<Option<U::Quantity>, D::Error> {
    quantity::<U, D>(deserializer).map(Some)
}
