//! Rules for weighing: least mass of a balance, usual linearity, what counts as a dopant.

use super::TableError;
use super::value::{RawValue, Reading};
use crate::quantity::{Mass, Ratio};
use crate::source::{Bibliography, Sourced};
use serde::Deserialize;
use std::collections::BTreeMap;
use uom::si::mass::gram;
use uom::si::ratio::percent;

/// What holds for every balance; `d` is its scale interval (readability).
#[derive(Debug, Clone, PartialEq)]
pub struct WeighingRules {
    /// Least standard deviation that counts, in d.
    pub repeatability_floor: Sourced<f64>,
    /// Factor from the standard deviation to the error that is judged.
    pub coverage_factor: Sourced<f64>,
    /// Relative error allowed at the minimum weight.
    pub weighing_tolerance: Sourced<Ratio>,
    /// Half width of the linearity band in d, for a balance that does not state it.
    pub usual_linearity: Sourced<f64>,
    /// Readability taken where the batch names no balance.
    pub assumed_readability: Sourced<Mass>,
    /// A metal below this share of the metal atoms is a dopant.
    pub most_dopant: Sourced<Ratio>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    minimum_weight: MinimumWeight,
    usual: Usual,
    assumed: Assumed,
    dopant: Dopant,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MinimumWeight {
    repeatability_floor: RawValue,
    coverage_factor: RawValue,
    weighing_tolerance: RawValue,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Usual {
    linearity: RawValue,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Assumed {
    readability: RawValue,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Dopant {
    most_share: RawValue,
}

impl WeighingRules {
    /// Reads the rules; `file` is named in errors.
    ///
    /// # Errors
    /// [`TableError`] if the text, a unit, a source or a number is wrong.
    pub(super) fn read(text: &str, file: &str, sources: &Bibliography) -> Result<Self, TableError> {
        let raw: File = super::parse_toml(text, file)?;
        let reading = Reading {
            file,
            text,
            sources,
        };
        reading.check_units(&raw.units, &[("readability", "g"), ("share", "%")])?;
        let value =
            |id: &str, raw: &RawValue, range| reading.value(id, reading.line_of(id), raw, range);
        let share = |id: &str, raw: &RawValue| {
            Ok::<_, TableError>(value(id, raw, (1e-6, 100.0))?.map(Ratio::new::<percent>))
        };
        Ok(Self {
            repeatability_floor: value(
                "repeatability_floor",
                &raw.minimum_weight.repeatability_floor,
                (0.0, 100.0),
            )?,
            coverage_factor: value(
                "coverage_factor",
                &raw.minimum_weight.coverage_factor,
                (1.0, 10.0),
            )?,
            weighing_tolerance: share(
                "weighing_tolerance",
                &raw.minimum_weight.weighing_tolerance,
            )?,
            usual_linearity: value("linearity", &raw.usual.linearity, (0.0, 100.0))?,
            assumed_readability: value("readability =", &raw.assumed.readability, (1e-7, 1e3))?
                .map(Mass::new::<gram>),
            most_dopant: share("most_share", &raw.dopant.most_share)?,
        })
    }
}
