//! Synthetic laboratories: runs drawn from pots that are known, noise added.

use super::*;
use crate::batch::Batch;
use crate::burn::Heating;
use crate::prepared::Prepared;
use crate::tables::Tables;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, Normal};
use std::sync::{Arc, OnceLock};

/// Reading and runs scatter by this much: a thermocouple's 40 K and 30 K together.
const DEVIATION: f64 = 50.0;
/// A block that learning never gets to.
const ELSEWHERE: u64 = 1000;

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| Tables::built_in().unwrap())
}

fn batch(phi: f64) -> Batch {
    let text = format!(
        "[target]\nformula = \"ZnAl2O4\"\nproduct_mass = \"1 g\"\nequivalence_ratio = {phi}\n\
         [[ingredient]]\nsubstance = \"Zn(NO3)2·6H2O\"\n\
         [[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\n[[ingredient]]\nsubstance = \"urea\"\n\
         [[ingredient]]\nsubstance = \"water\"\nvolume = \"8 mL\"\n"
    );
    Batch::parse(&text, "test", tables()).unwrap()
}

/// As for urea.
fn burn_time() -> Band<Time> {
    Band::between(Time::new::<second>(5.0), Time::new::<second>(60.0))
}

fn expectation(phi: f64) -> Expectation<'static> {
    let prepared = Prepared::new(&batch(phi), tables()).unwrap();
    assert!(matches!(prepared.heating, Heating::NotStated));
    Expectation::new(
        &prepared.batch,
        &prepared.heating,
        &prepared.states,
        tables(),
    )
    .unwrap()
}

/// A laboratory with some charges, and the pots that could be its own.
struct Laboratory {
    group: Group<'static>,
    truths: Vec<Vec<Draw>>,
}

impl Laboratory {
    fn new(ratios: &[f64]) -> Self {
        let name = batch(1.0).pot_name(false);
        let mut group = Group::new(&name);
        let mut truths = Vec::new();
        for &phi in ratios {
            let mut charge = expectation(phi);
            truths.push(
                charge
                    .block(ELSEWHERE)
                    .into_iter()
                    .map(|(_, draw)| draw)
                    .collect(),
            );
            group.add(charge);
        }
        Self { group, truths }
    }

    /// Learns from runs with these peaks in K, by charge.
    fn learn(&mut self, peaks: &[(usize, f64)]) -> PotLesson {
        self.group.runs = peaks
            .iter()
            .enumerate()
            .map(|(at, &(charge, peak))| Kept {
                name: format!("run {at}"),
                reading: Reading {
                    peak: Some((
                        ThermodynamicTemperature::new::<kelvin>(peak),
                        TemperatureInterval::new::<kelvins>(DEVIATION),
                    )),
                    lit: Some(true),
                    time: None,
                    flame: None,
                    froth: None,
                },
                charge,
                time_factor: None,
                burn_time: burn_time(),
                froth: None,
                signs: Signs::default(),
            })
            .collect();
        self.group.lesson(&tables().observations)
    }

    /// Runs of the pot of draw `pot`: `each` a charge.
    fn runs(&self, pot: usize, each: usize, noise: &mut impl Rng) -> Vec<(usize, f64)> {
        let scatter = Normal::new(0.0, DEVIATION).unwrap();
        (0..self.truths.len() * each)
            .map(|at| {
                let charge = at % self.truths.len();
                (
                    charge,
                    reached(&self.truths[charge][pot]) + scatter.sample(noise),
                )
            })
            .collect()
    }
}

fn holds(band: Band<Ratio>, value: Ratio) -> bool {
    band.low <= value && value <= band.high
}

fn width(band: Band<Ratio>) -> f64 {
    (band.high - band.low).get::<ratio>()
}

