//! Everything the tables know of one reactant, row by row, for text and JSON reports.

use super::Reactants;
use super::reactant::{Assay, AssayBasis, Reactant};
use super::solubility::{Basis, Solubility};
use crate::quantity::units::{
    degree_celsius, gram_per_cubic_centimeter, gram_per_mole, joule_per_kelvin_mole, kelvin,
    kilojoule_per_mole, percent, ratio,
};
use crate::source::{Seen, SourceId};
use crate::tables::cited::Cited;
use crate::tables::unit::Unit;

/// What a property row holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Content {
    /// A number as it is shown, its band and unit, and the number that belongs to the row's key.
    Number {
        /// Value in `unit`.
        value: f64,
        /// Half width of the band in `unit`.
        uncertainty: Option<f64>,
        /// Unit as shown.
        unit: &'static str,
        /// The value in the unit that the key names.
        keyed: f64,
    },
    /// Words.
    Text(String),
    /// A list of words.
    List(Vec<String>),
    /// Temperature in °C and grams of dissolved substance per 100 g of water.
    Curve(Vec<(f64, f64)>),
}

/// One property with its origin.
#[derive(Debug, Clone, PartialEq)]
pub struct PropertyRow {
    /// Key for machines; the unit is in the name.
    pub key: &'static str,
    /// Label for people.
    pub label: String,
    /// The value.
    pub content: Content,
    /// Where it was read.
    pub source: Option<SourceId>,
    /// Page, table or method.
    pub locator: String,
    /// How it was found.
    pub seen: Option<Seen>,
}

impl PropertyRow {
    fn text(key: &'static str, label: &str, text: impl Into<String>) -> Self {
        Self {
            key,
            label: label.to_owned(),
            content: Content::Text(text.into()),
            source: None,
            locator: String::new(),
            seen: None,
        }
    }

    fn seen(mut self, seen: Option<Seen>) -> Self {
        self.seen = seen;
        self
    }

    /// A number in the unit of its table; `keyed` gives the one that the key names.
    fn number<U: Unit>(
        key: &'static str,
        label: impl Into<String>,
        value: &Cited<U>,
        keyed: impl Fn(U::Quantity) -> f64,
    ) -> Self {
        Self {
            key,
            label: label.into(),
            content: Content::Number {
                value: value.written(),
                uncertainty: value.written_uncertainty(),
                unit: shown_unit(U::NAME),
                keyed: keyed(value.value),
            },
            source: Some(value.source.clone()),
            locator: value.locator.clone(),
            seen: Some(value.seen),
        }
    }
}

