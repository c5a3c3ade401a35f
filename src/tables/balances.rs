//! Rules for weighing: least mass of a balance, usual linearity, what counts as a dopant.

use super::cited::Cited;
use super::error::{Fault, TableError};
use super::read::TableFile;
use super::unit::{Gram, Number, Percent};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What holds for every balance; `d` is its scale interval (readability).
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WeighingRules {
    units: BTreeMap<String, String>,
    /// Least mass that a balance should weigh.
    pub minimum_weight: MinimumWeight,
    /// What a data sheet would say.
    pub usual: UsualBalance,
    /// Taken where the batch names no balance.
    pub assumed: AssumedBalance,
    /// What counts as a dopant.
    pub dopant: DopantRule,
}

/// Least mass: coverage factor · standard deviation / tolerance.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MinimumWeight {
    /// Least standard deviation that counts, in d.
    pub repeatability_floor: Cited<Number>,
    /// Factor from the standard deviation to the error that is judged.
    pub coverage_factor: Cited<Number>,
    /// Relative error allowed at the minimum weight.
    pub weighing_tolerance: Cited<Percent>,
}

/// A balance of which only the readability is known.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UsualBalance {
    /// Half width of the linearity band in d.
    pub linearity: Cited<Number>,
}

/// A balance that is not described.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AssumedBalance {
    pub readability: Cited<Gram>,
}

/// Where a dopant ends.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DopantRule {
    /// A metal below this share of the metal atoms is a dopant.
    pub most_share: Cited<Percent>,
}

impl WeighingRules {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("balances.toml");
        let rules: Self = file.parse()?;
        file.check_units(&rules.units, &[("readability", "g"), ("share", "%")])?;
        for (name, number) in [
            (
                "repeatability_floor",
                &rules.minimum_weight.repeatability_floor,
            ),
            ("coverage_factor", &rules.minimum_weight.coverage_factor),
            ("linearity", &rules.usual.linearity),
        ] {
            if number.value <= 0.0 {
                let fault = Fault::value("value", number.value, "it should be above zero");
                return Err(file.error(name, fault));
            }
        }
        Ok(rules)
    }
}
