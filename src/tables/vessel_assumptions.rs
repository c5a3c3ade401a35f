//! Assumptions of the vessel check and of the violence index.

use super::cited::{Cited, CitedBand};
use super::error::Fault;
use super::unit::{
    DegreeCelsius, GramPerCubicCentimetre, KelvinStep, LitrePerGramSecond, Micrometre, Millimetre,
    One, PascalSecond, Share, WattPerSquareMetreKelvin,
};
use serde::Deserialize;

/// Assumptions of the vessel check and of the violence index, each with its reason.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VesselAssumptions {
    /// Share of the brimful volume that the froth may fill.
    pub froth_share: Cited<Share>,
    /// Greatest depth of the solution.
    pub liquid_depth: Cited<Millimetre>,
    /// Density of the least solution that can froth, the syrup.
    pub syrup_density: Cited<GramPerCubicCentimetre>,
    /// Least open area of the mouth over the widest section.
    pub open_share: Cited<Share>,
    /// Greatest depth of a vessel over the diameter of its mouth.
    pub slenderness: Cited<One>,
    /// Diameters of the agglomerates that a burn leaves.
    pub agglomerate_diameter: CitedBand<Micrometre>,
    /// Effective density of an agglomerate, pores included.
    pub agglomerate_density: CitedBand<GramPerCubicCentimetre>,
    /// Peak flow of gas over mean flow.
    pub peak_flow: CitedBand<One>,
    /// Viscosity of air at 273.15 K.
    pub air_viscosity: Cited<PascalSecond>,
    /// Sutherland's constant of air.
    pub sutherland_temperature: Cited<KelvinStep>,
    /// Gas temperature at the mouth over the flame temperature, both in K.
    pub mouth_temperature: CitedBand<Share>,
    /// Heat transfer from flame and hot gas to the wall.
    pub flame_transfer: CitedBand<WattPerSquareMetreKelvin>,
    /// Share of the heat of the burn that goes into the wall.
    pub heat_to_wall: CitedBand<Share>,
    /// Heat transfer from a vessel that cools on the bench.
    pub cooling_transfer: CitedBand<WattPerSquareMetreKelvin>,
    /// Temperature of a surface that may be touched.
    pub touchable: Cited<DegreeCelsius>,
    /// Wall temperature when the gel ignites on a source without a set temperature of its own.
    pub wall_at_ignition: CitedBand<DegreeCelsius>,
    /// Volume of the outer vessel over that of the vessel in it, at least.
    pub outer_share: Cited<One>,
    /// Flame temperatures to which the slow and the fast end of a fuel's time of burning belong.
    pub burn_time_flame: CitedBand<DegreeCelsius>,
    /// Factor by which the time of a burn differs from one to the next.
    pub burn_time_scatter: Cited<One>,
    /// Step of the violence index from which a burn is gentle.
    pub violence_gentle: Cited<LitrePerGramSecond>,
    /// Step from which it is brisk.
    pub violence_brisk: Cited<LitrePerGramSecond>,
    /// Step from which it is eruptive.
    pub violence_eruptive: Cited<LitrePerGramSecond>,
    /// Flame temperature below which hardly a flame is seen.
    pub smoulder_temperature: Cited<DegreeCelsius>,
}

impl VesselAssumptions {
    /// Steps of the violence index in L/(g s): gentle, brisk, eruptive from here up.
    pub fn violence_steps(&self) -> [&Cited<LitrePerGramSecond>; 3] {
        [
            &self.violence_gentle,
            &self.violence_brisk,
            &self.violence_eruptive,
        ]
    }

    pub(super) fn check(&self) -> Result<(), Fault> {
        let [gentle, brisk, eruptive] = self.violence_steps().map(|step| step.value);
        if gentle < brisk && brisk < eruptive {
            return Ok(());
        }
        Err(Fault::value(
            "violence_brisk in L/(g s)",
            brisk,
            "the three steps have to rise",
        ))
    }
}
