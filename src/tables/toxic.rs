//! Elements whose compounds need more than the usual care, by class.

use super::cited::Reading;
use super::{Place, TableError, parse_toml, row_lines};
use crate::formula::Element;
use crate::source::{Bibliography, Seen, SourceId};
use serde::Deserialize;

/// What an element does to people, as a dust or a soluble salt.
#[derive(Debug, Clone, PartialEq)]
pub struct ToxicElement {
    /// The element.
    pub element: Element,
    /// "carcinogen", "poison" or "lung hazard"; the rules name it.
    pub class: String,
    /// What it does, in a few words that fit behind the element's name.
    pub effect: String,
    /// Key of the source.
    pub source: SourceId,
    /// Where in the source, or how it is known.
    pub locator: String,
    /// How it was come by.
    pub seen: Seen,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    #[serde(default)]
    element: Vec<RawElement>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawElement {
    symbol: String,
    class: String,
    effect: String,
    source: SourceId,
    at: String,
    seen: Seen,
}

/// Reads the elements of a file in their order.
pub(super) fn read(
    text: &str,
    file: &str,
    sources: &Bibliography,
) -> Result<Vec<ToxicElement>, TableError> {
    let raw: RawFile = parse_toml(text, file)?;
    let mut rows: Vec<ToxicElement> = Vec::new();
    for (row, line) in raw.element.into_iter().zip(row_lines(text, "[[element]]")) {
        let place = Place {
            file: file.to_owned(),
            line,
        };
        let element = Element::from_symbol(&row.symbol)
            .ok_or_else(|| place.reference(&row.symbol, &row.symbol))?;
        if rows
            .iter()
            .any(|old| old.element == element && old.class == row.class)
        {
            return Err(TableError::Duplicate {
                file: place.file,
                line,
                id: row.symbol,
            });
        }
        Reading {
            place,
            id: &row.symbol,
            sources,
        }
        .cite(&row.source)?;
        rows.push(ToxicElement {
            element,
            class: row.class,
            effect: row.effect,
            source: row.source,
            locator: row.at,
            seen: row.seen,
        });
    }
    Ok(rows)
}
