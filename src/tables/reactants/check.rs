//! Reading the rows of reactants, with the checks that each of them must pass.

use super::reactant::{Melting, Reactant, State, WaterRange};
use super::solubility::{Basis, Solubility};
use crate::quantity::units::{degree_celsius, percent};
use crate::quantity::{Ratio, ThermodynamicTemperature};
use crate::source::{Seen, SourceId};
use crate::tables::cited::Cited;
use crate::tables::error::{Fault, TableError};
use crate::tables::read::{Row, TableFile};
use crate::tables::unit::{DegreeCelsius, Unit};
use serde::de::Error;
use serde::{Deserialize, Deserializer};
use std::collections::BTreeMap;
use std::ops::Range;

/// Units of a file of reactants.
pub(super) const UNITS: [(&str, &str); 5] = [
    ("enthalpy", "kJ/mol"),
    ("heat_capacity", "J/(mol K)"),
    ("density", "g/cm3"),
    ("temperature", "degC"),
    ("assay", "%"),
];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    #[serde(default)]
    reactant: Vec<Reactant>,
}

/// The rows of a file of one's own; none of a built-in one, whose rows are read one by one.
pub(super) fn read(file: &TableFile) -> Result<Vec<Reactant>, TableError> {
    let mut rows: File = file.parse()?;
    file.check_units(&rows.units, &UNITS)?;
    rows.reactant.iter_mut().for_each(called);
    file.check(&rows.reactant)?;
    Ok(rows.reactant)
}

/// A built-in row from its prepared form.
pub(super) fn read_row(file: &TableFile, prepared: &str) -> Result<Reactant, TableError> {
    let mut row: Reactant = file.parse_prepared(prepared)?;
    called(&mut row);
    row.check().map_err(|fault| file.error(&row.id, fault))?;
    Ok(row)
}

/// A row without a name is called by its formula.
fn called(row: &mut Reactant) {
    if row.name.is_empty() {
        row.name = row.formula.to_string();
    }
    if row.id.is_empty() {
        row.id.clone_from(&row.name);
    }
}

/// A substance on the bottle is a solid unless its row says otherwise.
pub(super) fn usual_state() -> State {
    State::Solid
}

impl Row for Reactant {
    const ARRAY: &'static str = "reactant";

    fn id(&self) -> String {
        self.id.clone()
    }

    fn check(&self) -> Result<(), Fault> {
        if let Some(cas) = self.cas.as_ref().filter(|cas| !is_cas_number(cas)) {
            let what = format!("{cas} fails the check digit of the registry's numbers");
            return Err(Fault::incomplete(what));
        }
        if let Some(metal) = &self.metal {
            if self.formula.amount_of(metal.element) <= 0.0 {
                let what = format!("{} is not in {}", metal.element, self.formula);
                return Err(Fault::incomplete(what));
            }
        }
        if let Some(assay) = self.assay.as_ref().filter(|assay| assay.from > assay.to) {
            let (from, to) = (assay.from.get::<percent>(), assay.to.get::<percent>());
            let what = format!("{from} to {to} % is no range of assays");
            return Err(Fault::incomplete(what));
        }
        if let Some(other) = self.alternatives.iter().find(|a| !a.value.is_finite()) {
            let fault = Fault::value("an alternative", other.value, "it should be a number");
            return Err(fault);
        }
        // wide enough for every substance of the kind, narrow enough for a slipped decimal
        let atoms: f64 = self.formula.amounts().values().sum();
        within("formation_enthalpy", &self.formation_enthalpy, -2e4..1e3)?;
        within(
            "heat_capacity",
            &self.heat_capacity,
            5.0 * atoms..45.0 * atoms,
        )?;
        within("entropy", &self.entropy, 3.0 * atoms..45.0 * atoms)?;
        within(
            "enthalpy_of_solution",
            &self.enthalpy_of_solution,
            -150.0..150.0,
        )?;
        within("density", &self.density, 0.5..10.0)?;
        within(
            "decomposition_onset",
            &self.decomposition_onset,
            -200.0..3000.0,
        )
    }
}

fn within<U: Unit>(key: &str, value: &Option<Cited<U>>, range: Range<f64>) -> Result<(), Fault> {
    match value.as_ref().map(Cited::written) {
        Some(number) if !range.contains(&number) => {
            let expected = format!("it should be from {} to {}", range.start, range.end);
            Err(Fault::value(
                format!("{key} in {}", U::NAME),
                number,
                expected,
            ))
        }
        _ => Ok(()),
    }
}

/// An assay in percent. 101 %: pharmacopoeias allow the titration a little above 100.
pub(super) fn assay<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Ratio, D::Error> {
    let number = f64::deserialize(deserializer)?;
    if number > 0.0 && number <= 101.0 {
        return Ok(Ratio::new::<percent>(number));
    }
    Err(D::Error::custom(format!("{number} % is no assay")))
}

