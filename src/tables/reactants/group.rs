//! Hazard groups of reactants: a column of the tables that the cautions and the choice look at.

use serde::{Deserialize, Serialize};
use std::fmt;

/// What a reactant is, as far as a hazard hangs on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize)]
pub enum HazardGroup {
    /// Hydrazide fuel.
    #[serde(rename = "hydrazide")]
    Hydrazide,
    /// Hydrazine derivative other than the hydrazide fuels.
    #[serde(rename = "hydrazine derivative")]
    HydrazineDerivative,
    /// Hexamine.
    #[serde(rename = "hexamine")]
    Hexamine,
    /// Volatile alcohol or ether.
    #[serde(rename = "alcohol")]
    Alcohol,
    /// Alkoxide of silicon or a metal: turns into its alcohol in water.
    #[serde(rename = "alkoxide")]
    Alkoxide,
    /// Ketone.
    #[serde(rename = "ketone")]
    Ketone,
    /// Glycol or glycerol.
    #[serde(rename = "glycol")]
    Glycol,
    /// Sugar, sugar alcohol, starch, cellulose or another polymer with alcohol groups.
    #[serde(rename = "polyol")]
    Polyol,
    /// Acetic or formic acid, or an acetate, of which free nitric acid makes acetic acid.
    #[serde(rename = "light acid")]
    LightAcid,
    /// Urea and its like, guanidines, triazines: forms a nitrate with free nitric acid.
    #[serde(rename = "urea or guanidine")]
    UreaOrGuanidine,
    /// Ammonium salt: leaves ammonium nitrate beside nitrates.
    #[serde(rename = "ammonium salt")]
    AmmoniumSalt,
    /// Ammonia, or a salt of it that sets it free in water: forms ammine complexes.
    #[serde(rename = "ammonia")]
    Ammonia,
    /// Alkanolamine.
    #[serde(rename = "alkanolamine")]
    Alkanolamine,
    /// Amine whose metal nitrate complexes can explode when dry.
    #[serde(rename = "complexing amine")]
    ComplexingAmine,
    /// Poisonous without need.
    #[serde(rename = "poisonous fuel")]
    PoisonousFuel,
    /// Forms explosives with nitric acid.
    #[serde(rename = "explosive with nitric acid")]
    ExplosiveWithNitricAcid,
    /// Not beside free nitric acid.
    #[serde(rename = "dangerous with nitric acid")]
    DangerousWithNitricAcid,
    /// Precipitates the metals before the burn.
    #[serde(rename = "precipitates metals")]
    PrecipitatesMetals,
    /// Oxidises fuel in the cold solution.
    #[serde(rename = "cold oxidiser")]
    ColdOxidiser,
    /// Nitric acid of any strength.
    #[serde(rename = "nitric acid")]
    NitricAcid,
}

impl fmt::Display for HazardGroup {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}
