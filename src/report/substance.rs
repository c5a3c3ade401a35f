//! What the tables hold of a substance, the list of all, and the weakest values.

use super::document::{Document, Section};
use super::number::significant;
use super::view::{json_of, list, view};
use crate::formula::Formula;
use crate::quantity::ThermodynamicTemperature;
use crate::quantity::units::{
    degree_celsius, gram_per_mole, joule_per_kelvin_mole, kelvin, kilojoule_per_mole, ratio,
};
use crate::source::{Bibliography, Seen, SourceId};
use crate::tables::reactants::{Content, PropertyRow};
use crate::tables::species::{HeatCapacityKind, Phase};
use crate::tables::{Alternative, KnownPhase, Species, Tables};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fmt::Write;

/// Temperatures at which the heat capacity of a species is shown, K.
const SHOWN: [f64; 3] = [298.15, 1000.0, 2000.0];

/// One substance with its rows.
#[derive(Debug, Clone)]
pub struct SubstanceSheet {
    /// Heading.
    pub title: String,
    /// "reactant" or "product".
    pub kind: &'static str,
    /// Properties.
    pub rows: Vec<PropertyRow>,
}

/// Sheets of everything that `name` can mean, reactants first.
pub fn substance_sheets(name: &str, tables: &Tables) -> Vec<SubstanceSheet> {
    let mut sheets = Vec::new();
    if let Ok(reactant) = tables.reactants.resolve(name, None) {
        sheets.push(SubstanceSheet {
            title: format!("{} ({})", reactant.name, reactant.formula),
            kind: "reactant",
            rows: tables.reactants.describe(&reactant),
        });
    }
    let mut found: Vec<&Species> = tables.find_species(name);
    // what lies in the dish comes before its vapour
    found.sort_by_key(|species| std::cmp::Reverse(species.phase));
    for species in found {
        sheets.push(SubstanceSheet {
            title: format!("{}, as a product of the burn", species.id),
            kind: "product",
            rows: refused_row(&species.formula, tables)
                .into_iter()
                .chain(species_rows(species, tables))
                .collect(),
        });
    }
    if let Ok(formula) = Formula::parse(name) {
        for phase in &tables.known_phases {
            if sheets.is_empty() && phase.formula.amounts() == formula.amounts() {
                sheets.push(known_sheet(phase));
            }
        }
    }
    sheets
}

/// Why the substance is refused as an ingredient, if it is: its hazard comes first.
fn refused_row(formula: &Formula, tables: &Tables) -> Option<PropertyRow> {
    let reason = tables.reactants.refusal(&formula.to_string())?;
    let text = format!("refused: {reason}");
    Some(PropertyRow::text("as_ingredient", "as an ingredient", text))
}

/// A phase without data: it can form, the balance does not know it.
fn known_sheet(phase: &KnownPhase) -> SubstanceSheet {
    let text = "known to form, no data: not in the balance";
    let data = PropertyRow::text("data", "data", text);
    let note = PropertyRow::text("note", "note", phase.note.clone());
    let note = note.from(&phase.source, &phase.locator, phase.seen);
    SubstanceSheet {
        title: format!("{}, as a product of the burn", phase.formula),
        kind: "product",
        rows: vec![data, note],
    }
}

/// What another compilation has instead, with the reason why it was not taken.
fn alternative_row(other: &Alternative) -> PropertyRow {
    let energy = other
        .formation_enthalpy
        .map(|h| h.get::<kilojoule_per_mole>());
    let entropy = other.entropy.map(|s| s.get::<joule_per_kelvin_mole>());
    let mut parts: Vec<String> = Vec::new();
    parts.extend(energy.map(|h| format!("{} kJ/mol", number_text(h))));
    parts.extend(entropy.map(|s| format!("{} J/(mol K)", number_text(s))));
    let mut text = parts.join(", ");
    if let Some(reason) = &other.reason {
        let _ = write!(text, "; {reason}");
    }
    PropertyRow::text("alternative", "elsewhere", text).from(
        &other.source,
        &other.locator,
        other.seen,
    )
}

fn species_rows(species: &Species, tables: &Tables) -> Vec<PropertyRow> {
    let mut rows = identity(species);
    rows.extend(values(species));
    rows.extend(heat_capacities(species));
    rows.extend(changes(species));
    let weakest = species.reliability().to_string();
    rows.push(PropertyRow::text("reliability", "weakest value", weakest));
    for (key, text) in [("doubt", &species.doubt), ("note", &species.note)] {
        rows.extend(
            text.as_ref()
                .map(|text| PropertyRow::text(key, key, text.clone())),
        );
    }
    rows.extend(tables.alternatives_of(&species.id).map(alternative_row));
    rows
}

