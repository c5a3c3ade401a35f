//! Generated batches on every heating way: both models come to an end in few steps.
//!
//! Masses, fuels and vessels are drawn from a fixed seed, within what a bench uses.
//! `EMBERPOT_BATCHES=N` runs N batches instead.

use emberpot::batch::Batch;
use emberpot::ignition::slab::Slab;
use emberpot::ignition::{lumped::lumped, model_inputs};
use emberpot::tables::Tables;
use rand::rngs::StdRng;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};

const SALTS: [&str; 14] = [
    "Mg(NO3)2·6H2O",
    "Al(NO3)3·9H2O",
    "Ca(NO3)2·4H2O",
    "Sr(NO3)2",
    "Ba(NO3)2",
    "Y(NO3)3·6H2O",
    "La(NO3)3·6H2O",
    "Ce(NO3)3·6H2O",
    "Fe(NO3)3·9H2O",
    "Co(NO3)2·6H2O",
    "Ni(NO3)2·6H2O",
    "Cu(NO3)2·3H2O",
    "Zn(NO3)2·6H2O",
    "Dy(NO3)3·5H2O",
];
const FUELS: [&str; 8] = [
    "urea",
    "glycine",
    "citric acid monohydrate",
    "sucrose",
    "carbohydrazide",
    "beta-alanine",
    "hexamine",
    "oxalic acid dihydrate",
];
const VESSELS: [&str; 7] = [
    "50 mL beaker",
    "250 mL beaker",
    "1 L beaker",
    "100 mL evaporating dish",
    "640 mL evaporating dish",
    "300 mL crystallizing dish",
    "100 mL alumina crucible",
];

/// A batch file with random ingredients, vessel and heating.
fn draw(rng: &mut StdRng) -> String {
    let mut text = String::new();
    let mut add = |substance: &str, grams: f64| {
        text += &format!("[[ingredient]]\nsubstance = \"{substance}\"\nmass = \"{grams:.4} g\"\n");
    };
    let scale = 10.0_f64.powf(rng.random_range(-1.5..1.3));
    let (salts, fuels) = (rng.random_range(1..4), rng.random_range(1..3));
    for salt in SALTS.choose_multiple(rng, salts) {
        add(salt, scale * rng.random_range(0.2..3.0));
    }
    for fuel in FUELS.choose_multiple(rng, fuels) {
        add(fuel, scale * rng.random_range(0.1..1.0));
    }
    if rng.random_bool(0.7) {
        add("water", scale * rng.random_range(0.5..20.0));
    }
    if rng.random_bool(0.8) {
        text += &format!("[vessel]\nname = \"{}\"\n", VESSELS.choose(rng).unwrap());
    }
    text += "[heating]\n";
    if rng.random_bool(0.3) {
        text += &format!("time_limit = \"{} h\"\n", rng.random_range(1..25));
    }
    text
}

fn batches() -> usize {
    std::env::var("EMBERPOT_BATCHES").map_or(60, |n| n.parse().unwrap())
}

#[test]
fn both_models_end_in_few_steps_on_every_way() {
    let tables = Tables::built_in().unwrap();
    let mut rng = StdRng::seed_from_u64(14);
    let (mut courses, mut staged_most, mut layer_most) = (0, 0, 0);
    for _ in 0..batches() {
        let text = draw(&mut rng);
        // A vessel can be too small; that is refused and says so.
        let Ok(batch) = Batch::parse(&text, "drawn", &tables) else {
            continue;
        };
        for way in &tables.heating.ways {
            let Ok(inputs) = model_inputs(&batch, &tables, Some(&way.id)) else {
                continue;
            };
            let (charge, wall, heater) = (&inputs.charge, &inputs.wall, &inputs.heater);
            let settings = inputs.settings;
            let quick = lumped(charge, wall, heater, &settings)
                .unwrap_or_else(|e| panic!("{} {e}\n{text}", way.id));
            let full = Slab::new(charge, wall, heater, settings)
                .and_then(|slab| slab.run())
                .unwrap_or_else(|e| panic!("{} {e}\n{text}", way.id));
            for value in [quick.time, quick.temperature, quick.water, quick.heat_in] {
                assert!(value.is_finite(), "{} {quick:?}\n{text}", way.id);
            }
            courses += 1;
            staged_most = staged_most.max(quick.steps);
            layer_most = layer_most.max(full.steps);
            assert!(quick.steps < 5000, "{} {}\n{text}", way.id, quick.steps);
        }
    }
    println!("{courses} courses; most steps: staged {staged_most}, layers {layer_most}");
    assert!(courses > 4 * batches());
}
