//! The CIE 1931 standard observer: `tables/observer.toml`.

use super::error::TableError;
use super::read::TableFile;
use crate::source::{Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;

/// Colour matching functions of the 2° observer.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Observer {
    units: BTreeMap<String, String>,
    /// Key of the source.
    pub source: SourceId,
    /// Where it stands there.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
    /// Wavelength in nm at even steps, and x̄, ȳ, z̄ there.
    pub values: Vec<[f64; 4]>,
}

pub(super) fn built_in() -> Result<Observer, TableError> {
    let file = TableFile::built_in("observer.toml");
    let observer: Observer = file.parse()?;
    file.check_units(&observer.units, &[("wavelength", "nm")])?;
    Ok(observer)
}
