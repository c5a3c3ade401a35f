//! Oxygen lines, dopants and findings about hosts: `tables/oxygen.toml`.

use super::cited::quantity;
use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use super::solutions::Assumed;
use super::unit::{Kelvin, KilojoulePerMole, Unit};
use crate::formula::{Element, Formula};
use crate::quantity::units::kelvin;
use crate::quantity::{GAS_CONSTANT, MolarEnergy, ThermodynamicTemperature};
use crate::source::{Seen, SourceId};
use serde::de::Error;
use serde::{Deserialize, Deserializer};
use std::collections::BTreeMap;

const UNITS: [(&str, &str); 4] = [
    ("mu", "J/mol"),
    ("log10", "K"),
    ("temperature", "K"),
    ("stabilisation", "kJ/mol"),
];

/// Published oxygen potential of a couple.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "Written")]
pub struct OxygenLine {
    /// Its name.
    pub couple: String,
    /// The reduced side.
    pub reduced: Formula,
    /// The oxidised side.
    pub oxidised: Formula,
    form: LineForm,
    /// Lowest temperature of its range.
    pub from: ThermodynamicTemperature,
    /// Highest temperature of its range.
    pub to: ThermodynamicTemperature,
    /// Half width of its band in decades of the oxygen pressure.
    pub uncertainty: f64,
    /// Key of the source.
    pub source: SourceId,
    /// Where in the source.
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
    /// What else to know.
    pub note: String,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum LineForm {
    /// μ(O2) = a + bT + cT ln T + dT², J/mol.
    Potential([f64; 4]),
    /// log10(p/bar) = A/T + B.
    Logarithm([f64; 2]),
}

impl OxygenLine {
    /// log10(p(O2)/bar) of the couple, also outside its range.
    pub fn log10_pressure(&self, temperature: ThermodynamicTemperature) -> f64 {
        let t = temperature.get::<kelvin>();
        match self.form {
            LineForm::Potential([a, b, c, d]) => {
                let mu = a + b * t + c * t * t.ln() + d * t * t;
                mu / (GAS_CONSTANT * t * std::f64::consts::LN_10)
            }
            LineForm::Logarithm([a, b]) => a / t + b,
        }
    }
}

/// How far the line of a pure couple may move for a dilute dopant.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dopant {
    /// The dopant.
    pub element: Element,
    /// Its reduced state, such as "Eu2+".
    pub reduced: String,
    /// Its oxidised state.
    pub oxidised: String,
    /// Name of the line of the pure couple.
    pub line: String,
    /// Cations that one O2 oxidises.
    pub cations_per_oxygen: f64,
    /// By how much a host may hold the reduced cation better than the oxidised one, per mole of
    /// cation: least and most. Assumed.
    #[serde(deserialize_with = "stabilisation")]
    pub stabilisation: [MolarEnergy; 2],
    #[serde(rename = "kind")]
    _kind: Assumed,
    pub why: String,
}

/// What was found about an oxidation state in a host.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HostFinding {
    /// The cation.
    pub element: Element,
    pub host: String,
    pub state: String,
    /// Atmosphere or fuel.
    pub atmosphere: String,
    pub finding: String,
    /// Key of the source.
    pub source: SourceId,
    /// Where in the source.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

/// All of it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OxygenTables {
    units: BTreeMap<String, String>,
    /// Published lines.
    #[serde(rename = "line")]
    pub lines: Vec<OxygenLine>,
    #[serde(rename = "dopant")]
    pub dopants: Vec<Dopant>,
    /// Findings.
    #[serde(rename = "host")]
    pub hosts: Vec<HostFinding>,
}

/// A line as it is written: one of the two forms.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    couple: String,
    reduced: Formula,
    oxidised: Formula,
    mu: Option<[f64; 4]>,
    log10: Option<[f64; 2]>,
    #[serde(deserialize_with = "quantity::<Kelvin, _>")]
    from_k: ThermodynamicTemperature,
    #[serde(deserialize_with = "quantity::<Kelvin, _>")]
    to_k: ThermodynamicTemperature,
    uncertainty: f64,
    source: SourceId,
    at: String,
    seen: Seen,
    #[serde(default)]
    note: String,
}

impl TryFrom<Written> for OxygenLine {
    type Error = String;

    fn try_from(row: Written) -> Result<Self, String> {
        let form = match (row.mu, row.log10) {
            (Some(mu), None) => LineForm::Potential(mu),
            (None, Some(log10)) => LineForm::Logarithm(log10),
            _ => return Err("exactly one of `mu` and `log10` has to be given".to_owned()),
        };
        Ok(Self {
            reduced: row.reduced,
            oxidised: row.oxidised,
            couple: row.couple,
            form,
            from: row.from_k,
            to: row.to_k,
            uncertainty: row.uncertainty,
            source: row.source,
            locator: row.at,
            seen: row.seen,
            note: row.note,
        })
    }
}

/// Least and most, in kJ/mol.
fn stabilisation<'de, D: Deserializer<'de>>(deserializer: D) -> Result<[MolarEnergy; 2], D::Error> {
    let [least, most] = <[f64; 2]>::deserialize(deserializer)?;
    if 0.0 <= least && least <= most && most <= 200.0 {
        return Ok([least, most].map(KilojoulePerMole::quantity));
    }
    Err(D::Error::custom(format!(
        "{least} and {most} should be from 0 to 200 kJ/mol, the smaller first"
    )))
}

impl Row for OxygenLine {
    const ARRAY: &'static str = "line";

    fn id(&self) -> String {
        self.couple.clone()
    }

    fn check(&self) -> Result<(), Fault> {
        // A slipped sign or digit: no couple here lies above 100 bar or below 1e-80 bar.
        for end in [self.from, self.to] {
            let log = self.log10_pressure(end);
            if !(-80.0..=2.0).contains(&log) || self.from >= self.to {
                let quantity = "log10 of the oxygen pressure at an end of the range";
                return Err(Fault::value(quantity, log, "it should be from -80 to 2"));
            }
        }
        Ok(())
    }
}

impl Row for Dopant {
    const ARRAY: &'static str = "dopant";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        self.element.to_string()
    }
}

impl OxygenTables {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("oxygen.toml");
        let tables: Self = file.parse()?;
        file.check_units(&tables.units, &UNITS)?;
        file.check(&tables.lines)?;
        file.check(&tables.dopants)?;
        let known = |dopant: &Dopant| tables.lines.iter().any(|line| line.couple == dopant.line);
        match tables.dopants.iter().position(|dopant| !known(dopant)) {
            None => Ok(tables),
            Some(at) => {
                let fault = Fault::Reference(tables.dopants[at].line.clone());
                Err(file.row_error(&tables.dopants, at, fault))
            }
        }
    }
}
