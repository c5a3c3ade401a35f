//! Recrystallising against worked examples of textbooks, limits and laws.

use approx::assert_relative_eq;
use emberpot::internal::recrystallise::{
    RecrystalliseError, Recrystallised, Request, crop, recrystallise, share_in_crystals,
};
use emberpot::quantity::{Band, Mass, Ratio, ThermodynamicTemperature};
use emberpot::{Element, Tables};
use proptest::prelude::*;
use std::sync::LazyLock;
use uom::si::mass::{gram, kilogram};
use uom::si::ratio::{part_per_million, ratio};
use uom::si::thermodynamic_temperature::degree_celsius;

static TABLES: LazyLock<Tables> = LazyLock::new(|| Tables::built_in().unwrap());

fn celsius(t: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<degree_celsius>(t)
}

fn request(grams: f64) -> Request {
    Request {
        mass: Mass::new::<gram>(grams),
        hot: None,
        cold: celsius(5.0),
        water: None,
        impurities: Vec::new(),
        distribution: None,
        times: 1,
    }
}

fn done(name: &str, request: &Request) -> Recrystallised {
    recrystallise(name, request, &TABLES).unwrap()
}

#[test]
fn glaubers_salt_as_in_a_worked_example() {
    // 100 kg of 30 % sodium sulfate, cooled until the liquor has 10 %: 58.65 kg of decahydrate
    // (curioustab.com, exercise 76580). They round 142.04/322.20 to 0.441, which is 0.05 % of it.
    let found = crop(
        Mass::new::<kilogram>(30.0),
        Mass::new::<kilogram>(100.0),
        Ratio::new::<ratio>(0.10),
        Ratio::new::<ratio>(142.04 / 322.20),
    );
    assert_relative_eq!(found.get::<kilogram>(), 58.65, max_relative = 1e-3);
}

#[test]
fn epsom_salt_as_in_a_worked_example() {
    // McCabe, Smith, Harriott: Unit Operations of Chemical Engineering, example 27.1 (read at
    // holooly.com): 1000 kg of 30 % MgSO4 lose 35 kg of water, liquor 24.5 %: 261 kg of
    // heptahydrate. Three figures are given.
    let found = crop(
        Mass::new::<kilogram>(300.0),
        Mass::new::<kilogram>(965.0),
        Ratio::new::<ratio>(0.245),
        Ratio::new::<ratio>(120.4 / 246.5),
    );
    assert_relative_eq!(found.get::<kilogram>(), 261.0, max_relative = 2e-3);
}

#[test]
fn an_ion_parts_as_the_laws_say() {
    let half = Ratio::new::<ratio>(0.5);
    // K = 1 parts nothing, K = 0 keeps all of it out.
    for (distribution, share) in [(1.0, 0.5), (0.0, 0.0)] {
        let band = share_in_crystals(distribution, half);
        assert_relative_eq!(band.low.get::<ratio>(), share, epsilon = 1e-12);
        assert_relative_eq!(band.high.get::<ratio>(), share, epsilon = 1e-12);
    }
    // K = 0.1, half of the salt: 0.05/0.55 in balance, 1 − 0.5^0.1 buried; by hand.
    let band = share_in_crystals(0.1, half);
    assert_relative_eq!(band.high.get::<ratio>(), 0.0909, epsilon = 1e-4);
    assert_relative_eq!(band.low.get::<ratio>(), 0.0670, epsilon = 1e-4);
}

#[test]
fn barium_nitrate_comes_back_by_its_curve() {
    // CRC: 23.5 % at 90 °C and 4.7 % at 0 °C, no hydrate. 10 g in 50 g of water, cooled to 0 °C:
    // the liquor holds 50 × 0.047/0.953 = 2.466 g.
    let mut asked = request(10.0);
    asked.cold = celsius(0.0);
    asked.water = Some(Mass::new::<gram>(50.0));
    let found = done("Ba(NO3)2", &asked);
    assert_relative_eq!(found.crop.get::<gram>(), 10.0 - 2.466, max_relative = 1e-3);
    assert_relative_eq!(found.recovered.get::<ratio>(), 0.7534, max_relative = 1e-3);
}

#[test]
fn strontium_nitrate_comes_with_water_from_the_cold() {
    let found = done("Sr(NO3)2", &request(50.0));
    assert_eq!(found.crystal.formula.to_string(), "Sr(NO3)2·4H2O");
    let mut warm = request(50.0);
    warm.cold = celsius(35.0);
    let found = done("Sr(NO3)2", &warm);
    assert_eq!(found.crystal.formula.to_string(), "Sr(NO3)2");
}

