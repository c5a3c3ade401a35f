//! Vessels and their materials, how fuels behave in them, and the assumptions of the vessel check.

use super::cited::{RawRange, RawValue, Reading, check_units};
use super::shape::Shape;
use super::{Place, TableError, parse_toml, row_lines};
use crate::quantity::{
    Band, HeatTransfer, Length, MassDensity, Ratio, SpecificHeatCapacity, TemperatureInterval,
    ThermalConductivity, ThermodynamicTemperature, Time, Volume,
};
use crate::source::{Bibliography, Seen, SourceId, Sourced};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::f64::DynamicViscosity;
use uom::si::heat_transfer::watt_per_square_meter_kelvin;
use uom::si::length::{micrometer, millimeter};
use uom::si::mass_density::gram_per_cubic_centimeter;
use uom::si::ratio::ratio;
use uom::si::specific_heat_capacity::joule_per_kilogram_kelvin;
use uom::si::temperature_interval::kelvin as kelvin_step;
use uom::si::thermal_conductivity::watt_per_meter_kelvin;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::time::second;
use uom::si::volume::milliliter;

const UNITS: [(&str, &str); 11] = [
    ("temperature", "degC"),
    ("temperature_difference", "K"),
    ("length", "mm"),
    ("agglomerate_diameter", "um"),
    ("volume", "mL"),
    ("density", "g/cm3"),
    ("heat_capacity", "J/(kg K)"),
    ("thermal_conductivity", "W/(m K)"),
    ("heat_transfer", "W/(m2 K)"),
    ("time", "s"),
    ("viscosity", "Pa s"),
];

/// What a vessel is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Key of the row.
    pub id: String,
    /// Name.
    pub name: String,
    /// Highest temperature that the wall should see in this work.
    pub highest_wall: Sourced<ThermodynamicTemperature>,
    /// Strain point of a glass.
    pub strain_point: Option<Sourced<ThermodynamicTemperature>>,
    /// Softening point of a glass or a plastic, melting point of a metal.
    pub softening_point: Sourced<ThermodynamicTemperature>,
    /// Sudden temperature difference that the wall stands; absent for metals.
    pub thermal_shock: Option<Sourced<Band<TemperatureInterval>>>,
    /// Density.
    pub density: Sourced<MassDensity>,
    /// Specific heat capacity near room temperature.
    pub heat_capacity: Sourced<SpecificHeatCapacity>,
    /// Thermal conductivity near room temperature.
    pub thermal_conductivity: Sourced<ThermalConductivity>,
    /// A metal: never in a microwave oven.
    pub metal: bool,
    /// Why it is refused, if it is.
    pub refused: Option<String>,
    /// What else to know.
    pub note: String,
}

/// A vessel of the tables, or one described in a batch file.
#[derive(Debug, Clone, PartialEq)]
pub struct Vessel {
    /// Name.
    pub name: String,
    /// Other names.
    pub aliases: Vec<String>,
    /// Material.
    pub material: Arc<Material>,
    /// Inner form.
    pub shape: Shape,
    /// Thickness of the wall.
    pub wall: Length,
    /// Made to be closed: autoclave, digestion vessel.
    pub closed: bool,
    /// Where the dimensions come from.
    pub source: SourceId,
    /// Standard, or how they are known.
    pub locator: String,
    /// How they were come by.
    pub seen: Seen,
}

/// How a fuel behaves in the pot.
#[derive(Debug, Clone, PartialEq)]
pub struct FuelBehaviour {
    /// Ids of the reactants it is about; `*` is every fuel that no other row names.
    pub ids: Vec<String>,
    /// Volume of the froth over that of the solution.
    pub froth: Sourced<Band<Ratio>>,
    /// Volume of the vessel over that of the solution, at least.
    pub vessel_ratio: Sourced<Ratio>,
    /// How long a batch burns.
    pub burn_time: Sourced<Band<Time>>,
    /// A hydrazine derivative.
    pub hydrazide: bool,
}

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

/// Everything about vessels.
#[derive(Debug, Clone, PartialEq)]
pub struct Vessels {
    /// Materials.
    pub materials: Vec<Arc<Material>>,
    /// Named vessels.
    pub vessels: Vec<Arc<Vessel>>,
    /// How fuels behave.
    pub fuels: Vec<FuelBehaviour>,
    /// Assumptions.
    pub assumed: VesselAssumptions,
}

