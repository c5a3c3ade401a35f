//! The table of enthalpies against the direct calculation.

use emberpot::quantity::{TemperatureInterval, ThermodynamicTemperature};
use emberpot::{Batch, Tables, WhatIf};
use uom::si::ratio::percent;
use uom::si::temperature_interval::kelvin;
use uom::si::thermodynamic_temperature::degree_celsius;

#[test]
fn the_table_gives_the_flame_within_ten_kelvin() {
    let tables = Tables::built_in().unwrap();
    let limit = TemperatureInterval::new::<kelvin>(10.0);
    for name in [
        "zinc-aluminate",
        "zinc-aluminate-blue",
        "ceria-gadolinium",
        "yttria-europium",
        // Its fuel brings crystal water.
        "nickel-zinc-ferrite",
    ] {
        let text = std::fs::read_to_string(format!("examples/{name}.toml")).unwrap();
        let batch = Batch::parse(&text, name, &tables).unwrap();
        // A batch that starts hot reaches the melting points of its powder.
        let mut batch = batch;
        batch.conditions.start = ThermodynamicTemperature::new::<degree_celsius>(300.0);
        let table = WhatIf::new(&batch, &tables).unwrap();
        let (worst, within) = table.error(&batch, limit, &tables).unwrap();
        let (worst, within) = (worst.get::<kelvin>(), within.get::<percent>());
        println!("{name}: worst {worst:.1} K, {within:.1} % within 10 K");
        assert!(
            within >= 99.0,
            "{name}: {within:.1} % within 10 K, worst {worst:.1} K"
        );
        // The panels may add 150 kB to a report: this table, that of the ways (60 kB), their scripts.
        let size = serde_json::to_string(&table).unwrap().len();
        assert!(size < 40_000, "{name}: {size} bytes");
    }
}
