//! Generated batches on every heating way: both models come to an end in few steps.
//!
//! Masses, fuels and vessels are drawn from a fixed seed, within what a bench uses.
//! `EMBERPOT_BATCHES=N` runs N batches instead.

use emberpot::internal::ignition::Slab;
use emberpot::internal::ignition::{
    Chance, Comparison, CoursePoint, Ending, Entrance, Judged, NoIgnition, Reason, Stage,
    StageName, TRACE_POINTS, lumped, model_inputs, watts,
};
use emberpot::internal::report::{
    SCREEN_LINES, SCREEN_WIDTH, Shown, comparison_document, course_document,
};
use emberpot::{Batch, Course, IgnitionError, Prepared, Tables, all_ways};
use rand::rngs::StdRng;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use uom::si::energy::joule;
use uom::si::ratio::{percent, ratio};
use uom::si::temperature_interval::kelvin;
use uom::si::thermodynamic_temperature::kelvin as k;
use uom::si::time::second;

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
    std::env::var("EMBERPOT_BATCHES").map_or(200, |n| n.parse().unwrap())
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

/// A comparison and the batch it was made from.
struct Checked<'a> {
    comparison: &'a Comparison,
    batch: &'a str,
}

/// Twice the middle of the band of times of a way that lights.
fn middle(judged: &Judged) -> f64 {
    let time = judged.verdict.time.unwrap();
    time.low.get::<second>() + time.high.get::<second>()
}

/// Mean power (W) until the solvent has gone, from the trace: other numbers than the sentence's.
fn wet_power(course: &Course) -> Option<f64> {
    let wet: Vec<&Stage> = course
        .stages
        .iter()
        .filter(|s| s.name < StageName::Gel)
        .collect();
    let until = wet.last()?.end.get::<second>();
    let mut heat = 0.0;
    for pair in course.trace.windows(2) {
        let (from, to) = (pair[0].time.get::<second>(), pair[1].time.get::<second>());
        heat += watts(pair[1].power) * (to.min(until) - from).max(0.0);
    }
    (until > 0.0).then(|| heat / until)
}

