//! The rules for crystal water that no table holds: `tables/reactants/water.toml`.

use super::check::UNITS;
use crate::tables::cited::Cited;
use crate::tables::error::TableError;
use crate::tables::read::TableFile;
use crate::tables::unit::{JoulePerMoleKelvin, KilojoulePerMole};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What one molecule of crystal water adds.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WaterRule {
    units: BTreeMap<String, String>,
    pub(super) water_of_crystallisation: WaterStep,
    #[serde(default)]
    analogue: Vec<Analogue>,
}

/// What it adds to a salt without an analogue.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WaterStep {
    pub(super) formation_enthalpy: Cited<KilojoulePerMole>,
    pub(super) heat_capacity: Cited<JoulePerMoleKelvin>,
}

/// Salts that lose their water like another whose lower hydrates are tabulated.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Analogue {
    metals: Vec<String>,
    anion: String,
    /// Id of a row of the family that shows the pattern.
    pub(super) pattern: String,
    /// Band per molecule of water.
    pub(super) band: Cited<KilojoulePerMole>,
}

impl WaterRule {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("reactants/water.toml");
        let rule: Self = file.parse()?;
        file.check_units(&rule.units, &UNITS)?;
        Ok(rule)
    }

    pub(super) fn analogue(&self, salt: &str) -> Option<&Analogue> {
        self.analogue.iter().find(|a| {
            let metal = salt.strip_suffix(a.anion.as_str());
            metal.is_some_and(|m| a.metals.iter().any(|known| known == m))
        })
    }
}
