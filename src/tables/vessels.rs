//! Vessels and their materials, how fuels behave in them, and the assumptions of the vessel check.

use super::cited::{Cited, CitedBand};
use super::error::Fault;
use super::error::TableError;
use super::read::{Row, TableFile};
use super::shape::Shape;
use super::unit::{
    DegreeCelsius, GramPerCubicCentimetre, JoulePerKilogramKelvin, KelvinStep, Millilitre,
    Millimetre, One, Second, Unit, WattPerMetreKelvin,
};
pub use super::vessel_assumptions::VesselAssumptions;
use crate::quantity::Length;
use crate::source::{Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;

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
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Material {
    /// Key of the row.
    pub id: String,
    pub name: String,
    /// Highest temperature that the wall should see in this work.
    pub highest_wall: Cited<DegreeCelsius>,
    /// Strain point of a glass.
    pub strain_point: Option<Cited<DegreeCelsius>>,
    /// Softening point of a glass or a plastic, melting point of a metal.
    pub softening_point: Cited<DegreeCelsius>,
    /// Sudden temperature difference that the wall stands; absent for metals.
    pub thermal_shock: Option<CitedBand<KelvinStep>>,
    pub density: Cited<GramPerCubicCentimetre>,
    /// Specific heat capacity near room temperature.
    pub heat_capacity: Cited<JoulePerKilogramKelvin>,
    /// Thermal conductivity near room temperature.
    pub thermal_conductivity: Cited<WattPerMetreKelvin>,
    /// A metal: never in a microwave oven.
    #[serde(default)]
    pub metal: bool,
    /// Why it is refused, if it is.
    pub refused: Option<String>,
    /// What else to know.
    #[serde(default)]
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
    /// How they were found.
    pub seen: Seen,
}

/// How a fuel behaves in the pot.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FuelBehaviour {
    /// Ids of the reactants it is about; `*` is every fuel that no other row names.
    pub ids: Vec<String>,
    /// Volume of the froth over that of the solution.
    pub froth: CitedBand<One>,
    /// Volume of the vessel over that of the solution, at least.
    pub vessel_ratio: Cited<One>,
    /// How long a batch burns.
    pub burn_time: CitedBand<Second>,
}

/// Everything about vessels.
#[derive(Debug, Clone, PartialEq)]
pub struct Vessels {
    pub materials: Vec<Arc<Material>>,
    /// Named vessels.
    pub vessels: Vec<Arc<Vessel>>,
    /// How fuels behave.
    pub fuels: Vec<FuelBehaviour>,
    pub assumed: VesselAssumptions,
}

impl Vessels {
    /// The vessel of this name; case does not count.
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
    pub fn material(&self, name: &str) -> Option<&Arc<Material>> {
        let wanted = name.trim().to_lowercase();
        self.materials
            .iter()
            .find(|m| m.id == wanted || m.name.to_lowercase() == wanted)
    }

    /// How the fuel with this id behaves, else how any fuel may.
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
struct File {
    units: BTreeMap<String, String>,
    assumed: Option<VesselAssumptions>,
    #[serde(default)]
    material: Vec<Material>,
    #[serde(default)]
    vessel: Vec<Written>,
    #[serde(default)]
    fuel: Vec<FuelBehaviour>,
}

/// A vessel as it is written: the material by its id, lengths in mm, volume in mL.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    name: String,
    #[serde(default)]
    aliases: Vec<String>,
    material: String,
    shape: Form,
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
enum Form {
    Cylinder,
    Bowl,
    Cone,
    Necked,
}

impl Row for Material {
    const ARRAY: &'static str = "material";

    fn id(&self) -> String {
        self.id.clone()
    }
}

impl Row for FuelBehaviour {
    const ARRAY: &'static str = "fuel";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        self.ids.first().cloned().unwrap_or_default()
    }

    fn check(&self) -> Result<(), Fault> {
        if self.ids.is_empty() {
            return Err(Fault::incomplete("names no fuel; `*` is any other"));
        }
        Ok(())
    }
}

impl Row for Written {
    const ARRAY: &'static str = "vessel";

    fn id(&self) -> String {
        self.name.clone()
    }

    fn check(&self) -> Result<(), Fault> {
        self.shape()?;
        length("wall", Some(self.wall)).map(|_| ())
    }
}

/// A length above zero.
fn length(key: &str, number: Option<f64>) -> Result<Length, Fault> {
    positive(key, number).map(Millimetre::quantity)
}

