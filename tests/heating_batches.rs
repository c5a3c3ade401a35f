//! Generated batches on every heating way: both models come to an end in few steps.
//!
//! Masses, fuels and vessels are drawn from a fixed seed, within what a bench uses.
//! `EMBERPOT_BATCHES=N` runs N batches instead.

use emberpot::batch::Batch;
use emberpot::ignition::slab::Slab;
use emberpot::ignition::{
    Chance, Comparison, CoursePoint, Entrance, IgnitionError, Judged, Reason, TRACE_POINTS,
    all_ways, lumped::lumped, model_inputs,
};
use emberpot::tables::Tables;
use rand::rngs::StdRng;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use uom::si::ratio::{percent, ratio};
use uom::si::temperature_interval::kelvin;

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

/// Every sentence of the reasons against the courses it speaks of.
fn check_reasons(comparison: &Comparison, text: &str) {
    let judged = |way: &str| {
        let found = comparison.ways.iter().find(|w| w.way == way).unwrap();
        found.judged.as_ref().unwrap()
    };
    let course = |way: &str| &judged(way).course;
    let live = |j: &&Judged| j.verdict.chance() != Chance::DoesNotLight;
    let all: Vec<&Judged> = comparison
        .ways
        .iter()
        .filter_map(|w| w.judged.as_ref().ok())
        .collect();
    for reason in &comparison.why {
        let words = reason.to_string();
        let whole = || format!("{words}\n{text}");
        assert!(
            !words.contains('−') && !words.contains("NaN"),
            "{}",
            whole()
        );
        match reason {
            Reason::NoneLights => assert_eq!(all.iter().filter(|j| live(j)).count(), 0),
            Reason::OneLights { way } => {
                assert!(live(&judged(way)), "{}", whole());
                assert_eq!(all.iter().filter(|j| live(j)).count(), 1, "{}", whole());
            }
            Reason::Order { first, last } => {
                let middle =
                    |j: &Judged| j.verdict.time.unwrap().low + j.verdict.time.unwrap().high;
                for j in all.iter().filter(|j| j.verdict.chance() == Chance::Lights) {
                    assert!(middle(judged(&first.0)) <= middle(j), "{}", whole());
                    assert!(middle(judged(&last.0)) >= middle(j), "{}", whole());
                }
                let overlap = first.1.high >= last.1.low;
                assert_eq!(words.contains("not sure"), overlap, "{}", whole());
            }
            Reason::Power { most, least } => {
                assert!(most.1 >= least.1, "{}", whole());
                assert_ne!(most.0, least.0, "{}", whole());
            }
            Reason::Heat {
                way,
                through,
                share,
            } => {
                let book = &course(way).energy;
                let parts = [book.from_below, book.from_above, book.microwaves];
                let own = match through {
                    Entrance::Floor => book.from_below,
                    Entrance::Surface => book.from_above,
                    Entrance::Inside => book.microwaves,
                };
                assert!(parts.iter().all(|p| own >= *p), "{}", whole());
                assert!(*share > 0.0 && *share <= 100.0 + 1e-9, "{}", whole());
            }
            Reason::Gel { way, fuel, .. } => {
                let lost = course(way).fuel_lost.get::<percent>();
                assert!((lost - fuel).abs() < 1e-9, "{}", whole());
            }
            Reason::Uneven { way, kelvins } => {
                let real = course(way).wall_minus_centre.get::<kelvin>();
                assert!((real - kelvins).abs() < 1e-9, "{}", whole());
                assert_eq!(words.contains("hotter"), real >= 5.0, "{}", whole());
                assert_eq!(words.contains("cooler"), real <= -5.0, "{}", whole());
            }
            Reason::Wet { way, share } => {
                let real = course(way).still_wet.get::<percent>();
                assert!((real - share).abs() < 1e-9 && real >= 1.0, "{}", whole());
            }
            Reason::GoesOn { way } => {
                let note = course(way).microwave.unwrap();
                assert_eq!(note.product_goes_on, Some(true), "{}", whole());
            }
            Reason::Fails { way, .. } => assert!(course(way).no_ignition().is_some()),
        }
    }
}

/// Balances of a course and of its draws.
fn check_course(judged: &Judged, text: &str) {
    let Judged { course, verdict } = judged;
    let book = &course.energy;
    let turnover = book.from_below.abs() + book.from_above.abs() + book.microwaves + book.steam;
    assert!(
        book.imbalance.abs() <= turnover * 1e-8,
        "{}: {:?}\n{text}",
        course.way,
        book.imbalance
    );
    let shares = |r: uom::si::f64::Ratio| (-1e-12..=1.0 + 1e-12).contains(&r.get::<ratio>());
    for draw in &verdict.draws {
        for share in [draw.water_left, draw.fuel_lost, draw.nitrate_lost] {
            assert!(shares(share), "{}: {draw:?}\n{text}", course.way);
        }
    }
    assert!(course.trace.len() <= TRACE_POINTS);
    let falls = |value: fn(&CoursePoint) -> f64| {
        course
            .trace
            .windows(2)
            .all(|p| value(&p[1]) <= value(&p[0]) + 1e-12)
    };
    assert!(falls(|p| p.water_left.get::<ratio>()), "{text}");
    assert!(falls(|p| p.fuel_left.get::<ratio>()), "{text}");
    assert!(falls(|p| p.nitrate_left.get::<ratio>()), "{text}");
    // The verdict counts the layer at its middle values, the staged balance and the draws.
    assert_eq!(verdict.of, verdict.draws.len() + 2);
}

#[test]
fn sentences_balances_and_traces_hold_for_examples_and_generated_batches() {
    let tables = Tables::built_in().unwrap();
    let mut rng = StdRng::seed_from_u64(5);
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut texts: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .map(|path| std::fs::read_to_string(path).unwrap())
        .collect();
    texts.extend((0..drawn_batches()).map(|_| draw(&mut rng)));
    let mut compared = 0;
    for text in &texts {
        let Ok(batch) = Batch::parse(text, "drawn", &tables) else {
            continue;
        };
        let Ok(comparison) = all_ways(&batch, &tables) else {
            continue;
        };
        compared += 1;
        check_reasons(&comparison, text);
        for way in &comparison.ways {
            match &way.judged {
                Ok(judged) => check_course(judged, text),
                Err(IgnitionError::MetalInMicrowave { .. }) => {}
                Err(error) => panic!("{}: {error}\n{text}", way.way),
            }
        }
    }
    println!("{compared} comparisons");
    assert!(compared * 10 > texts.len() * 9);
}

/// Two hundred on request; a dozen otherwise, because each runs 150 sampled courses.
fn drawn_batches() -> usize {
    std::env::var("EMBERPOT_BATCHES").map_or(12, |n| n.parse().unwrap())
}
