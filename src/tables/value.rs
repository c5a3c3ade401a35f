//! One number of a table with its source, as written in TOML.

use super::TableError;
use crate::source::{Bibliography, Seen, SourceId, Sourced};
use serde::Deserialize;
use std::collections::BTreeMap;

/// `{ value = …, uncertainty = …, source = "key", at = "locator", seen = "document" }`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawValue {
    pub value: f64,
    pub uncertainty: Option<f64>,
    pub source: SourceId,
    pub at: String,
    pub seen: Seen,
}

/// The file that is read, for messages and for the sources it may cite.
pub(super) struct Reading<'a> {
    pub file: &'a str,
    pub text: &'a str,
    pub sources: &'a Bibliography,
}

impl Reading<'_> {
    /// Line (from 1) of the first occurrence of `piece`; 1 if it is not there.
    pub fn line_of(&self, piece: &str) -> usize {
        let at = self.text.find(piece).unwrap_or(0);
        self.text[..at].matches('\n').count() + 1
    }

    /// Lines (from 1) of the array headers such as `[[glassware]]`; it does not end.
    pub fn row_lines(&self, header: &'static str) -> impl Iterator<Item = usize> {
        super::row_lines(self.text, header)
    }

    /// Checks the `units` of a file against the ones the loader takes.
    pub fn check_units(
        &self,
        found: &BTreeMap<String, String>,
        expected: &[(&str, &'static str)],
    ) -> Result<(), TableError> {
        for (key, unit) in expected {
            let written = found.get(*key).map_or("", String::as_str);
            if written != *unit {
                return Err(TableError::Unit {
                    file: self.file.to_owned(),
                    key: (*key).to_owned(),
                    found: written.to_owned(),
                    expected: unit,
                });
            }
        }
        Ok(())
    }

    /// The value of row `id` with its source checked, and the number itself against `low..=high`.
    pub fn value(
        &self,
        id: &str,
        line: usize,
        raw: &RawValue,
        (low, high): (f64, f64),
    ) -> Result<Sourced<f64>, TableError> {
        self.check_source(id, line, &raw.source)?;
        if !raw.value.is_finite() || raw.value < low || raw.value > high {
            return Err(TableError::Value {
                file: self.file.to_owned(),
                line,
                id: id.to_owned(),
                quantity: "value".to_owned(),
                found: raw.value,
                expected: format!("but should be from {low} to {high}"),
            });
        }
        Ok(Sourced {
            value: raw.value,
            uncertainty: raw.uncertainty,
            source: raw.source.clone(),
            locator: raw.at.clone(),
            seen: raw.seen,
        })
    }

    /// Refuses a source that the bibliography lacks.
    pub fn check_source(&self, id: &str, line: usize, key: &SourceId) -> Result<(), TableError> {
        if self.sources.get(key).is_some() {
            return Ok(());
        }
        Err(TableError::UnknownSource {
            file: self.file.to_owned(),
            line,
            id: id.to_owned(),
            key: key.to_string(),
        })
    }
}
