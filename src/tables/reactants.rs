//! Reactants: what goes into the pot. Nitrates, fuels, other metal sources, acid, flux, water.
//!
//! One row is one substance as it stands on the bottle, with its crystal water. The hydrates of
//! one salt are joined by their anhydrous formula into a [`Family`], from which the enthalpy of
//! any drier or wetter state is read or estimated. Every number carries its source.

mod acid;
mod audit;
mod convert;
mod describe;
mod family;
mod group;
mod lookup;
mod refused;
mod row;
mod solubility;
mod water;

pub use acid::{AcidError, NitricAcid};
pub use audit::AuditLine;
pub use describe::{Content, PropertyRow};
pub use family::{Family, FamilyError, HydrateEstimate, HydrateMethod};
pub use group::HazardGroup;
pub use lookup::LookupError;
pub use refused::Refusal;
pub use row::ReactantError;
pub use solubility::{Basis, Solubility, SolubilityError};

use crate::formula::{Element, Formula};
use crate::quantity::{
    MassDensity, MolarEnergy, MolarEntropy, MolarHeatCapacity, Ratio, ThermodynamicTemperature,
    temperature_difference,
};
use crate::source::{Bibliography, Seen, SourceId, Sourced};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;

/// What a reactant is for. The redox sum does not look at it: there only the formula counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
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
    /// Helps the product to crystallize.
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
        f.pad(match self {
            Self::Oxidiser => "oxidiser",
            Self::Fuel => "fuel",
            Self::FuelLikeSalt => "fuel-like salt",
            Self::MetalSource => "metal source",
            Self::Flux => "flux",
            Self::Acid => "acid",
            Self::Solvent => "solvent",
        })
    }
}

/// State of aggregation on the bottle at 298.15 K.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
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
        f.pad(match self {
            Self::Solid => "cr",
            Self::Liquid => "l",
            Self::Solution => "aq",
        })
    }
}

/// The metal (or P, V, Mo, B) that a reactant brings.
#[derive(Debug, Clone, PartialEq)]
pub struct MetalContent {
    /// The element.
    pub element: Element,
    /// Its oxidation state in the reactant.
    pub oxidation_state: i8,
    /// The oxide it mostly burns to in air, as the trade writes it; empty if it burns to the metal.
    pub common_oxide: String,
}

/// Melting point.
#[derive(Debug, Clone, PartialEq)]
pub struct Melting {
    /// Melting point on heating in air.
    pub temperature: Sourced<ThermodynamicTemperature>,
    /// The hydrate melts in its own crystal water: it needs hardly any solvent when warm.
    pub in_own_water: bool,
    /// Which melting point it is, and what others say.
    pub note: String,
}

/// How much the crystal water of the substance on the bottle may differ from its formula.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterRange {
    /// Least and most molecules of water per formula unit, where stated.
    pub limits: Option<(f64, f64)>,
    /// In words.
    pub note: String,
    /// How the range was come by.
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
#[derive(Debug, Clone, PartialEq)]
pub struct Assay {
    /// Lowest usual assay, 0 to 1.
    pub from: Ratio,
    /// Highest usual assay, 0 to 1 (some pharmacopoeias allow a little more).
    pub to: Ratio,
    /// What it refers to.
    pub basis: AssayBasis,
    /// In words.
    pub note: String,
    /// How the range was come by.
    pub seen: Seen,
}

/// Hazard statements. They are an aid to memory: the supplier's sheet decides.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hazards {
    /// Signal word: "Danger", "Warning" or "none".
    pub signal: String,
    /// GHS statements, such as "H272".
    pub statements: Vec<String>,
    /// Where they were read.
    pub source: SourceId,
    /// How they were come by; unless [`Seen::Document`], say so and refer to the supplier's sheet.
    pub seen: Seen,
}

/// A value that was not preferred, with the reason.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative {
    /// Which quantity: "formation_enthalpy" (kJ/mol), "heat_capacity" (J/(mol K)) or
    /// "density" (g/cm³).
    pub quantity: String,
    /// The value in the unit of that quantity.
    pub value: f64,
    /// Where it was read.
    pub source: SourceId,
    /// Page, entry or method.
    pub locator: String,
    /// How it was come by.
    pub seen: Seen,
    /// Why it was not taken, or what it shows.
    pub reason: String,
}

