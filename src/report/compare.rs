//! A comparison as a document, CSV and JSON: differences first.

use super::burn::{DEFERENCE, SCREEN_LINES, SCREEN_WIDTH};
use super::document::{Cell, Document, Section, Table};
use super::expected::{ExpectedBurn, expected_line};
use super::number::{log_text, plain, significant, whole, with_band};
use super::shown::{Shown, more};
use super::view::{json_of, list, view};
use crate::compare::{Comparison, Fact, FactKind, FactValue};
use serde_json::Value;

/// Sections behind the answer, by name.
pub const COMPARE_SECTIONS: [&str; 3] = ["rest", "states", "shared"];

/// The comparison as a document: what differs in the state of the water that matters most, as much of
/// it as a screen holds, and the sections that are asked for.
pub fn compared_document(comparison: &Comparison, shown: &Shown) -> Document {
    let mut told = main_differences(comparison);
    // What tells least goes first, until the answer fits.
    let mut by_worth: Vec<&Fact> = told.clone();
    by_worth.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
    let mut rest: Vec<&Fact> = Vec::new();
    while answer_document(comparison, &told, &rest)
        .text(SCREEN_WIDTH)
        .lines()
        .count()
        > SCREEN_LINES
    {
        let Some(least) = by_worth.pop() else { break };
        told.retain(|fact| !std::ptr::eq(*fact, least));
        rest.push(least);
    }
    if *shown == Shown::Answer {
        return answer_document(comparison, &told, &rest);
    }
    let mut sections = vec![names(comparison)];
    if shown.answer() {
        sections.extend(answer(comparison, &told));
    }
    let mut others = Section::new("What differs besides");
    let in_order = main_differences(comparison).into_iter();
    let in_order = in_order.filter(|fact| rest.iter().any(|other| std::ptr::eq(*other, *fact)));
    tables(comparison, in_order, &mut others);
    let mut states = Section::new("What differs in the other states of the water");
    let main = comparison.main_state();
    let other = |fact: &&Fact| matches!(fact.kind, FactKind::Result(state) if Some(state) != main);
    tables(
        comparison,
        comparison.differences().filter(other),
        &mut states,
    );
    let mut shared = Section::new("What they share (less than a thousandth apart)");
    tables(comparison, comparison.shared(), &mut shared);
    sections.extend(shown.pick([("rest", others), ("states", states), ("shared", shared)]));
    let mut rules = Section::default();
    rules.fact("Rules", DEFERENCE);
    sections.push(rules);
    untitled(sections)
}

fn untitled(sections: Vec<Section>) -> Document {
    Document::new("", sections)
}

/// The answer with the differences that are told.
fn answer_document(comparison: &Comparison, told: &[&Fact], rest: &[&Fact]) -> Document {
    let mut sections = vec![names(comparison)];
    sections.extend(answer(comparison, told));
    let mut rules = Section::default();
    rules.fact("Rules", DEFERENCE);
    let also = match rest.len() {
        0 => String::new(),
        count => format!("{count} further differences: "),
    };
    rules.fact("More", format!("{also}{}", more(&COMPARE_SECTIONS)));
    sections.push(rules);
    untitled(sections)
}

fn names(comparison: &Comparison) -> Section {
    let mut names = Section::default();
    for (letter, name) in letters(comparison) {
        names.fact(&letter, name.clone());
    }
    names
}

/// What differs in what goes in, how it is burnt, and in the state that matters most.
fn main_differences(comparison: &Comparison) -> Vec<&Fact> {
    let main = comparison.main_state();
    let wanted = |fact: &&Fact| match fact.kind {
        FactKind::Result(state) => Some(state) == main,
        FactKind::Ingredient | FactKind::Condition => true,
    };
    comparison.differences().filter(wanted).collect()
}

/// How much a difference tells beside the peaks; only the order counts. Of ingredients the heavier
/// tells more.
fn worth(fact: &Fact) -> f64 {
    if fact.kind == FactKind::Ingredient {
        let masses = fact.values.iter().map(|value| match value {
            FactValue::Number { value, .. } => *value,
            FactValue::Absent | FactValue::Words(_) => 0.0,
        });
        let most = masses.fold(0.0, f64::max);
        return 3.0 + 4.0 * most / (1.0 + most);
    }
    match fact.name.as_str() {
        "target" | "fuel ratio φ" | "mass of powder" => 10.0,
        "heat lost" | "air drawn in" | "start" | "pressure" => 9.0,
        "gas per powder" | "water left" => 8.0,
        "CO in the gas" | "NO and NO2 in the gas" => 6.5,
        "mixture" | "flame, complete combustion" => 6.0,
        "condensed phases" => 0.0,
        "φ as it burns" | "crystal water" => 1.0,
        _ => 4.0,
    }
}

/// The peaks, and what differs in the state of the water that matters most.
fn answer(comparison: &Comparison, told: &[&Fact]) -> [Section; 2] {
    let mut peaks = Section::new("Expected peak");
    for ((letter, _), expected) in letters(comparison).zip(&comparison.expected) {
        peaks.fact(&letter, expected_line(expected));
    }
    let mut differs = Section::new("What differs");
    tables(comparison, told.iter().copied(), &mut differs);
    if told.is_empty() {
        differs.text("Nothing within a thousandth.");
    }
    if told.iter().any(|fact| fact.within_bands()) {
        differs.text("≈: the bands overlap, so the data do not tell which is larger.");
    }
    [peaks, differs]
}

fn letters(comparison: &Comparison) -> impl Iterator<Item = (String, &String)> {
    ('A'..='Z').map(String::from).zip(&comparison.names)
}

