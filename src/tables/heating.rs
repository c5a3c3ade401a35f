//! Heating ways, floors of vessels, water, hazards of heating: `tables/heating.toml`.

use super::cited::Cited;
use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use super::unit::{
    DegreeCelsius, GramPerMole, JoulePerKilogramKelvin, KelvinPerSecond, KelvinStep,
    KilogramPerCubicMetre, KilojoulePerKilogram, MetrePerSecond, Millilitre, Millimetre, Number,
    Percent, Second, Share, Unit, Watt, WattPerMetreKelvin, WattPerSquareMetre,
    WattPerSquareMetreKelvin,
};
use crate::formula::Formula;
use crate::source::{Seen, SourceId};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// Kind of a heating way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
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
        self.serialize(f)
    }
}

/// A way to heat the vessel.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeatingWay {
    /// Name.
    pub id: String,
    /// Other names.
    #[serde(default)]
    pub aliases: Vec<String>,
    /// What the numbers stand for.
    #[serde(default)]
    pub note: String,
    /// Ids of the hazards that come with it.
    #[serde(default)]
    pub hazards: Vec<String>,
    /// What heats, with the numbers of its kind.
    pub heater: Heater,
    /// Speed of the air over the batch.
    pub air_speed: Cited<MetrePerSecond>,
    /// Heat transfer to the vessel from below.
    pub bottom_transfer: Cited<WattPerSquareMetreKelvin>,
    /// Emissivity of the vessel from below.
    pub bottom_emissivity: Cited<Share>,
    /// Heat transfer to the batch from above.
    pub top_transfer: Cited<WattPerSquareMetreKelvin>,
    /// Emissivity of the batch from above.
    pub top_emissivity: Cited<Share>,
}

/// What heats, and what its kind calls for.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
// A handful of rows: a box for each would save nothing.
#[allow(clippy::large_enum_variant)]
pub enum Heater {
    /// Microwaves in a cavity.
    Microwave {
        /// Output into one litre of water.
        power: Cited<Watt>,
        /// Share of the time it is on.
        duty: Cited<Percent>,
        /// Length of one switching cycle.
        cycle: Cited<Second>,
        /// Time before the field is there.
        start_delay: Cited<Second>,
        /// Share of the field that comes from above.
        top_share: Cited<Percent>,
        /// Volume of water that takes as much as one volume of gel.
        gel_load: Cited<Percent>,
    },
    /// Contact with a heated plate.
    Plate {
        /// Temperature that it is set to.
        temperature: Cited<DegreeCelsius>,
        /// Most that it gives.
        power: Cited<Watt>,
        /// Time constant of a cold plate.
        warm_up: Cited<Second>,
    },
    /// Hot walls all round.
    Furnace {
        /// Temperature that it is set to.
        temperature: Cited<DegreeCelsius>,
        /// By how much it cools when the door is opened.
        door_drop: Cited<KelvinStep>,
        /// Time constant of its recovery.
        recovery: Cited<Second>,
    },
    /// Burner under the vessel.
    Flame {
        /// Temperature of the gas at the vessel.
        temperature: Cited<DegreeCelsius>,
        /// Heat of combustion per time.
        power: Cited<Watt>,
        /// Share of it that the vessel takes.
        vessel_share: Cited<Percent>,
    },
    /// Lamp over the vessel.
    Lamp {
        /// Electrical power.
        power: Cited<Watt>,
        /// Radiation on the batch at this power.
        area_power: Cited<WattPerSquareMetre>,
        /// Share of it that the batch takes.
        absorbed_share: Cited<Percent>,
    },
}

/// A number of a heating way as it is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayNumber<'a> {
    /// Key in the table.
    pub name: &'static str,
    /// The number as the table writes it.
    pub written: f64,
    pub unit: &'static str,
    /// Key of the source.
    pub source: &'a SourceId,
    /// Page, table, equation or method.
    pub locator: &'a str,
    /// How it was found.
    pub seen: Seen,
}

fn shown<'a, U: Unit>(name: &'static str, number: &'a Cited<U>) -> WayNumber<'a> {
    WayNumber {
        name,
        written: number.written(),
        unit: U::NAME,
        source: &number.source,
        locator: &number.locator,
        seen: number.seen,
    }
}

impl HeatingWay {
    pub fn kind(&self) -> HeatingKind {
        match self.heater {
            Heater::Microwave { .. } => HeatingKind::Microwave,
            Heater::Plate { .. } => HeatingKind::Plate,
            Heater::Furnace { .. } => HeatingKind::Furnace,
            Heater::Flame { .. } => HeatingKind::Flame,
            Heater::Lamp { .. } => HeatingKind::Lamp,
        }
    }

