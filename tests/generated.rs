//! Made-up batches by the hundred through the whole plan: it ends in an estimate or a refusal,
//! every number of it is finite, and every text keeps its width. `EMBERPOT_BATCHES` asks for
//! another number of batches.

use crate::common::batches::{batches, weighed_batches};
use emberpot::internal::burn::BurnError;
use emberpot::internal::product::ProductError;
use emberpot::internal::report::{SCREEN_WIDTH, first_screen, json_text, sheet_csv, sheet_json};
use emberpot::{
    Batch, PrepareError, Prepared, SheetOptions, Tables, burn_document, burn_sections, plan_json,
    plan_of, sheet, sheet_document,
};
use rayon::prelude::*;
use serde_json::Value;
use std::collections::BTreeMap;
use std::io::Write;
use uom::si::thermodynamic_temperature::degree_celsius;

/// How a batch ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum End {
    Planned,
    Refused,
    Mistake,
}

fn count() -> usize {
    std::env::var("EMBERPOT_BATCHES").map_or(1000, |n| n.parse().unwrap())
}

/// Words of a text that are no finite number; what stands in quotes is names, not numbers.
fn endless(text: &str) -> Option<&str> {
    let outside = text.split('"').step_by(2);
    outside
        .flat_map(|part| part.split(|c: char| !(c.is_alphanumeric() || c == '-' || c == '_')))
        .find(|word| ["NaN", "inf", "-inf", "-NaN"].contains(word))
}

/// Whether all numbers of a JSON value have ten digits at most and none is beyond doubles.
fn has_ten_digits(value: &Value) -> bool {
    match value {
        Value::Number(number) => {
            let text = number.to_string();
            let mantissa = text.split(['e', 'E']).next().unwrap_or_default();
            let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
            let digits = digits.trim_start_matches('0').trim_end_matches('0');
            number.as_f64().is_some_and(f64::is_finite) && digits.len() <= 10
        }
        Value::Array(items) => items.iter().all(has_ten_digits),
        Value::Object(fields) => fields.values().all(has_ten_digits),
        _ => true,
    }
}

/// The widest line of a text.
fn width(text: &str) -> usize {
    text.lines().map(|line| line.chars().count()).max().unwrap()
}

fn texts_of(ready: &Prepared<'_>, tables: &Tables) -> Result<Vec<String>, String> {
    let plan = plan_of(ready).map_err(|e| format!("plan: {e}"))?;
    let options = SheetOptions::default();
    let sheet = sheet(&ready.batch, tables, &options).map_err(|e| format!("sheet: {e}"))?;
    let pages = [
        (first_screen(&plan, SCREEN_WIDTH), SCREEN_WIDTH),
        (burn_document(&plan, &burn_sections()).text(100), 100),
        (sheet_document(&sheet).text(80), 80),
    ];
    if let Some((page, _)) = pages.iter().find(|(page, most)| width(page) > *most) {
        return Err(format!("too wide: {page}"));
    }
    // No burn ends where its steam would be water.
    let flames = plan.states.iter().map(|s| s.complete.flame.temperature());
    let ends = [plan.expected.low, plan.expected.temperature];
    let coldest = flames
        .chain(ends)
        .flatten()
        .map(|t| t.get::<degree_celsius>());
    if let Some(cold) = coldest.into_iter().find(|t| *t < 99.9) {
        return Err(format!("a flame of {cold} °C"));
    }
    let values = [plan_json(&plan), sheet_json(&sheet)];
    let written = values.each_ref().map(json_text);
    for text in &written {
        let read: Value = serde_json::from_str(text).map_err(|e| e.to_string())?;
        if !has_ten_digits(&read) {
            return Err(format!("too many digits: {text}"));
        }
    }
    let mut texts: Vec<String> = pages.into_iter().map(|(page, _)| page).collect();
    texts.extend(written);
    texts.push(sheet_csv(&sheet));
    // The values themselves: what is not finite would be written as null.
    texts.push(format!("{:?}", plan.states));
    texts.push(format!("{:?} {:?}", plan.expected, plan.advice));
    texts.push(format!("{:?} {sheet:?}", plan.cooled()));
    Ok(texts)
}

fn end_of(text: &str, tables: &Tables) -> Result<End, String> {
    let Ok(batch) = Batch::parse(text, "made-up", tables) else {
        return Ok(End::Mistake);
    };
    let ready = match Prepared::new(&batch, tables) {
        Ok(ready) => ready,
        Err(PrepareError::Refused(_)) => return Ok(End::Refused),
        // Not every metal has phases in the tables: said, with what to do.
        Err(PrepareError::Burn(BurnError::Product(ProductError::NoPhases { .. }))) => {
            return Ok(End::Mistake);
        }
        Err(error) => return Err(error.to_string()),
    };
    for text in texts_of(&ready, tables)? {
        if let Some(word) = endless(&text) {
            let at = text.find(word).unwrap();
            let start = text[..at].char_indices().rev().nth(300);
            let excerpt = &text[start.map_or(0, |(at, _)| at)..at + word.len()];
            return Err(format!("{word} in …{excerpt}"));
        }
    }
    Ok(End::Planned)
}

#[test]
fn made_up_batches_end_in_finite_numbers_or_a_refusal() {
    let tables = Tables::built_in().unwrap();
    let half = count() / 2;
    let files = [batches(half, 2026), weighed_batches(half, 18, &tables)].concat();
    let mut counts: BTreeMap<End, usize> = BTreeMap::new();
    let mut failed = Vec::new();
    // Piece by piece: a long run that is broken off has told what it had done.
    for piece in files.chunks(5000) {
        let ends: Vec<_> = piece.par_iter().map(|text| end_of(text, &tables)).collect();
        for (text, end) in piece.iter().zip(ends) {
            match end {
                Ok(end) => *counts.entry(end).or_default() += 1,
                Err(error) => failed.push(format!("{error}\n{text}")),
            }
        }
        // Past the capture of the test harness, so that the counts stand in every run's output.
        let ended = counts.values().sum::<usize>() + failed.len();
        let failures = failed.len();
        writeln!(
            std::io::stderr(),
            "{ended} batches: {counts:?}, failed {failures}"
        )
        .unwrap();
    }
    assert!(
        failed.is_empty(),
        "{} of {} failed:\n{}",
        failed.len(),
        files.len(),
        failed[..failed.len().min(8)].join("\n")
    );
    let planned = counts.get(&End::Planned).copied().unwrap_or(0);
    assert!(2 * planned > files.len(), "{counts:?}");
}
