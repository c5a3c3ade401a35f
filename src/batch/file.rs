//! Reads the sections of a batch file.

use super::conditions::{Conditions, SeriesMark, SpeciesChoice, WaterAtIgnition};
use super::contents::Batch;
use super::ingredient::{Draft, draft};
use super::mistake::BatchError;
use super::section::{Mistakes, Section, Written};
use super::target::{self, Request};
use super::wanted::Wanted;
use crate::formula::{Element, Formula};
use crate::learned::Learned;
use crate::quantity::units::{gram, millimole, ratio};
use crate::quantity::{Ratio, parse};
use crate::redox::OxidationStates;
use crate::tables::{Role, Tables};
use crate::visible::visible;
use std::collections::BTreeMap;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;
use toml::de::DeTable;

/// Reads a whole file.
pub(super) fn read(text: &str, origin: &str, tables: &Tables) -> Result<Batch, BatchError> {
    let mistakes = Mistakes::new(text);
    let (table, syntax) = DeTable::parse_recoverable(text);
    for error in &syntax {
        mistakes.add(error.span().unwrap_or(0..0), syntax_text(error.message()));
    }
    let batch = if syntax.is_empty() {
        let root = Section::new(table.get_ref(), 0..0, "the file", &mistakes);
        sections(root, origin, tables, &mistakes)
    } else {
        None
    };
    match batch {
        Some(batch) if mistakes.is_empty() => Ok(batch),
        _ => Err(mistakes.into_error(origin)),
    }
}

/// What a mistake of the TOML itself means on the bench.
fn syntax_text(message: &str) -> &str {
    if message == "duplicate key" {
        "this stands in the file before: take one of the two out"
    } else if message.starts_with("string values must be quoted") {
        "text and quantities stand in straight quotes, such as \"3 g\""
    } else {
        message
    }
}

/// What is wanted, of a file that names no target and no ingredient; `None` of any other file.
pub(super) fn read_wish(
    text: &str,
    origin: &str,
    tables: &Tables,
) -> Result<Option<Wanted>, BatchError> {
    let (table, syntax) = DeTable::parse_recoverable(text);
    let has = |key: &str| table.get_ref().contains_key(key);
    if !syntax.is_empty() || !has("wanted") || has("ingredient") || has("target") {
        return Ok(None);
    }
    let mistakes = Mistakes::new(text);
    let root = Section::new(table.get_ref(), 0..0, "the file", &mistakes);
    let _ = (root.text("name"), root.note("note"));
    let section = root.section("wanted");
    let wanted = section.map(|section| super::wanted::read(section, tables));
    root.finish();
    if mistakes.is_empty() {
        Ok(wanted)
    } else {
        Err(mistakes.into_error(origin))
    }
}

fn sections(
    root: Section<'_>,
    origin: &str,
    tables: &Tables,
    mistakes: &Mistakes<'_>,
) -> Option<Batch> {
    let mut batch = surroundings(&root, origin, tables);
    let written = root.sections("ingredient");
    let count = written.len();
    if count == 0 {
        let message = "the file lists no [[ingredient]]: add at least a metal nitrate and a fuel";
        mistakes.add(0..0, message);
    }
    let target_section = root.section("target");
    let has_target = target_section.is_some();
    let drafts: Vec<Draft> = written
        .into_iter()
        .filter_map(|section| draft(section, tables, has_target))
        .collect();
    let spans: Vec<Range<usize>> = drafts.iter().map(|draft| draft.span.clone()).collect();
    let complete = drafts.len() == count;
    let states_section = root.section("oxidation_states");
    let request = target_section
        .and_then(|section| super::request::read(section, &drafts, &batch.chosen_states, tables));
    root.finish();
    if !complete || !mistakes.is_empty() {
        return None;
    }
    // What the file says of an oxidation state stands above what the target's notation says.
    let mut chosen = request
        .as_ref()
        .map_or_else(BTreeMap::new, |r| r.dopant_states.clone());
    chosen.append(&mut batch.chosen_states);
    batch.states = OxidationStates::with_choice(&chosen);
    batch.chosen_states = chosen;
    batch.weighed = if let Some(request) = request {
        batch.unbound_oxygen = fit_states(&mut batch.states, &request, mistakes)?;
        let (target, ingredients) = target::resolve(&request, &drafts, &batch.states, mistakes)?;
        batch.target = Some(target);
        ingredients
    } else {
        drafts.into_iter().filter_map(|draft| draft.fixed).collect()
    };
    batch.ingredients = super::pot::in_pot(&batch.weighed);
    if let Some(section) = states_section {
        check_states(&section, &batch);
    }
    check_acid(&batch, &spans, mistakes);
    if let Err(error) = batch.redox() {
        mistakes.add(0..0, error.to_string());
    }
    Some(batch)
}