/// A melting point with its remarks, as it is written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WrittenMelting {
    value: f64,
    source: SourceId,
    at: String,
    seen: Seen,
    #[serde(default)]
    in_own_water: bool,
    #[serde(default)]
    note: String,
}

impl TryFrom<WrittenMelting> for Melting {
    type Error = String;

    fn try_from(row: WrittenMelting) -> Result<Self, String> {
        if !(-200.0..3000.0).contains(&row.value) {
            return Err(format!(
                "a melting point of {} °C should be from -200 to 3000",
                row.value
            ));
        }
        Ok(Self {
            temperature: Cited {
                value: DegreeCelsius::quantity(row.value),
                uncertainty: None,
                source: row.source,
                locator: row.at,
                seen: row.seen,
            },
            in_own_water: row.in_own_water,
            note: row.note,
        })
    }
}

/// How far the crystal water may differ, as it is written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WrittenWaterRange {
    from: Option<f64>,
    to: Option<f64>,
    note: String,
    seen: Seen,
}

impl TryFrom<WrittenWaterRange> for WaterRange {
    type Error = &'static str;

    fn try_from(row: WrittenWaterRange) -> Result<Self, &'static str> {
        let limits = match (row.from, row.to) {
            (Some(a), Some(b)) if (0.0..b).contains(&a) && b <= 24.0 => Some((a, b)),
            (None, None) => None,
            _ => return Err("`from` and `to` of the crystal water go together, rising, 0 to 24"),
        };
        Ok(Self {
            limits,
            note: row.note,
            seen: row.seen,
        })
    }
}

/// A solubility as it is written: points in one of two measures.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WrittenSolubility {
    /// °C, mass percent of the saturated solution
    #[serde(default)]
    mass_percent: Vec<(f64, f64)>,
    /// °C, g per 100 g of water
    #[serde(default)]
    per_100_g_water: Vec<(f64, f64)>,
    basis: Basis,
    #[serde(default)]
    miscible: bool,
    falling: Option<String>,
    #[serde(default)]
    note: String,
    source: SourceId,
    at: String,
    seen: Seen,
}

impl TryFrom<WrittenSolubility> for Solubility {
    type Error = String;

    fn try_from(row: WrittenSolubility) -> Result<Self, String> {
        if !row.mass_percent.is_empty() && !row.per_100_g_water.is_empty() {
            return Err("give `mass_percent` or `per_100_g_water`, not both".to_owned());
        }
        let of_water = row.per_100_g_water.iter();
        let of_water = of_water.map(|(t, s)| (*t, 100.0 * s / (100.0 + s)));
        let percents: Vec<(f64, f64)> = row.mass_percent.iter().copied().chain(of_water).collect();
        let off = |(t, w): &&(f64, f64)| !(-60.0..=250.0).contains(t) || !(0.0..100.0).contains(w);
        if let Some((t, w)) = percents.iter().find(off) {
            return Err(format!(
                "a solubility of {w} mass percent at {t} °C cannot be"
            ));
        }
        for pair in percents.windows(2) {
            let t = pair[1].0;
            if t <= pair[0].0 {
                return Err(format!("the solubility at {t} °C is out of order"));
            }
            if pair[1].1 < pair[0].1 && row.falling.is_none() {
                return Err(format!(
                    "the solubility falls at {t} °C; say why in `falling` if it is true"
                ));
            }
        }
        let points = percents.into_iter().map(|(t, w)| {
            let temperature = ThermodynamicTemperature::new::<degree_celsius>(t);
            (temperature, Ratio::new::<percent>(w))
        });
        Ok(Self {
            points: points.collect(),
            basis: row.basis,
            miscible: row.miscible,
            falling: row.falling,
            note: row.note,
            source: row.source,
            locator: row.at,
            seen: row.seen,
        })
    }
}

/// Check digit of a CAS registry number: the digits before it, weighted 1, 2, 3 … from the
/// right, sum to it modulo 10 (CAS, "Check Digit Verification of CAS Registry Numbers").
pub(super) fn is_cas_number(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [first, middle, check] = parts[..] else {
        return false;
    };
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    if !(2..=7).contains(&first.len()) || middle.len() != 2 || check.len() != 1 {
        return false;
    }
    if ![first, middle, check].iter().all(|s| digits(s)) {
        return false;
    }
    let sum: u32 = first
        .bytes()
        .chain(middle.bytes())
        .rev()
        .zip(1..)
        .map(|(digit, weight)| u32::from(digit - b'0') * weight)
        .sum();
    sum % 10 == u32::from(check.as_bytes()[0] - b'0')
}
