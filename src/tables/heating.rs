//! Heating ways, floors of vessels, water, hazards of heating: `tables/heating.toml`.

use super::numbers::{
    Class, Numbers, RawNumber, celsius, check_units, gram_per_mole, kilojoule_per_kilogram,
    millilitre, millimetre, percent, same,
};
use super::{Place, TableError, parse_toml, row_lines};
use crate::formula::Formula;
use crate::source::{Bibliography, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;

const FILE: (&str, &str) = ("heating.toml", include_str!("../../tables/heating.toml"));

/// Kind of a heating way: it decides which numbers a row needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum HeatingKind {
    /// Microwaves in a cavity.
    Microwave,
    /// Contact with a heated plate.
    Plate,
    /// Hot walls all round.
    Furnace,
    /// Burner under the vessel.
    Flame,
    /// Lamp over the vessel.
    Lamp,
}

impl fmt::Display for HeatingKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Microwave => "microwave",
            Self::Plate => "plate",
            Self::Furnace => "furnace",
            Self::Flame => "flame",
            Self::Lamp => "lamp",
        })
    }
}

impl HeatingKind {
    fn needed(self) -> &'static [&'static str] {
        match self {
            Self::Microwave => &[
                "power",
                "duty",
                "cycle",
                "start_delay",
                "top_share",
                "gel_load",
            ],
            Self::Plate => &["temperature", "power", "warm_up"],
            Self::Furnace => &["temperature", "door_drop", "recovery"],
            Self::Flame => &["temperature", "power", "vessel_share"],
            Self::Lamp => &["power", "area_power", "absorbed_share"],
        }
    }
}

/// A way to heat the vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatingWay {
    /// Name.
    pub id: String,
    /// Other names.
    pub aliases: Vec<String>,
    /// Kind.
    pub kind: HeatingKind,
    /// What the numbers stand for.
    pub note: String,
    /// Ids of the hazards that come with it.
    pub hazards: Vec<String>,
    /// The numbers, coherent SI.
    pub numbers: Numbers,
}

/// Material and thickness of a vessel's floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Floor {
    /// Name.
    pub id: String,
    /// Other names.
    pub aliases: Vec<String>,
    /// Whether it may stand in a microwave oven.
    pub microwave: bool,
    /// The numbers, coherent SI.
    pub numbers: Numbers,
}

/// An oxide that does or does not go on taking up microwaves when dry.
#[derive(Debug, Clone, PartialEq)]
pub struct Absorber {
    /// The oxide.
    pub formula: Formula,
    /// Whether it goes on.
    pub strong: bool,
    /// `reached`: temperature that a dry powder came to, K.
    pub numbers: Numbers,
}

/// A hazard of heating in words.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeatingHazard {
    /// Key that other tables refer to.
    pub id: String,
    /// The moment it belongs to: always, before, boiling, gel, burn, after.
    pub when: String,
    /// What to know and do.
    pub text: String,
    /// Where it comes from.
    pub source: SourceId,
}

/// Everything about heating.
#[derive(Debug, Clone, PartialEq)]
pub struct Heating {
    /// Heating ways.
    pub ways: Vec<HeatingWay>,
    /// Floors of vessels.
    pub floors: Vec<Floor>,
    /// Share of the one-litre output that smaller loads take: (m³, share), rising.
    pub loads: Vec<(f64, f64)>,
    /// Oxides in the microwave field.
    pub absorbers: Vec<Absorber>,
    /// Hazards.
    pub hazards: Vec<HeatingHazard>,
    /// Properties of water.
    pub water: Numbers,
    /// Dielectric properties.
    pub dielectric: Numbers,
    /// Criteria and limits.
    pub criteria: Numbers,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    units: BTreeMap<String, String>,
    #[serde(default)]
    way: Vec<RawWay>,
    #[serde(default)]
    floor: Vec<RawFloor>,
    #[serde(default)]
    load: Vec<BTreeMap<String, RawNumber>>,
    #[serde(default)]
    absorber: Vec<RawAbsorber>,
    #[serde(default)]
    hazard: Vec<HeatingHazard>,
    water: Option<BTreeMap<String, RawNumber>>,
    dielectric: Option<BTreeMap<String, RawNumber>>,
    criteria: Option<BTreeMap<String, RawNumber>>,
}

