//! What a judged powder shows, what may be behind it, and what to change next.

use super::error::TableError;
use super::read::{Row, TableFile};
use crate::source::SourceId;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// A number that a judged powder has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
pub enum Measure {
    /// Powder without its loss on ignition over the expected powder, in %.
    #[serde(rename = "yield")]
    Yield,
    /// Mass lost on calcining, in %.
    #[serde(rename = "loss on ignition")]
    LossOnIgnition,
    /// ΔE00 against the reference.
    #[serde(rename = "colour difference")]
    ColourDifference,
    /// Mean crystallite size, in nm.
    #[serde(rename = "crystallite size")]
    CrystalliteSize,
    /// Microstrain, in %.
    #[serde(rename = "strain")]
    Strain,
    /// Live flakes of those counted, in %.
    #[serde(rename = "flakes")]
    Flakes,
    /// Brightness against the reference's, in %.
    #[serde(rename = "against reference")]
    AgainstReference,
    /// Measured peak above the expected band, in K.
    #[serde(rename = "peak above band")]
    PeakAboveBand,
    /// Measured peak below the expected band, in K.
    #[serde(rename = "peak below band")]
    PeakBelowBand,
    /// Density of the foam, in g/cm³.
    #[serde(rename = "foam density")]
    FoamDensity,
    /// Equivalence ratio φ.
    #[serde(rename = "fuel ratio")]
    FuelRatio,
}

impl fmt::Display for Measure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

impl Measure {
    fn unit(self) -> &'static str {
        match self {
            Self::CrystalliteSize => "nm",
            Self::PeakAboveBand | Self::PeakBelowBand => "K",
            Self::FoamDensity => "g/cm3",
            Self::ColourDifference | Self::FuelRatio => "1",
            Self::Yield
            | Self::LossOnIgnition
            | Self::Strain
            | Self::Flakes
            | Self::AgainstReference => "%",
        }
    }
}

/// Something that is there or not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
pub enum Sign {
    /// Grey, brown or black although no metal of the batch makes it so.
    #[serde(rename = "dark")]
    Dark,
    /// It fizzes in dilute acid.
    #[serde(rename = "fizz")]
    Fizz,
    /// A magnet pulls it: nickel or cobalt, but no iron, is in the batch.
    #[serde(rename = "magnetic metal")]
    MagneticMetal,
    /// A magnet pulls it though no iron, cobalt or nickel is in the batch.
    #[serde(rename = "magnetic without metal")]
    MagneticWithoutMetal,
    /// A ferrite that a magnet does not pull.
    #[serde(rename = "not magnetic")]
    NotMagnetic,
    /// It was held under a lamp or its afterglow was read.
    #[serde(rename = "phosphor")]
    Phosphor,
}

/// What must hold for a finding.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(untagged, deny_unknown_fields)]
pub enum Condition {
    /// A measure is above a limit.
    Above {
        measure: Measure,
        /// The limit, in the measure's unit.
        above: f64,
    },
    /// A measure is below a limit.
    Below {
        measure: Measure,
        /// The limit, in the measure's unit.
        below: f64,
    },
    Sign {
        sign: Sign,
    },
}

/// One row.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    /// Code, stable from run to run.
    pub id: String,
    /// Order: of several findings the change of the lowest is the one to try.
    pub rank: u32,
    /// All of these must hold.
    pub when: Vec<Condition>,
    /// What it means.
    pub says: String,
    /// What may be behind it.
    pub causes: Vec<String>,
    /// The one thing to change.
    pub change: String,
    /// What the change brings with it, if it makes the burn hotter or the powder livelier.
    pub danger: Option<String>,
    /// Where it comes from.
    pub source: SourceId,
}

impl Row for Finding {
    const ARRAY: &'static str = "finding";

    fn id(&self) -> String {
        self.id.clone()
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<Measure, String>,
    finding: Vec<Finding>,
}

/// Reads the findings, in the order of their ranks.
pub(super) fn built_in() -> Result<Vec<Finding>, TableError> {
    let file = TableFile::built_in("findings.toml");
    let File { units, mut finding } = file.parse()?;
    file.check_units_of(&units, |measure| Some(measure.unit()))?;
    file.check(&finding)?;
    finding.sort_by_key(|finding| finding.rank);
    Ok(finding)
}
