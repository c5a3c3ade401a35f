//! Values of product species in other compilations than the preferred one.

use super::cited::optional_quantity;
use super::error::TableError;
use super::read::{Row, TableFile};
use super::unit::{JoulePerMoleKelvin, KilojoulePerMole};
use crate::quantity::{MolarEnergy, MolarEntropy};
use crate::source::{Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The same species as another source has it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Alternative {
    /// The [`Species::id`].
    pub of: String,
    /// Formation enthalpy from the elements at 298.15 K.
    #[serde(default, deserialize_with = "optional_quantity::<KilojoulePerMole, _>")]
    pub formation_enthalpy: Option<MolarEnergy>,
    /// Entropy at 298.15 K.
    #[serde(
        default,
        deserialize_with = "optional_quantity::<JoulePerMoleKelvin, _>"
    )]
    pub entropy: Option<MolarEntropy>,
    /// Key of the source in the bibliography.
    pub source: SourceId,
    /// Name of the entry there.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
    /// Why it was not taken, where it differs by more than 3 kJ/mol or 2 J/(mol K).
    pub reason: Option<String>,
}

impl Row for Alternative {
    const ARRAY: &'static str = "alternative";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        self.of.clone()
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    #[serde(default)]
    alternative: Vec<Alternative>,
}

/// Reads the built-in table; the tests see to it that each row names a species of the tables.
pub(super) fn built_in() -> Result<Vec<Alternative>, TableError> {
    let file = TableFile::built_in("alternatives.toml");
    let File { units, alternative } = file.parse()?;
    file.check_units(
        &units,
        &[("formation_enthalpy", "kJ/mol"), ("entropy", "J/(mol K)")],
    )?;
    Ok(alternative)
}