#[derive(Deserialize)]
struct RawWay {
    id: String,
    #[serde(default)]
    aliases: Vec<String>,
    kind: HeatingKind,
    #[serde(default)]
    note: String,
    #[serde(default)]
    hazards: Vec<String>,
    #[serde(flatten)]
    numbers: BTreeMap<String, RawNumber>,
}

#[derive(Deserialize)]
struct RawFloor {
    id: String,
    #[serde(default)]
    aliases: Vec<String>,
    microwave: bool,
    #[serde(flatten)]
    numbers: BTreeMap<String, RawNumber>,
}

#[derive(Deserialize)]
struct RawAbsorber {
    formula: String,
    strong: bool,
    #[serde(flatten)]
    numbers: BTreeMap<String, RawNumber>,
}

const CLASSES: [Class; 20] = [
    Class {
        name: "power",
        unit: "W",
        to_si: same,
        range: (1.0, 20_000.0),
    },
    Class {
        name: "area_power",
        unit: "W/m2",
        to_si: same,
        range: (0.0, 1.0e6),
    },
    Class {
        name: "duty",
        unit: "%",
        to_si: percent,
        range: (1.0, 100.0),
    },
    Class {
        name: "share",
        unit: "%",
        to_si: percent,
        range: (0.0, 100.0),
    },
    Class {
        name: "cycle",
        unit: "s",
        to_si: same,
        range: (0.0, 600.0),
    },
    Class {
        name: "time",
        unit: "s",
        to_si: same,
        range: (0.0, 86_400.0),
    },
    Class {
        name: "temperature",
        unit: "°C",
        to_si: celsius,
        range: (-40.0, 2000.0),
    },
    Class {
        name: "interval",
        unit: "K",
        to_si: same,
        range: (0.0, 500.0),
    },
    Class {
        name: "transfer",
        unit: "W/(m2 K)",
        to_si: same,
        range: (0.0, 1.0e5),
    },
    Class {
        name: "emissivity",
        unit: "1",
        to_si: same,
        range: (0.0, 1.0),
    },
    Class {
        name: "thickness",
        unit: "mm",
        to_si: millimetre,
        range: (0.05, 50.0),
    },
    Class {
        name: "conductivity",
        unit: "W/(m K)",
        to_si: same,
        range: (0.01, 500.0),
    },
    Class {
        name: "density",
        unit: "kg/m3",
        to_si: same,
        range: (10.0, 25_000.0),
    },
    Class {
        name: "heat_capacity",
        unit: "J/(kg K)",
        to_si: same,
        range: (50.0, 10_000.0),
    },
    Class {
        name: "latent_heat",
        unit: "kJ/kg",
        to_si: kilojoule_per_kilogram,
        range: (100.0, 5000.0),
    },
    Class {
        name: "molar_mass",
        unit: "g/mol",
        to_si: gram_per_mole,
        range: (1.0, 1000.0),
    },
    Class {
        name: "volume",
        unit: "mL",
        to_si: millilitre,
        range: (0.1, 10_000.0),
    },
    Class {
        name: "rate",
        unit: "K/s",
        to_si: same,
        range: (1.0, 1.0e5),
    },
    Class {
        name: "speed",
        unit: "m/s",
        to_si: same,
        range: (0.0, 5.0),
    },
    Class {
        name: "number",
        unit: "1",
        to_si: same,
        range: (0.0, 1.0e12),
    },
];