/// The unit of a table as people read it.
fn shown_unit(unit: &'static str) -> &'static str {
    match unit {
        "degC" => "°C",
        other => other,
    }
}

impl Reactants {
    /// Every property of `reactant` that the tables hold, then the other states of hydration of
    /// its salt, then the values that were not preferred.
    pub fn describe(&self, reactant: &Reactant) -> Vec<PropertyRow> {
        let mut rows = identity(reactant);
        rows.extend(thermochemistry(reactant));
        rows.extend(self.family_rows(reactant));
        rows.extend(handling(reactant));
        rows.extend(not_preferred(reactant));
        rows
    }

    fn family_rows(&self, reactant: &Reactant) -> Vec<PropertyRow> {
        let family = self.family(reactant);
        let mut waters: Vec<f64> = family
            .members()
            .iter()
            .map(|r| r.formula.crystal_water())
            .collect();
        if reactant.formula.crystal_water() > 0.0 && waters.first().is_some_and(|n| *n > 0.0) {
            waters.insert(0, 0.0);
        }
        waters
            .into_iter()
            .filter(|n| (n - reactant.formula.crystal_water()).abs() > 1e-9)
            .filter_map(|n| family.at(n).ok())
            .map(|state| {
                let value = &state.formation_enthalpy;
                let mut row = PropertyRow::number(
                    "formation_enthalpy_of_hydrate_kj_per_mol",
                    format!("formation enthalpy with {} H2O", state.water),
                    value,
                    |q| q.get::<kilojoule_per_mole>(),
                );
                let method = state.method.to_string();
                if value.locator != method {
                    row.locator = format!("{method}; {}", value.locator);
                }
                row
            })
            .collect()
    }
}

fn identity(r: &Reactant) -> Vec<PropertyRow> {
    let mut rows = vec![
        PropertyRow::text("name", "name", &r.name),
        PropertyRow::text("formula", "formula", r.formula.to_string()),
        PropertyRow::text("role", "used as", r.role.to_string()),
        PropertyRow::text("state", "state", r.state.to_string()),
    ];
    if !r.aliases.is_empty() {
        let mut row = PropertyRow::text("other_names", "other names", "");
        row.content = Content::List(r.aliases.clone());
        rows.push(row);
    }
    if let Some(cas) = &r.cas {
        rows.push(PropertyRow::text("cas", "CAS number", cas).seen(r.cas_seen));
    }
    let plain = |key, label: &str, value: f64, band, unit| PropertyRow {
        key,
        label: label.to_owned(),
        content: Content::Number {
            value,
            uncertainty: band,
            unit,
            keyed: value,
        },
        source: None,
        locator: "from the formula".to_owned(),
        seen: Some(Seen::Computed),
    };
    rows.push(plain(
        "molar_mass_g_per_mol",
        "molar mass",
        r.formula.molar_mass().get::<gram_per_mole>(),
        Some(r.formula.molar_mass_uncertainty().get::<gram_per_mole>()),
        "g/mol",
    ));
    if let Some(metal) = &r.metal {
        let oxide = match metal.common_oxide.as_str() {
            "" | "(none)" => String::new(),
            oxide => format!(", burns to {oxide}"),
        };
        rows.push(PropertyRow::text(
            "metal",
            "brings",
            format!("{} {:+}{oxide}", metal.element, metal.oxidation_state),
        ));
    }
    let label = "valence sum (− oxidizes, + reduces)";
    rows.extend(
        r.redox_valence
            .map(|valence| plain("redox_valence", label, valence, None, "")),
    );
    rows
}

fn thermochemistry(r: &Reactant) -> Vec<PropertyRow> {
    let kj = |q: crate::quantity::MolarEnergy| q.get::<kilojoule_per_mole>();
    let j = |q: crate::quantity::MolarHeatCapacity| q.get::<joule_per_kelvin_mole>();
    let mut rows = Vec::new();
    let energies = [
        (
            "formation_enthalpy_kj_per_mol",
            "formation enthalpy",
            &r.formation_enthalpy,
        ),
        (
            "enthalpy_of_solution_kj_per_mol",
            "enthalpy of solution",
            &r.enthalpy_of_solution,
        ),
    ];
    for (key, label, value) in energies {
        if let Some(v) = value {
            rows.push(PropertyRow::number(key, label, v, kj));
        }
    }
    let capacities = [
        (
            "heat_capacity_j_per_mol_k",
            "heat capacity",
            &r.heat_capacity,
        ),
        ("entropy_j_per_mol_k", "entropy", &r.entropy),
    ];
    for (key, label, value) in capacities {
        if let Some(v) = value {
            rows.push(PropertyRow::number(key, label, v, j));
        }
    }
    if let Some(v) = &r.density {
        let get = |q: crate::quantity::MassDensity| q.get::<gram_per_cubic_centimeter>();
        rows.push(PropertyRow::number("density_g_per_cm3", "density", v, get));
    }
    let absolute = |t: crate::quantity::ThermodynamicTemperature| t.get::<kelvin>();
    if let Some(m) = &r.melting {
        let t = &m.temperature;
        let mut row = PropertyRow::number("melting_temperature_k", "melting point", t, absolute);
        if m.in_own_water {
            row.label.push_str(", in its own crystal water");
        }
        if !m.note.is_empty() {
            row.locator = format!("{}; {}", row.locator, m.note);
        }
        rows.push(row);
    }
    if let Some(t) = &r.decomposition_onset {
        let key = "decomposition_onset_temperature_k";
        let label = "decomposes from about";
        rows.push(PropertyRow::number(key, label, t, absolute));
    }
    rows
}

fn handling(r: &Reactant) -> Vec<PropertyRow> {
    let mut rows = Vec::new();
    for (key, label, text) in [
        ("thermal_steps", "on heating", &r.thermal_steps),
        ("hygroscopic", "in moist air", &r.hygroscopic),
        ("toxicity", "toxicity and dangers", &r.toxicity),
    ] {
        if !text.is_empty() {
            rows.push(PropertyRow::text(key, label, text).seen(Some(Seen::FromMemory)));
        }
    }
    if let Some(gases) = r.gases.as_ref().filter(|gases| !gases.list.is_empty()) {
        let mut row = PropertyRow::text("decomposition_gases", "gases when heated alone", "");
        row.content = Content::List(gases.list.clone());
        rows.push(row.seen(Some(gases.seen)));
    }
    rows.extend(r.solubility.as_ref().map(solubility));
    if let Some(w) = &r.water_range {
        rows.push(
            PropertyRow::text("crystal_water_range", "crystal water uncertain", &w.note)
                .seen(Some(w.seen)),
        );
    }
    rows.extend(r.assay.as_ref().map(usual_assay));
    let h = &r.hazards;
    let mut statements = h.statements.clone();
    if statements.is_empty() {
        statements.push("none listed".to_owned());
    }
    rows.push(PropertyRow {
        key: "hazard_statements",
        label: format!("hazards ({}); the supplier's sheet decides", h.signal),
        content: Content::List(statements),
        source: Some(h.source.clone()),
        locator: String::new(),
        seen: Some(h.seen),
    });
    rows
}

fn solubility(s: &Solubility) -> PropertyRow {
    let per_100_g = |w: f64| 100.0 * w / (1.0 - w);
    let points = s.points.iter();
    let curve: Vec<(f64, f64)> = points
        .map(|(t, w)| (t.get::<degree_celsius>(), per_100_g(w.get::<ratio>())))
        .collect();
    let basis = match s.basis {
        Basis::Anhydrous => "without crystal water",
        Basis::AsWritten => "as written",
    };
    let words = match (s.miscible, s.note.as_str()) {
        (true, _) => "mixes with water in all proportions",
        (false, note) => note,
    };
    PropertyRow {
        key: "solubility_g_per_100_g_water",
        label: format!("solubility, g {basis} per 100 g water"),
        content: match curve.is_empty() {
            true => Content::Text(words.to_owned()),
            false => Content::Curve(curve),
        },
        source: Some(s.source.clone()),
        locator: s.locator.clone(),
        seen: Some(s.seen),
    }
}

fn usual_assay(a: &Assay) -> PropertyRow {
    let (from, to) = (a.from.get::<percent>(), a.to.get::<percent>());
    let basis = match a.basis {
        AssayBasis::Mass => "by mass",
        AssayBasis::Metals => "among the metals, says nothing of the water",
    };
    let note = if a.note.is_empty() {
        String::new()
    } else {
        format!(" ({})", a.note)
    };
    let range = if from < to {
        format!("{from} to {to} %")
    } else {
        format!("{from} %")
    };
    let text = format!("{range} {basis}{note}");
    PropertyRow::text("assay", "usual assay", text).seen(Some(a.seen))
}

fn not_preferred(r: &Reactant) -> Vec<PropertyRow> {
    let unit = |quantity: &str| match quantity {
        "formation_enthalpy" => "kJ/mol",
        "heat_capacity" => "J/(mol K)",
        "density" => "g/cm3",
        _ => "",
    };
    r.alternatives
        .iter()
        .map(|a| PropertyRow {
            key: "alternative",
            label: format!("{} not taken", a.quantity.replace('_', " ")),
            content: Content::Number {
                value: a.value,
                uncertainty: None,
                unit: unit(&a.quantity),
                keyed: a.value,
            },
            source: Some(a.source.clone()),
            locator: format!("{}; {}", a.locator, a.reason),
            seen: Some(a.seen),
        })
        .collect()
}