/// A table for each kind of fact.
fn tables<'a>(
    comparison: &Comparison,
    facts: impl Iterator<Item = &'a Fact>,
    section: &mut Section,
) {
    let mut last: Option<(FactKind, Table)> = None;
    for fact in facts {
        let (_, table) = match &mut last {
            Some(last) if last.0 == fact.kind => last,
            _ => {
                if let Some((_, table)) = last.take() {
                    section.table(table);
                }
                last.insert((fact.kind, empty(comparison, fact.kind)))
            }
        };
        let mut row = vec![Cell::from(name(fact))];
        row.extend(fact.values.iter().map(|value| cell(value, fact)));
        table.row(row);
    }
    if let Some((_, table)) = last {
        section.table(table);
    }
}

fn empty(comparison: &Comparison, kind: FactKind) -> Table {
    let first = match kind {
        FactKind::Ingredient => "what goes in".to_owned(),
        FactKind::Condition => "how it is burnt".to_owned(),
        FactKind::Result(state) => format!("what comes out, {state}"),
    };
    let letters = letters(comparison).map(|(letter, _)| letter);
    Table::new(&first.clone(), std::iter::once(first).chain(letters))
}

fn name(fact: &Fact) -> String {
    let unit = if fact.unit.is_empty() {
        String::new()
    } else {
        format!(" / {}", fact.unit)
    };
    let unsure = if fact.differs() && fact.within_bands() {
        " ≈"
    } else {
        ""
    };
    format!("{}{unit}{unsure}", fact.name)
}

fn cell(value: &FactValue, fact: &Fact) -> Cell {
    match value {
        FactValue::Absent => Cell::Absent,
        FactValue::Words(words) => words.clone().into(),
        FactValue::Number { value, half_width } => {
            Cell::new(*value, number_text(*value, *half_width, fact))
        }
    }
}

/// A number with the digits that its kind deserves: what a balance shows, whole degrees, the decade
/// of a logarithm, three digits of the rest.
fn number_text(value: f64, half_width: Option<f64>, fact: &Fact) -> String {
    match (half_width, fact.unit) {
        (Some(half), _) => with_band(value, half, 3),
        (None, "g") => plain(value, 4),
        (None, "°C") => whole(value),
        (None, "") if fact.name.starts_with("log10") => log_text(value),
        (None, _) => significant(value, 3),
    }
}

/// The comparison as CSV, differences and shared lines in the order of the facts.
pub fn compared_csv(comparison: &Comparison) -> String {
    let mut head = vec![
        "water_state".to_owned(),
        "name".to_owned(),
        "unit".to_owned(),
    ];
    head.extend(comparison.names.iter().cloned());
    head.push("differs".to_owned());
    let mut table = Table::new("Comparison", head);
    for fact in &comparison.facts {
        let state = match fact.kind {
            FactKind::Result(state) => state.to_string(),
            FactKind::Ingredient | FactKind::Condition => String::new(),
        };
        let mut row: Vec<Cell> = vec![state.into(), fact.name.clone().into(), fact.unit.into()];
        row.extend(fact.values.iter().map(|value| cell(value, fact)));
        row.push(fact.differs().to_string().into());
        table.row(row);
    }
    table.csv()
}

/// The comparison as a JSON value.
pub fn compared_json(comparison: &Comparison) -> Value {
    json_of(Compared::from(comparison))
}

view! {
    /// What `compare` writes.
    result Compared(comparison: &Comparison) {
        /// Names of the batches.
        names: Vec<String> = comparison.names.clone(),
        /// The expected burn of each.
        expected: Vec<ExpectedBurn> = list(&comparison.expected),
        /// What is compared.
        facts: Vec<ComparedFact> = list(&comparison.facts),
    }
}

view! {
    /// A line of the comparison.
    ComparedFact(fact: &Fact) {
        /// "ingredient", "condition" or "result".
        kind: &'static str = match fact.kind {
            FactKind::Ingredient => "ingredient",
            FactKind::Condition => "condition",
            FactKind::Result(_) => "result",
        },
        /// State of the water of a result: "as mixed", "boiled down", "dried" or "at ignition".
        water_state: Option<String> = match fact.kind {
            FactKind::Result(state) => Some(state.to_string()),
            FactKind::Ingredient | FactKind::Condition => None,
        },
        /// What it is called.
        name: String = fact.name.clone(),
        /// Unit; empty for words and plain numbers.
        unit: &'static str = fact.unit,
        /// One value a batch; null where there is none.
        values: Vec<Option<ComparedValue>> = fact.values.iter().map(compared_value).collect(),
        /// Half widths of their bands; null where there is none.
        half_widths: Vec<Option<f64>> = fact.values.iter().map(half_width).collect(),
        /// True if the batches differ.
        differs: bool = fact.differs(),
        /// True if they differ by less than the bands.
        within_bands: bool = fact.within_bands(),
    }
}

#[derive(serde::Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
#[serde(untagged)]
pub(in crate::report) enum ComparedValue {
    Words(String),
    Number(f64),
}

fn compared_value(value: &FactValue) -> Option<ComparedValue> {
    match value {
        FactValue::Absent => None,
        FactValue::Words(words) => Some(ComparedValue::Words(words.clone())),
        FactValue::Number { value, .. } => Some(ComparedValue::Number(*value)),
    }
}

fn half_width(value: &FactValue) -> Option<f64> {
    match value {
        FactValue::Number { half_width, .. } => *half_width,
        FactValue::Absent | FactValue::Words(_) => None,
    }
}
