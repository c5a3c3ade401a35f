//! Spoilt texts into every reader: whatever stands in a text, it is read or refused, in a moment,
//! without a panic, and what is read is finite. `EMBERPOT_FUZZ=100` runs a hundred times as many,
//! from another seed for each number. What is found becomes a file in `tests/once_broken` or
//! `tests/bad_input`, or a test beside the reader.

use crate::common::batches::Dice;
use crate::common::root;
use emberpot::internal::batch::note::{runs_of_csv, with_run};
use emberpot::internal::judge::decay::Afterglow;
use emberpot::internal::learned::Learned;
use emberpot::quantity::parse;
use emberpot::{Batch, Formula, Prepared, Tables, burn_document, burn_sections, plan_of};
use std::fs;
use std::io::Write;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::time::{Duration, Instant};
use uom::si::molar_mass::gram_per_mole;

/// Most that one text may take: an unoptimised build on a loaded machine.
const PATIENCE: Duration = Duration::from_secs(120);

/// Pieces that are put into texts: ends of ranges, other scripts, marks of the formats.
const PIECES: [&str; 48] = [
    "0",
    "-1",
    "1e308",
    "1e-320",
    "NaN",
    "inf",
    "-inf",
    "9999999999999999999999",
    "0.1",
    "1,5",
    "%",
    " g",
    " mg",
    " mL",
    " °C",
    " K",
    " mol/L",
    "ppm",
    "\"",
    "'",
    "\"\"\"",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    "=",
    "#",
    "\\u0000",
    "\\",
    "\n",
    "\r",
    "\r\n",
    "\t",
    "\u{feff}",
    "\u{202e}",
    "·",
    "⋅",
    "₂",
    "²",
    "×",
    "(",
    ")",
    ":",
    "é",
    "🔥",
    "\u{0}",
];

fn times() -> usize {
    std::env::var("EMBERPOT_FUZZ").map_or(1, |times| times.parse().unwrap())
}

/// One of the texts, spoilt in up to six places; bytes that are no text are left to `bad_input`.
fn spoilt(dice: &mut Dice, texts: &[String]) -> String {
    let mut text: Vec<char> = dice.one_of(texts).chars().collect();
    for _ in 0..(dice.number() * 7.0) as usize {
        let place = |dice: &mut Dice, length: usize| (dice.number() * (length + 1) as f64) as usize;
        let at = place(dice, text.len());
        let end = (at + place(dice, 12)).min(text.len());
        match (dice.number() * 7.0) as usize {
            0 => drop(text.drain(at..end)),
            1 => {
                let again = text[at..end].repeat(1 + place(dice, 40));
                text.splice(at..at, again);
            }
            2 | 3 => drop(text.splice(at..end, dice.one_of(&PIECES).chars())),
            4 => {
                let other: Vec<char> = dice.one_of(texts).chars().collect();
                let from = place(dice, other.len());
                let until = (from + place(dice, 60)).min(other.len());
                text.splice(at..end, other[from..until].iter().copied());
            }
            5 if at < end => text.swap(at, end - 1),
            _ => {
                if let Some(c) = text.get_mut(at) {
                    *c = char::from_u32(u32::from(*c) ^ (1 << place(dice, 6))).unwrap_or(*c);
                }
            }
        }
    }
    text.into_iter().collect()
}

/// `count` spoilt texts through `read`, which tells whether it took the text.
fn run(name: &str, count: usize, texts: &[String], mut read: impl FnMut(&str) -> bool) {
    assert!(!texts.is_empty(), "{name}: nothing to spoil");
    let (count, mut taken) = (count * times(), 0);
    let mut dice = Dice::new(18 + times() as u64);
    let started = Instant::now();
    for _ in 0..count {
        let text = spoilt(&mut dice, texts);
        let began = Instant::now();
        let found = catch_unwind(AssertUnwindSafe(|| read(&text)));
        let took = began.elapsed();
        match found {
            Ok(found) => taken += usize::from(found),
            Err(_) => panic!("{name} breaks on {text:?}\n{text}"),
        }
        assert!(
            took < PATIENCE,
            "{name} takes {took:?} for {text:?}\n{text}"
        );
    }
    let took = started.elapsed().as_secs_f64();
    // Past the capture of the test harness: how much was done belongs to the result.
    let mut out = std::io::stderr();
    writeln!(
        out,
        "{name}: {count} spoilt texts, {taken} taken, {took:.1} s"
    )
    .unwrap();
}