    /// The power that the table gives it; a furnace has none.
    pub fn power(&self) -> Option<&Cited<Watt>> {
        match &self.heater {
            Heater::Microwave { power, .. }
            | Heater::Plate { power, .. }
            | Heater::Flame { power, .. }
            | Heater::Lamp { power, .. } => Some(power),
            Heater::Furnace { .. } => None,
        }
    }

    /// The temperature that the table gives it; microwaves and a lamp have none.
    pub fn temperature(&self) -> Option<&Cited<DegreeCelsius>> {
        match &self.heater {
            Heater::Plate { temperature, .. }
            | Heater::Furnace { temperature, .. }
            | Heater::Flame { temperature, .. } => Some(temperature),
            Heater::Microwave { .. } | Heater::Lamp { .. } => None,
        }
    }

    /// Every number with its source, by name.
    pub fn numbers(&self) -> Vec<WayNumber<'_>> {
        let mut all = vec![
            shown("air_speed", &self.air_speed),
            shown("bottom_transfer", &self.bottom_transfer),
            shown("bottom_emissivity", &self.bottom_emissivity),
            shown("top_transfer", &self.top_transfer),
            shown("top_emissivity", &self.top_emissivity),
        ];
        all.extend(self.power().map(|power| shown("power", power)));
        let temperature = self.temperature();
        all.extend(temperature.map(|temperature| shown("temperature", temperature)));
        match &self.heater {
            Heater::Microwave {
                duty,
                cycle,
                start_delay,
                top_share,
                gel_load,
                ..
            } => all.extend([
                shown("duty", duty),
                shown("cycle", cycle),
                shown("start_delay", start_delay),
                shown("top_share", top_share),
                shown("gel_load", gel_load),
            ]),
            Heater::Plate { warm_up, .. } => all.push(shown("warm_up", warm_up)),
            Heater::Furnace {
                door_drop,
                recovery,
                ..
            } => all.extend([shown("door_drop", door_drop), shown("recovery", recovery)]),
            Heater::Flame { vessel_share, .. } => all.push(shown("vessel_share", vessel_share)),
            Heater::Lamp {
                area_power,
                absorbed_share,
                ..
            } => all.extend([
                shown("area_power", area_power),
                shown("absorbed_share", absorbed_share),
            ]),
        }
        all.sort_by_key(|number| number.name);
        all
    }
}

/// Usual thickness of a vessel's floor of one material.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Floor {
    /// Name of its material in the tables of vessels.
    pub id: String,
    /// Other names.
    #[serde(default)]
    pub aliases: Vec<String>,
    pub thickness: Cited<Millimetre>,
}

/// Share of the one-litre output that a smaller load of water takes.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Load {
    /// The load.
    pub volume: Cited<Millilitre>,
    pub share: Cited<Percent>,
}

/// An oxide that does or does not go on taking up microwaves when dry.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Absorber {
    /// The oxide.
    pub formula: Formula,
    /// Whether it goes on.
    pub strong: bool,
    /// Temperature that a dry powder came to.
    pub reached: Cited<DegreeCelsius>,
}

/// Water, liquid and vapour.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WaterProperties {
    pub molar_mass: Cited<GramPerMole>,
    /// Heat capacity of the liquid.
    pub heat_capacity: Cited<JoulePerKilogramKelvin>,
    pub vapour_heat_capacity: Cited<JoulePerKilogramKelvin>,
    /// Heat of evaporation.
    pub latent_heat: Cited<KilojoulePerKilogram>,
    /// Temperature that it holds for.
    pub latent_heat_temperature: Cited<DegreeCelsius>,
    /// Density of the liquid.
    pub density: Cited<KilogramPerCubicMetre>,
    /// Thermal conductivity of the liquid.
    pub conductivity: Cited<WattPerMetreKelvin>,
    /// Antoine's constant A, log10(p/mmHg) = A − B/(t/°C + C).
    pub antoine_a: Cited<Number>,
    /// Antoine's constant B.
    pub antoine_b: Cited<Number>,
    /// Antoine's constant C.
    pub antoine_c: Cited<Number>,
    /// Evaporation into still air.
    pub evaporation_still: Cited<Number>,
    /// Evaporation by moving air, per speed.
    pub evaporation_wind: Cited<Number>,
    /// Heat transfer from a wall to boiling water.
    pub boiling_transfer: Cited<WattPerSquareMetreKelvin>,
}

