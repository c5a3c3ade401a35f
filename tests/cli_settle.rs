//! `emberpot settle` as it is called.

use assert_cmd::Command;
use serde_json::Value;

fn settle(arguments: &[&str]) -> (Option<i32>, String, String) {
    let output = Command::cargo_bin("emberpot")
        .unwrap()
        .arg("settle")
        .args(arguments)
        .output()
        .unwrap();
    (
        output.status.code(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

#[test]
fn a_methane_flame_comes_out_as_json() {
    let (code, out, _) = settle(&[
        "CH4=1",
        "O2=2",
        "N2=7.52",
        "--adiabatic-from",
        "25C",
        "--format",
        "json",
    ]);
    assert_eq!(code, Some(0));
    let value: Value = serde_json::from_str(&out).unwrap();
    let t = value["temperature_k"].as_f64().unwrap();
    // textbook value (tests/equilibrium.rs): 2226 K
    assert!((t - 2226.0).abs() < 12.0);
    assert!(value["amounts_mol"]["H2O"].as_f64().unwrap() > 1.8);
    let sum: f64 = value["amount_fractions"]
        .as_object()
        .unwrap()
        .values()
        .map(|x| x.as_f64().unwrap())
        .sum();
    assert!((sum - 1.0).abs() < 1e-9);
    assert!(value["log10_oxygen_pressure_bar"].as_f64().unwrap() < -1.0);
    assert_eq!(value["adiabatic_from_k"].as_f64(), Some(298.15));
}

#[test]
fn masses_and_names_of_reactants_are_understood() {
    let arguments = [
        "Al(NO3)3·9H2O=75.03 g",
        "urea=0.5",
        "--adiabatic-from",
        "25C",
    ];
    let (code, out, _) = settle(&arguments);
    assert_eq!(code, Some(0));
    assert!(out.contains("aluminium nitrate nonahydrate"), "{out}");
    assert!(out.contains("Al2O3(cr,alpha)"), "{out}");
    let (_, fast, _) = settle(&[
        "CO(NH2)2=1",
        "H2O=1",
        "--temperature",
        "600K",
        "--species",
        "fast",
    ]);
    assert!(fast.contains("fast set") && !fast.contains("CH4"), "{fast}");
}

#[test]
fn a_bare_formula_needs_a_temperature() {
    let (code, _, error) = settle(&["Na3AlF6O=1", "--adiabatic-from", "25C"]);
    assert_eq!(code, Some(2));
    assert!(error.contains("no formation enthalpy"), "{error}");
}

#[test]
fn what_cannot_be_done_says_why() {
    for (arguments, message) in [
        (
            vec!["H2O", "--temperature", "500K"],
            "not a substance with its amount",
        ),
        (vec!["H2O=-1", "--temperature", "500K"], "above zero"),
        (vec!["H2O=1 bar", "--temperature", "500K"], "above zero"),
        (
            vec!["gypsumm=1", "--temperature", "500K"],
            "neither a species",
        ),
        (
            vec!["H2O=1", "--temperature", "9000K"],
            "outside 200 to 6000 K",
        ),
        (vec!["H2O=1", "--constant-volume"], "closed vessel"),
        (vec!["H2O=1"], "--temperature"),
    ] {
        let (code, out, error) = settle(&arguments);
        assert_eq!(code, Some(2), "{arguments:?}");
        assert!(out.is_empty());
        assert!(error.contains(message), "{arguments:?}: {error}");
    }
}