/// Everything but the target and the ingredients, which are still empty.
fn surroundings(root: &Section<'_>, origin: &str, tables: &Tables) -> Batch {
    let name = root
        .text("name")
        .map_or_else(|| "unnamed batch".into(), |w| visible(w.value).into_owned());
    let _ = root.note("note");
    Batch {
        name,
        ingredients: Vec::new(),
        weighed: Vec::new(),
        target: None,
        states: OxidationStates::conventional(),
        unbound_oxygen: 0.0,
        learned: learned(root, origin),
        series: root.section("series").and_then(series),
        chosen_states: root
            .section("oxidation_states")
            .map(oxidation_states)
            .unwrap_or_default(),
        water_at_ignition: root
            .section("water")
            .map_or(WaterAtIgnition::NotStated, water_at_ignition),
        conditions: root
            .section("conditions")
            .map(conditions)
            .unwrap_or_default(),
        balances: root
            .sections("balance")
            .into_iter()
            .filter_map(super::balance::read)
            .collect(),
        glassware: root.section("glassware").map(super::glassware::read),
        heating: root
            .section("heating")
            .map(|section| super::heating::read(section, tables)),
        vessel: root
            .section("vessel")
            .and_then(|section| super::vessel::read(section, tables)),
        room: root.section("room").and_then(super::room::read),
        runs: super::run::read_all(root),
        wanted: root
            .section("wanted")
            .map(|section| super::wanted::read(section, tables)),
    }
}

/// What the laboratory learned; its file stands beside the batch file.
fn learned(root: &Section<'_>, origin: &str) -> Option<Arc<Learned>> {
    let name = root.text("learned")?;
    let path = Path::new(origin)
        .parent()
        .unwrap_or(Path::new(""))
        .join(name.value);
    match Learned::read(&path, name.value) {
        Ok(learned) => Some(Arc::new(learned)),
        Err(error) => {
            root.mistake(name.span, error.to_string());
            None
        }
    }
}

/// Place in a series, as `emberpot series` writes it.
fn series(section: Section<'_>) -> Option<SeriesMark> {
    let text = |written: Option<Written<&str>>| written.map(|w| visible(w.value).into_owned());
    let name = text(section.required_text("name", "\"first week\""));
    let label = text(section.required_text("label", "\"A\""));
    let over = text(section.required_text("over", "\"fuel-ratio\""));
    let level = text(section.text("level"));
    section.finish();
    Some(SeriesMark {
        name: name?,
        label: label?,
        over: over?,
        level,
    })
}

/// Nitric acid that is there should be enough for all that it is to dissolve.
fn check_acid(batch: &Batch, spans: &[Range<usize>], mistakes: &Mistakes<'_>) {
    let Some(missing) = batch.dissolution().and_then(|found| found.missing()) else {
        return;
    };
    let mut lines = batch.weighed.iter().zip(spans);
    let Some((acid, span)) = lines.find(|(i, _)| i.reactant.role == Role::Acid) else {
        return;
    };
    let sources: Vec<String> = batch
        .weighed
        .iter()
        .filter(|i| i.dissolves.is_some())
        .map(|i| i.reactant.formula.to_string())
        .collect();
    let factor: Ratio = (acid.amount + missing) / acid.amount;
    let whole = acid.scaled(factor.get::<ratio>());
    let message = format!(
        "too little nitric acid for {}: {:.3} mmol of HNO3 more are needed, {:.3} g of {} in all; \
         in a batch with a [target] leave its amount out and it is worked out, and what is to stay \
         as powder gets `dissolves = false`",
        sources.join(" and "),
        missing.get::<millimole>(),
        whole.mass.get::<gram>(),
        acid.reactant.name
    );
    mistakes.add(span.clone(), message);
}

/// Most oxygen, as a share of the target's, that may be left unbound or lacking: a doped formula
/// written with the host's oxygen is off by that much; a wrong charge is off by more.
pub(super) const OXYGEN_TOLERANCE: f64 = 0.03;

fn fit_states(
    states: &mut OxidationStates,
    request: &Request,
    mistakes: &Mistakes<'_>,
) -> Option<f64> {
    let oxygen = request.formula.amount_of(Element::OXYGEN);
    match states.fit_to(&request.formula) {
        Ok(left) if left.abs() <= OXYGEN_TOLERANCE * oxygen => Some(left),
        Ok(left) => {
            let message = format!(
                "the charges of {} do not balance: its metals bind {:.3} oxygen, the formula has \
                 {oxygen:.3}; mend the formula, write its oxygen as O-d (such as LaCoO3-d) to let it \
                 follow the charges, or give oxidation states under [oxidation_states]",
                request.formula,
                oxygen - left
            );
            mistakes.add(request.formula_span.clone(), message);
            None
        }
        Err(error) => {
            mistakes.add(request.formula_span.clone(), error.to_string());
            None
        }
    }
}

