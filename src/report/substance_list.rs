//! Lists of what the tables hold, and the weakest values in them.

use super::document::{Cell, Document, Section, Table};
use super::substance::number_text;
use super::view::{json_of, list, view};
use crate::formula::Element;
use crate::quantity::units::{kelvins, kilojoule_per_mole};
use crate::source::Seen;
use crate::tables::reactants::AuditLine;
use crate::tables::species::Phase;
use crate::tables::unit::KilojoulePerMole;
use crate::tables::{Cited, Reactant, Species, Tables};
use serde_json::Value;

/// Which entries a list shows.
#[derive(Debug, Clone, Default)]
pub struct ListFilter {
    /// Only entries with all of these elements.
    pub elements: Vec<Element>,
    /// Only entries of these kinds, unless there are none: a role of the reactants, "gas", "liquid"
    /// or "crystal".
    pub kinds: Vec<String>,
    /// Only entries whose weakest value was found in this way.
    pub seen: Option<Seen>,
}

/// One entry of the list of substances.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
pub struct ListEntry {
    /// Id or formula.
    pub formula: String,
    /// Name.
    pub name: String,
    /// Other names and spellings.
    pub other_names: Vec<String>,
    /// CAS registry number, of reactants.
    pub cas: Option<String>,
    /// Kind, as in [`ListFilter::kinds`].
    pub kind: String,
    /// Formation enthalpy in kJ/mol, if it has one of its own.
    pub formation_enthalpy_kj_per_mol: Option<f64>,
    /// How the weakest value was found.
    pub seen: Seen,
}

/// Everything in the tables that passes the filter, reactants first.
pub fn substance_list(tables: &Tables, filter: &ListFilter) -> Vec<ListEntry> {
    let reactants = tables
        .reactants
        .iter()
        .map(|r| (&r.formula, reactant_entry(r)));
    let wanted = |kind: &str| filter.kinds.is_empty() || filter.kinds.iter().any(|k| k == kind);
    // Of another phase than the wanted ones, no row is read.
    let species = tables
        .species
        .of_phases(|phase| wanted(kind_of(phase)))
        .map(|s| (&s.formula, species_entry(s)));
    reactants
        .chain(species)
        .filter(|(formula, _)| filter.elements.iter().all(|e| formula.amount_of(*e) > 0.0))
        .map(|(_, entry)| entry)
        .filter(|entry| wanted(&entry.kind))
        .filter(|entry| filter.seen.is_none_or(|seen| seen == entry.seen))
        .collect()
}

fn reactant_entry(reactant: &Reactant) -> ListEntry {
    let enthalpy = reactant.formation_enthalpy.as_ref();
    let worst = enthalpy
        .map(|h| h.seen)
        .into_iter()
        .chain(reactant.heat_capacity.as_ref().map(|c| c.seen));
    ListEntry {
        formula: reactant.formula.to_string(),
        name: reactant.name.clone(),
        other_names: reactant.aliases.clone(),
        cas: reactant.cas.clone(),
        kind: reactant.role.to_string(),
        formation_enthalpy_kj_per_mol: enthalpy.map(|h| h.value.get::<kilojoule_per_mole>()),
        seen: worst.max().unwrap_or(Seen::Estimated),
    }
}

fn kind_of(phase: Phase) -> &'static str {
    match phase {
        Phase::Gas => "gas",
        Phase::Liquid => "liquid",
        Phase::Crystal => "crystal",
    }
}

fn species_entry(species: &Species) -> ListEntry {
    ListEntry {
        formula: species.id.clone(),
        name: species.names.first().cloned().unwrap_or_default(),
        other_names: species.names.iter().skip(1).cloned().collect(),
        cas: None,
        kind: kind_of(species.phase).to_owned(),
        formation_enthalpy_kj_per_mol: species
            .formation_enthalpy
            .as_ref()
            .map(|h| h.value.get::<kilojoule_per_mole>()),
        seen: species.reliability(),
    }
}

/// A list as a document: one table, and how long it is.
pub fn list_document(entries: &[ListEntry]) -> Document {
    let head = ["formula", "name", "kind", "ΔfH / kJ/mol", "seen"];
    let mut table = Table::new("Substances", head);
    for entry in entries {
        let enthalpy = entry.formation_enthalpy_kj_per_mol;
        table.row([
            entry.formula.clone().into(),
            entry.name.clone().into(),
            entry.kind.clone().into(),
            enthalpy.map_or(Cell::Absent, |value| Cell::new(value, number_text(value))),
            entry.seen.to_string().into(),
        ]);
    }
    let mut section = Section::default();
    section.table(table);
    section.text(format!("{} entries", entries.len()));
    Document::new("", vec![section])
}