fn positive(key: &str, number: Option<f64>) -> Result<f64, Fault> {
    match number {
        None => Err(Fault::incomplete(format!("lacks the `{key}` of its shape"))),
        Some(number) if number.is_finite() && number > 0.0 => Ok(number),
        Some(number) => Err(Fault::value(key, number, "it should be above zero")),
    }
}

impl Written {
    fn shape(&self) -> Result<Shape, Fault> {
        let mouth = length("mouth", Some(self.mouth))?;
        match self.shape {
            Form::Cylinder => Ok(Shape::Cylinder {
                mouth,
                depth: length("depth", self.depth)?,
            }),
            Form::Bowl => {
                let depth = length("depth", self.depth)?;
                if depth * 2.0 > mouth {
                    let expected = "a bowl is at most half as deep as it is wide";
                    return Err(Fault::value(
                        "depth in mm",
                        Millimetre::number(depth),
                        expected,
                    ));
                }
                Ok(Shape::Bowl { mouth, depth })
            }
            Form::Cone => Ok(Shape::Cone {
                mouth,
                base: length("base", self.base)?,
                depth: length("depth", self.depth)?,
            }),
            Form::Necked => Ok(Shape::Necked {
                mouth,
                body: length("body", self.body)?,
                volume: Millilitre::quantity(positive("volume", self.volume)?),
            }),
        }
    }

    fn vessel(&self, material: &Arc<Material>) -> Result<Vessel, Fault> {
        Ok(Vessel {
            name: self.name.clone(),
            aliases: self.aliases.clone(),
            material: Arc::clone(material),
            shape: self.shape()?,
            wall: length("wall", Some(self.wall))?,
            closed: self.closed,
            source: self.source.clone(),
            locator: self.at.clone(),
            seen: self.seen,
        })
    }
}

/// Reads a file of vessels on top of `base`; without a base the file must be complete.
pub(super) fn read(file: &TableFile, base: Option<&Vessels>) -> Result<Vessels, TableError> {
    let rows: File = file.parse()?;
    file.check_units(&rows.units, &UNITS)?;
    file.check(&rows.material)?;
    file.check(&rows.vessel)?;
    file.check(&rows.fuel)?;
    let assumed = match (rows.assumed, base) {
        (Some(assumed), _) => assumed,
        (None, Some(base)) => base.assumed.clone(),
        (None, None) => return Err(file.error("[assumed]", Fault::incomplete("is missing"))),
    };
    assumed
        .check()
        .map_err(|fault| file.error("[assumed]", fault))?;
    let materials = materials(rows.material, base);
    let vessels = vessels(file, &rows.vessel, &materials, base)?;
    // the first row that names a fuel counts: one's own come before the built-in ones
    let mut fuels = rows.fuel;
    fuels.extend(base.into_iter().flat_map(|base| base.fuels.iter().cloned()));
    if !fuels.iter().any(|row| row.ids.iter().any(|id| id == "*")) {
        let fault = Fault::incomplete("has no row with the id `*` for any other fuel");
        return Err(file.error("[[fuel]]", fault));
    }
    let read = Vessels {
        materials,
        vessels,
        fuels,
        assumed,
    };
    match base.and_then(|base| lifted(&read, base)) {
        Some(id) => Err(file.error(
            &id,
            Fault::incomplete(
                "would lift a refusal of the built-in tables; keep it refused, or take another name",
            ),
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
        let open: crate::quantity::Ratio = shape.mouth_area() / shape.widest_area();
        let slender: crate::quantity::Ratio = shape.depth() / shape.mouth();
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
fn materials(own: Vec<Material>, base: Option<&Vessels>) -> Vec<Arc<Material>> {
    let mut all: Vec<Arc<Material>> = own.into_iter().map(Arc::new).collect();
    let own = all.len();
    for old in base.into_iter().flat_map(|base| &base.materials) {
        if !all[..own].iter().any(|material| material.id == old.id) {
            all.push(Arc::clone(old));
        }
    }
    all
}

/// The vessels of a file and of the base, one's own in place of those of the same name.
fn vessels(
    file: &TableFile,
    rows: &[Written],
    materials: &[Arc<Material>],
    base: Option<&Vessels>,
) -> Result<Vec<Arc<Vessel>>, TableError> {
    let mut own: Vec<Arc<Vessel>> = Vec::new();
    for (at, row) in rows.iter().enumerate() {
        let error = |fault| file.row_error(rows, at, fault);
        if own.iter().any(|old| old.aliases.contains(&row.name)) {
            return Err(error(Fault::Duplicate));
        }
        let material = materials
            .iter()
            .find(|m| m.id == row.material)
            .ok_or_else(|| error(Fault::Reference(row.material.clone())))?;
        own.push(Arc::new(row.vessel(material).map_err(error)?));
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