#[test]
fn a_known_pot_is_found_again_and_its_bands_narrow() {
    let mut laboratory = Laboratory::new(&[0.8, 1.0, 1.3]);
    let (mut found, mut widths) = (0, (0.0, 0.0));
    // The pot of median loss among those that burn with a flame in every charge.
    let lost = |pot: &usize| laboratory.truths[1][*pot].heat_lost.get::<ratio>();
    let burns = |pot: &usize| {
        laboratory
            .truths
            .iter()
            .all(|draws| draws[*pot].peak.is_some())
    };
    let mut pots: Vec<usize> = (0..200).filter(burns).collect();
    pots.sort_by(|a, b| lost(a).total_cmp(&lost(b)));
    let pot = pots[pots.len() / 2];
    for seed in 0..10 {
        let mut noise = StdRng::seed_from_u64(seed);
        let peaks = laboratory.runs(pot, 3, &mut noise);
        let lesson = laboratory.learn(&peaks);
        // The lost heat of the charges differs; the middle one stands for them.
        let truth = laboratory.truths[1][pot].heat_lost;
        let (before, after) = (lesson.before.heat_lost.band, lesson.after.heat_lost.band);
        found += usize::from(holds(after, truth));
        widths.0 += width(before);
        widths.1 += width(after);
        for run in &lesson.runs {
            let span = |o: Outlook| o.band.high.get::<kelvin>() - o.band.low.get::<kelvin>();
            assert!(span(run.after) < span(run.before), "{run:?}");
        }
        assert!(lesson.help.unwrap().left_out.get::<kelvins>() < 3.0 * DEVIATION);
    }
    assert!(found >= 9, "{found} of 10");
    // The share of heat lost narrows little by itself: water and fuel can stand for it.
    assert!(widths.1 < widths.0, "{widths:?}");
}

#[test]
fn one_gross_outlier_is_forgiven() {
    let mut laboratory = Laboratory::new(&[1.0]);
    let mut noise = StdRng::seed_from_u64(5);
    let peaks = laboratory.runs(100, 6, &mut noise);
    let clean = laboratory.learn(&peaks);
    let mut with_outlier = peaks;
    with_outlier[2].1 += 600.0;
    let lesson = laboratory.learn(&with_outlier);
    let moved = lesson.after.heat_lost.middle - clean.after.heat_lost.middle;
    let band = width(clean.after.heat_lost.band);
    assert!(moved.get::<ratio>().abs() < band, "{moved:?} of {band}");
    let lone: Vec<&RunLesson> = lesson
        .runs
        .iter()
        .filter(|run| run.outlier.is_some())
        .collect();
    assert_eq!(lone.len(), 1);
    assert_eq!(lone[0].name, "run 2");
    assert_eq!(lesson.runs[0].name, "run 2", "misses stand first");
}

#[test]
fn bands_of_eight_of_ten_hold_eight_of_ten() {
    let mut laboratory = Laboratory::new(&[1.0]);
    let (mut held, mut all) = (0, 0_u32);
    for pot in (2..200).step_by(5) {
        let mut noise = StdRng::seed_from_u64(7000 + pot as u64);
        let peaks = laboratory.runs(pot, 5, &mut noise);
        for run in laboratory.learn(&peaks).runs {
            let (peak, _) = run.reading.peak.unwrap();
            let band = run.without.unwrap().band;
            held += u32::from(band.low <= peak && peak <= band.high);
            all += 1;
        }
    }
    let share = f64::from(held) / f64::from(all);
    assert_eq!(all, 200);
    assert!((0.7..=0.9).contains(&share), "{share}");
}

#[test]
fn a_long_flame_is_a_slow_front_that_loses_more_heat() {
    let mut laboratory = Laboratory::new(&[1.0]);
    let mut with_flame = |seconds: f64| {
        let run = |at: usize| Kept {
            name: format!("run {at}"),
            reading: Reading {
                peak: None,
                lit: Some(true),
                time: None,
                flame: Some(Time::new::<second>(seconds)),
                froth: None,
            },
            charge: 0,
            time_factor: None,
            burn_time: burn_time(),
            froth: None,
            signs: Signs::default(),
        };
        laboratory.group.runs = (0..4).map(run).collect();
        laboratory.group.lesson(&tables().observations)
    };
    let (short, long) = (with_flame(6.0), with_flame(55.0));
    let lost = |lesson: &PotLesson| lesson.after.heat_lost.middle.get::<ratio>();
    assert!(
        lost(&long) > 1.5 * lost(&short),
        "{} {}",
        lost(&long),
        lost(&short)
    );
    assert!(width(short.after.heat_lost.band) < width(short.before.heat_lost.band));
    // The three others predict the fourth, and narrower than the band of the fuel alone.
    for lesson in [&short, &long] {
        let flame = lesson.runs[0].flame.unwrap();
        let others = flame.without.unwrap();
        assert!(
            others.low <= flame.read && flame.read <= others.high,
            "{flame:?}"
        );
        let span = |band: Band<Time>| (band.high / band.low).get::<ratio>();
        assert!(span(others) < span(flame.before), "{flame:?}");
    }
}