/// A substance as it stands on the bottle.
#[derive(Debug, Clone, PartialEq)]
pub struct Reactant {
    /// Key of the row, unique among the reactants.
    pub id: String,
    /// Name, hydrate word included.
    pub name: String,
    /// Other names and formula spellings.
    pub aliases: Vec<String>,
    /// Formula with crystal water; all molar quantities are per mole of it.
    pub formula: Formula,
    /// CAS registry number.
    pub cas: Option<String>,
    /// How the registry number was come by.
    pub cas_seen: Option<Seen>,
    /// What it is for.
    pub role: Role,
    /// Hazard groups that it belongs to.
    pub hazard_groups: Vec<HazardGroup>,
    /// State at 298.15 K.
    pub state: State,
    /// The metal it brings, if any.
    pub metal: Option<MetalContent>,
    /// Conventional sum of valences per formula unit (oxidizing is negative), as printed in the
    /// literature for the oxidation state of `metal`; the redox stage computes its own.
    pub redox_valence: f64,
    /// Standard formation enthalpy Δ_fH° at 298.15 K.
    pub formation_enthalpy: Option<Sourced<MolarEnergy>>,
    /// Molar heat capacity C_p,m at 298.15 K.
    pub heat_capacity: Option<Sourced<MolarHeatCapacity>>,
    /// Standard entropy S° at 298.15 K.
    pub entropy: Option<Sourced<MolarEntropy>>,
    /// Enthalpy of solution at infinite dilution, 25 °C (positive: the solution cools).
    pub enthalpy_of_solution: Option<Sourced<MolarEnergy>>,
    /// Density near 20 to 25 °C.
    pub density: Option<Sourced<MassDensity>>,
    /// Melting point.
    pub melting: Option<Melting>,
    /// What happens on heating, in words, temperatures in °C.
    pub thermal_steps: String,
    /// Where decomposition of the pure substance is first seen on heating in air.
    pub decomposition_onset: Option<Sourced<ThermodynamicTemperature>>,
    /// Solubility in water.
    pub solubility: Option<Solubility>,
    /// Hygroscopic, deliquescent, efflorescent …, in words.
    pub hygroscopic: String,
    /// Uncertainty of the crystal water.
    pub water_range: Option<WaterRange>,
    /// Usual assay.
    pub assay: Option<Assay>,
    /// Gases of the decomposition of the pure substance.
    pub gases: Vec<String>,
    /// How the gases were come by.
    pub gases_seen: Option<Seen>,
    /// Hazard statements.
    pub hazards: Hazards,
    /// Toxicity and special dangers, in words; empty if nothing special is known.
    pub toxicity: String,
    /// Values not preferred.
    pub alternatives: Vec<Alternative>,
}

impl Reactant {
    /// Enthalpy change of one mole from `from` to `to` with the heat capacity of 298.15 K, taken
    /// as constant: meant for start temperatures within some tens of kelvin. `None` without a
    /// heat capacity.
    #[must_use]
    pub fn enthalpy_change(
        &self,
        from: ThermodynamicTemperature,
        to: ThermodynamicTemperature,
    ) -> Option<MolarEnergy> {
        let cp = self.heat_capacity.as_ref()?;
        Some(cp.value * temperature_difference(to, from))
    }

    /// Whether it belongs to a hazard group.
    #[must_use]
    pub fn is_in(&self, group: HazardGroup) -> bool {
        self.hazard_groups.contains(&group)
    }

    /// How the formation enthalpy, on which the energy balance rests, was come by.
    #[must_use]
    pub fn reliability(&self) -> Seen {
        let enthalpy = self.formation_enthalpy.as_ref().map(|v| v.seen);
        enthalpy.unwrap_or(Seen::Estimated)
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
        solubility::water_to_dissolve(self, temperature)
    }
}

/// All reactants, with the rules that join the hydrates of a salt and the refused substances.
#[derive(Debug, Clone, Default)]
pub struct Reactants {
    rows: Vec<Reactant>,
    /// Every spelling, normalized, with the rows that bear it.
    spellings: BTreeMap<String, Vec<usize>>,
    /// The rows without their crystal water, in the order of the rows.
    salts: Vec<Formula>,
    water_rule: water::WaterRule,
    acid: Option<NitricAcid>,
    refused: refused::Refused,
}

