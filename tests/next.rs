//! `emberpot next` as a process.

use serde_json::Value;
use std::fs;
use std::path::PathBuf;

fn next(test: &str, phi: f64, more: &str) -> Value {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR"))
        .join("next")
        .join(test);
    fs::create_dir_all(&folder).unwrap();
    let file = folder.join("batch.toml");
    let text = format!(
        "[target]\nformula = \"ZnAl2O4\"\nproduct_mass = \"1 g\"\nequivalence_ratio = {phi}\n\
         [[ingredient]]\nsubstance = \"Zn(NO3)2·6H2O\"\n\
         [[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\n[[ingredient]]\nsubstance = \"urea\"\n\
         [[ingredient]]\nsubstance = \"water\"\nvolume = \"8 mL\"\n{more}"
    );
    fs::write(&file, text).unwrap();
    let mut command = assert_cmd::Command::new(env!("CARGO_BIN_EXE_emberpot"));
    let output = command
        .arg("next")
        .arg(file)
        .args(["--format", "json"])
        .output()
        .unwrap();
    let complaint = String::from_utf8(output.stderr).unwrap();
    serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{complaint}"))
}

fn first(proposal: &Value) -> &str {
    proposal["steps"][0]["action"].as_str().unwrap()
}

#[test]
fn without_runs_that_do_what_is_wanted_the_same_is_repeated() {
    let wanted = "[wanted]\ntemperature = \"600 °C\"\n";
    let proposal = next("repeat", 1.0, wanted);
    assert!(proposal["chance"].as_f64().unwrap() > 0.9);
    assert_eq!(first(&proposal), "repeat");
}

#[test]
fn a_fault_of_the_powder_is_mended_first() {
    let run = "[[run]]\npeak_temperature = \"1300 °C\"\npowder_mass = \"1.3 g\"\nloss_on_ignition = \"25 %\"\n";
    let proposal = next("mend", 1.0, run);
    assert_eq!(first(&proposal), "mend");
    assert!(
        proposal["steps"][0]["text"]
            .as_str()
            .unwrap()
            .contains("calcine")
    );
    assert_eq!(
        proposal["steps"][0]["outcomes"].as_array().unwrap().len(),
        2
    );
}

#[test]
fn what_hardly_reaches_its_goal_is_changed_and_the_gain_is_told() {
    // Very lean: far too cold for what is wanted, and both runs say so.
    let runs = "[wanted]\ntemperature = \"1150 °C\"\n\
                [[run]]\npeak_temperature = \"620 °C\"\n[[run]]\npeak_temperature = \"640 °C\"\n";
    let proposal = next("change", 0.6, runs);
    assert!(proposal["chance"].as_f64().unwrap() < 0.2, "{proposal}");
    let step = &proposal["steps"][0];
    assert!(["ratio", "fuels"].contains(&first(&proposal)), "{proposal}");
    let gain = step["gain"].as_f64().unwrap();
    assert!(gain > 0.2, "{step}");
    // Its worth is the sum of its reasons, and what is assumed is called so.
    let reasons = step["reasons"].as_array().unwrap();
    let sum: f64 = reasons.iter().map(|r| r["worth"].as_f64().unwrap()).sum();
    assert!((sum - step["worth"].as_f64().unwrap()).abs() < 1e-9);
    assert!(reasons[0]["assumed"] == false && reasons[1]["assumed"] == true);
    assert!((reasons[0]["worth"].as_f64().unwrap() - gain).abs() < 1e-9);
}