#[test]
fn froth_is_learned_as_a_factor_of_its_own() {
    let mut laboratory = Laboratory::new(&[1.0]);
    let before = laboratory.learn(&[(0, 1500.0); 3]);
    assert_eq!(before.froth, None);
    // 5 to 20 times the solution: the middle is 10, half of that was seen three times.
    let deviation = 4.0_f64.ln() / 2.563;
    for run in &mut laboratory.group.runs {
        run.froth = Some((0.5, deviation));
    }
    let lesson = laboratory.group.lesson(&tables().observations);
    let froth = lesson.froth.unwrap();
    assert!(froth.after.low.get::<ratio>() > 0.4 && froth.after.high.get::<ratio>() < 0.85);
    assert!(
        (froth.before.low.get::<ratio>() - 0.5).abs() < 0.01,
        "{froth:?}"
    );
    // No draw predicts froth, so it moves none.
    assert_eq!(lesson.after, before.after);
}

/// The lesson of one run of a rich batch of which only `signs` were seen.
fn by_eye(laboratory: &mut Laboratory, signs: Signs) -> PotLesson {
    laboratory.learn(&[(0, 1500.0)]);
    let run = &mut laboratory.group.runs[0];
    (run.reading.peak, run.reading.lit, run.signs) = (None, None, signs);
    laboratory.group.lesson(&tables().observations)
}

#[test]
fn the_colour_of_the_fumes_weighs_a_little() {
    let mut laboratory = Laboratory::new(&[1.4]);
    let mut seen = |fumes| {
        let signs = Signs {
            fumes: Some(fumes),
            ..Signs::default()
        };
        by_eye(&mut laboratory, signs)
    };
    let (brown, black) = (seen(Fumes::Brown), seen(Fumes::Black));
    // Brown is lean as burnt, so fuel was lost; soot is fuel that stayed.
    let lost = |lesson: &PotLesson| lesson.after.fuel_lost.middle;
    assert!(lost(&brown) > brown.before.fuel_lost.middle, "{brown:?}");
    assert!(lost(&black) < black.before.fuel_lost.middle, "{black:?}");
    for lesson in [brown, black] {
        let count = lesson.draws as f64;
        assert!(lesson.effective_draws > 0.5 * count, "{lesson:?}");
        let (_, outlook) = lesson.runs[0].fumes.unwrap();
        assert!((0.03..0.4).contains(&outlook.before.get::<ratio>()));
    }
}

#[test]
fn the_place_of_lighting_speaks_for_the_courses_that_light_there() {
    use crate::batch::LitAt;
    use crate::ignition::LitPlace::{Centre, Top, Wall};
    let mut laboratory = Laboratory::new(&[1.0]);
    // The wettest, so the fastest, light at the floor, the driest at the surface.
    let places = [vec![Wall; 10], vec![Centre; 10], vec![Top; 10]].concat();
    let mut seen = |lit_at, places: &[_]| {
        let signs = Signs {
            lit_at: Some(lit_at),
            places: places.to_vec(),
            ..Signs::default()
        };
        by_eye(&mut laboratory, signs)
    };
    let (floor, surface) = (seen(LitAt::Floor, &places), seen(LitAt::Surface, &places));
    let left = |lesson: &PotLesson| lesson.after.water_left.middle;
    assert!(left(&floor) > floor.before.water_left.middle, "{floor:?}");
    assert!(
        left(&surface) < surface.before.water_left.middle,
        "{surface:?}"
    );
    assert_eq!(floor.runs[0].place.unwrap().courses, Some((10, 30)));
    // The rim is where floor and surface meet.
    let rim = seen(LitAt::Wall, &places);
    assert_eq!(rim.runs[0].place.unwrap().courses, Some((20, 30)));
    // Where all courses light alike, or none is known, a place tells nothing.
    for places in [vec![Wall; 30], Vec::new()] {
        let lesson = seen(LitAt::Surface, &places);
        let (after, before) = (
            lesson.after.water_left.middle,
            lesson.before.water_left.middle,
        );
        assert!((after - before).get::<ratio>().abs() < 1e-9);
    }
}

