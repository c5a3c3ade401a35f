//! Every row of the tables against rules that a slipped digit breaks.

use emberpot::tables::{Species, Tables};
use uom::si::f64::ThermodynamicTemperature;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::thermodynamic_temperature::kelvin;

fn at(t: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<kelvin>(t)
}

fn tables() -> Tables {
    Tables::built_in().unwrap_or_else(|error| panic!("{error}"))
}

fn g(species: &Species, t: f64) -> f64 {
    species
        .gibbs_energy(at(t))
        .unwrap()
        .get::<kilojoule_per_mole>()
}

#[test]
fn phases_cross_where_they_turn_into_each_other() {
    let tables = tables();
    let mut wrong = Vec::new();
    for species in &tables.species {
        let Some(next) = &species.next else { continue };
        let above = tables.species_by_id(&next.id).unwrap();
        let t = next.temperature.get::<kelvin>();
        let gap = |t: f64| g(above, t) - g(species, t);
        if gap(t).abs() > 0.1 || gap(t - 40.0) < 0.0 || gap(t + 40.0) > 0.0 {
            wrong.push(format!(
                "{} -> {} at {t} K: {:.3} {:.3} {:.3} kJ/mol",
                species.id,
                next.id,
                gap(t - 40.0),
                gap(t),
                gap(t + 40.0)
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
