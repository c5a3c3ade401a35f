//! The rules for crystal water that no table holds: `tables/reactants/water.toml`.

use super::row::{self, RawValue, ReactantError};
use crate::quantity::{MolarEnergy, MolarHeatCapacity};
use crate::source::{Bibliography, Sourced};
use serde::Deserialize;

/// What one molecule of crystal water adds.
#[derive(Debug, Clone, Default)]
pub(super) struct WaterRule {
    pub(super) enthalpy: Option<Sourced<MolarEnergy>>,
    pub(super) heat_capacity: Option<Sourced<MolarHeatCapacity>>,
    analogues: Vec<Analogue>,
}

/// Salts that lose their water like another whose lower hydrates are tabulated.
#[derive(Debug, Clone)]
pub(super) struct Analogue {
    metals: Vec<String>,
    anion: String,
    /// Id of a row of the family that shows the pattern.
    pub(super) pattern: String,
    /// Band per molecule of water.
    pub(super) band: Sourced<MolarEnergy>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WaterFile {
    units: row::Units,
    water_of_crystallisation: WaterRow,
    #[serde(default)]
    analogue: Vec<AnalogueRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AnalogueRow {
    metals: Vec<String>,
    anion: String,
    pattern: String,
    band: RawValue,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WaterRow {
    formation_enthalpy: RawValue,
    heat_capacity: RawValue,
}

impl WaterRule {
    pub(super) fn built_in(sources: &Bibliography) -> Result<Self, ReactantError> {
        let file = "water.toml";
        let text = include_str!("../../../tables/reactants/water.toml");
        let table: WaterFile = row::parse(file, text)?;
        table.units.check(file)?;
        let rule = table.water_of_crystallisation;
        Ok(Self {
            enthalpy: Some(rule.formation_enthalpy.enthalpy(file, sources)?),
            heat_capacity: Some(rule.heat_capacity.heat_capacity(file, sources)?),
            analogues: table
                .analogue
                .into_iter()
                .map(|row| {
                    Ok(Analogue {
                        metals: row.metals,
                        anion: row.anion,
                        pattern: row.pattern,
                        band: row.band.enthalpy(file, sources)?,
                    })
                })
                .collect::<Result<_, ReactantError>>()?,
        })
    }

    pub(super) fn analogue(&self, salt: &str) -> Option<&Analogue> {
        self.analogues.iter().find(|a| {
            let metal = salt.strip_suffix(a.anion.as_str());
            metal.is_some_and(|m| a.metals.iter().any(|known| known == m))
        })
    }
}