#[test]
fn an_ion_that_fits_the_crystal_stays() {
    let mut asked = request(100.0);
    asked.impurities = [("Ca", 50.0), ("Ni", 50.0)]
        .map(|(symbol, ppm)| {
            let content = Ratio::new::<part_per_million>(ppm);
            (Element::from_symbol(symbol).unwrap(), content)
        })
        .to_vec();
    let found = done("Zn(NO3)2·6H2O", &asked);
    let [calcium, nickel] = &found.foreign[..] else {
        panic!("two ions were named");
    };
    assert!(!calcium.fits && nickel.fits);
    let high = |content: &Option<(Ratio, Band<Ratio>)>| content.unwrap().1.high;
    // By hand: 80 % of the salt crystallises; of an ion with K = 0.1 at most 0.08/0.28 is built
    // in, and a tenth of the crystals' mass of liquor clings to them.
    let built_in = 0.08 / 0.28;
    let clinging = 0.1 * (found.crop / found.liquor).get::<ratio>();
    let kept = calcium.kept.high.get::<ratio>();
    assert_relative_eq!(
        kept,
        built_in + (1.0 - built_in) * clinging,
        max_relative = 1e-6
    );
    assert!(high(&calcium.content) < Ratio::new::<part_per_million>(50.0));
    assert!(high(&nickel.content) > high(&calcium.content));
}

#[test]
fn what_must_not_be_done_is_refused() {
    for name in ["NH4NO3", "carbohydrazide", "hydrazine nitrate", "KClO4"] {
        assert!(
            recrystallise(name, &request(10.0), &TABLES).is_err(),
            "{name}"
        );
    }
    let refused = recrystallise("NH4NO3", &request(10.0), &TABLES);
    assert!(matches!(refused, Err(RecrystalliseError::Refused { .. })));
}

#[test]
fn water_that_does_not_serve_is_told_with_what_does() {
    let with = |grams: f64| {
        let mut asked = request(10.0);
        asked.water = Some(Mass::new::<gram>(grams));
        recrystallise("Ba(NO3)2", &asked, &TABLES).unwrap_err()
    };
    assert!(matches!(
        with(1.0),
        RecrystalliseError::TooLittleWater { .. }
    ));
    assert!(matches!(with(5000.0), RecrystalliseError::NoCrop { .. }));
    let mut asked = request(10.0);
    asked.cold = celsius(95.0);
    let error = recrystallise("Ba(NO3)2", &asked, &TABLES).unwrap_err();
    assert!(matches!(error, RecrystalliseError::NotHotter { .. }));
    asked.cold = celsius(-40.0);
    let error = recrystallise("Ba(NO3)2", &asked, &TABLES).unwrap_err();
    assert!(matches!(error, RecrystalliseError::Solubility(_)));
}

#[test]
fn every_crystal_of_the_table_can_be_planned_between_its_ends() {
    for row in &TABLES.crystallising.crystals {
        let mut asked = request(20.0);
        let from = row.from.get::<degree_celsius>().max(1.0);
        let to = row.to.get::<degree_celsius>();
        asked.cold = celsius(from + 0.1 * (to - from));
        let name = row.comes.to_string();
        let found =
            recrystallise(&name, &asked, &TABLES).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert!(found.known.is_some(), "{name}");
        assert!(found.recovered.get::<ratio>() <= 0.8 + 1e-9, "{name}");
        assert!(found.recovered.get::<ratio>() > 0.0, "{name}");
        assert!(!found.steps.is_empty());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn salt_and_water_are_kept(grams in 1.0..500.0_f64, cold in 0.0..20.0_f64) {
        let mut asked = request(grams);
        asked.cold = celsius(cold);
        let found = done("Al(NO3)3·9H2O", &asked);
        let w = found.solubility.mass_fraction("", found.cold).unwrap();
        let dry = found.salt.formula.anhydrous().molar_mass() / found.salt.formula.molar_mass();
        let before = dry * found.mass;
        let after = dry * found.crop + w * found.liquor;
        prop_assert!(((after - before) / before).get::<ratio>().abs() < 1e-9);
        let whole = found.mass + found.water - found.crop - found.liquor;
        prop_assert!(whole.get::<gram>().abs() < 1e-9 * grams);
        // Colder gives more from the same water.
        asked.water = Some(found.water);
        asked.cold = celsius(cold + 5.0);
        prop_assert!(done("Al(NO3)3·9H2O", &asked).crop < found.crop);
    }
}