const KEYS: [(&str, &str); 54] = [
    ("air_speed", "speed"),
    ("evaporation_still", "number"),
    ("evaporation_wind", "number"),
    ("power", "power"),
    ("area_power", "area_power"),
    ("duty", "duty"),
    ("cycle", "cycle"),
    ("start_delay", "time"),
    ("warm_up", "time"),
    ("recovery", "time"),
    ("time_limit", "time"),
    ("temperature", "temperature"),
    ("highest", "temperature"),
    ("reached", "temperature"),
    ("touch", "temperature"),
    ("room_temperature", "temperature"),
    ("latent_heat_temperature", "temperature"),
    ("door_drop", "interval"),
    ("top_share", "share"),
    ("gel_load", "share"),
    ("vessel_share", "share"),
    ("absorbed_share", "share"),
    ("share", "share"),
    ("kept_share", "share"),
    ("still_wet", "share"),
    ("outer_face", "share"),
    ("bottom_transfer", "transfer"),
    ("top_transfer", "transfer"),
    ("boiling_transfer", "transfer"),
    ("flame_transfer", "transfer"),
    ("bottom_emissivity", "emissivity"),
    ("top_emissivity", "emissivity"),
    ("flame_emissivity", "emissivity"),
    ("thickness", "thickness"),
    ("conductivity", "conductivity"),
    ("density", "density"),
    ("heat_capacity", "heat_capacity"),
    ("vapour_heat_capacity", "heat_capacity"),
    ("latent_heat", "latent_heat"),
    ("molar_mass", "molar_mass"),
    ("volume", "volume"),
    ("runaway_rate", "rate"),
    ("antoine_a", "number"),
    ("antoine_b", "number"),
    ("antoine_c", "number"),
    ("frequency", "number"),
    ("water_static", "number"),
    ("water_static_fall", "number"),
    ("water_infinite", "number"),
    ("water_relaxation", "number"),
    ("relaxation_activation", "number"),
    ("peak_conductivity", "number"),
    ("conductivity_rise", "number"),
    ("lambert_limit", "number"),
];

const GEL_KEYS: [(&str, &str); 2] = [("gel_permittivity", "number"), ("gel_loss", "number")];

const FACE_KEYS: [&str; 5] = [
    "air_speed",
    "bottom_transfer",
    "bottom_emissivity",
    "top_transfer",
    "top_emissivity",
];
const FLOOR_KEYS: [&str; 5] = [
    "thickness",
    "conductivity",
    "density",
    "heat_capacity",
    "highest",
];
const WATER_KEYS: [&str; 13] = [
    "evaporation_still",
    "evaporation_wind",
    "molar_mass",
    "heat_capacity",
    "vapour_heat_capacity",
    "latent_heat",
    "latent_heat_temperature",
    "density",
    "conductivity",
    "antoine_a",
    "antoine_b",
    "antoine_c",
    "boiling_transfer",
];
const DIELECTRIC_KEYS: [&str; 11] = [
    "frequency",
    "water_static",
    "water_static_fall",
    "water_infinite",
    "water_relaxation",
    "relaxation_activation",
    "peak_conductivity",
    "conductivity_rise",
    "gel_permittivity",
    "gel_loss",
    "lambert_limit",
];
const CRITERIA_KEYS: [&str; 9] = [
    "runaway_rate",
    "kept_share",
    "time_limit",
    "touch",
    "room_temperature",
    "still_wet",
    "outer_face",
    "flame_emissivity",
    "flame_transfer",
];

/// Reads the rows of one file.
struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    sources: &'a Bibliography,
    keys: Vec<(&'static str, &'static str)>,
}

