//! One substance as it stands on the bottle: the row of the table.

use super::group::HazardGroup;
use super::solubility::{Basis, Solubility, SolubilityError};
use crate::formula::{Element, Formula};
use crate::quantity::units::ratio;
use crate::quantity::{MolarEnergy, Ratio, ThermodynamicTemperature, temperature_difference};
use crate::source::{Seen, SourceId};
use crate::tables::cited::Cited;
use crate::tables::unit::{
    DegreeCelsius, GramPerCubicCentimetre, JoulePerMoleKelvin, KilojoulePerMole,
};
use serde::{Deserialize, Serialize};
use std::fmt;

/// What a reactant is for. The redox sum does not look at it: there only the formula counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize)]
pub enum Role {
    /// Nitrate that brings oxygen, mostly with a metal.
    #[serde(rename = "oxidiser")]
    Oxidiser,
    /// Organic fuel, complexing agent or binder.
    #[serde(rename = "fuel")]
    Fuel,
    /// Metal salt that counts as fuel: acetates.
    #[serde(rename = "fuel-like salt")]
    FuelLikeSalt,
    /// Metal, P, V or Mo source that is nearly neutral in the redox sum: carbonates, ammonium salts.
    #[serde(rename = "metal source")]
    MetalSource,
    /// Helps the product to crystallise.
    #[serde(rename = "flux")]
    Flux,
    /// Nitric acid.
    #[serde(rename = "acid")]
    Acid,
    /// Water.
    #[serde(rename = "solvent")]
    Solvent,
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// State of aggregation on the bottle at 298.15 K.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize)]
pub enum State {
    /// Crystal or amorphous solid.
    #[serde(rename = "cr")]
    Solid,
    /// Pure liquid.
    #[serde(rename = "l")]
    Liquid,
    /// Aqueous solution.
    #[serde(rename = "aq")]
    Solution,
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// The metal (or P, V, Mo, B) that a reactant brings.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MetalContent {
    pub element: Element,
    /// Its oxidation state in the reactant.
    pub oxidation_state: i8,
    /// The oxide it mostly burns to in air, as the trade writes it; empty if it burns to the metal.
    pub common_oxide: String,
}

/// Melting point.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "super::check::WrittenMelting")]
pub struct Melting {
    /// Melting point on heating in air.
    pub temperature: Cited<DegreeCelsius>,
    /// The hydrate melts in its own crystal water: it needs hardly any solvent when warm.
    pub in_own_water: bool,
    /// Which melting point it is, and what others say.
    pub note: String,
}

/// How much the crystal water of the substance on the bottle may differ from its formula.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "super::check::WrittenWaterRange")]
pub struct WaterRange {
    /// Least and most molecules of water per formula unit, where stated.
    pub limits: Option<(f64, f64)>,
    /// In words.
    pub note: String,
    /// How the range was found.
    pub seen: Seen,
}

/// What an assay in percent refers to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum AssayBasis {
    /// Mass fraction of the substance as written.
    #[serde(rename = "mass")]
    Mass,
    /// Purity among the metals only: says nothing of the water.
    #[serde(rename = "metals")]
    Metals,
}

/// Usual assay of the substance as sold.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Assay {
    /// Lowest usual assay, 0 to 1.
    #[serde(deserialize_with = "super::check::assay")]
    pub from: Ratio,
    /// Highest usual assay, 0 to 1 (some pharmacopoeias allow a little more).
    #[serde(deserialize_with = "super::check::assay")]
    pub to: Ratio,
    /// What it refers to.
    pub basis: AssayBasis,
    /// In words.
    #[serde(default)]
    pub note: String,
    /// How the range was found.
    pub seen: Seen,
}

/// Hazard statements. They are an aid to memory: the supplier's sheet decides.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hazards {
    /// Signal word: "Danger", "Warning" or "none".
    pub signal: String,
    /// GHS statements, such as "H272".
    pub statements: Vec<String>,
    /// Where they were read.
    pub source: SourceId,
    /// How they were found; unless [`Seen::Document`], say so and refer to the supplier's sheet.
    pub seen: Seen,
}

impl Default for Hazards {
    /// What is said of a substance without a row of hazards.
    fn default() -> Self {
        Self {
            signal: "not stated".to_owned(),
            statements: Vec::new(),
            source: SourceId("estimate".to_owned()),
            seen: Seen::Estimated,
        }
    }
}

/// Gases of the decomposition of a pure substance.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gases {
    /// The gases.
    pub list: Vec<String>,
    /// How they were found.
    pub seen: Seen,
}

/// A value that was not preferred, with the reason.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Alternative {
    /// Which quantity: "formation_enthalpy" (kJ/mol), "heat_capacity" (J/(mol K)) or
    /// "density" (g/cm³).
    #[serde(rename = "of")]
    pub quantity: String,
    /// The value in the unit of that quantity.
    pub value: f64,
    /// Where it was read.
    pub source: SourceId,
    /// Page, entry or method.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
    /// Why it was not taken, or what it shows.
    pub reason: String,
}