/// How solution and gel take up microwaves; coherent SI.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DielectricProperties {
    /// Frequency of the field, Hz.
    pub frequency: Cited<Number>,
    /// Static permittivity of water.
    pub water_static: Cited<Number>,
    /// Its fall with temperature, per K.
    pub water_static_fall: Cited<Number>,
    /// Permittivity of water at high frequency.
    pub water_infinite: Cited<Number>,
    /// Relaxation time of water, s.
    pub water_relaxation: Cited<Number>,
    /// Activation energy of the relaxation, J/mol.
    pub relaxation_activation: Cited<Number>,
    /// Highest conductivity of the solution, S/m.
    pub peak_conductivity: Cited<Number>,
    /// Its rise with temperature, per K.
    pub conductivity_rise: Cited<Number>,
    pub gel_permittivity: Cited<Number>,
    pub gel_loss: Cited<Number>,
    /// Depth over penetration depth up to which the field fills the layer.
    pub lambert_limit: Cited<Number>,
}

/// When a course of heating counts as what.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Criteria {
    /// Heating rate from which the gel is alight.
    pub runaway_rate: Cited<KelvinPerSecond>,
    /// Share of the reaction that has to be left at that moment.
    pub kept_share: Cited<Percent>,
    /// Longest time that is followed.
    pub time_limit: Cited<Second>,
    /// Temperature above which a vessel may hurt.
    pub touch: Cited<DegreeCelsius>,
    pub room_temperature: Cited<DegreeCelsius>,
    /// Share of the water of a gel above which it counts as wet.
    pub still_wet: Cited<Percent>,
    /// Share of the depth that counts as a face.
    pub outer_face: Cited<Percent>,
    /// Emissivity of the burning batch.
    pub flame_emissivity: Cited<Share>,
    /// Heat transfer from the burning batch.
    pub flame_transfer: Cited<WattPerSquareMetreKelvin>,
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
    pub ways: Vec<HeatingWay>,
    /// Floors of vessels.
    pub floors: Vec<Floor>,
    /// What smaller loads take of the microwaves, by rising volume.
    pub loads: Vec<Load>,
    /// Oxides in the microwave field.
    pub absorbers: Vec<Absorber>,
    pub hazards: Vec<HeatingHazard>,
    pub water: WaterProperties,
    pub dielectric: DielectricProperties,
    /// Criteria and limits.
    pub criteria: Criteria,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    #[serde(default)]
    way: Vec<HeatingWay>,
    #[serde(default)]
    floor: Vec<Floor>,
    #[serde(default)]
    load: Vec<Load>,
    #[serde(default)]
    absorber: Vec<Absorber>,
    #[serde(default)]
    hazard: Vec<HeatingHazard>,
    water: Option<WaterProperties>,
    dielectric: Option<DielectricProperties>,
    criteria: Option<Criteria>,
}

const UNITS: [(&str, &str); 20] = [
    ("power", "W"),
    ("area_power", "W/m2"),
    ("duty", "%"),
    ("share", "%"),
    ("cycle", "s"),
    ("time", "s"),
    ("temperature", "degC"),
    ("interval", "K"),
    ("transfer", "W/(m2 K)"),
    ("emissivity", "1"),
    ("thickness", "mm"),
    ("conductivity", "W/(m K)"),
    ("density", "kg/m3"),
    ("heat_capacity", "J/(kg K)"),
    ("latent_heat", "kJ/kg"),
    ("molar_mass", "g/mol"),
    ("volume", "mL"),
    ("rate", "K/s"),
    ("speed", "m/s"),
    ("number", "1"),
];

impl Row for HeatingWay {
    const ARRAY: &'static str = "way";

    fn id(&self) -> String {
        self.id.clone()
    }
}

impl Row for Floor {
    const ARRAY: &'static str = "floor";

    fn id(&self) -> String {
        self.id.clone()
    }

    fn check(&self) -> Result<(), Fault> {
        if self.thickness.written() > 0.0 {
            return Ok(());
        }
        let expected = "it should be above zero";
        Err(Fault::value(
            "thickness in mm",
            self.thickness.written(),
            expected,
        ))
    }
}

impl Row for Load {
    const ARRAY: &'static str = "load";

    fn id(&self) -> String {
        format!("load of {} mL", self.volume.written())
    }
}

impl Row for Absorber {
    const ARRAY: &'static str = "absorber";

    fn id(&self) -> String {
        self.formula.to_string()
    }
}

impl Row for HeatingHazard {
    const ARRAY: &'static str = "hazard";

    fn id(&self) -> String {
        self.id.clone()
    }
}

impl File {
    fn read(file: &TableFile) -> Result<Self, TableError> {
        let rows: Self = file.parse()?;
        file.check_units(&rows.units, &UNITS)?;
        file.check(&rows.way)?;
        file.check(&rows.floor)?;
        file.check(&rows.load)?;
        file.check(&rows.absorber)?;
        file.check(&rows.hazard)?;
        let rises = |pair: &[Load]| {
            pair[0].volume.value < pair[1].volume.value
                && pair[0].share.value <= pair[1].share.value
        };
        if let Some(at) = rows.load.windows(2).position(|pair| !rises(pair)) {
            let fault = Fault::incomplete("should follow on a smaller volume and share");
            return Err(file.row_error(&rows.load, at + 1, fault));
        }
        Ok(rows)
    }
}