#[test]
fn runs_that_say_nothing_of_each_other_do_not_help() {
    let mut laboratory = Laboratory::new(&[1.0]);
    let middle = laboratory.learn(&[(0, 1500.0)]).runs[0]
        .before
        .middle
        .get::<kelvin>();
    // Far apart to both sides of what was expected: the mean is as good as anything.
    let peaks = [-250.0, 250.0, -240.0, 260.0].map(|off| (0, middle + off));
    let lesson = laboratory.learn(&peaks);
    assert!(!lesson.help.unwrap().helps(), "{:?}", lesson.help);
    assert!(laboratory.learn(&[(0, middle)]).help.is_none());
}

#[test]
fn what_no_draw_explains_is_named_with_the_nearest() {
    let mut laboratory = Laboratory::new(&[1.0]);
    let lesson = laboratory.learn(&[(0, 3200.0), (0, 1500.0), (0, 1520.0)]);
    assert_eq!(lesson.runs[0].name, "run 0");
    let Some(Outlier::Unexplained { nearest }) = lesson.runs[0].outlier else {
        panic!("{:?}", lesson.runs[0]);
    };
    assert!(reached(&nearest) < 3000.0);
    assert!(lesson.runs[1].outlier.is_none());
}

#[test]
fn readings_beyond_what_the_bands_reach_are_told_with_the_distance_left() {
    let mut laboratory = Laboratory::new(&[1.0]);
    let before = laboratory.learn(&[(0, 1500.0)]).runs[0].before;
    let (low, high) = (
        before.band.low.get::<kelvin>(),
        before.band.high.get::<kelvin>(),
    );
    for (peak, sign) in [(high + 650.0, 1.0), ((low - 650.0).max(300.0), -1.0)] {
        for count in [1, 3] {
            let lesson = laboratory.learn(&vec![(0, peak); count]);
            let off = lesson.still_off.unwrap().get::<kelvins>();
            let after = lesson.runs[0].after;
            assert!(off * sign > DEVIATION, "{peak} K: {off} K");
            assert!((peak - off - after.middle.get::<kelvin>()).abs() < 1e-6);
            // Who takes the lesson in reads the distance.
            let mut batch = batch(1.0);
            batch.learned = Some(Arc::new(crate::learned::Learned {
                pots: vec![lesson.learned()],
                ..crate::learned::Learned::default()
            }));
            let expected = Prepared::new(&batch, tables()).unwrap().expected;
            assert_eq!(expected.learned.unwrap().still_off, lesson.still_off);
        }
    }
    // One reading that the bands reach, and nothing is left to tell.
    let inside = before.middle.get::<kelvin>();
    assert_eq!(laboratory.learn(&[(0, inside)]).still_off, None);
    assert_eq!(
        laboratory
            .learn(&[(0, inside), (0, high + 650.0)])
            .still_off,
        None
    );
}

#[test]
fn a_batch_that_takes_the_lesson_in_expects_less() {
    let mut laboratory = Laboratory::new(&[1.0, 1.3]);
    let mut noise = StdRng::seed_from_u64(3);
    let peaks = laboratory.runs(90, 3, &mut noise);
    let lesson = laboratory.learn(&peaks);
    let learned = crate::learned::Learned {
        file: "learned.toml".to_owned(),
        from: Vec::new(),
        pots: vec![lesson.learned()],
    };
    let mut batch = batch(1.1);
    let before = Prepared::new(&batch, tables()).unwrap().expected;
    batch.learned = Some(Arc::new(learned.clone()));
    let after = Prepared::new(&batch, tables()).unwrap().expected;
    let width = |e: &crate::expected::Expected| {
        e.high.unwrap().get::<kelvin>() - e.low.map_or(400.0, |t| t.get::<kelvin>())
    };
    assert!(
        width(&after) < 0.8 * width(&before),
        "{} {}",
        width(&after),
        width(&before)
    );
    assert_eq!(after.learned.unwrap().runs, 6);
    // Another vessel: nothing of it is known, and that is said.
    let mut other = learned;
    other.pots[0].name.vessel = Some("crucible".to_owned());
    batch.learned = Some(Arc::new(other));
    let elsewhere = Prepared::new(&batch, tables()).unwrap().expected;
    assert_eq!(elsewhere.learned.as_ref().unwrap().runs, 0);
    assert_eq!(elsewhere.draws, before.draws);
}