impl Checked<'_> {
    fn judged(&self, way: &str) -> &Judged {
        let found = self.comparison.ways.iter().find(|w| w.way == way).unwrap();
        found.judged.as_ref().unwrap()
    }

    fn course(&self, way: &str) -> &Course {
        &self.judged(way).course
    }

    fn all(&self) -> impl Iterator<Item = &Judged> {
        let ways = self.comparison.ways.iter();
        ways.filter_map(|w| w.judged.as_ref().ok())
    }

    fn live(&self) -> usize {
        self.all()
            .filter(|j| j.verdict.chance() != Chance::DoesNotLight)
            .count()
    }

    /// The faults of all sentences against the courses they speak of.
    fn faults(&self) -> Vec<String> {
        self.nothing_is_missing();
        let mut faults = Vec::new();
        for reason in &self.comparison.why {
            let words = reason.to_string();
            let endless = ["−", "NaN", "inf "].iter().any(|w| words.contains(w));
            assert!(!endless, "{words}\n{}", self.batch);
            if let Some(fault) = self.fault(reason, &words) {
                faults.push(format!("{fault}: {words}\n{}", self.batch));
            }
        }
        faults
    }

    /// What is wrong with a sentence.
    fn fault(&self, reason: &Reason, words: &str) -> Option<String> {
        let wrong = |holds: bool, what: &str| (!holds).then(|| what.to_owned());
        match reason {
            Reason::NoneLights => wrong(self.live() == 0, "one lights"),
            Reason::OneLights { way } => {
                let own = self.judged(way).verdict.chance() != Chance::DoesNotLight;
                wrong(own && self.live() == 1, "not it alone")
            }
            Reason::Order { first, last } => self.order(&first.0, &last.0, words),
            Reason::Power { most, least } => self.power(most, least),
            Reason::Heat {
                way,
                through,
                share,
            } => {
                let book = &self.course(way).energy;
                let parts = [book.from_below, book.from_above, book.microwaves]
                    .map(|part| part.get::<joule>().max(0.0));
                let own = match through {
                    Entrance::Floor => parts[0],
                    Entrance::Surface => parts[1],
                    Entrance::Inside => parts[2],
                };
                let real = 100.0 * own / parts.iter().sum::<f64>();
                let largest = parts.iter().all(|part| own >= *part);
                wrong(largest && (real - share).abs() < 1e-9, "another share")
            }
            Reason::Lights { way, place } => {
                let lit = matches!(&self.course(way).ending, Ending::Ignites { place: own, .. } if own == place);
                wrong(
                    lit && words.ends_with(&format!("{}.", place.words())),
                    "another place",
                )
            }
            Reason::Gel {
                way,
                seconds,
                fuel,
                nitrate,
            } => self.gel(
                way,
                *seconds,
                [("fuel", *fuel), ("nitrate", *nitrate)],
                words,
            ),
            Reason::Uneven { way, difference_k } => {
                let real = self.course(way).wall_minus_centre.get::<kelvin>();
                let right = (real - difference_k).abs() < 1e-9
                    && words.contains("hotter") == (real >= 5.0)
                    && words.contains("cooler") == (real <= -5.0);
                wrong(right, "another difference")
            }
            Reason::Wet { way, share } => {
                let real = self.course(way).still_wet.get::<percent>();
                wrong((real - share).abs() < 1e-9 && real >= 1.0, "another share")
            }
            Reason::GoesOn { way } => {
                let note = self.course(way).microwave.unwrap();
                wrong(note.product_goes_on == Some(true), "does not go on")
            }
            Reason::Fails { way, reason } => {
                let own = self.course(way).no_ignition()?;
                if *reason == own.to_string() {
                    return self.failure(self.course(way), own);
                }
                Some(format!("it is {own}"))
            }
        }
    }

    /// No way that lights for sure is before the first or after the last; bands that overlap are
    /// called so.
    fn order(&self, first: &str, last: &str, words: &str) -> Option<String> {
        let (early, late) = (self.judged(first), self.judged(last));
        for other in self.all().filter(|j| j.verdict.chance() == Chance::Lights) {
            if middle(early) > middle(other) || middle(late) < middle(other) {
                return Some(format!("{} is outside", other.course.way));
            }
        }
        let high = early.verdict.time.unwrap().high;
        let overlap = high >= late.verdict.time.unwrap().low;
        (words.contains("not sure") != overlap).then(|| "sure or not".to_owned())
    }

    fn power(&self, most: &(String, f64), least: &(String, f64)) -> Option<String> {
        // A straight line between two points of the trace is off by some thousandths.
        let near = |a: f64, b: f64| (a - b).abs() <= 0.02 * a.abs().max(b.abs()) + 0.5;
        for (way, said) in [most, least] {
            let real = wet_power(self.course(way))?;
            if !near(real, *said) {
                return Some(format!("{way} brings {real:.1} W"));
            }
        }
        let outside = self.all().find(|j| {
            wet_power(&j.course).is_some_and(|p| {
                (p > most.1 && !near(p, most.1)) || (p < least.1 && !near(p, least.1))
            })
        });
        outside.map(|j| format!("{} is outside", j.course.way))
    }

    /// What is said to have left by the end is what the trace ends with.
    fn gel(&self, way: &str, seconds: f64, lost: [(&str, f64); 2], words: &str) -> Option<String> {
        let course = self.course(way);
        let gel = course.stages.iter().find(|s| s.name >= StageName::Gel)?;
        let long = (course.stages.last()?.end - gel.start).get::<second>();
        if (long - seconds).abs() > 1e-6 * long {
            return Some(format!("it takes {long:.1} s"));
        }
        let end = course.trace.last()?;
        for ((name, said), left) in lost.into_iter().zip([end.fuel_left, end.nitrate_left]) {
            let real = 100.0 - left.get::<percent>();
            let told = words.contains(&format!("% of the {name}"));
            if (said - real).abs() > 1e-6 || told != (said >= 1.0) {
                return Some(format!("{real:.2} % of the {name} have left"));
            }
        }
        None
    }

    /// The numbers of a failure against its course.
    fn failure(&self, course: &Course, reason: &NoIgnition) -> Option<String> {
        let hottest =
            |value: fn(&CoursePoint) -> f64| course.trace.iter().map(value).fold(0.0_f64, f64::max);
        let seen = hottest(|p| p.floor.get::<k>())
            .max(hottest(|p| p.middle.get::<k>()))
            .max(hottest(|p| p.surface.get::<k>()));
        let holds = match reason {
            NoIgnition::TooLittleHeat { rise_k } => *rise_k < 200.0,
            NoIgnition::StillWet { water_left, .. } => {
                (course.water_left.get::<ratio>() - water_left).abs() < 1e-6
            }
            NoIgnition::TooCold { reached_k, peak_k } => {
                reached_k < peak_k && *reached_k >= seen - 0.5
            }
            NoIgnition::TooThin {
                depth_mm,
                critical_mm,
            } => depth_mm < critical_mm,
            NoIgnition::FuelGone { lost } => {
                (course.fuel_lost.get::<ratio>() - lost).abs() < 1e-9 && *lost > 0.05
            }
            NoIgnition::Smoulders { reached_k } => *reached_k >= seen - 0.5,
            _ => false,
        };
        (!holds).then(|| format!("{reason:?}, seen {seen:.0} K, {:?}", course.ending))
    }

    /// Every way that may light has its sentences, and no sentence stands twice.
    fn nothing_is_missing(&self) {
        let why = &self.comparison.why;
        for judged in self.all() {
            let way = judged.course.way.as_str();
            let own = || why.iter().filter(|r| r.way() == Some(way));
            let heat = own().filter(|r| matches!(r, Reason::Heat { .. })).count();
            assert_eq!(heat, 1, "{way}\n{}", self.batch);
            let fails = own().any(|r| matches!(r, Reason::Fails { .. }));
            let failed = judged.course.no_ignition().is_some();
            assert_eq!(fails, failed, "{way}\n{}", self.batch);
            if judged.verdict.chance() != Chance::DoesNotLight {
                let uneven = own().any(|r| matches!(r, Reason::Uneven { .. }));
                assert!(uneven, "{way}\n{}", self.batch);
            }
        }
        for (at, reason) in why.iter().enumerate() {
            assert!(!why[..at].contains(reason), "{reason}\n{}", self.batch);
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
    texts.extend((0..batches()).map(|_| draw(&mut rng)));
    let (mut compared, mut sentences, mut faults) = (0, 0, Vec::new());
    for text in &texts {
        let Ok(batch) = Batch::parse(text, "drawn", &tables) else {
            continue;
        };
        let Ok(comparison) = all_ways(&batch, &tables) else {
            continue;
        };
        compared += 1;
        let checked = Checked {
            comparison: &comparison,
            batch: text,
        };
        sentences += comparison.why.len();
        if let Ok(prepared) = Prepared::new(&batch, &tables) {
            faults.extend(too_long(&prepared, &comparison));
        }
        faults.extend(checked.faults());
        for way in &comparison.ways {
            match &way.judged {
                Ok(judged) => check_course(judged, text),
                Err(IgnitionError::MetalInMicrowave { .. }) => {}
                Err(error) => panic!("{}: {error}\n{text}", way.way),
            }
        }
    }
    println!("{compared} comparisons, {sentences} sentences");
    let few = &faults[..faults.len().min(12)];
    assert!(faults.is_empty(), "{}:\n{}", faults.len(), few.join("\n"));
    assert!(compared * 10 > texts.len() * 9);
}

/// Answers that are longer than a screen.
fn too_long(prepared: &Prepared<'_>, comparison: &Comparison) -> Vec<String> {
    let of_ways = comparison
        .judged()
        .map(|judged| course_document(prepared, judged, &Shown::Answer));
    of_ways
        .chain([comparison_document(prepared, comparison, &Shown::Answer)])
        .map(|answer| answer.text(SCREEN_WIDTH))
        .filter(|text| text.lines().count() > SCREEN_LINES)
        .collect()
}