/// Phase, names, molar mass.
fn identity(species: &Species) -> Vec<PropertyRow> {
    let phase = match species.phase {
        Phase::Gas => "ideal gas at 1 bar",
        Phase::Liquid => "liquid",
        Phase::Crystal => "crystal",
    };
    let mut rows = vec![PropertyRow::text("phase", "phase", phase)];
    if !species.names.is_empty() {
        let names = Content::List(species.names.clone());
        rows.push(PropertyRow::new("names", "other names", names));
    }
    let molar_mass = species.formula.molar_mass().get::<gram_per_mole>();
    let (key, label) = ("molar_mass_g_per_mol", "molar mass");
    rows.push(PropertyRow::number(key, label, molar_mass, None, "g/mol"));
    rows
}

/// Enthalpy and entropy at 298.15 K.
fn values(species: &Species) -> Vec<PropertyRow> {
    let mut rows = Vec::new();
    if let Some(value) = &species.formation_enthalpy {
        let key = "formation_enthalpy_kj_per_mol";
        let mut line = PropertyRow::cited(key, "formation enthalpy, 298.15 K", value);
        if species.band_is_assessed && value.uncertainty.is_some() {
            line.locator += "; band assessed here";
        }
        rows.push(line);
    }
    if let Some(value) = &species.enthalpy_from_components {
        let key = "enthalpy_from_components_kj_per_mol";
        let label = "enthalpy from its component oxides";
        rows.push(PropertyRow::cited(key, label, value));
    }
    if let Some(value) = &species.entropy {
        let (key, label) = ("entropy_j_per_mol_k", "entropy, 298.15 K");
        rows.push(PropertyRow::cited(key, label, value));
    }
    rows
}

/// What it becomes when it gets hot.
fn changes(species: &Species) -> Vec<PropertyRow> {
    let mut rows = Vec::new();
    if let Some(value) = &species.melting_point {
        let celsius = value.value.get::<degree_celsius>();
        let band = value.written_uncertainty();
        let row = PropertyRow::number("melting_point_c", "melting point", celsius, band, "°C");
        rows.push(row.from(&value.source, &value.locator, value.seen));
    }
    if let Some(next) = &species.next {
        let at = significant(next.temperature.get::<kelvin>(), 5);
        let text = format!("{} at {at} K", next.id);
        rows.push(PropertyRow::text("turns_into", "turns into", text));
    }
    if species.no_liquid_data {
        let text = "not in the tables: above the melting point the heat of fusion is missing";
        rows.push(PropertyRow::text("melt", "melt", text));
    }
    rows
}

fn heat_capacities(species: &Species) -> Vec<PropertyRow> {
    let mut rows = Vec::new();
    let (low, high) = species.data_range();
    let range = format!(
        "{} to {} K",
        significant(low.get::<kelvin>(), 4),
        significant(high.get::<kelvin>(), 4)
    );
    let kind = match species.heat_capacity_kind {
        HeatCapacityKind::Own => "own equation",
        HeatCapacityKind::SumOfComponents => {
            "sum of the component oxides (Kopp–Neumann), estimated"
        }
        HeatCapacityKind::FromCrystal => "taken over from the crystal, estimated",
    };
    let origin = &species.heat_capacity_origin;
    let text = format!("{kind}; data {range}");
    let row = PropertyRow::text("heat_capacity", "heat capacity", text);
    rows.push(row.from(&origin.source, &origin.locator, origin.seen));
    for t in SHOWN {
        let at = ThermodynamicTemperature::new::<kelvin>(t);
        let Ok(cp) = species.molar_heat_capacity(at) else {
            continue;
        };
        let value = cp.get::<joule_per_kelvin_mole>();
        let band = species.heat_capacity_uncertainty.get::<ratio>() * value;
        let mark = if species.is_extrapolated(at) {
            ", extrapolated"
        } else {
            ""
        };
        let label = format!("  at {} K{mark}", significant(t, 5));
        let key = "heat_capacity_j_per_mol_k";
        rows.push(PropertyRow::number(
            key,
            label,
            value,
            Some(band),
            "J/(mol K)",
        ));
    }
    rows
}

/// The sheets as a document: value, band, origin; then the sources in full.
pub fn substance_document(sheets: &[SubstanceSheet], sources: &Bibliography) -> Document {
    let mut sections: Vec<Section> = sheets
        .iter()
        .map(|sheet| {
            let mut section = Section::new(sheet.title.clone());
            for row in &sheet.rows {
                section.item(row_text(row));
            }
            section
        })
        .collect();
    let cited: BTreeSet<&SourceId> = sheets
        .iter()
        .flat_map(|sheet| sheet.rows.iter().filter_map(|row| row.source.as_ref()))
        .collect();
    let mut list = Section::new("Sources");
    for id in cited {
        let source = sources.get(id);
        let title = source.map_or("(not listed)", |source| source.title.as_str());
        list.text(format!("[{id}] {title}"));
    }
    if !list.parts.is_empty() {
        sections.push(list);
    }
    Document::new("", sections)
}

