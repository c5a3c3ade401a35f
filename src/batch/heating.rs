//! The `[heating]` section of a batch file: which heating way, and what the user measured on it.

use super::section::{Section, value};
use crate::quantity::units::ratio;
use crate::quantity::{
    Length, Mass, Power, Ratio, TemperatureInterval, ThermodynamicTemperature, Time, parse,
    temperature_difference,
};
use crate::tables::Tables;

/// Water heated for a stated time: the test of an oven's output or of a plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterTest {
    /// Mass of water.
    pub water: Mass,
    /// Temperature before.
    pub from: ThermodynamicTemperature,
    /// Temperature after.
    pub to: ThermodynamicTemperature,
    /// Time of heating; for an oven without the start of the magnetron.
    pub time: Time,
    /// Mass of the glass vessel, if its heat is to count.
    pub vessel: Option<Mass>,
    /// Temperature of room and vessel before; default: that of the water before.
    pub room: Option<ThermodynamicTemperature>,
}

impl WaterTest {
    /// Rise of the water's temperature.
    pub fn rise(&self) -> TemperatureInterval {
        temperature_difference(self.to, self.from)
    }
}

/// How the batch is heated, as far as the file says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HeatingPlan {
    /// Name of the heating way, as the tables have it.
    pub way: Option<String>,
    /// Oven output into one litre, electric power of a plate or lamp, burner power.
    pub power: Option<Power>,
    /// Share of the time an oven is on (its power setting), 0 to 1.
    pub setting: Option<Ratio>,
    /// Length of an on–off cycle.
    pub cycle: Option<Time>,
    /// Temperature of plate, furnace or hot gas.
    pub temperature: Option<ThermodynamicTemperature>,
    /// Material of the vessel's floor, as the tables have it.
    pub floor: Option<String>,
    /// Thickness of the vessel's floor.
    pub floor_thickness: Option<Length>,
    /// Inner diameter of the vessel at the layer.
    pub diameter: Option<Length>,
    /// Longest time of heating.
    pub time_limit: Option<Time>,
    /// Temperature of the room, and of the solution before heating.
    pub room: Option<ThermodynamicTemperature>,
    /// Measured peak of the differential thermal analysis of this gel.
    pub peak: Option<ThermodynamicTemperature>,
    /// Oven output test, one litre of water.
    pub oven_test: Option<WaterTest>,
    /// The same with as much water as the batch has volume.
    pub load_test: Option<WaterTest>,
    /// Water brought to the boil on the plate.
    pub boil_test: Option<WaterTest>,
}

pub(super) fn read(section: Section<'_>, tables: &Tables) -> HeatingPlan {
    let mut plan = HeatingPlan::default();
    let heating = &tables.heating;
    let way = |name: &str| Some(heating.way(name)?.id.clone());
    let ways = heating.ways.iter().map(|way| way.id.as_str());
    plan.way = section.named(("way", "heating way"), way, ways);
    let floor = |name: &str| Some(heating.floor(name)?.id.clone());
    let floors = heating.floors.iter().map(|floor| floor.id.as_str());
    plan.floor = section.named(("floor", "floor of"), floor, floors);
    plan.power = value(section.quantity_within("power", parse::power, "10 W and 10 kW"));
    plan.setting = section
        .number_within("setting", (0.05, 1.0))
        .map(|w| Ratio::new::<ratio>(w.value));
    plan.cycle = value(section.quantity_within("cycle", parse::time, "1 s and 2 min"));
    plan.time_limit = value(section.quantity_within("time_limit", parse::time, "10 s and 24 h"));
    let temperature = |key, range| value(section.quantity_within(key, parse::temperature, range));
    plan.temperature = temperature("temperature", "60 °C and 1200 °C");
    plan.room = temperature("room", "−10 °C and 50 °C");
    plan.peak = temperature("peak", "100 °C and 500 °C");
    let length = |key, range| value(section.quantity_within(key, parse::length, range));
    plan.floor_thickness = length("floor_thickness", "0.1 mm and 30 mm");
    plan.diameter = length("diameter", "10 mm and 500 mm");
    plan.oven_test = test(&section, "oven_test");
    plan.load_test = test(&section, "load_test");
    plan.boil_test = test(&section, "boil_test");
    section.finish();
    plan
}

fn test(parent: &Section<'_>, key: &'static str) -> Option<WaterTest> {
    let section = parent.section(key)?;
    let (mass, liquid) = ("5 g and 5 kg", "0 °C and 101 °C");
    for (name, example) in [
        ("water", "\"1 kg\""),
        ("from", "\"10 °C\""),
        ("to", "\"20 °C\""),
        ("time", "\"52 s\""),
    ] {
        if !section.has(name) {
            section.missing(name, example);
        }
    }
    let water = section.quantity_within("water", parse::mass, mass);
    let from = section.quantity_within("from", parse::temperature, liquid);
    let to = section.quantity_within("to", parse::temperature, liquid);
    let time = section.quantity_within("time", parse::time, "5 s and 2 h");
    let vessel = section.quantity_within("vessel", parse::mass, mass);
    let room = section.quantity_within("room", parse::temperature, liquid);
    if let (Some(from), Some(to)) = (&from, &to) {
        if to.value <= from.value {
            section.mistake(
                to.span.clone(),
                "`to` should be above `from`: the water warms up in this test",
            );
        }
    }
    section.finish();
    let (from, to) = (from?, to?);
    Some(WaterTest {
        water: water?.value,
        from: from.value,
        to: to.value,
        time: time?.value,
        vessel: vessel.map(|w| w.value),
        room: room.map(|w| w.value),
    })
}

#[cfg(test)]
mod tests {
    use super::super::Batch;
    use crate::quantity::units::degree_celsius;
    use crate::tables::Tables;

    fn batch(heating: &str) -> Result<Batch, String> {
        let text = format!(
            "[[ingredient]]\nsubstance = \"nickel(II) nitrate hexahydrate\"\nmass = \"2.9 g\"\n\
             [[ingredient]]\nsubstance = \"glycine\"\nmass = \"0.8 g\"\n[heating]\n{heating}"
        );
        let tables = Tables::built_in().unwrap();
        Batch::parse(&text, "test", &tables).map_err(|error| error.to_string())
    }

    #[test]
    fn the_section_is_read() {
        let plan = batch(
            "way = \"furnace\"\ntemperature = \"450 °C\"\n[heating.oven_test]\nwater = \"1 kg\"\n\
             from = \"10 °C\"\nto = \"20 °C\"\ntime = \"52 s\"",
        )
        .unwrap()
        .heating
        .unwrap();
        assert_eq!(plan.way.as_deref(), Some("muffle furnace"));
        assert!((plan.temperature.unwrap().get::<degree_celsius>() - 450.0).abs() < 1e-9);
        assert!(plan.oven_test.is_some() && plan.boil_test.is_none());
    }

    #[test]
    fn mistakes_name_what_is_wrong() {
        for (heating, words) in [
            ("way = \"steam bath\"", "no heating way"),
            ("power = \"3 °C\"", "is not a unit"),
            ("temperature = \"2000 °C\"", "out of range"),
            ("pover = \"3 W\"", "did you mean `power`"),
            (
                "oven_test = { water = \"1 kg\", from = \"20 °C\", to = \"10 °C\", time = \"52 s\" }",
                "warms up",
            ),
            ("boil_test = { water = \"1 kg\" }", "has no `from`"),
        ] {
            let error = batch(heating).unwrap_err();
            assert!(error.contains(words), "{heating}: {error}");
        }
    }
}