impl Reactants {
    /// The tables that come with the program.
    ///
    /// # Errors
    /// [`ReactantError`] if a row is wrong or cites a source that `sources` lacks.
    pub fn built_in(sources: &Bibliography) -> Result<Self, ReactantError> {
        let mut tables = Self {
            rows: Vec::new(),
            spellings: BTreeMap::new(),
            salts: Vec::new(),
            water_rule: water::WaterRule::built_in(sources)?,
            acid: Some(NitricAcid::built_in(sources)?),
            refused: refused::Refused::built_in()?,
        };
        for (file, text) in [
            (
                "oxidisers.toml",
                include_str!("../../tables/reactants/oxidisers.toml"),
            ),
            (
                "fuels.toml",
                include_str!("../../tables/reactants/fuels.toml"),
            ),
            (
                "further.toml",
                include_str!("../../tables/reactants/further.toml"),
            ),
            (
                "lower_hydrates.toml",
                include_str!("../../tables/reactants/lower_hydrates.toml"),
            ),
            (
                "others.toml",
                include_str!("../../tables/reactants/others.toml"),
            ),
        ] {
            tables.merge(file, text, sources)?;
        }
        tables.index();
        Ok(tables)
    }

    /// Adds the rows of a TOML text; a row with the id of an earlier one takes its place.
    /// `file` is named in errors.
    ///
    /// # Errors
    /// [`ReactantError`] if the text or a row of it is wrong, or if a row is a refused substance by
    /// its id, name, another name, formula or registry number.
    pub fn add(
        &mut self,
        file: &str,
        text: &str,
        sources: &Bibliography,
    ) -> Result<(), ReactantError> {
        for mut row in row::read(file, text, sources)? {
            self.check_not_refused(file, &row)?;
            row.hazard_groups.extend(self.groups_of(&row.formula));
            row.hazard_groups.sort_unstable();
            row.hazard_groups.dedup();
            self.put(row);
        }
        self.index();
        Ok(())
    }

    /// Hazard groups of everything tabulated with this composition: another name or a new row does
    /// not take a substance out of its groups.
    fn groups_of(&self, formula: &Formula) -> Vec<HazardGroup> {
        let dry = formula.anhydrous();
        let same = |row: &&Reactant| super::same_composition(&row.formula.anhydrous(), &dry);
        let mut groups: Vec<HazardGroup> = self
            .rows
            .iter()
            .filter(same)
            .flat_map(|row| row.hazard_groups.iter().copied())
            .collect();
        if acid::is_nitric_acid(&dry) {
            groups.push(HazardGroup::NitricAcid);
        }
        groups
    }

    /// A table of one's own cannot lift a refusal.
    fn check_not_refused(&self, file: &str, row: &Reactant) -> Result<(), ReactantError> {
        let formula = row.formula.to_string();
        let spellings = [&row.id, &row.name, &formula].into_iter();
        let all = spellings.chain(&row.aliases).chain(&row.cas);
        for spelling in all {
            if let Some(reason) = self.refused.reason(spelling) {
                return Err(ReactantError::Refused {
                    file: file.to_owned(),
                    id: row.id.clone(),
                    spelling: spelling.clone(),
                    reason,
                });
            }
        }
        Ok(())
    }

    /// The rows of a built-in text, without the index, so that several texts are indexed once.
    fn merge(
        &mut self,
        file: &str,
        text: &str,
        sources: &Bibliography,
    ) -> Result<(), ReactantError> {
        for reactant in row::read(file, text, sources)? {
            self.put(reactant);
        }
        Ok(())
    }

    fn put(&mut self, reactant: Reactant) {
        match self.rows.iter_mut().find(|old| old.id == reactant.id) {
            Some(old) => *old = reactant,
            None => self.rows.push(reactant),
        }
    }

    /// Works out what is looked up by: salts, shared solubilities, spellings.
    fn index(&mut self) {
        self.salts = self.rows.iter().map(|r| r.formula.anhydrous()).collect();
        self.share_solubility();
        self.spellings = lookup::spellings(&self.rows);
    }

    /// Every reactant in the order of the tables.
    pub fn iter(&self) -> impl Iterator<Item = &Reactant> {
        self.rows.iter()
    }

    /// Nitric acid as a solution of any strength.
    #[must_use]
    pub fn nitric_acid(&self) -> Option<&NitricAcid> {
        self.acid.as_ref()
    }

    /// The refused substances with the reasons.
    #[must_use]
    pub fn refusals(&self) -> &[Refusal] {
        &self.refused.classes
    }

    /// Solubility is stated once for a salt, on the anhydrous basis; its other hydrates get it too.
    fn share_solubility(&mut self) {
        for at in 0..self.rows.len() {
            if self.rows[at].solubility.is_some() {
                continue;
            }
            let salt = &self.salts[at];
            self.rows[at].solubility = self
                .rows
                .iter()
                .zip(&self.salts)
                .filter(|(_, other)| other.amounts() == salt.amounts())
                .filter_map(|(row, _)| row.solubility.clone())
                .find(|s| s.basis == Basis::Anhydrous);
        }
    }
}