/// `label: value ± band unit [where it is from]`.
fn row_text(row: &PropertyRow) -> String {
    let value = match &row.content {
        Content::Number {
            value,
            uncertainty,
            unit,
            ..
        } => {
            let band = uncertainty.map_or(String::new(), |u| format!(" ± {}", significant(u, 2)));
            format!("{}{band} {unit}", number_text(*value))
        }
        Content::Text(text) => text.clone(),
        Content::List(list) => list.join("; "),
        Content::Curve(points) => points
            .iter()
            .map(|(celsius, grams)| {
                let celsius = significant(*celsius, 3);
                format!("{celsius} °C: {} g", significant(*grams, 3))
            })
            .collect::<Vec<_>>()
            .join(", "),
    };
    let mut origin: Vec<String> = row.seen.iter().map(Seen::to_string).collect();
    origin.extend(row.source.iter().map(SourceId::to_string));
    if !row.locator.is_empty() {
        origin.push(row.locator.clone());
    }
    let label = row.label.trim_start();
    if origin.is_empty() {
        format!("{label}: {value}")
    } else {
        format!("{label}: {value} [{}]", origin.join("; "))
    }
}

/// A number with the decimals it came with, up to four.
pub(super) fn number_text(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0')
        .trim_end_matches('.')
        .replace('-', "−")
}

/// The sheets as JSON.
pub fn substance_json(sheets: &[SubstanceSheet], sources: &Bibliography) -> Value {
    json_of(SubstanceSheets::from((sheets, sources)))
}

view! {
    /// What the tables know of a substance.
    result SubstanceSheets((sheets, sources): (&[SubstanceSheet], &Bibliography)) {
        /// One for each thing that the name can mean, reactants first.
        substances: Vec<SheetRows> = sheets.iter()
            .map(|sheet| SheetRows::from((sheet, sources)))
            .collect(),
    }
}

view! {
    /// A reactant or a product of the tables.
    SheetRows((sheet, sources): (&SubstanceSheet, &Bibliography)) {
        /// Title.
        title: String = sheet.title.clone(),
        /// "reactant" or "product".
        kind: &'static str = sheet.kind,
        /// Properties.
        properties: Vec<SheetRow> = sheet.rows.iter()
            .map(|row| SheetRow::from((row, sources)))
            .collect(),
    }
}

view! {
    /// A property.
    SheetRow((row, sources): (&PropertyRow, &Bibliography)) {
        /// Key.
        key: &'static str = row.key,
        /// Label.
        label: String = row.label.trim_start().to_owned(),
        /// Value: a number, words, a list or a curve.
        value: SheetValue = SheetValue::from(&row.content),
        /// Uncertainty of a number; null if unknown.
        uncertainty: Option<f64> = match row.content {
            Content::Number { uncertainty, .. } => uncertainty,
            _ => None,
        },
        /// Unit of a number.
        unit: Option<&'static str> = match row.content {
            Content::Number { unit, .. } => Some(unit),
            _ => None,
        },
        /// Key of the source.
        source: Option<String> = row.source.as_ref().map(SourceId::to_string),
        /// Title of the source.
        source_title: Option<String> =
            row.source.as_ref().and_then(|id| sources.get(id)).map(|s| s.title.clone()),
        /// Where in the source.
        locator: String = row.locator.clone(),
        /// How it was found.
        seen: Option<Seen> = row.seen,
    }
}

/// The value of a property.
#[derive(serde::Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
#[serde(untagged)]
pub(super) enum SheetValue {
    /// A number.
    Number(f64),
    /// Words.
    Text(String),
    /// Several.
    List(Vec<String>),
    /// A curve.
    Curve(Vec<Solubility>),
}

view! {
    /// A point of a solubility curve.
    Solubility((celsius, grams): &(f64, f64)) {
        /// Temperature.
        temperature_c: f64 = *celsius,
        /// Dissolved per 100 g of water.
        g_per_100_g_water: f64 = *grams,
    }
}

impl From<&Content> for SheetValue {
    fn from(content: &Content) -> Self {
        match content {
            Content::Number { value, .. } => Self::Number(*value),
            Content::Text(text) => Self::Text(text.clone()),
            Content::List(words) => Self::List(words.clone()),
            Content::Curve(points) => Self::Curve(list(points)),
        }
    }
}
