//! One batch, one answer: what the commands say of the same file is the same.

use crate::common::batches::batches;
use assert_cmd::Command;
use emberpot::internal::ignition::{Chance, Judged};
use emberpot::internal::report::{
    Shown, choice_json, compared_document, compared_json, course_document, first_screen,
    ignite_json, peak_text,
};
use emberpot::{
    Batch, PrepareError, Prepared, Tables, WaterStateName, choose, compare, plan_json, plan_of,
};
use serde_json::{Value, json};
use std::path::PathBuf;
use std::sync::OnceLock;
use uom::si::thermodynamic_temperature::kelvin;

/// Wide enough that few sentences are broken.
const WIDE: usize = 1000;

/// A text without its line breaks.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| Tables::built_in().unwrap())
}

/// The examples and fifty made-up batches.
fn files() -> Vec<(String, String)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut files: Vec<(String, String)> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            (path.display().to_string(), text)
        })
        .collect();
    files.sort();
    let made_up = batches(50, 11).into_iter().enumerate();
    files.extend(made_up.map(|(at, text)| (format!("made-up {at}"), text)));
    files
}

fn prepared(name: &str, text: &str) -> Result<Prepared<'static>, PrepareError> {
    let batch = Batch::parse(text, name, tables()).unwrap_or_else(|e| panic!("{name}: {e}"));
    Prepared::new(&batch, tables())
}

#[test]
fn every_command_tells_the_same_of_a_file() {
    let mut burnt = 0;
    for (name, text) in files() {
        let ready = match prepared(&name, &text) {
            Ok(ready) => ready,
            Err(PrepareError::Refused(_)) => continue,
            Err(error) => panic!("{name}: {error}\n{text}"),
        };
        burnt += 1;
        let plan = plan_of(&ready).unwrap();
        let words = peak_text(&ready.expected);
        let page = first_screen(&plan, WIDE);
        let burn = plan_json(&plan);
        let (expected, warnings) = (&burn["expected"], &burn["warnings"]);
        let told = warnings
            .as_array()
            .unwrap()
            .iter()
            .map(|warning| &warning["text"]);
        assert!(
            told.eq(ready.advice.warnings.iter().map(|w| w.text.as_str())),
            "{name}"
        );
        for (key, peak) in [
            ("temperature_k", ready.expected.temperature),
            ("low_k", ready.expected.low),
            ("high_k", ready.expected.high),
        ] {
            // JSON keeps ten digits.
            let apart = peak.map(|t| t.get::<kelvin>() - expected[key].as_f64().unwrap());
            assert!(apart.is_none_or(|off| off.abs() < 1e-5), "{name}: {key}");
            assert_eq!(peak.is_none(), expected[key].is_null(), "{name}: {key}");
        }
        assert!(one_line(&page).contains(&words), "{name}: {words}");
        if let Some(course) = ready.heating.course() {
            let judged = Judged::new(course.clone()).unwrap();
            let ignite = ignite_json(&ready, &judged);
            assert_eq!(ignite["expected"], *expected, "{name}");
            assert_eq!(ignite["warnings"], *warnings, "{name}");
            let page = course_document(&ready, &judged, &Shown::Answer).text(WIDE);
            // After a no there is no burn to describe.
            let told = judged.verdict.chance() != Chance::DoesNotLight;
            assert_eq!(one_line(&page).contains(&words), told, "{name}: {words}");
            // The burn at ignition starts where the course ends.
            if let (Some(ignited), Some(at)) =
                (&ready.ignited, ready.state(WaterStateName::AtIgnition))
            {
                assert_eq!(ignited.result.reactants.lines, at.reactants.lines);
            }
        }
        let same = [ready.clone(), ready.clone()];
        let comparison = compare(&same).unwrap();
        let compared = compared_json(&comparison);
        assert_eq!(compared["expected"], json!([expected, expected]), "{name}");
        let phi = |value: &Value| value["equivalence_ratio"].clone();
        let facts = compared["facts"].as_array().unwrap();
        let fact = facts.iter().find(|fact| fact["name"] == "fuel ratio φ");
        assert_eq!(fact.unwrap()["values"][0], phi(&burn), "{name}");
        let page = compared_document(&comparison, &Shown::Answer).text(WIDE);
        assert!(one_line(&page).contains(&words), "{name}: {words}");
    }
    assert!(burnt >= 35, "only {burnt} batches were not refused");
}

#[test]
fn a_choice_starts_from_the_same_burn() {
    let mut chosen = 0;
    for (name, text) in files().into_iter().step_by(5) {
        let Ok(ready) = prepared(&name, &text) else {
            continue;
        };
        let Ok(choice) = choose(&ready) else {
            continue;
        };
        chosen += 1;
        let value = choice_json(&choice);
        let burn = plan_json(&plan_of(&ready).unwrap());
        assert_eq!(value["own_batch"]["expected"], burn["expected"], "{name}");
        // What is suggested is expected by itself as the choice expects it.
        let Some(best) = choice.candidates.first() else {
            // Nothing burns with the water that the file states.
            assert!(!choice.failed.is_empty(), "{name}");
            continue;
        };
        let best = &best.suggestion;
        let again = Prepared::new(&best.batch, tables());
        match (again, &best.expected) {
            (Ok(again), Some(expected)) => assert_eq!(again.expected, *expected, "{name}"),
            (Err(PrepareError::Refused(_)), _) => {}
            (other, expected) => panic!("{name}: {other:?} {expected:?}"),
        }
    }
    assert!(chosen >= 4, "only {chosen} choices");
}

#[test]
fn what_one_command_refuses_every_command_refuses_with_the_same_words() {
    let mut refused = 0;
    for (name, text) in files() {
        let Err(PrepareError::Refused(found)) = prepared(&name, &text) else {
            continue;
        };
        refused += 1;
        let words = found.to_string();
        // A process for each command is slow: a few files stand for all.
        if refused > 3 {
            continue;
        }
        let path = std::env::temp_dir().join(format!(
            "emberpot-refused-{}-{refused}.toml",
            std::process::id()
        ));
        std::fs::write(&path, &text).unwrap();
        let file = path.to_str().unwrap();
        let vary = [
            "vary", file, "--over", "loss", "--from", "0 %", "--to", "10 %",
        ];
        let commands: [&[&str]; 7] = [
            &["burn", file],
            &["weigh", file],
            &["ignite", file],
            &vary,
            &["choose", file],
            &["compare", file, file],
            &["report", file],
        ];
        for command in commands {
            let run = Command::cargo_bin("emberpot")
                .unwrap()
                .args(command)
                .assert()
                .code(2);
            let output = run.get_output();
            let told = String::from_utf8_lossy(&output.stderr);
            assert!(told.contains(&words), "{command:?}: {told}");
            assert!(output.stdout.is_empty(), "{command:?} wrote a result");
        }
        std::fs::remove_file(&path).unwrap();
    }
    assert!(refused >= 3, "only {refused} batches were refused");
}
