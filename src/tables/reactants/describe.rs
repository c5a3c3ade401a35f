//! Everything the tables know of one reactant, row by row, for text and JSON reports.

use super::Reactants;
use super::reactant::{Assay, AssayBasis, Reactant};
use super::solubility::{Basis, Solubility};
use crate::quantity::units::{degree_celsius, gram_per_mole, percent, ratio};
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
    /// A property whose origin is not told.
    pub(crate) fn new(key: &'static str, label: impl Into<String>, content: Content) -> Self {
        Self {
            key,
            label: label.into(),
            content,
            source: None,
            locator: String::new(),
            seen: None,
        }
    }

    pub(crate) fn text(key: &'static str, label: &str, text: impl Into<String>) -> Self {
        Self::new(key, label, Content::Text(text.into()))
    }

    pub(crate) fn number(
        key: &'static str,
        label: impl Into<String>,
        value: f64,
        uncertainty: Option<f64>,
        unit: &'static str,
    ) -> Self {
        let content = Content::Number {
            value,
            uncertainty,
            unit,
        };
        Self::new(key, label, content)
    }

    /// A number in the unit of its table, which the key names.
    pub(crate) fn cited<U: Unit>(
        key: &'static str,
        label: impl Into<String>,
        value: &Cited<U>,
    ) -> Self {
        let (number, band) = (value.written(), value.written_uncertainty());
        Self::number(key, label, number, band, shown_unit(U::NAME)).from(
            &value.source,
            &value.locator,
            value.seen,
        )
    }

    /// The same with its origin.
    pub(crate) fn from(self, source: &SourceId, locator: &str, seen: Seen) -> Self {
        Self {
            source: Some(source.clone()),
            locator: locator.to_owned(),
            seen: Some(seen),
            ..self
        }
    }

    fn seen(mut self, seen: Option<Seen>) -> Self {
        self.seen = seen;
        self
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
                let mut row = PropertyRow::cited(
                    "formation_enthalpy_of_hydrate_kj_per_mol",
                    format!("formation enthalpy with {} H2O", state.water),
                    value,
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
        let names = Content::List(r.aliases.clone());
        rows.push(PropertyRow::new("other_names", "other names", names));
    }
    if let Some(cas) = &r.cas {
        rows.push(PropertyRow::text("cas", "CAS number", cas).seen(r.cas_seen));
    }
    let plain = |key, label: &str, value, band, unit| PropertyRow {
        locator: "from the formula".to_owned(),
        seen: Some(Seen::Computed),
        ..PropertyRow::number(key, label, value, band, unit)
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
    let label = "valence sum (− oxidises, + reduces)";
    rows.extend(
        r.redox_valence
            .map(|valence| plain("redox_valence", label, valence, None, "")),
    );
    rows
}

fn thermochemistry(r: &Reactant) -> Vec<PropertyRow> {
    let mut rows = Vec::new();
    for (key, label, value) in [
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
    ] {
        rows.extend(value.as_ref().map(|v| PropertyRow::cited(key, label, v)));
    }
    for (key, label, value) in [
        (
            "heat_capacity_j_per_mol_k",
            "heat capacity",
            &r.heat_capacity,
        ),
        ("entropy_j_per_mol_k", "entropy", &r.entropy),
    ] {
        rows.extend(value.as_ref().map(|v| PropertyRow::cited(key, label, v)));
    }
    let density = r.density.as_ref();
    rows.extend(density.map(|v| PropertyRow::cited("density_g_per_cm3", "density", v)));
    if let Some(m) = &r.melting {
        let mut row = PropertyRow::cited("melting_point_c", "melting point", &m.temperature);
        if m.in_own_water {
            row.label.push_str(", in its own crystal water");
        }
        if !m.note.is_empty() {
            row.locator = format!("{}; {}", row.locator, m.note);
        }
        rows.push(row);
    }
    if let Some(t) = &r.decomposition_onset {
        let label = "decomposes from about";
        rows.push(PropertyRow::cited("decomposition_onset_c", label, t));
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
        let list = Content::List(gases.list.clone());
        let row = PropertyRow::new("decomposition_gases", "gases when heated alone", list);
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
    let label = format!("hazards ({}); the supplier's sheet decides", h.signal);
    let row = PropertyRow::new("hazard_statements", label, Content::List(statements));
    rows.push(row.from(&h.source, "", h.seen));
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
    let content = match curve.is_empty() {
        true => Content::Text(words.to_owned()),
        false => Content::Curve(curve),
    };
    let label = format!("solubility, g {basis} per 100 g water");
    PropertyRow::new("solubility_g_per_100_g_water", label, content)
        .from(&s.source, &s.locator, s.seen)
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
        .map(|a| {
            let label = format!("{} not taken", a.quantity.replace('_', " "));
            let locator = format!("{}; {}", a.locator, a.reason);
            PropertyRow::number("alternative", label, a.value, None, unit(&a.quantity))
                .from(&a.source, &locator, a.seen)
        })
        .collect()
}
