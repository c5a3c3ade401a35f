//! Vessels and their materials, how fuels behave in them, and the assumptions of the vessel check.

use super::cited::{RawRange, RawValue, Reading, check_units};
use super::shape::Shape;
pub use super::vessel_assumptions::VesselAssumptions;
use super::vessel_assumptions::{self, RawAssumed};
use super::{Place, TableError, parse_toml, row_lines};
use crate::quantity::{
    Band, Length, MassDensity, Ratio, SpecificHeatCapacity, TemperatureInterval,
    ThermalConductivity, ThermodynamicTemperature, Time, Volume,
};
use crate::source::{Bibliography, Seen, SourceId, Sourced};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use uom::si::length::millimeter;
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
    assumed: Option<RawAssumed>,
    #[serde(default)]
    material: Vec<RawMaterial>,
    #[serde(default)]
    vessel: Vec<RawVessel>,
    #[serde(default)]
    fuel: Vec<RawFuel>,
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
}

fn celsius(value: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<degree_celsius>(value)
}

/// Reads a file of vessels on top of `base`; without a base the file must be complete.
pub(super) fn read(
    text: &str,
    file: &str,
    sources: &Bibliography,
    base: Option<&Vessels>,
) -> Result<Vessels, TableError> {
    let raw: RawFile = parse_toml(text, file)?;
    check_units(file, &raw.units, &UNITS)?;
    let reading = |line, id| Reading {
        place: Place {
            file: file.to_owned(),
            line,
        },
        id,
        sources,
    };
    let materials = materials(&raw.material, text, &reading, base)?;
    let vessels = vessels(&raw.vessel, text, &reading, &materials, base)?;
    let mut fuels = Vec::new();
    for (row, line) in raw.fuel.iter().zip(row_lines(text, "[[fuel]]")) {
        let reading = reading(line, row.ids.first().map_or("fuel", String::as_str));
        fuels.push(FuelBehaviour {
            ids: row.ids.clone(),
            froth: reading.range("froth", &row.froth, Ratio::new::<ratio>)?,
            vessel_ratio: reading.value("vessel_ratio", &row.vessel_ratio, Ratio::new::<ratio>)?,
            burn_time: reading.range("burn_time in s", &row.burn_time, Time::new::<second>)?,
        });
    }
    // the first row that names a fuel counts: one's own come before the built-in ones
    fuels.extend(base.into_iter().flat_map(|base| base.fuels.iter().cloned()));
    let incomplete = |id: &str, missing| TableError::Incomplete {
        file: file.to_owned(),
        line: 1,
        id: id.to_owned(),
        missing,
    };
    if !fuels.iter().any(|row| row.ids.iter().any(|id| id == "*")) {
        return Err(incomplete(
            "[[fuel]]",
            "has no row with the id `*` for any other fuel",
        ));
    }
    let assumed = match (&raw.assumed, base) {
        (Some(raw), _) => vessel_assumptions::read(raw, &reading(1, "[assumed]"))?,
        (None, Some(base)) => base.assumed.clone(),
        (None, None) => return Err(incomplete("[assumed]", "is missing")),
    };
    let read = Vessels {
        materials,
        vessels,
        fuels,
        assumed,
    };
    match base.and_then(|base| lifted(&read, base)) {
        Some(id) => Err(incomplete(
            &id,
            "would lift a refusal of the built-in tables; keep it refused, or take another name",
        )),
        None => Ok(read),
    }
}

/// What of the base is refused and no longer so in `own`: a material, a closed or necked vessel,
/// or how wide and shallow a vessel has to be.
fn lifted(own: &Vessels, base: &Vessels) -> Option<String> {
    let material = |old: &&Arc<Material>| {
        let now = own.materials.iter().find(|m| m.id == old.id);
        old.refused.is_some() && now.is_none_or(|now| now.refused.is_none())
    };
    if let Some(old) = base.materials.iter().find(material) {
        return Some(old.id.clone());
    }
    let (least, most) = (
        base.assumed.open_share.value,
        base.assumed.slenderness.value,
    );
    if own.assumed.open_share.value < least || own.assumed.slenderness.value > most {
        return Some("[assumed]".to_owned());
    }
    let refused = |vessel: &Vessel| {
        let shape = &vessel.shape;
        let open: Ratio = shape.mouth_area() / shape.widest_area();
        let slender: Ratio = shape.depth() / shape.mouth();
        vessel.closed || vessel.material.refused.is_some() || open < least || slender > most
    };
    let names = |vessel: &Vessel| {
        let all = vessel.aliases.iter().chain([&vessel.name]);
        all.map(|name| name.to_lowercase()).collect::<Vec<String>>()
    };
    base.vessels.iter().find_map(|old| {
        let known = names(old);
        let now = own
            .vessels
            .iter()
            .find(|v| names(v).iter().any(|name| known.contains(name)))?;
        (refused(old) && !refused(now)).then(|| now.name.clone())
    })
}

/// The materials of a file and of the base, one's own in place of those of the same id.
fn materials<'a>(
    rows: &'a [RawMaterial],
    text: &str,
    reading: &impl Fn(usize, &'a str) -> Reading<'a>,
    base: Option<&Vessels>,
) -> Result<Vec<Arc<Material>>, TableError> {
    let mut own: Vec<Arc<Material>> = Vec::new();
    for (row, line) in rows.iter().zip(row_lines(text, "[[material]]")) {
        let reading = reading(line, &row.id);
        if own.iter().any(|old| old.id == row.id) {
            let file = reading.place.file;
            return Err(TableError::Duplicate {
                file,
                line,
                id: row.id.clone(),
            });
        }
        own.push(Arc::new(material(row, &reading)?));
    }
    let built_in = base.into_iter().flat_map(|base| &base.materials);
    let kept: Vec<_> = built_in
        .filter(|old| !own.iter().any(|m| m.id == old.id))
        .map(Arc::clone)
        .collect();
    own.extend(kept);
    Ok(own)
}

/// The vessels of a file and of the base, one's own in place of those of the same name.
fn vessels<'a>(
    rows: &'a [RawVessel],
    text: &str,
    reading: &impl Fn(usize, &'a str) -> Reading<'a>,
    materials: &[Arc<Material>],
    base: Option<&Vessels>,
) -> Result<Vec<Arc<Vessel>>, TableError> {
    let mut own: Vec<Arc<Vessel>> = Vec::new();
    for (row, line) in rows.iter().zip(row_lines(text, "[[vessel]]")) {
        let reading = reading(line, &row.name);
        reading.cite(&row.source)?;
        if own
            .iter()
            .any(|old| old.name == row.name || old.aliases.contains(&row.name))
        {
            let file = reading.place.file;
            return Err(TableError::Duplicate {
                file,
                line,
                id: row.name.clone(),
            });
        }
        let material = materials
            .iter()
            .find(|m| m.id == row.material)
            .ok_or_else(|| reading.place.reference(&row.name, &row.material))?;
        own.push(Arc::new(Vessel {
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
    for old in base.into_iter().flat_map(|base| &base.vessels) {
        if own.iter().any(|vessel| vessel.name == old.name) {
            continue;
        }
        // a vessel of the base follows a material that was replaced
        let mut vessel = Vessel::clone(old);
        if let Some(material) = materials.iter().find(|m| m.id == vessel.material.id) {
            vessel.material = Arc::clone(material);
        }
        own.push(Arc::new(vessel));
    }
    Ok(own)
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