/// A list as JSON.
pub fn list_json(entries: &[ListEntry]) -> Value {
    json_of(SubstanceList::from(entries))
}

view! {
    /// A list of substances.
    result SubstanceList(entries: &[ListEntry]) {
        /// Substances, reactants first.
        substances: Vec<ListEntry> = entries.to_vec(),
    }
}

/// The weakest values as a document, those that matter most first.
pub fn audit_document(lines: &[AuditLine], species: &[&Species]) -> Document {
    let mut reactants = Section::new("Weakest values of the reactants");
    reactants.text(
        "± K: how far the band would move the adiabatic temperature of one mole in a balanced, \
         dried burn with urea (salts) or aluminium nitrate (fuels).",
    );
    let head = ["reactant", "value", "± kJ/mol", "± K", "seen"];
    let mut table = Table::new("Weakest values of the reactants", head);
    for line in lines {
        table.row([
            line.name.clone().into(),
            line.quantity.into(),
            Cell::number(line.band.get::<kilojoule_per_mole>(), 2),
            Cell::number(line.temperature_effect.get::<kelvins>(), 2),
            line.seen.to_string().into(),
        ]);
    }
    reactants.table(table);
    let mut products = Section::new("Products with the widest bands");
    products.text("kJ per mol of atoms moves phases, not only heat.");
    let head = ["product", "± kJ/mol", "± kJ per mol of atoms", "seen"];
    let mut table = Table::new("Products with the widest bands", head);
    for s in species {
        let Some(enthalpy) = &s.formation_enthalpy else {
            continue;
        };
        let band = enthalpy
            .uncertainty
            .map_or(0.0, |u| u.get::<kilojoule_per_mole>());
        let atoms: f64 = s.formula.amounts().values().sum();
        table.row([
            s.id.clone().into(),
            Cell::number(band, 2),
            Cell::number(band / atoms, 2),
            enthalpy.seen.to_string().into(),
        ]);
    }
    products.table(table);
    Document::new("", vec![reactants, products])
}

/// The weakest values as JSON.
pub fn audit_json(lines: &[AuditLine], species: &[&Species]) -> Value {
    json_of(WeakestValues::from((lines, species)))
}

view! {
    /// The weakest values of the tables.
    result WeakestValues((lines, species): (&[AuditLine], &[&Species])) {
        /// Values of reactants.
        reactants: Vec<WeakReactant> = list(lines),
        /// Formation enthalpies of products.
        products: Vec<WeakProduct> = species.iter()
            .filter_map(|s| Some((s.id.as_str(), s.formation_enthalpy.as_ref()?).into()))
            .collect(),
    }
}

view! {
    /// A weak value of a reactant.
    WeakReactant(line: &AuditLine) {
        /// Name, as in the tables.
        name: String = line.name.clone(),
        /// The quantity.
        quantity: &'static str = line.quantity,
        /// Its band.
        band_kj_per_mol: f64 = line.band.get::<kilojoule_per_mole>(),
        /// What the band does to a flame.
        temperature_effect_k: f64 = line.temperature_effect.get::<kelvins>(),
        /// Key of the source.
        source: String = line.source.to_string(),
        /// How it was found.
        seen: Seen = line.seen,
        /// Where in the source.
        locator: String = line.locator.clone(),
    }
}

view! {
    /// A weak formation enthalpy of a product.
    WeakProduct((id, enthalpy): (&str, &Cited<KilojoulePerMole>)) {
        /// Name in the tables.
        id: String = id.to_owned(),
        /// Its band; null if none is stated.
        band_kj_per_mol: Option<f64> = enthalpy.uncertainty.map(|u| u.get::<kilojoule_per_mole>()),
        /// Key of the source.
        source: String = enthalpy.source.to_string(),
        /// How it was found.
        seen: Seen = enthalpy.seen,
    }
}

/// The `count` products with the widest bands of their formation enthalpy per atom.
pub fn widest_bands(tables: &Tables, count: usize) -> Vec<&Species> {
    let per_atom = |s: &Species| -> f64 {
        let atoms: f64 = s.formula.amounts().values().sum();
        let band = s.formation_enthalpy.as_ref().and_then(|h| h.uncertainty);
        band.map_or(0.0, |u| u.get::<kilojoule_per_mole>()) / atoms
    };
    let mut list: Vec<&Species> = tables
        .species
        .iter()
        .filter(|s| per_atom(s) > 0.0)
        .collect();
    list.sort_by(|a, b| per_atom(b).total_cmp(&per_atom(a)).then(a.id.cmp(&b.id)));
    list.truncate(count);
    list
}
