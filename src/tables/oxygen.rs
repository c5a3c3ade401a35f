//! Oxygen lines, dopants and findings about hosts: `tables/oxygen.toml`.

use super::{Place, TableError, parse_toml, row_lines};
use crate::formula::{Element, Formula};
use crate::quantity::{GAS_CONSTANT, MolarEnergy, ThermodynamicTemperature};
use crate::source::{Bibliography, Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::thermodynamic_temperature::kelvin;

const FILE: (&str, &str) = ("oxygen.toml", include_str!("../../tables/oxygen.toml"));
const UNITS: [(&str, &str); 4] = [
    ("mu", "J/mol"),
    ("log10", "K"),
    ("temperature", "K"),
    ("stabilisation", "kJ/mol"),
];

/// Published oxygen potential of a couple.
#[derive(Debug, Clone, PartialEq)]
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
    /// How it was come by.
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
    #[must_use]
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

    /// Whether a temperature lies in its range.
    #[must_use]
    pub fn holds_at(&self, temperature: ThermodynamicTemperature) -> bool {
        self.from <= temperature && temperature <= self.to
    }
}

/// How far the line of a pure couple may move for a dilute dopant.
#[derive(Debug, Clone, PartialEq)]
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
    pub stabilisation: [MolarEnergy; 2],
    /// Why.
    pub why: String,
}

/// What was found about an oxidation state in a host.
#[derive(Debug, Clone, PartialEq)]
pub struct HostFinding {
    /// The cation.
    pub element: Element,
    /// The host.
    pub host: String,
    /// Its state there.
    pub state: String,
    /// Atmosphere or fuel.
    pub atmosphere: String,
    /// The finding.
    pub finding: String,
    /// Key of the source.
    pub source: SourceId,
    /// Where in the source.
    pub locator: String,
    /// How it was come by.
    pub seen: Seen,
}

/// All of it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OxygenTables {
    /// Published lines.
    pub lines: Vec<OxygenLine>,
    /// Dopants.
    pub dopants: Vec<Dopant>,
    /// Findings.
    pub hosts: Vec<HostFinding>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    units: BTreeMap<String, String>,
    #[serde(default)]
    line: Vec<RawLine>,
    #[serde(default)]
    dopant: Vec<RawDopant>,
    #[serde(default)]
    host: Vec<RawHost>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawLine {
    couple: String,
    reduced: String,
    oxidised: String,
    mu: Option<[f64; 4]>,
    log10: Option<[f64; 2]>,
    from_k: f64,
    to_k: f64,
    uncertainty: f64,
    source: SourceId,
    at: String,
    seen: Seen,
    #[serde(default)]
    note: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawDopant {
    element: String,
    reduced: String,
    oxidised: String,
    line: String,
    cations_per_oxygen: f64,
    stabilisation: [f64; 2],
    #[serde(rename = "kind")]
    _kind: Assumed,
    why: String,
}

/// A dopant's band is always an assumption, and its row has to say so.
#[derive(Deserialize)]
enum Assumed {
    #[serde(rename = "assumed")]
    Assumed,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawHost {
    element: String,
    host: String,
    state: String,
    atmosphere: String,
    finding: String,
    source: SourceId,
    at: String,
    seen: Seen,
}

impl OxygenTables {
    /// The built-in table.
    ///
    /// # Errors
    /// [`TableError`] if a row breaks a rule.
    pub(super) fn built_in(sources: &Bibliography) -> Result<Self, TableError> {
        let (file, text) = FILE;
        let raw: RawFile = parse_toml(text, file)?;
        for (key, expected) in UNITS {
            let found = raw.units.get(key).map_or("", String::as_str);
            if found != expected {
                return Err(TableError::Unit {
                    file: file.to_owned(),
                    key: key.to_owned(),
                    found: found.to_owned(),
                    expected,
                });
            }
        }
        let place = |line: usize| Place {
            file: file.to_owned(),
            line,
        };
        let mut tables = Self::default();
        for (row, line) in raw.line.into_iter().zip(row_lines(text, "[[line]]")) {
            place(line).check_source(&row.couple, &row.source, sources)?;
            tables.lines.push(row.read(&place(line))?);
        }
        for (row, line) in raw.dopant.into_iter().zip(row_lines(text, "[[dopant]]")) {
            if !tables.lines.iter().any(|l| l.couple == row.line) {
                return Err(place(line).reference(&row.element, &row.line));
            }
            let [least, most] = row.stabilisation;
            if !(0.0..=200.0).contains(&least) || !(least..=200.0).contains(&most) {
                let quantity = "stabilisation".to_owned();
                let expected = "0 to 200 kJ/mol, the smaller first";
                return Err(place(line).value(&row.element, quantity, most, expected));
            }
            tables.dopants.push(Dopant {
                element: element(&row.element, &place(line))?,
                reduced: row.reduced,
                oxidised: row.oxidised,
                line: row.line,
                cations_per_oxygen: row.cations_per_oxygen,
                stabilisation: row
                    .stabilisation
                    .map(MolarEnergy::new::<kilojoule_per_mole>),
                why: row.why,
            });
        }
        for (row, line) in raw.host.into_iter().zip(row_lines(text, "[[host]]")) {
            place(line).check_source(&row.host, &row.source, sources)?;
            tables.hosts.push(HostFinding {
                element: element(&row.element, &place(line))?,
                host: row.host,
                state: row.state,
                atmosphere: row.atmosphere,
                finding: row.finding,
                source: row.source,
                locator: row.at,
                seen: row.seen,
            });
        }
        Ok(tables)
    }
}

fn element(symbol: &str, place: &Place) -> Result<Element, TableError> {
    Element::from_symbol(symbol).ok_or_else(|| place.reference(symbol, symbol))
}

impl RawLine {
    fn read(self, place: &Place) -> Result<OxygenLine, TableError> {
        let formula = |text: &str| {
            Formula::parse(text).map_err(|source| TableError::Formula {
                file: place.file.clone(),
                line: place.line,
                id: self.couple.clone(),
                source,
            })
        };
        let form = match (self.mu, self.log10) {
            (Some(mu), None) => LineForm::Potential(mu),
            (None, Some(log10)) => LineForm::Logarithm(log10),
            _ => {
                let expected = "exactly one of mu and log10 has to be given";
                return Err(place.value(&self.couple, "form".to_owned(), f64::NAN, expected));
            }
        };
        let line = OxygenLine {
            reduced: formula(&self.reduced)?,
            oxidised: formula(&self.oxidised)?,
            couple: self.couple,
            form,
            from: ThermodynamicTemperature::new::<kelvin>(self.from_k),
            to: ThermodynamicTemperature::new::<kelvin>(self.to_k),
            uncertainty: self.uncertainty,
            source: self.source,
            locator: self.at,
            seen: self.seen,
            note: self.note,
        };
        // A slipped sign or digit: no couple here lies above 100 bar or below 1e-80 bar.
        for end in [line.from, line.to] {
            let log = line.log10_pressure(end);
            if !(-80.0..=2.0).contains(&log) || line.from >= line.to {
                let quantity = "log10 of the oxygen pressure at an end of the range".to_owned();
                return Err(place.value(&line.couple, quantity, log, "between -80 and 2"));
            }
        }
        Ok(line)
    }
}
