//! A comparison as text and JSON: differences first.

use super::expected::{expected_json, expected_line};
use super::number::significant;
use super::text::{shortened, wrapped};
use super::vary::csv_cell;
use crate::compare::{Comparison, Fact, FactKind, FactValue};
use serde_json::{Value, json};
use std::fmt::{self, Write};

/// Width of the column of names and of all columns of values together.
const NAMES: usize = 34;
const VALUES: usize = 66;

/// Writes the comparison as text.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub fn compared_text(comparison: &Comparison, out: &mut impl Write) -> fmt::Result {
    let letters: Vec<char> = ('A'..='Z').take(comparison.names.len()).collect();
    for (letter, name) in letters.iter().zip(&comparison.names) {
        writeln!(out, "{letter}  {}", shortened(name, 96))?;
    }
    writeln!(out, "\nExpected peak\n{}", "─".repeat(NAMES + VALUES))?;
    for (letter, expected) in letters.iter().zip(&comparison.expected) {
        wrapped(out, 0, &format!("{letter} {}", expected_line(expected)))?;
    }
    let width = VALUES / comparison.names.len();
    let head: String = letters
        .iter()
        .map(|letter| format!("{letter:>width$}"))
        .collect();
    let title = |out: &mut _, text: &str| -> fmt::Result { section(out, text, &head) };
    title(out, "What differs")?;
    lines(comparison.differences(), width, out)?;
    title(out, "What they share")?;
    lines(comparison.shared(), width, out)?;
    writeln!(out)?;
    wrapped(
        out,
        0,
        "≈ behind a name: the bands overlap, so the data do not tell which is larger. Values less \
         than a thousandth apart count as shared; – means that the batch has no such thing.",
    )
}

fn section(out: &mut impl Write, title: &str, head: &str) -> fmt::Result {
    writeln!(
        out,
        "\n{title:<NAMES$}{head}\n{}",
        "─".repeat(NAMES + VALUES)
    )
}

fn lines<'a>(
    facts: impl Iterator<Item = &'a Fact>,
    width: usize,
    out: &mut impl Write,
) -> fmt::Result {
    let mut last: Option<FactKind> = None;
    for fact in facts {
        if last != Some(fact.kind) {
            if let FactKind::Result(state) = fact.kind {
                writeln!(out, "water {state}")?;
            }
            last = Some(fact.kind);
        }
        line(fact, width, out)?;
    }
    Ok(())
}

fn line(fact: &Fact, width: usize, out: &mut impl Write) -> fmt::Result {
    let indent = if matches!(fact.kind, FactKind::Result(_)) {
        "  "
    } else {
        ""
    };
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
    let tail = format!("{unit}{unsure}");
    let room = NAMES - 1 - indent.len() - tail.chars().count();
    let name = format!("{indent}{}{tail}", shortened(&fact.name, room));
    let cells: Vec<String> = fact.values.iter().map(value_text).collect();
    if cells.iter().all(|cell| cell.chars().count() < width) {
        write!(out, "{name:<NAMES$}")?;
        for cell in &cells {
            write!(out, "{cell:>width$}")?;
        }
        return writeln!(out);
    }
    // Words too long for a column: a line a batch.
    writeln!(out, "{name}")?;
    if cells.windows(2).all(|pair| pair[0] == pair[1]) {
        return wrapped(out, 4, &cells[0]);
    }
    for (letter, cell) in ('A'..).zip(&cells) {
        wrapped(out, 4, &format!("{letter} {cell}"))?;
    }
    Ok(())
}

fn value_text(value: &FactValue) -> String {
    match value {
        FactValue::Absent => "–".to_owned(),
        FactValue::Words(words) => words.clone(),
        FactValue::Number {
            value,
            half_width: None,
        } => significant(*value, 4),
        FactValue::Number {
            value,
            half_width: Some(half),
        } => format!("{} ± {}", significant(*value, 4), significant(*half, 2)),
    }
}

/// The comparison as CSV, differences and shared lines in the order of the facts.
#[must_use]
pub fn compared_csv(comparison: &Comparison) -> String {
    let names: Vec<String> = comparison.names.iter().map(|name| csv_cell(name)).collect();
    let mut text = format!("water_state,name,unit,{},differs\n", names.join(","));
    for fact in &comparison.facts {
        let state = match fact.kind {
            FactKind::Result(state) => state.to_string(),
            FactKind::Ingredient | FactKind::Condition => String::new(),
        };
        let mut cells = vec![state, csv_cell(&fact.name), fact.unit.to_owned()];
        cells.extend(fact.values.iter().map(|value| match value {
            FactValue::Absent => String::new(),
            FactValue::Words(words) => csv_cell(words),
            FactValue::Number { value, .. } => value.to_string(),
        }));
        cells.push(fact.differs().to_string());
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    text
}

/// The comparison as a JSON value, fields as in the README.
#[must_use]
pub fn compared_json(comparison: &Comparison) -> Value {
    let facts: Vec<Value> = comparison
        .facts
        .iter()
        .map(|fact| {
            let (kind, state) = match fact.kind {
                FactKind::Ingredient => ("ingredient", Value::Null),
                FactKind::Condition => ("condition", Value::Null),
                FactKind::Result(state) => ("result", json!(state.to_string())),
            };
            let values: Vec<Value> = fact
                .values
                .iter()
                .map(|value| match value {
                    FactValue::Absent => Value::Null,
                    FactValue::Words(words) => json!(words),
                    FactValue::Number { value, .. } => json!(value),
                })
                .collect();
            let bands: Vec<Value> = fact
                .values
                .iter()
                .map(|value| match value {
                    FactValue::Number {
                        half_width: Some(half),
                        ..
                    } => json!(half),
                    _ => Value::Null,
                })
                .collect();
            json!({
                "kind": kind,
                "water_state": state,
                "name": fact.name,
                "unit": fact.unit,
                "values": values,
                "half_widths": bands,
                "differs": fact.differs(),
                "within_bands": fact.within_bands(),
            })
        })
        .collect();
    json!({
        "schema_version": super::json::SCHEMA_VERSION,
        "names": comparison.names,
        "expected": comparison.expected.iter().map(expected_json).collect::<Vec<_>>(),
        "facts": facts,
    })
}
