//! Assumptions of the vessel check and of the violence index.

use super::TableError;
use super::cited::{RawRange, RawValue, Reading};
use crate::quantity::{
    Band, HeatTransfer, Length, MassDensity, Ratio, TemperatureInterval, ThermodynamicTemperature,
};
use crate::source::Sourced;
use serde::Deserialize;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::f64::DynamicViscosity;
use uom::si::heat_transfer::watt_per_square_meter_kelvin;
use uom::si::length::{micrometer, millimeter};
use uom::si::mass_density::gram_per_cubic_centimeter;
use uom::si::ratio::ratio;
use uom::si::temperature_interval::kelvin as kelvin_step;
use uom::si::thermodynamic_temperature::degree_celsius;

/// Assumptions of the vessel check and of the violence index, each with its reason.
#[derive(Debug, Clone, PartialEq)]
pub struct VesselAssumptions {
    /// Share of the brimful volume that the froth may fill.
    pub froth_share: Sourced<Ratio>,
    /// Greatest depth of the solution.
    pub liquid_depth: Sourced<Length>,
    /// Density of the least solution that can froth, the syrup.
    pub syrup_density: Sourced<MassDensity>,
    /// Least open area of the mouth over the widest section.
    pub open_share: Sourced<Ratio>,
    /// Greatest depth of a vessel over the diameter of its mouth.
    pub slenderness: Sourced<Ratio>,
    /// Diameters of the agglomerates that a burn leaves.
    pub agglomerate_diameter: Sourced<Band<Length>>,
    /// Effective density of an agglomerate, pores included.
    pub agglomerate_density: Sourced<Band<MassDensity>>,
    /// Peak flow of gas over mean flow.
    pub peak_flow: Sourced<Band<Ratio>>,
    /// Viscosity of air at 273.15 K.
    pub air_viscosity: Sourced<DynamicViscosity>,
    /// Sutherland's constant of air.
    pub sutherland_temperature: Sourced<TemperatureInterval>,
    /// Gas temperature at the mouth over the flame temperature, both in K.
    pub mouth_temperature: Sourced<Band<Ratio>>,
    /// Heat transfer from flame and hot gas to the wall.
    pub flame_transfer: Sourced<Band<HeatTransfer>>,
    /// Share of the heat of the burn that goes into the wall.
    pub heat_to_wall: Sourced<Band<Ratio>>,
    /// Heat transfer from a vessel that cools on the bench.
    pub cooling_transfer: Sourced<Band<HeatTransfer>>,
    /// Temperature of a surface that may be touched.
    pub touchable: Sourced<ThermodynamicTemperature>,
    /// Wall temperature when the gel ignites on a source without a set temperature of its own.
    pub wall_at_ignition: Sourced<Band<ThermodynamicTemperature>>,
    /// Volume of the outer vessel over that of the vessel in it, at least.
    pub outer_share: Sourced<Ratio>,
    /// Steps of the violence index in L/(g s): gentle, brisk, eruptive from here up.
    pub violence_steps: [Sourced<f64>; 3],
    /// Flame temperature below which hardly a flame is seen.
    pub smoulder_temperature: Sourced<ThermodynamicTemperature>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RawAssumed {
    froth_share: RawValue,
    liquid_depth: RawValue,
    syrup_density: RawValue,
    open_share: RawValue,
    slenderness: RawValue,
    agglomerate_diameter: RawRange,
    agglomerate_density: RawRange,
    peak_flow: RawRange,
    air_viscosity: RawValue,
    sutherland_temperature: RawValue,
    mouth_temperature: RawRange,
    flame_transfer: RawRange,
    heat_to_wall: RawRange,
    cooling_transfer: RawRange,
    touchable: RawValue,
    wall_at_ignition: RawRange,
    outer_share: RawValue,
    violence_gentle: RawValue,
    violence_brisk: RawValue,
    violence_eruptive: RawValue,
    smoulder_temperature: RawValue,
}

fn celsius(value: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<degree_celsius>(value)
}

/// Reads the assumptions.
pub(super) fn read(
    raw: &RawAssumed,
    reading: &Reading<'_>,
) -> Result<VesselAssumptions, TableError> {
    let share = Ratio::new::<ratio>;
    let transfer = HeatTransfer::new::<watt_per_square_meter_kelvin>;
    let density = MassDensity::new::<gram_per_cubic_centimeter>;
    let plain = |value: f64| value;
    let steps = [
        reading.value("violence_gentle", &raw.violence_gentle, plain)?,
        reading.value("violence_brisk", &raw.violence_brisk, plain)?,
        reading.value("violence_eruptive", &raw.violence_eruptive, plain)?,
    ];
    if !(steps[0].value < steps[1].value && steps[1].value < steps[2].value) {
        let expected = "the three steps have to rise";
        let quantity = "violence_brisk in L/(g s)".to_owned();
        return Err(reading
            .place
            .value(reading.id, quantity, steps[1].value, expected));
    }
    Ok(VesselAssumptions {
        froth_share: reading.value("froth_share", &raw.froth_share, share)?,
        liquid_depth: reading.value(
            "liquid_depth",
            &raw.liquid_depth,
            Length::new::<millimeter>,
        )?,
        syrup_density: reading.value("syrup_density", &raw.syrup_density, density)?,
        open_share: reading.value("open_share", &raw.open_share, share)?,
        slenderness: reading.value("slenderness", &raw.slenderness, share)?,
        agglomerate_diameter: reading.range(
            "agglomerate_diameter",
            &raw.agglomerate_diameter,
            Length::new::<micrometer>,
        )?,
        agglomerate_density: reading.range(
            "agglomerate_density",
            &raw.agglomerate_density,
            density,
        )?,
        peak_flow: reading.range("peak_flow", &raw.peak_flow, share)?,
        air_viscosity: reading.value(
            "air_viscosity",
            &raw.air_viscosity,
            DynamicViscosity::new::<pascal_second>,
        )?,
        sutherland_temperature: reading.value(
            "sutherland_temperature",
            &raw.sutherland_temperature,
            TemperatureInterval::new::<kelvin_step>,
        )?,
        mouth_temperature: reading.range("mouth_temperature", &raw.mouth_temperature, share)?,
        flame_transfer: reading.range("flame_transfer", &raw.flame_transfer, transfer)?,
        heat_to_wall: reading.range("heat_to_wall", &raw.heat_to_wall, share)?,
        cooling_transfer: reading.range("cooling_transfer", &raw.cooling_transfer, transfer)?,
        touchable: reading.value("touchable", &raw.touchable, celsius)?,
        wall_at_ignition: reading.range("wall_at_ignition", &raw.wall_at_ignition, celsius)?,
        outer_share: reading.value("outer_share", &raw.outer_share, share)?,
        violence_steps: steps,
        smoulder_temperature: reading.value(
            "smoulder_temperature",
            &raw.smoulder_temperature,
            celsius,
        )?,
    })
}