impl Vessels {
    /// The vessel of this name; case does not count.
    #[must_use]
    pub fn vessel(&self, name: &str) -> Option<&Arc<Vessel>> {
        let wanted = name.trim().to_lowercase();
        self.vessels.iter().find(|vessel| {
            vessel.name.to_lowercase() == wanted
                || vessel
                    .aliases
                    .iter()
                    .any(|alias| alias.to_lowercase() == wanted)
        })
    }

    /// Every name and alias of a vessel.
    pub fn vessel_names(&self) -> impl Iterator<Item = &str> {
        self.vessels.iter().flat_map(|v| {
            [v.name.as_str()]
                .into_iter()
                .chain(v.aliases.iter().map(String::as_str))
        })
    }

    /// The material of this id or name.
    #[must_use]
    pub fn material(&self, name: &str) -> Option<&Arc<Material>> {
        let wanted = name.trim().to_lowercase();
        self.materials
            .iter()
            .find(|m| m.id == wanted || m.name.to_lowercase() == wanted)
    }

    /// How the fuel with this id behaves, else how any fuel may.
    #[must_use]
    pub fn behaviour(&self, fuel: &str) -> &FuelBehaviour {
        let named = |row: &&FuelBehaviour| row.ids.iter().any(|id| id == fuel);
        self.fuels.iter().find(named).unwrap_or_else(|| {
            let any = self
                .fuels
                .iter()
                .find(|row| row.ids.iter().any(|id| id == "*"));
            any.expect("the loader refuses a table without the row for any fuel")
        })
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    units: BTreeMap<String, String>,
    assumed: RawAssumed,
    material: Vec<RawMaterial>,
    vessel: Vec<RawVessel>,
    fuel: Vec<RawFuel>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAssumed {
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

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawMaterial {
    id: String,
    name: String,
    highest_wall: RawValue,
    strain_point: Option<RawValue>,
    softening_point: RawValue,
    thermal_shock: Option<RawRange>,
    density: RawValue,
    heat_capacity: RawValue,
    thermal_conductivity: RawValue,
    #[serde(default)]
    metal: bool,
    refused: Option<String>,
    #[serde(default)]
    note: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawVessel {
    name: String,
    #[serde(default)]
    aliases: Vec<String>,
    material: String,
    shape: RawShape,
    mouth: f64,
    depth: Option<f64>,
    base: Option<f64>,
    body: Option<f64>,
    volume: Option<f64>,
    wall: f64,
    #[serde(default)]
    closed: bool,
    source: SourceId,
    at: String,
    seen: Seen,
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "lowercase")]
enum RawShape {
    Cylinder,
    Bowl,
    Cone,
    Necked,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFuel {
    ids: Vec<String>,
    froth: RawRange,
    vessel_ratio: RawValue,
    burn_time: RawRange,
    #[serde(default)]
    hydrazide: bool,
}

fn celsius(value: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<degree_celsius>(value)
}

/// Reads a file of vessels.
pub(super) fn read(text: &str, file: &str, sources: &Bibliography) -> Result<Vessels, TableError> {
    let raw: RawFile = parse_toml(text, file)?;
    check_units(file, &raw.units, &UNITS)?;
    let place = |line| Place {
        file: file.to_owned(),
        line,
    };
    let mut materials: Vec<Arc<Material>> = Vec::new();
    for (row, line) in raw.material.iter().zip(row_lines(text, "[[material]]")) {
        let reading = Reading {
            place: place(line),
            id: &row.id,
            sources,
        };
        if materials.iter().any(|old| old.id == row.id) {
            return Err(TableError::Duplicate {
                file: file.to_owned(),
                line,
                id: row.id.clone(),
            });
        }
        materials.push(Arc::new(material(row, &reading)?));
    }
    let mut vessels: Vec<Arc<Vessel>> = Vec::new();
    for (row, line) in raw.vessel.iter().zip(row_lines(text, "[[vessel]]")) {
        let reading = Reading {
            place: place(line),
            id: &row.name,
            sources,
        };
        reading.cite(&row.source)?;
        if vessels
            .iter()
            .any(|old| old.name == row.name || old.aliases.contains(&row.name))
        {
            return Err(TableError::Duplicate {
                file: file.to_owned(),
                line,
                id: row.name.clone(),
            });
        }
        let material = materials
            .iter()
            .find(|m| m.id == row.material)
            .ok_or_else(|| reading.place.reference(&row.name, &row.material))?;
        vessels.push(Arc::new(Vessel {
            name: row.name.clone(),
            aliases: row.aliases.clone(),
            material: Arc::clone(material),
            shape: shape(row, &reading)?,
            wall: Length::new::<millimeter>(reading.positive("wall in mm", row.wall)?),
            closed: row.closed,
            source: row.source.clone(),
            locator: row.at.clone(),
            seen: row.seen,
        }));
    }
    let mut fuels = Vec::new();
    for (row, line) in raw.fuel.iter().zip(row_lines(text, "[[fuel]]")) {
        let id = row.ids.first().map_or("fuel", String::as_str);
        let reading = Reading {
            place: place(line),
            id,
            sources,
        };
        fuels.push(FuelBehaviour {
            ids: row.ids.clone(),
            froth: reading.range("froth", &row.froth, Ratio::new::<ratio>)?,
            vessel_ratio: reading.value("vessel_ratio", &row.vessel_ratio, Ratio::new::<ratio>)?,
            burn_time: reading.range("burn_time in s", &row.burn_time, Time::new::<second>)?,
            hydrazide: row.hydrazide,
        });
    }
    if !fuels.iter().any(|row| row.ids.iter().any(|id| id == "*")) {
        return Err(TableError::Incomplete {
            file: file.to_owned(),
            line: 1,
            id: "[[fuel]]".to_owned(),
            missing: "has no row with the id `*` for any other fuel",
        });
    }
    let assumed = assumed(
        &raw.assumed,
        &Reading {
            place: place(1),
            id: "[assumed]",
            sources,
        },
    )?;
    Ok(Vessels {
        materials,
        vessels,
        fuels,
        assumed,
    })
}

fn material(row: &RawMaterial, reading: &Reading<'_>) -> Result<Material, TableError> {
    let step = TemperatureInterval::new::<kelvin_step>;
    Ok(Material {
        id: row.id.clone(),
        name: row.name.clone(),
        highest_wall: reading.value("highest_wall", &row.highest_wall, celsius)?,
        strain_point: match &row.strain_point {
            Some(raw) => Some(reading.value("strain_point", raw, celsius)?),
            None => None,
        },
        softening_point: reading.value("softening_point", &row.softening_point, celsius)?,
        thermal_shock: match &row.thermal_shock {
            Some(raw) => Some(reading.range("thermal_shock", raw, step)?),
            None => None,
        },
        density: reading.value(
            "density",
            &row.density,
            MassDensity::new::<gram_per_cubic_centimeter>,
        )?,
        heat_capacity: reading.value(
            "heat_capacity",
            &row.heat_capacity,
            SpecificHeatCapacity::new::<joule_per_kilogram_kelvin>,
        )?,
        thermal_conductivity: reading.value(
            "thermal_conductivity",
            &row.thermal_conductivity,
            ThermalConductivity::new::<watt_per_meter_kelvin>,
        )?,
        metal: row.metal,
        refused: row.refused.clone(),
        note: row.note.clone(),
    })
}

fn shape(row: &RawVessel, reading: &Reading<'_>) -> Result<Shape, TableError> {
    let length = |key: &str, value: Option<f64>| match value {
        Some(value) => Ok(Length::new::<millimeter>(reading.positive(key, value)?)),
        None => Err(TableError::Incomplete {
            file: reading.place.file.clone(),
            line: reading.place.line,
            id: row.name.clone(),
            missing: "lacks a length of its shape: depth, base or body",
        }),
    };
    let mouth = length("mouth in mm", Some(row.mouth))?;
    match row.shape {
        RawShape::Cylinder => Ok(Shape::Cylinder {
            mouth,
            depth: length("depth in mm", row.depth)?,
        }),
        RawShape::Bowl => {
            let depth = length("depth in mm", row.depth)?;
            if depth * 2.0 > mouth {
                let quantity = "depth in mm".to_owned();
                let found = depth.get::<millimeter>();
                let expected = "a bowl is at most half as deep as it is wide";
                return Err(reading.place.value(&row.name, quantity, found, expected));
            }
            Ok(Shape::Bowl { mouth, depth })
        }
        RawShape::Cone => Ok(Shape::Cone {
            mouth,
            base: length("base in mm", row.base)?,
            depth: length("depth in mm", row.depth)?,
        }),
        RawShape::Necked => {
            let volume = reading.positive("volume in mL", row.volume.unwrap_or(f64::NAN))?;
            let body = length("body in mm", row.body)?;
            Ok(Shape::Necked {
                mouth,
                body,
                volume: Volume::new::<milliliter>(volume),
            })
        }
    }
}

fn assumed(raw: &RawAssumed, reading: &Reading<'_>) -> Result<VesselAssumptions, TableError> {
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