/// Replaces the entry that `same_row` finds, or adds the new one.
fn merge<T>(rows: &mut Vec<T>, new: T, same_row: impl Fn(&T, &T) -> bool) {
    match rows.iter_mut().find(|old| same_row(old, &new)) {
        Some(old) => *old = new,
        None => rows.push(new),
    }
}

impl Heating {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("heating.toml");
        let rows = File::read(&file)?;
        let missing = || {
            file.error(
                "[water], [dielectric] or [criteria]",
                Fault::incomplete("is missing"),
            )
        };
        let heating = Self {
            water: rows.water.ok_or_else(missing)?,
            dielectric: rows.dielectric.ok_or_else(missing)?,
            criteria: rows.criteria.ok_or_else(missing)?,
            ways: rows.way,
            floors: rows.floor,
            loads: rows.load,
            absorbers: rows.absorber,
            hazards: rows.hazard,
        };
        heating.check_hazards(&file, &heating.ways)?;
        Ok(heating)
    }

    /// Adds the rows of a file; a row of the same id is replaced, a section as a whole.
    pub(super) fn add(&mut self, file: &TableFile) -> Result<(), TableError> {
        let rows = File::read(file)?;
        for row in rows.hazard {
            merge(&mut self.hazards, row, |old, new| old.id == new.id);
        }
        self.check_hazards(file, &rows.way)?;
        for row in rows.way {
            merge(&mut self.ways, row, |old, new| old.id == new.id);
        }
        for row in rows.floor {
            merge(&mut self.floors, row, |old, new| old.id == new.id);
        }
        if !rows.load.is_empty() {
            self.loads = rows.load;
        }
        for row in rows.absorber {
            merge(&mut self.absorbers, row, |old, new| {
                old.formula.amounts() == new.formula.amounts()
            });
        }
        self.water = rows.water.unwrap_or_else(|| self.water.clone());
        self.dielectric = rows.dielectric.unwrap_or_else(|| self.dielectric.clone());
        self.criteria = rows.criteria.unwrap_or_else(|| self.criteria.clone());
        Ok(())
    }

    fn check_hazards(&self, file: &TableFile, ways: &[HeatingWay]) -> Result<(), TableError> {
        for (at, way) in ways.iter().enumerate() {
            if let Some(unknown) = way.hazards.iter().find(|id| self.hazard(id).is_none()) {
                return Err(file.row_error(ways, at, Fault::Reference(unknown.clone())));
            }
        }
        Ok(())
    }

    /// Share of the one-litre output that smaller loads take: (m³, share), rising.
    pub(crate) fn load_shares(&self) -> Vec<(f64, f64)> {
        let loads = self.loads.iter();
        loads
            .map(|load| (load.volume.si(), load.share.si()))
            .collect()
    }

    /// The heating way of this name or other name; case and hyphens do not count.
    pub fn way(&self, name: &str) -> Option<&HeatingWay> {
        self.ways
            .iter()
            .find(|way| matches(name, &way.id, &way.aliases))
    }

    /// The floor of this material; case and hyphens do not count.
    pub fn floor(&self, name: &str) -> Option<&Floor> {
        self.floors
            .iter()
            .find(|floor| matches(name, &floor.id, &floor.aliases))
    }

    /// The hazard text with this id.
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
    use crate::quantity::units::kelvins;
    use crate::tables::Tables;

    #[test]
    fn ways_are_found_by_every_name_and_keep_their_sources() {
        let heating = Tables::built_in().unwrap().heating;
        for (name, kind) in [
            ("Microwave", HeatingKind::Microwave),
            ("hot-plate", HeatingKind::Plate),
            ("muffle furnace", HeatingKind::Furnace),
            ("bunsen burner", HeatingKind::Flame),
            ("IR lamp", HeatingKind::Lamp),
        ] {
            assert_eq!(heating.way(name).unwrap().kind(), kind);
        }
        assert!(heating.way("steam bath").is_none());
        let furnace = heating.way("furnace").unwrap().temperature().unwrap();
        assert!((furnace.si() - 773.15).abs() < 1e-9);
        assert_eq!(furnace.source.0, "kingsley-patil-1988");
    }

    #[test]
    fn uncertainty_of_a_celsius_temperature_is_an_interval() {
        let heating = Tables::built_in().unwrap().heating;
        let plate = heating.way("plate").unwrap().temperature().unwrap();
        let band = plate.uncertainty.unwrap().get::<kelvins>();
        assert!((band - 50.0).abs() < 1e-9);
    }
}
