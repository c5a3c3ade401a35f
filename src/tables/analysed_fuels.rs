//! What is assumed of a fuel that is known by its analysis alone: `tables/analysed_fuels.toml`.

use super::cited::Cited;
use super::error::TableError;
use super::read::TableFile;
use super::unit::{JoulePerMoleKelvin, KilojoulePerKilogram, Percent};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The rules for fuels by analysis.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnalysedFuels {
    units: BTreeMap<String, String>,
    /// What each element adds to the heat capacity of a solid, per mole of it.
    pub heat_capacity: ElementHeats,
    /// Where such a substance is refused, and its bands.
    pub limits: AnalysisLimits,
}

/// Heat capacities of the elements in a solid.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "UPPERCASE")]
pub struct ElementHeats {
    /// Carbon.
    pub c: Cited<JoulePerMoleKelvin>,
    /// Hydrogen.
    pub h: Cited<JoulePerMoleKelvin>,
    /// Nitrogen.
    pub n: Cited<JoulePerMoleKelvin>,
    /// Oxygen.
    pub o: Cited<JoulePerMoleKelvin>,
}

/// Limits and bands.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnalysisLimits {
    /// Most heat from its own oxygen.
    pub own_heat: Cited<KilojoulePerKilogram>,
    /// Least oxygen from outside that burning it needs, of its mass.
    pub outside_oxygen: Cited<Percent>,
    /// How far the analysis may sum off 100 %.
    pub sum_within: Cited<Percent>,
    /// Half width of the band of its enthalpy, of the heat of combustion.
    pub heat_band: Cited<Percent>,
    /// Half width of the band of its heat capacity.
    pub heat_capacity_band: Cited<Percent>,
}

pub(super) fn built_in() -> Result<AnalysedFuels, TableError> {
    let file = TableFile::built_in("analysed_fuels.toml");
    let rules: AnalysedFuels = file.parse()?;
    let units = [
        ("heat_capacity", "J/(mol K)"),
        ("energy", "kJ/kg"),
        ("share", "%"),
    ];
    file.check_units(&rules.units, &units)?;
    Ok(rules)
}