/// A substance as it stands on the bottle.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reactant {
    /// Key of the row, unique among the reactants; the name where a row states none.
    #[serde(default)]
    pub id: String,
    /// Name, hydrate word included; the formula where a row states none.
    #[serde(default)]
    pub name: String,
    /// Other names and formula spellings.
    #[serde(default)]
    pub aliases: Vec<String>,
    /// Formula with crystal water; all molar quantities are per mole of it.
    pub formula: Formula,
    /// CAS registry number.
    pub cas: Option<String>,
    /// How the registry number was found.
    pub cas_seen: Option<Seen>,
    /// What it is for.
    pub role: Role,
    /// The hydrate that is sold where a salt is asked for by name alone, and that forms when its
    /// oxide or carbonate dissolves in nitric acid.
    #[serde(default)]
    pub usual_hydrate: bool,
    /// Hazard groups that it belongs to.
    #[serde(default)]
    pub hazard_groups: Vec<HazardGroup>,
    /// State at 298.15 K.
    #[serde(rename = "phase", default = "super::check::usual_state")]
    pub state: State,
    /// The metal it brings, if any.
    pub metal: Option<MetalContent>,
    /// Conventional sum of valences per formula unit (oxidising is negative), as printed in the
    /// literature for the oxidation state of `metal`, if stated; the redox stage computes its own.
    pub redox_valence: Option<f64>,
    /// Standard formation enthalpy Δ_fH° at 298.15 K.
    pub formation_enthalpy: Option<Cited<KilojoulePerMole>>,
    /// Molar heat capacity C_p,m at 298.15 K.
    pub heat_capacity: Option<Cited<JoulePerMoleKelvin>>,
    /// Standard entropy S° at 298.15 K.
    pub entropy: Option<Cited<JoulePerMoleKelvin>>,
    /// Enthalpy of solution at infinite dilution, 25 °C (positive: the solution cools).
    pub enthalpy_of_solution: Option<Cited<KilojoulePerMole>>,
    /// Density near 20 to 25 °C.
    pub density: Option<Cited<GramPerCubicCentimetre>>,
    /// Melting point.
    pub melting: Option<Melting>,
    /// What happens on heating, in words, temperatures in °C.
    #[serde(default)]
    pub thermal_steps: String,
    /// Where decomposition of the pure substance is first seen on heating in air.
    pub decomposition_onset: Option<Cited<DegreeCelsius>>,
    /// Solubility in water.
    pub solubility: Option<Solubility>,
    /// Hygroscopic, deliquescent, efflorescent …, in words.
    #[serde(default)]
    pub hygroscopic: String,
    /// Uncertainty of the crystal water.
    pub water_range: Option<WaterRange>,
    /// Usual assay.
    pub assay: Option<Assay>,
    /// Gases of the decomposition of the pure substance.
    pub gases: Option<Gases>,
    /// Hazard statements.
    #[serde(default)]
    pub hazards: Hazards,
    /// Toxicity and special dangers, in words; empty if nothing special is known.
    #[serde(default)]
    pub toxicity: String,
    /// Values not preferred.
    #[serde(default)]
    pub alternatives: Vec<Alternative>,
}

impl Reactant {
    /// Enthalpy change of one mole from `from` to `to` with the heat capacity of 298.15 K, taken
    /// as constant: meant for start temperatures within some tens of kelvin. `None` without a
    /// heat capacity.
    pub fn enthalpy_change(
        &self,
        from: ThermodynamicTemperature,
        to: ThermodynamicTemperature,
    ) -> Option<MolarEnergy> {
        let cp = self.heat_capacity.as_ref()?;
        Some(cp.value * temperature_difference(to, from))
    }

    /// Whether it belongs to a hazard group.
    pub fn is_in(&self, group: HazardGroup) -> bool {
        self.hazard_groups.contains(&group)
    }

    /// Orders hydrates of one salt, the one on the bottle last: marked as sold, else known by a CAS
    /// number, else the wettest.
    pub(super) fn sold_order(&self, other: &Self) -> std::cmp::Ordering {
        let key = |r: &Self| (r.usual_hydrate, r.cas.is_some());
        let water = |r: &Self| r.formula.crystal_water();
        key(self)
            .cmp(&key(other))
            .then_with(|| water(self).total_cmp(&water(other)))
    }

    /// Mass of water to add per mass of this substance to dissolve it at `temperature`; zero if
    /// its own crystal water is enough.
    ///
    /// # Errors
    /// [`SolubilityError`] if no solubility is known, or none at this temperature.
    pub fn water_to_dissolve(
        &self,
        temperature: ThermodynamicTemperature,
    ) -> Result<Ratio, SolubilityError> {
        let Some(solubility) = &self.solubility else {
            return Err(SolubilityError::Unknown {
                name: self.name.clone(),
                note: String::new(),
            });
        };
        if solubility.miscible {
            return Ok(Ratio::new::<ratio>(0.0));
        }
        let saturated = solubility
            .per_water(&self.name, temperature)?
            .get::<ratio>();
        let dry = match solubility.basis {
            Basis::AsWritten => 1.0,
            Basis::Anhydrous => {
                (self.formula.anhydrous().molar_mass() / self.formula.molar_mass()).get::<ratio>()
            }
        };
        // dry salt / (crystal water + added water) = saturated, per mass of the hydrate
        Ok(Ratio::new::<ratio>(
            (dry / saturated - (1.0 - dry)).max(0.0),
        ))
    }
}