impl Reader<'_> {
    fn place(&self, header: &str, at: usize) -> Place {
        Place {
            file: self.file.to_owned(),
            line: row_lines(self.text, header).nth(at).unwrap_or(1),
        }
    }

    fn numbers(
        &self,
        raw: BTreeMap<String, RawNumber>,
        id: &str,
        place: &Place,
        needed: &[&'static str],
    ) -> Result<Numbers, TableError> {
        Numbers::read(raw, id, place, (&CLASSES, &self.keys), needed, self.sources)
    }

    fn section(
        &self,
        raw: Option<BTreeMap<String, RawNumber>>,
        name: &str,
        needed: &[&'static str],
    ) -> Result<Option<Numbers>, TableError> {
        let place = self.place(&format!("[{name}]"), 0);
        raw.map(|raw| self.numbers(raw, name, &place, needed))
            .transpose()
    }
}

/// Replaces the entry that `same_row` finds, or adds the new one.
fn merge<T>(rows: &mut Vec<T>, new: T, same_row: impl Fn(&T) -> bool) {
    match rows.iter_mut().find(|old| same_row(old)) {
        Some(old) => *old = new,
        None => rows.push(new),
    }
}

impl Heating {
    pub(super) fn built_in(sources: &Bibliography) -> Result<Self, TableError> {
        let mut heating = Self {
            ways: Vec::new(),
            floors: Vec::new(),
            loads: Vec::new(),
            absorbers: Vec::new(),
            hazards: Vec::new(),
            water: Numbers::default(),
            dielectric: Numbers::default(),
            criteria: Numbers::default(),
        };
        heating.add(FILE.0, FILE.1, sources)?;
        Ok(heating)
    }

    /// Adds the rows of a file; a row of the same id is replaced, a section as a whole.
    pub(super) fn add(
        &mut self,
        file: &str,
        text: &str,
        sources: &Bibliography,
    ) -> Result<(), TableError> {
        let raw: RawFile = parse_toml(text, file)?;
        check_units(file, &raw.units, &CLASSES)?;
        let keys = KEYS.iter().chain(&GEL_KEYS).copied().collect();
        let reader = Reader {
            file,
            text,
            sources,
            keys,
        };
        for (at, row) in raw.hazard.into_iter().enumerate() {
            reader
                .place("[[hazard]]", at)
                .check_source(&row.id, &row.source, sources)?;
            let id = row.id.clone();
            merge(&mut self.hazards, row, |old| old.id == id);
        }
        for (at, row) in raw.way.into_iter().enumerate() {
            let place = reader.place("[[way]]", at);
            let mut needed = row.kind.needed().to_vec();
            needed.extend(FACE_KEYS);
            let numbers = reader.numbers(row.numbers, &row.id, &place, &needed)?;
            if let Some(unknown) = row
                .hazards
                .iter()
                .find(|id| self.hazards.iter().all(|h| h.id != **id))
            {
                return Err(place.reference(&row.id, unknown));
            }
            let way = HeatingWay {
                id: row.id,
                aliases: row.aliases,
                kind: row.kind,
                note: row.note,
                hazards: row.hazards,
                numbers,
            };
            let id = way.id.clone();
            merge(&mut self.ways, way, |old| old.id == id);
        }
        for (at, row) in raw.floor.into_iter().enumerate() {
            let place = reader.place("[[floor]]", at);
            let numbers = reader.numbers(row.numbers, &row.id, &place, &FLOOR_KEYS)?;
            let floor = Floor {
                id: row.id,
                aliases: row.aliases,
                microwave: row.microwave,
                numbers,
            };
            let id = floor.id.clone();
            merge(&mut self.floors, floor, |old| old.id == id);
        }
        if !raw.load.is_empty() {
            self.loads.clear();
        }
        for (at, row) in raw.load.into_iter().enumerate() {
            let place = reader.place("[[load]]", at);
            let numbers = reader.numbers(row, "load", &place, &["volume", "share"])?;
            let point = (numbers.si("volume"), numbers.si("share"));
            if self
                .loads
                .last()
                .is_some_and(|last| point.0 <= last.0 || point.1 < last.1)
            {
                return Err(place.value(
                    "load",
                    "volume".to_owned(),
                    point.0,
                    "but volume and share should rise from row to row",
                ));
            }
            self.loads.push(point);
        }
        for (at, row) in raw.absorber.into_iter().enumerate() {
            let place = reader.place("[[absorber]]", at);
            let formula = Formula::parse(&row.formula).map_err(|source| TableError::Formula {
                file: file.to_owned(),
                line: place.line,
                id: row.formula.clone(),
                source,
            })?;
            let numbers = reader.numbers(row.numbers, &row.formula, &place, &["reached"])?;
            let same_formula = formula.clone();
            let absorber = Absorber {
                formula,
                strong: row.strong,
                numbers,
            };
            merge(&mut self.absorbers, absorber, |old| {
                old.formula.amounts() == same_formula.amounts()
            });
        }
        for (name, target, raw, needed) in [
            ("water", &mut self.water, raw.water, &WATER_KEYS[..]),
            (
                "dielectric",
                &mut self.dielectric,
                raw.dielectric,
                &DIELECTRIC_KEYS[..],
            ),
            (
                "criteria",
                &mut self.criteria,
                raw.criteria,
                &CRITERIA_KEYS[..],
            ),
        ] {
            if let Some(numbers) = reader.section(raw, name, needed)? {
                *target = numbers;
            }
        }
        Ok(())
    }

    /// The heating way of this name or other name; case and hyphens do not count.
    #[must_use]
    pub fn way(&self, name: &str) -> Option<&HeatingWay> {
        self.ways
            .iter()
            .find(|way| matches(name, &way.id, &way.aliases))
    }

    /// The floor of this material; case and hyphens do not count.
    #[must_use]
    pub fn floor(&self, name: &str) -> Option<&Floor> {
        self.floors
            .iter()
            .find(|floor| matches(name, &floor.id, &floor.aliases))
    }

    /// The hazard text with this id.
    #[must_use]
    pub fn hazard(&self, id: &str) -> Option<&HeatingHazard> {
        self.hazards.iter().find(|hazard| hazard.id == id)
    }
}

fn matches(name: &str, id: &str, aliases: &[String]) -> bool {
    let plain = |text: &str| {
        text.to_lowercase()
            .replace(['-', '_'], " ")
            .trim()
            .to_owned()
    };
    let wanted = plain(name);
    plain(id) == wanted || aliases.iter().any(|alias| plain(alias) == wanted)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::Tables;

    #[test]
    fn ways_are_found_by_every_name_and_keep_their_sources() {
        let tables = Tables::built_in().unwrap();
        for (name, kind) in [
            ("Microwave", HeatingKind::Microwave),
            ("hot-plate", HeatingKind::Plate),
            ("muffle furnace", HeatingKind::Furnace),
            ("bunsen burner", HeatingKind::Flame),
            ("IR lamp", HeatingKind::Lamp),
        ] {
            assert_eq!(tables.heating.way(name).unwrap().kind, kind);
        }
        assert!(tables.heating.way("steam bath").is_none());
        let furnace = tables
            .heating
            .way("furnace")
            .unwrap()
            .numbers
            .get("temperature")
            .unwrap()
            .clone();
        assert!((furnace.value - 773.15).abs() < 1e-9);
        assert_eq!(furnace.source.0, "kingsley-patil-1988");
    }

    #[test]
    fn uncertainty_of_a_celsius_temperature_is_an_interval() {
        let tables = Tables::built_in().unwrap();
        let plate = tables.heating.way("plate").unwrap();
        assert!(
            (plate
                .numbers
                .get("temperature")
                .unwrap()
                .uncertainty
                .unwrap()
                - 50.0)
                .abs()
                < 1e-9
        );
    }

    #[test]
    fn a_wrong_unit_a_missing_number_and_an_unknown_key_are_refused() {
        let sources = Tables::built_in().unwrap().sources;
        let mut heating = Heating::built_in(&sources).unwrap();
        let number = "{ value = 1, source = \"memory\", at = \"x\", seen = \"from memory\" }";
        let cases = [
            "units = { power = \"kW\" }".to_owned(),
            "units = {}\n[[way]]\nid = \"x\"\nkind = \"plate\"".to_owned(),
            format!("units = {{}}\n[[floor]]\nid = \"x\"\nmicrowave = true\nwidth = {number}"),
            "units = {}\n[[way]]\nid = \"x\"\nkind = \"steam\"".to_owned(),
        ];
        for text in cases {
            assert!(heating.add("own.toml", &text, &sources).is_err(), "{text}");
        }
    }

    #[test]
    fn a_row_of_the_same_id_replaces_the_built_in_one() {
        let sources = Tables::built_in().unwrap().sources;
        let mut heating = Heating::built_in(&sources).unwrap();
        let count = heating.ways.len();
        let (_, text) = FILE;
        heating
            .add(
                "own.toml",
                &text.replace("value = 800,", "value = 1000,"),
                &sources,
            )
            .unwrap();
        assert_eq!(heating.ways.len(), count);
        assert!((heating.way("microwave").unwrap().numbers.si("power") - 1000.0).abs() < 1e-9);
    }
}
