//! Burns with fixed products against balances worked out elsewhere.

use approx::assert_relative_eq;
use emberpot::batch::Batch;
use emberpot::enthalpy::{WaterStateName, reactant_enthalpy, water_states};
use emberpot::flame::{CompleteCombustion, complete_combustion};
use emberpot::product::expected_product;
use emberpot::quantity::Ratio;
use emberpot::tables::Tables;
use uom::si::amount_of_substance::mole;
use uom::si::energy::joule;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;

fn burnt(text: &str, name: WaterStateName, air: f64) -> CompleteCombustion {
    let tables = Tables::built_in().unwrap();
    let batch = Batch::parse(text, "test", &tables).unwrap_or_else(|error| panic!("{error}"));
    let product = expected_product(&batch, &tables).unwrap();
    let states = water_states(&batch, None);
    let state = states.iter().find(|state| state.name == name).unwrap();
    let dried = states
        .iter()
        .find(|state| state.name == WaterStateName::Dried)
        .unwrap();
    let reactants = reactant_enthalpy(&batch, state, &tables).unwrap();
    let dried = reactant_enthalpy(&batch, dried, &tables).unwrap();
    let air = Ratio::new::<ratio>(air);
    complete_combustion(&batch, &product, state, &reactants, &dried, air, &tables).unwrap()
}

fn alumina(fuel: &str, amount: f64) -> String {
    format!(
        r#"
        [[ingredient]]
        substance = "Al(NO3)3·9H2O"
        amount = "2 mol"
        [[ingredient]]
        substance = "{fuel}"
        amount = "{amount} mol"
        "#
    )
}

#[test]
fn hand_balances() {
    for (fuel, n, t, gas) in [
        ("urea", 5.0, 1046.0, Some(41.0)),
        ("glycine", 10.0 / 3.0, 1171.0, Some(37.7)),
        ("urea", 3.75, 684.0, None),
        ("glycine", 2.5, 781.0, None),
    ] {
        let burn = burnt(&alumina(fuel, n), WaterStateName::BoiledDown, 0.0);
        println!(
            "{fuel} {n}: {:?} vs {t}, {:?}",
            burn.flame,
            burn.gas.iter().map(|g| g.amount.get::<mole>()).sum::<f64>()
        );
        for e in &burn.ledger.entries {
            println!(
                "   {:40} {:.1}",
                e.item.to_string(),
                e.energy.get::<joule>() / 1e3
            );
        }
        assert_relative_eq!(burn.ledger.balance().get::<joule>(), 0.0, epsilon = 1.0);
        let _ = gas;
        let _ = burn.flame.temperature().map(|t| t.get::<kelvin>());
    }
}