/// The texts of all files below `folder` that end in `ending`.
fn texts(folder: &str, ending: &str) -> Vec<String> {
    fn collect(folder: &Path, ending: &str, found: &mut Vec<String>) {
        let mut paths: Vec<_> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .collect();
        paths.sort();
        for path in paths {
            if path.is_dir() {
                collect(&path, ending, found);
            } else if path.extension().is_some_and(|e| e == ending) {
                found.extend(fs::read_to_string(&path));
            }
        }
    }
    let mut found = Vec::new();
    collect(&root().join(folder), ending, &mut found);
    found
}

fn batch_texts() -> Vec<String> {
    ["examples", "tests/once_broken", "tests/bad_input"]
        .iter()
        .flat_map(|folder| texts(folder, "toml"))
        .collect()
}

#[test]
fn spoilt_formulas() {
    let tables = Tables::built_in().unwrap();
    let rows = tables.reactants.iter();
    let mut texts: Vec<String> = rows.map(|row| row.formula.to_string()).collect();
    texts.extend(
        [
            "La0.6Sr0.4CoO3-d",
            "Y2O3:5%Eu",
            "Y3Al5O12:1%Ce/Y",
            "Y(NO3)3·xH2O",
        ]
        .map(str::to_owned),
    );
    run("formula", 20_000, &texts, |text| {
        let water = Formula::parse_with_water(text, 2.5);
        let Ok(formula) = Formula::parse(text) else {
            return false;
        };
        for formula in [&formula, &water.unwrap()] {
            let mass = formula.molar_mass().get::<gram_per_mole>();
            assert!(mass.is_finite() && mass > 0.0, "{text}: {mass} g/mol");
            let written = Formula::parse(&formula.to_string()).unwrap();
            let again = written.molar_mass().get::<gram_per_mole>();
            assert!(
                (again / mass - 1.0).abs() < 1e-4,
                "{text} is written as {formula}"
            );
        }
        true
    });
}

#[test]
fn spoilt_quantities() {
    let texts = [
        "3 g",
        "250 mg",
        "2.5 mL",
        "0.1 mol/L",
        "95 °C",
        "1500K",
        "20 %",
        "50 ppm",
        "1.5e-3 mol",
        "700 W",
        "7 min 30 s",
        "2 h",
        "1 bar",
        "10 cm",
        "40 m2/g",
        "6 1/h",
        "0.5 m/s",
        "3 m3/h",
        "-1273.3 kJ/mol",
        "15 MJ/kg",
        "12.4°",
        "5.3 to 5.9",
        "±2 K",
        "1 200,5 g",
    ]
    .map(str::to_owned);
    run("quantity", 20_000, &texts, |text| {
        let found = [
            parse::mass(text).map(|q| q.value),
            parse::volume(text).map(|q| q.value),
            parse::amount(text).map(|q| q.value),
            parse::concentration(text).map(|q| q.value),
            parse::temperature(text).map(|q| q.value),
            parse::temperature_interval(text).map(|q| q.value),
            parse::angle(text).map(|q| q.value),
            parse::specific_area(text).map(|q| q.value),
            parse::time(text).map(|q| q.value),
            parse::power(text).map(|q| q.value),
            parse::length(text).map(|q| q.value),
            parse::pressure(text).map(|q| q.value),
            parse::energy(text).map(|q| q.value),
            parse::specific_energy(text).map(|q| q.value),
            parse::density(text).map(|q| q.value),
            parse::velocity(text).map(|q| q.value),
            parse::volume_rate(text).map(|q| q.value),
            parse::ratio(text).map(|q| q.value),
        ];
        for value in found.iter().flatten() {
            assert!(value.is_finite(), "{text} is read as {value}");
        }
        found.iter().any(Result::is_ok)
    });
}