/// The state of an element that the batch has not would change nothing: a slip.
fn check_states(section: &Section<'_>, batch: &Batch) {
    let target = batch.target.iter().map(|target| &target.formula);
    let formulas: Vec<&Formula> = (batch.weighed.iter())
        .map(|ingredient| &ingredient.reactant.formula)
        .chain(target)
        .collect();
    for (key, _) in section.free_keys() {
        let Some(element) = Element::from_symbol(key.value) else {
            continue;
        };
        if formulas.iter().all(|f| f.amount_of(element) <= 0.0) {
            let message = format!("the batch holds no {}: leave the line out", element.name());
            section.mistake(key.span, message);
        }
    }
}

fn oxidation_states(section: Section<'_>) -> BTreeMap<Element, f64> {
    let mut states = BTreeMap::new();
    for (key, value) in section.free_keys() {
        let Some(element) = Element::from_symbol(key.value) else {
            section.mistake(key.span, format!("`{}` is no element symbol", key.value));
            continue;
        };
        let number = match value.get_ref() {
            toml::de::DeValue::Integer(n) => n.as_str().parse::<f64>().ok(),
            toml::de::DeValue::Float(n) => n.as_str().parse::<f64>().ok(),
            _ => None,
        };
        let range = OxidationStates::allowed(element).unwrap_or((-4.0, 8.0));
        match number {
            Some(n) if n >= range.0 && n <= range.1 => {
                states.insert(element, n);
            }
            _ => {
                let (low, high) = range;
                let message = if low < high {
                    format!(
                        "the oxidation state of {element} should be a number from {low} to {high}"
                    )
                } else {
                    format!("{element} has the oxidation state {low} alone; leave the line out")
                };
                section.mistake(value.span(), message);
            }
        }
    }
    states
}

/// Left to the heating model.
const FROM_MODEL: &str = "from ignition";

fn water_at_ignition(section: Section<'_>) -> WaterAtIgnition {
    let key = "left_at_ignition";
    let keys = section.free_keys();
    let word = keys
        .iter()
        .find(|(known, _)| known.value == key)
        .and_then(|(_, value)| Some((value.get_ref().as_str()?, value.span())))
        .filter(|(text, _)| text.starts_with(char::is_alphabetic));
    let stated = match word {
        Some((FROM_MODEL, _)) => WaterAtIgnition::FromIgnition,
        Some((other, span)) => {
            let message = format!(
                "`{key}` is \"{other}\", but should be a share such as \"15 %\", or \"{FROM_MODEL}\""
            );
            section.mistake(span, message);
            WaterAtIgnition::NotStated
        }
        None => section
            .number_within(key, (0.0, 1.0))
            .map_or(WaterAtIgnition::NotStated, |w| {
                WaterAtIgnition::Fraction(Ratio::new::<ratio>(w.value))
            }),
    };
    // A word is read as well as a number.
    section.has(key);
    section.finish();
    stated
}

fn conditions(section: Section<'_>) -> Conditions {
    let mut conditions = Conditions::default();
    let range = "−20 °C and 300 °C";
    if let Some(start) = section.quantity_within("start", parse::temperature, range) {
        conditions.start = start.value;
    }
    let range = "0.3 bar and 1.2 bar: the pot is open";
    if let Some(p) = section.quantity_within("pressure", parse::pressure, range) {
        conditions.pressure = p.value;
    }
    let share = |key, most| {
        section
            .number_within(key, (0.0, most))
            .map(|w: Written<f64>| Ratio::new::<ratio>(w.value))
    };
    conditions.heat_loss = share("heat_loss", 0.95).unwrap_or(conditions.heat_loss);
    conditions.air_drawn_in = share("air_drawn_in", 1.0).unwrap_or(conditions.air_drawn_in);
    let range = "0 kJ and 200 kJ";
    if let Some(heat) = section.quantity_within("external_heat", parse::energy, range) {
        conditions.external_heat = heat.value;
    }
    let words = [("full", SpeciesChoice::Full), ("fast", SpeciesChoice::Fast)];
    if let Some(species) = section.choice("species", &words) {
        conditions.species = species.value;
    }
    if let Some(solutions) = section.flag("solid_solutions") {
        conditions.solid_solutions = Some(solutions.value);
    }
    section.finish();
    conditions
}
