//! Uses the library without a batch file on disk: three fuel ratios of ceria with glycine.

use emberpot::quantity::Ratio;
use emberpot::{Batch, Tables, WaterStateName, plan};
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::degree_celsius;

const BATCH: &str = r#"
name = "Ceria with glycine"

[target]
formula = "CeO2"
product_mass = "1 g"
equivalence_ratio = 1.0

[[ingredient]]
substance = "Ce(NO3)3·6H2O"

[[ingredient]]
substance = "glycine"
"#;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let tables = Tables::built_in()?;
    let batch = Batch::parse(BATCH, "in the program", &tables)?;
    for phi in [0.8, 1.0, 1.2] {
        let changed = batch.with_equivalence_ratio(Ratio::new::<ratio>(phi))?;
        let estimate = plan(&changed, &tables)?;
        let state = estimate
            .state(WaterStateName::BoiledDown)
            .ok_or("no such state")?;
        match state.complete.flame.temperature() {
            Some(t) => println!("φ = {phi}: {:.0} °C", t.get::<degree_celsius>()),
            None => println!("φ = {phi}: no flame"),
        }
    }
    Ok(())
}