#[test]
fn spoilt_batches() {
    let tables = Tables::built_in().unwrap();
    run("batch", 1_500, &batch_texts(), |text| {
        let _ = Batch::wish(text.as_bytes(), "spoilt", &tables);
        match Batch::parse(text, "spoilt", &tables) {
            Ok(_) => true,
            Err(error) => {
                let told = error.to_string();
                assert!(told.len() < 60_000, "{} bytes of mistakes", told.len());
                false
            }
        }
    });
}

#[test]
fn spoilt_batches_to_the_end() {
    let tables = Tables::built_in().unwrap();
    let mut burnt = 0;
    run("plan", 150, &texts("examples", "toml"), |text| {
        // Only what is read is dear.
        let Ok(batch) = Batch::parse(text, "spoilt", &tables) else {
            return false;
        };
        burnt += 1;
        if burnt > 8 * times() {
            return true;
        }
        let Ok(prepared) = Prepared::new(&batch, &tables) else {
            return true;
        };
        if let Ok(plan) = plan_of(&prepared) {
            let told = burn_document(&plan, &burn_sections()).text(80);
            assert!(!told.contains("NaN"), "{told}");
        }
        true
    });
}

#[test]
fn spoilt_notebooks() {
    let mut texts = texts("examples", "toml");
    texts.push(fs::read_to_string(root().join("tests/golden/learn/two-runs.txt")).unwrap());
    let run_line = "[[run]]\npeak_temperature = \"1100 °C\"\nmasses = { urea = \"1 g\" }\n";
    texts.push(run_line.to_owned());
    run("note", 1_500, &texts, |text| {
        let _ = Learned::parse(text, "spoilt");
        let entry = ("peak_temperature".to_owned(), "1120 °C".to_owned());
        with_run(text, &[entry]).is_ok()
    });
    let tables_of_readings = [
        "time_s,luminance_mcd_m2\n1,500\n10,60\n60,9\n300,1.6\n1800,0.3\n",
        "time_min;counts;reference\n1;500;400\n2;300;200\n4;100;90\n8;40;30\n16;20;10\n32;9;8\n",
        "peak_temperature,powder_mass,remarks\n1100 °C,1.62 g,fine\n\"1,2\",,\n",
    ]
    .map(str::to_owned);
    run("readings", 1_500, &tables_of_readings, |text| {
        let _ = runs_of_csv(text);
        let Ok(readings) = Afterglow::parse(text, "spoilt") else {
            return false;
        };
        let _ = readings.decay();
        true
    });
}

#[test]
fn spoilt_tables() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("spoilt tables");
    for (file, seeds) in [
        ("reactants/own.toml", texts("tests/own_tables", "toml")),
        ("species/own.toml", texts("tests/own_tables", "toml")),
        ("phases/own.toml", texts("tables/phases", "toml")),
        (
            "vessels.toml",
            vec![fs::read_to_string(root().join("tables/vessels.toml")).unwrap()],
        ),
        (
            "heating.toml",
            vec![fs::read_to_string(root().join("tables/heating.toml")).unwrap()],
        ),
        (
            "kinetics.toml",
            vec![fs::read_to_string(root().join("tables/kinetics.toml")).unwrap()],
        ),
        (
            "cautions.toml",
            vec![fs::read_to_string(root().join("tables/cautions.toml")).unwrap()],
        ),
    ] {
        let _ = fs::remove_dir_all(&folder);
        let path = folder.join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        run(file, 6, &seeds, |text| {
            fs::write(&path, text).unwrap();
            Tables::with_directory(&folder).is_ok()
        });
    }
}
