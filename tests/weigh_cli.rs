//! The commands of the bench: weigh, calcine, convert.

use assert_cmd::Command;
use serde_json::Value;

fn run(arguments: &[&str]) -> (i32, String, String) {
    let output = Command::cargo_bin("emberpot")
        .unwrap()
        .args(arguments)
        .output()
        .unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

const SHEET: &str = "examples/garnet-bench-sheet.toml";

#[test]
fn the_sheets_of_all_examples_fit_the_page() {
    // A4 at six lines to the inch and a margin of 1 cm above and below: 65 lines.
    let mut seen = 0;
    for entry in std::fs::read_dir("examples").unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|extension| extension != "toml") {
            continue;
        }
        let (code, text, error) = run(&["weigh", path.to_str().unwrap()]);
        assert_eq!(code, 0, "{path:?}: {error}");
        assert!(
            text.lines().count() <= 65,
            "{path:?} has {} lines",
            text.lines().count()
        );
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{path:?}: {line}");
            assert!(
                !line.contains("NaN") && !line.contains("inf"),
                "{path:?}: {line}"
            );
        }
        seen += 1;
    }
    assert!(seen >= 3);
}

#[test]
fn the_sheet_has_a_tick_box_for_every_ingredient() {
    let (code, text, _) = run(&["weigh", SHEET]);
    assert_eq!(code, 0);
    let ticks = text
        .lines()
        .filter(|line| line.starts_with("[ ] ") && line.as_bytes()[4].is_ascii_digit())
        .count();
    assert_eq!(ticks, 6);
    for piece in [
        "φ = 1.400",
        "stock A",
        "hydrate_range",
        "seed",
        "analytical",
    ] {
        assert!(text.contains(piece), "{piece} is missing");
    }
}

#[test]
fn json_and_csv_hold_the_same_masses() {
    let (_, json, _) = run(&["weigh", SHEET, "--format", "json"]);
    let json: Value = serde_json::from_str(&json).unwrap();
    let (_, csv, _) = run(&["weigh", SHEET, "--format", "csv"]);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let at = reader
        .headers()
        .unwrap()
        .iter()
        .position(|h| h == "mass_g")
        .unwrap();
    let lines = json["lines"].as_array().unwrap();
    let mut count = 0;
    for (record, line) in reader.records().zip(lines) {
        let mass: f64 = record.unwrap()[at].parse().unwrap();
        assert!((mass - line["mass_g"].as_f64().unwrap()).abs() < 1e-12);
        count += 1;
    }
    assert_eq!(count, lines.len());
    assert!((json["equivalence_ratio"]["value"].as_f64().unwrap() - 1.4).abs() < 1e-9);
}

#[test]
fn pots_and_temperatures_are_checked() {
    assert_eq!(run(&["weigh", SHEET, "--pots", "3"]).0, 0);
    assert_eq!(run(&["weigh", SHEET, "--pots", "0"]).0, 2);
    assert_eq!(run(&["weigh", SHEET, "--warm", "60"]).0, 2);
    assert_eq!(run(&["weigh", "no-such-file.toml"]).0, 2);
}

#[test]
fn a_calcined_sample_gives_its_water() {
    // Hand-worked in src/weigh/calcine.rs: x = 5.999, 2 u = 0.018 with a 0.1 mg balance.
    let (code, text, _) = run(&[
        "calcine",
        "Y(NO3)3·xH2O",
        "--sample",
        "1.0000 g",
        "--residue",
        "0.2948 g",
    ]);
    assert_eq!(code, 0);
    assert!(text.contains("x = 5.999 ± 0.018"), "{text}");
    assert!(text.contains("hydrate_x = 5.999"));
    let (code, _, error) = run(&["calcine", "Ba(NO3)2"]);
    assert_eq!(code, 2);
    assert!(error.contains("anhydrous"), "{error}");
    assert_eq!(run(&["calcine", "Y(NO3)3", "--sample", "1 g"]).0, 2);
}

#[test]
fn a_carbonate_gets_its_acid() {
    let (code, text, _) = run(&[
        "convert", "SrCO3", "--amount", "10 mmol", "--excess", "10 %",
    ]);
    assert_eq!(code, 0);
    assert!(
        text.contains("SrCO3 + 2 HNO3 → Sr(NO3)2 + CO2 + H2O"),
        "{text}"
    );
    // 22 mmol HNO3 · 63.012 g/mol / 0.65 = 2.1327 g.
    assert!(text.contains("2.133"), "{text}");
    let (code, text, _) = run(&["convert", "Cu", "--amount", "10 mmol", "--excess", "0 %"]);
    assert_eq!(code, 0);
    assert!(
        text.contains("Cu + 4 HNO3 → Cu(NO3)2 + 2 NO2 + 2 H2O"),
        "{text}"
    );
    assert!(text.contains("20 mmol NO2"), "{text}");
    let (code, _, error) = run(&["convert", "Mg", "--mass", "1 g"]);
    assert_eq!(code, 2);
    assert!(error.contains("nitrogen oxides"), "{error}");
    assert_eq!(run(&["convert", "SrCO3"]).0, 2);
    assert_eq!(
        run(&["convert", "SrCO3", "--mass", "1 g", "--acid", "95 %"]).0,
        2
    );
}
