//! Exposure limits: what concentration in air counts as too much, for how long, and who says so.

use super::error::TableError;
use super::read::{Row, TableFile};
use crate::formula::{Element, Formula};
use crate::quantity::units::{
    atmosphere, degree_celsius, hour, milligram_per_cubic_meter, minute, part_per_million,
};
use crate::quantity::{MassDensity, Pressure, Ratio, ThermodynamicTemperature, Time};
use crate::source::{Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;

const UNITS: [(&str, &str); 2] = [("gas", "ppm"), ("dust", "mg/m3")];

/// Over what time a limit counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
pub enum LimitKind {
    /// Dangerous to life or health at once.
    #[serde(rename = "immediate danger")]
    ImmediateDanger,
    /// Never to be exceeded.
    #[serde(rename = "ceiling")]
    Ceiling,
    /// Mean of 15 minutes.
    #[serde(rename = "short-term")]
    ShortTerm,
    /// Mean of a working day of 8 hours.
    #[serde(rename = "8 h")]
    EightHour,
}

impl LimitKind {
    /// The time that the mean is taken over; none for a peak.
    pub fn averaging_time(self) -> Option<Time> {
        match self {
            Self::ImmediateDanger | Self::Ceiling => None,
            Self::ShortTerm => Some(Time::new::<minute>(15.0)),
            Self::EightHour => Some(Time::new::<hour>(8.0)),
        }
    }
}

impl fmt::Display for LimitKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::ImmediateDanger => "immediate danger",
            Self::Ceiling => "ceiling",
            Self::ShortTerm => "15 min mean",
            Self::EightHour => "8 h mean",
        })
    }
}

/// What a limit is for.
#[derive(Debug, Clone, PartialEq)]
pub enum Agent {
    /// A gas or vapour.
    Gas(Formula),
    /// The dust of compounds of an element, counted as the element.
    Element(Element),
    /// Any dust without a limit of its own, counted whole.
    Dust,
}

/// A concentration in air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Concentration {
    /// Amount of gas per amount of air.
    OfGas(Ratio),
    /// Mass of dust per volume of air.
    OfDust(MassDensity),
}

impl fmt::Display for Concentration {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (value, unit) = match self {
            Self::OfGas(fraction) => (fraction.get::<part_per_million>(), "ppm"),
            Self::OfDust(density) => (density.get::<milligram_per_cubic_meter>(), "mg/m³"),
        };
        // Two significant digits: no estimate of these is better, and limits are set in round numbers.
        let digits = if value > 0.0 {
            (1.0 - value.log10().floor()).clamp(0.0, 9.0)
        } else {
            0.0
        };
        let text = format!("{value:.*}", digits as usize);
        let text = match text.contains('.') {
            true => text.trim_end_matches('0').trim_end_matches('.'),
            false => &text,
        };
        write!(f, "{text} {unit}")
    }
}

/// One limit of one body.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "Written")]
pub struct ExposureLimit {
    /// What it is for.
    pub agent: Agent,
    /// Name of the agent.
    pub name: String,
    /// Who set it.
    pub body: String,
    /// Its name there: REL, PEL, TLV, IOELV, IDLH …
    pub list: String,
    /// Over what time it counts.
    pub kind: LimitKind,
    /// The limit.
    pub value: Concentration,
    /// Year of the list it was read from.
    pub year: u16,
    /// Key of the source.
    pub source: SourceId,
    /// Where in the source.
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
    /// Whose text it was read in, where that is not who set it.
    pub quoted_by: Option<String>,
    /// What else to know: fraction, skin, carcinogen.
    pub note: String,
}

/// The air that limits are given for: 25 °C and 1 atm (29 CFR 1910.1000, table Z-1, footnote a).
pub fn limit_air() -> (ThermodynamicTemperature, Pressure) {
    let temperature = ThermodynamicTemperature::new::<degree_celsius>(25.0);
    (temperature, Pressure::new::<atmosphere>(1.0))
}

/// A limit as it is written: exactly one of `gas`, `element` and `dust`, and the number in ppm or
/// mg/m3 after it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    gas: Option<Formula>,
    element: Option<Element>,
    #[serde(default)]
    dust: bool,
    name: String,
    body: String,
    list: String,
    kind: LimitKind,
    value: f64,
    year: u16,
    source: SourceId,
    at: String,
    seen: Seen,
    quoted_by: Option<String>,
    #[serde(default)]
    note: String,
}

impl TryFrom<Written> for ExposureLimit {
    type Error = String;

    fn try_from(row: Written) -> Result<Self, String> {
        let agent = match (row.gas, row.element, row.dust) {
            (Some(formula), None, false) => Agent::Gas(formula),
            (None, Some(element), false) => Agent::Element(element),
            (None, None, true) => Agent::Dust,
            _ => {
                return Err(format!(
                    "{} needs exactly one of `gas`, `element` and `dust = true`",
                    row.name
                ));
            }
        };
        if !(row.value.is_finite() && row.value > 0.0) {
            return Err(format!("a limit of {} should be above zero", row.value));
        }
        let value = match agent {
            Agent::Gas(_) => Concentration::OfGas(Ratio::new::<part_per_million>(row.value)),
            Agent::Element(_) | Agent::Dust => {
                Concentration::OfDust(MassDensity::new::<milligram_per_cubic_meter>(row.value))
            }
        };
        Ok(Self {
            agent,
            value,
            name: row.name,
            body: row.body,
            list: row.list,
            kind: row.kind,
            year: row.year,
            source: row.source,
            locator: row.at,
            seen: row.seen,
            quoted_by: row.quoted_by,
            note: row.note,
        })
    }
}

impl ExposureLimit {
    /// Who set it, over what time it counts, of which year, and where it was read if not there.
    pub fn set_by(&self) -> String {
        let read = match (&self.quoted_by, self.seen) {
            (Some(other), _) => format!("; read in {other}"),
            (None, Seen::Document) => String::new(),
            (None, seen) => format!("; {seen}"),
        };
        let Self {
            body,
            list,
            kind,
            year,
            ..
        } = self;
        format!("{body} {list}, {kind}, {year}{read}")
    }
}

impl Row for ExposureLimit {
    const ARRAY: &'static str = "limit";

    fn id(&self) -> String {
        let Self {
            agent,
            name,
            body,
            list,
            kind,
            ..
        } = self;
        let agent = match agent {
            Agent::Gas(formula) => formula.to_string(),
            Agent::Element(element) => element.to_string(),
            Agent::Dust => "dust".to_owned(),
        };
        format!("{name} ({agent}), {body} {list}, {kind}")
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    #[serde(default)]
    limit: Vec<ExposureLimit>,
}

/// Reads the limits of a file in their order.
pub(super) fn read(file: &TableFile) -> Result<Vec<ExposureLimit>, TableError> {
    let rows: File = file.parse()?;
    file.check_units(&rows.units, &UNITS)?;
    file.check(&rows.limit)?;
    Ok(rows.limit)
}
