//! Nitric acid as sold and as diluted: enthalpy, density and heat capacity of the solution.

use super::check::UNITS;
use super::group::HazardGroup;
use super::reactant::{Gases, Hazards, Reactant, Role, State};
use crate::formula::Formula;
use crate::quantity::units::{
    gram_per_cubic_centimeter, gram_per_mole, joule_per_kelvin_mole, kilojoule_per_mole, percent,
    ratio,
};
use crate::quantity::{MassDensity, MolarEnergy, MolarHeatCapacity, Ratio};
use crate::source::{Seen, SourceId};
use crate::tables::cited::Cited;
use crate::tables::error::{Fault, TableError};
use crate::tables::read::TableFile;
use crate::tables::unit::{JoulePerMoleKelvin, KilojoulePerMole};
use serde::Deserialize;
use std::collections::BTreeMap;

/// Why a nitric acid cannot be described.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum AcidError {
    #[error("nitric acid of {strength_percent} % by mass; give a strength above 0 and up to 100 %")]
    Strength { strength_percent: f64 },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AcidFile {
    units: BTreeMap<String, String>,
    acid: AcidRow,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AcidRow {
    pure: Cited<KilojoulePerMole>,
    water: Cited<KilojoulePerMole>,
    solution: Cited<KilojoulePerMole>,
    pure_heat_capacity: Cited<JoulePerMoleKelvin>,
    water_heat_capacity: Cited<JoulePerMoleKelvin>,
    /// mol water per mol acid, heat released to infinite dilution in kJ/mol
    dilution: Vec<(f64, f64)>,
    dilution_source: SourceId,
    dilution_at: String,
    dilution_seen: Seen,
    /// mass percent, g/cm3
    density: Vec<(f64, f64)>,
    density_source: SourceId,
    density_at: String,
    density_seen: Seen,
    /// mass percent above which the density is recalled only
    density_seen_to: f64,
    hazards: Vec<String>,
}

/// Nitric acid of any strength at 25 °C.
#[derive(Debug, Clone)]
pub struct NitricAcid {
    pure: Cited<KilojoulePerMole>,
    water: Cited<KilojoulePerMole>,
    solution: Cited<KilojoulePerMole>,
    heat_capacity: [f64; 2],
    /// amount fraction of the acid (rising) and heat of dilution in kJ/mol
    dilution: Vec<(f64, f64)>,
    dilution_source: (SourceId, String, Seen),
    density: Vec<(f64, f64)>,
    density_source: (SourceId, String, Seen),
    density_seen_to: f64,
    hazards: Vec<String>,
}

impl NitricAcid {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("reactants/nitric_acid.toml");
        let AcidFile { units, acid: row } = file.parse()?;
        file.check_units(&units, &UNITS)?;
        let mut dilution: Vec<(f64, f64)> = row
            .dilution
            .iter()
            .map(|(water, heat)| (1.0 / (1.0 + water), *heat))
            .collect();
        dilution.push((0.0, 0.0));
        dilution.push((1.0, -row.solution.written()));
        dilution.sort_by(|a, b| a.0.total_cmp(&b.0));
        let rising = |list: &[(f64, f64)]| list.windows(2).all(|p| p[0].0 < p[1].0);
        if !rising(&dilution) || !rising(&row.density) || row.density.is_empty() {
            let fault = Fault::incomplete("dilution or density has points out of order");
            return Err(file.error("nitric acid", fault));
        }
        Ok(Self {
            pure: row.pure,
            water: row.water,
            solution: row.solution,
            heat_capacity: [
                row.pure_heat_capacity.written(),
                row.water_heat_capacity.written(),
            ],
            dilution,
            dilution_source: (row.dilution_source, row.dilution_at, row.dilution_seen),
            density: row.density,
            density_source: (row.density_source, row.density_at, row.density_seen),
            density_seen_to: row.density_seen_to,
            hazards: row.hazards,
        })
    }

    /// Mol of water per mol of HNO3 at a mass fraction of the acid.
    fn water_per_acid(&self, strength: Ratio) -> Result<f64, AcidError> {
        let w = checked(strength)?;
        Ok((1.0 - w) / w * molar_mass("HNO3") / molar_mass("H2O"))
    }

    /// Formation enthalpy of HNO3·nH2O at 25 °C, n = `water`, per mole of acid.
    pub(super) fn enthalpy(&self, water: f64) -> Cited<KilojoulePerMole> {
        let kj = |q: MolarEnergy| q.get::<kilojoule_per_mole>();
        let heat = self.dilution_heat(water);
        let value =
            kj(self.pure.value) + kj(self.solution.value) + heat + water * kj(self.water.value);
        let band = |v: &Cited<KilojoulePerMole>| v.uncertainty.map_or(0.0, kj);
        // 0.3 kJ/mol: the most by which the interpolation in the amount fraction can miss
        // between the two strongest tabulated solutions
        let uncertainty = band(&self.pure)
            .hypot(band(&self.solution))
            .hypot(band(&self.water) * water)
            .hypot(0.3);
        let (source, at, seen) = &self.dilution_source;
        Cited {
            value: MolarEnergy::new::<kilojoule_per_mole>(value),
            uncertainty: Some(MolarEnergy::new::<kilojoule_per_mole>(uncertainty)),
            source: source.clone(),
            locator: format!("pure acid + solution + dilution heat + water; {at}"),
            seen: (*seen).max(Seen::Computed),
        }
    }

    /// Formation enthalpy of the acid alone in much water, per mole.
    pub(super) fn dissolved(&self) -> MolarEnergy {
        self.pure.value + self.solution.value
    }

    /// Heat that diluting HNO3·nH2O to infinity gives off, kJ per mole of acid.
    fn dilution_heat(&self, water: f64) -> f64 {
        interpolated(&self.dilution, 1.0 / (1.0 + water))
    }

    /// Heat capacity of HNO3·nH2O, n = `water`: acid and water added.
    pub(super) fn heat_capacity(&self, water: f64) -> Cited<JoulePerMoleKelvin> {
        let sum = self.heat_capacity[0] + water * self.heat_capacity[1];
        let quantity = MolarHeatCapacity::new::<joule_per_kelvin_mole>;
        Cited {
            value: quantity(sum),
            uncertainty: Some(quantity(0.1 * sum)),
            source: self.pure.source.clone(),
            locator: "acid and water added; the excess is left out".to_owned(),
            seen: Seen::Estimated,
        }
    }

    /// The solution with a mass fraction `strength` of HNO3 as a reactant: its formula unit is
    /// HNO3·nH2O, its formation enthalpy that of the solution at 25 °C.
    pub fn solution(&self, strength: Ratio) -> Result<Reactant, AcidError> {
        let n = self.water_per_acid(strength)?;
        let w = strength.get::<percent>();
        let (source, at, seen) = &self.dilution_source;
        let (density_source, density_at, density_seen) = &self.density_source;
        let formula = base_formula().with_crystal_water((n * 1e4).round() / 1e4);
        Ok(Reactant {
            id: format!("hno3_{w}"),
            name: format!("nitric acid, {w} %"),
            aliases: Vec::new(),
            formula,
            cas: Some("7697-37-2".to_owned()),
            cas_seen: Some(Seen::Document),
            role: Role::Acid,
            usual_hydrate: false,
            hazard_groups: vec![HazardGroup::NitricAcid],
            state: if n > 0.0 {
                State::Solution
            } else {
                State::Liquid
            },
            metal: None,
            redox_valence: Some(-5.0),
            formation_enthalpy: Some(self.enthalpy(n)),
            heat_capacity: Some(self.heat_capacity(n)),
            entropy: None,
            enthalpy_of_solution: Some(Cited {
                value: MolarEnergy::new::<kilojoule_per_mole>(-self.dilution_heat(n)),
                uncertainty: Some(MolarEnergy::new::<kilojoule_per_mole>(0.5)),
                source: source.clone(),
                locator: at.clone(),
                seen: *seen,
            }),
            density: Some(Cited {
                value: MassDensity::new::<gram_per_cubic_centimeter>(interpolated(
                    &self.density,
                    w,
                )),
                uncertainty: Some(MassDensity::new::<gram_per_cubic_centimeter>(0.005)),
                source: density_source.clone(),
                locator: density_at.clone(),
                seen: if w <= self.density_seen_to {
                    *density_seen
                } else {
                    Seen::FromMemory
                },
            }),
            melting: None,
            thermal_steps: "boils below 121 °C; the azeotrope has 68 %".to_owned(),
            decomposition_onset: None,
            solubility: None,
            hygroscopic: "fuming when strong".to_owned(),
            water_range: None,
            assay: None,
            gases: Some(Gases {
                list: ["HNO3(g)", "H2O", "NO2", "O2"].map(String::from).to_vec(),
                seen: Seen::FromMemory,
            }),
            hazards: Hazards {
                signal: "Danger".to_owned(),
                statements: self.hazards.clone(),
                source: SourceId("memory".to_owned()),
                seen: Seen::FromMemory,
            },
            toxicity: "corrosive; gives off nitrogen oxides".to_owned(),
            alternatives: Vec::new(),
        })
    }
}

fn checked(strength: Ratio) -> Result<f64, AcidError> {
    let w = strength.get::<ratio>();
    if w > 0.0 && w <= 1.0 {
        Ok(w)
    } else {
        Err(AcidError::Strength {
            strength_percent: 100.0 * w,
        })
    }
}

/// Whether a formula without its crystal water is HNO3.
pub(super) fn is_nitric_acid(dry: &Formula) -> bool {
    dry.same_composition(&base_formula())
}

fn base_formula() -> Formula {
    Formula::parse("HNO3").expect("HNO3 is a formula")
}

fn molar_mass(formula: &str) -> f64 {
    Formula::parse(formula)
        .expect("HNO3 and H2O are formulas")
        .molar_mass()
        .get::<gram_per_mole>()
}

/// Linear between the points of a rising list; the end values beyond its ends.
fn interpolated(points: &[(f64, f64)], x: f64) -> f64 {
    let i = points
        .partition_point(|p| p.0 < x)
        .clamp(1, points.len().max(2) - 1);
    let (a, b) = (points[i - 1], points[i]);
    let share = ((x - a.0) / (b.0 - a.0)).clamp(0.0, 1.0);
    a.1 + (b.1 - a.1) * share
}
