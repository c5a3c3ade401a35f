//! Elements whose compounds need more than the usual care, by class.

use super::error::TableError;
use super::read::{Row, TableFile};
use crate::formula::Element;
use crate::source::{Seen, SourceId};
use serde::Deserialize;

/// What an element does to people, as a dust or a soluble salt.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ToxicElement {
    #[serde(rename = "symbol")]
    pub element: Element,
    /// "carcinogen", "poison" or "lung hazard"; the rules name it.
    pub class: String,
    /// What it does, in a few words that fit behind the element's name.
    pub effect: String,
    /// Key of the source.
    pub source: SourceId,
    /// Where in the source, or how it is known.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

impl Row for ToxicElement {
    const ARRAY: &'static str = "element";

    fn id(&self) -> String {
        format!("{} as {}", self.element, self.class)
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    element: Vec<ToxicElement>,
}

/// Reads the elements of a file in their order.
pub(super) fn read(file: &TableFile) -> Result<Vec<ToxicElement>, TableError> {
    let rows = file.parse::<File>()?.element;
    file.check(&rows)?;
    Ok(rows)
}
