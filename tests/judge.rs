//! Judging powders: runs as the file writes them, colours and decays against published values.

use approx::assert_relative_eq;
use emberpot::batch::Instrument;
use emberpot::internal::colour::Lab;
use emberpot::internal::judge::decay::{Afterglow, Model};
use emberpot::{Batch, Tables};
use serde::Deserialize;
use std::fs;
use std::path::PathBuf;

#[derive(Deserialize)]
struct Pairs {
    pairs: Vec<([f64; 3], [f64; 3], f64)>,
}

fn lab([lightness, a, b]: [f64; 3]) -> Lab {
    Lab { lightness, a, b }
}

#[test]
fn ciede2000_gives_the_published_differences() {
    let pairs: Pairs = toml::from_str(include_str!("reference/ciede2000.toml")).unwrap();
    assert_eq!(pairs.pairs.len(), 33);
    for (first, second, published) in pairs.pairs {
        let found = lab(first).difference_2000(lab(second));
        // Published with four decimals.
        assert_relative_eq!(found, published, epsilon = 6e-5);
        let back = lab(second).difference_2000(lab(first));
        assert_relative_eq!(found, back, epsilon = 1e-9);
    }
}

#[derive(Deserialize)]
struct Cases {
    case: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    kind: String,
    time_s: Vec<f64>,
    brightness: Vec<f64>,
    found: Vec<f64>,
    rms: f64,
}

#[test]
fn decays_are_fitted_as_a_general_purpose_library_does() {
    let cases: Cases = toml::from_str(include_str!("reference/decay.toml")).unwrap();
    for case in cases.case {
        let readings = Afterglow {
            time_s: case.time_s,
            brightness: case.brightness,
            reference: None,
            calibrated: true,
        };
        let fit = readings.decay().unwrap().chosen;
        let (kind, parameters) = match fit.model {
            Model::PowerLaw {
                at_one_second,
                exponent,
            } => ("power", vec![at_one_second.ln(), exponent]),
            Model::TwoExponentials {
                amplitudes: [a1, a2],
                times_s: [t1, t2],
            } => ("exponentials", vec![a1.ln(), t1.ln(), a2.ln(), t2.ln()]),
        };
        assert_eq!(kind, case.kind);
        // Readings and results are written with six digits.
        assert_relative_eq!(
            fit.deviation.get::<uom::si::ratio::ratio>(),
            case.rms,
            max_relative = 1e-4
        );
        for (found, by_scipy) in parameters.iter().zip(&case.found) {
            assert_relative_eq!(found, by_scipy, max_relative = 1e-3);
        }
    }
}

const BATCH: &str = "[[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\nmass = \"7.5 g\"\n\
                     [[ingredient]]\nsubstance = \"urea\"\nmass = \"3 g\"\n";

fn parse(more: &str) -> Result<Batch, String> {
    let tables = Tables::built_in().unwrap();
    Batch::parse(&format!("{BATCH}{more}"), "test", &tables).map_err(|error| error.to_string())
}

#[test]
fn one_run_or_several_are_read_in_the_order_of_the_file() {
    let one = parse("[run]\npeak_temperature = \"1100 °C\"\n").unwrap();
    assert_eq!(one.runs.len(), 1);
    let two = parse(
        "[[run]]\ndate = \"2026-03-02\"\ninstrument = \"thermocouple\"\npeak_error = \"15 °C\"\n\
         [run.masses]\n\"Al(NO3)3·9H2O\" = \"7.493 g\"\n\
         [[run]]\nignited = false\n[run.powder]\nlab = [62.5, -4, -31.2]\n",
    )
    .unwrap();
    assert_eq!(two.runs.len(), 2);
    assert_eq!(two.runs[0].instrument, Some(Instrument::Thermocouple));
    let error = two.runs[0].peak_error.unwrap();
    // An uncertainty of 15 °C is 15 K, not 288 K.
    assert_relative_eq!(error.get::<uom::si::temperature_interval::kelvin>(), 15.0);
    assert_eq!(two.runs[1].ignited, Some(false));
    assert_eq!(
        two.runs[1].powder.as_ref().unwrap().lab,
        Some(lab([62.5, -4.0, -31.2]))
    );
}

#[test]
fn mistakes_in_runs_are_all_told_with_their_lines() {
    let error = parse(
        "[[run]]\nfumes = \"purple\"\n[run.powder]\nlab = [1, 2]\n\
         flakes = { live = 1.5, dead = 2 }\nmagnte = \"weak\"\n",
    )
    .unwrap_err();
    for (line, word) in [(8, "fumes"), (10, "lab"), (11, "flakes"), (12, "magnte")] {
        let place = format!("test:{line}:");
        let told = error.lines().find(|told| told.contains(&place));
        assert!(
            told.is_some_and(|told| told.contains(word)),
            "{line} {word}: {error}"
        );
    }
}

/// A batch file with this run in a folder of its own, judged as a process.
fn judged_file(test: &str, run: &str, readings: &str) -> assert_cmd::assert::Assert {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR"))
        .join("judge")
        .join(test);
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("dark.csv"), readings).unwrap();
    let file = folder.join("batch.toml");
    let text = format!(
        "[[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\nmass = \"7.5 g\"\n\
         [[ingredient]]\nsubstance = \"urea\"\nmass = \"3 g\"\n{run}"
    );
    fs::write(&file, text).unwrap();
    let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_emberpot"));
    command.arg("judge").arg(file).assert()
}

#[test]
fn an_afterglow_file_beside_the_batch_is_fitted() {
    // L = 1000 mcd/m² × s / t passes 0.32 mcd/m² after 3125 s: 52 min.
    let rows: String = (1..=40)
        .map(|i| format!("{},{}\n", 10 * i, 100.0 / f64::from(i)))
        .collect();
    let run = "[run.powder]\nafterglow = \"dark.csv\"\n";
    let readings = format!("time_s,luminance_mcd_m2\n{rows}");
    let out = judged_file("fitted", run, &readings).code(0);
    let text = String::from_utf8(out.get_output().stdout.clone()).unwrap();
    assert!(text.contains("time to the power of −1.0"), "{text}");
    assert!(text.contains("after 52 min"), "{text}");
}

#[test]
fn what_cannot_be_judged_is_told_with_its_place() {
    let run = "[run.powder]\nafterglow = \"dark.csv\"\n";
    let elsewhere = "[run.powder]\nafterglow = \"light.csv\"\n";
    let bad_line = "time_s,counts\n1,20\n2,dim\n";
    for (test, run, readings, told) in [
        ("none", "", "", "the file has no [[run]]"),
        ("gone", elsewhere, "", "light.csv"),
        (
            "line",
            run,
            bad_line,
            "dark.csv, line 3: `counts` is \"dim\"",
        ),
    ] {
        let out = judged_file(test, run, readings).code(2);
        let told_instead = String::from_utf8(out.get_output().stderr.clone()).unwrap();
        assert!(told_instead.contains(told), "{told_instead}");
        assert!(out.get_output().stdout.is_empty());
    }
}
