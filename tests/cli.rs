//! The program as a user meets it: exit codes, streams, files.

use assert_cmd::Command;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Stdio;

fn emberpot() -> Command {
    Command::cargo_bin("emberpot").unwrap()
}

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("examples")
        .join(name)
}

fn stdout(command: &mut Command) -> (String, i32) {
    let output = command.output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    (text, output.status.code().unwrap())
}

const PLAIN: &str = r#"
[[ingredient]]
substance = "Al(NO3)3·9H2O"
mass = "1.5 g"
[[ingredient]]
substance = "urea"
mass = "0.6 g"
[vessel]
name = "400 mL beaker"
[room]
place = "outdoors"
"#;

#[test]
fn a_batch_with_a_danger_exits_with_1_and_one_without_with_0() {
    let (text, code) = stdout(
        emberpot()
            .arg("burn")
            .arg(example("nickel-zinc-ferrite.toml")),
    );
    assert_eq!(code, 1);
    assert!(text.contains("DECIDE FIRST"), "{text}");
    let (text, code) = stdout(emberpot().args(["burn", "-"]).write_stdin(PLAIN));
    assert_eq!(code, 0, "{text}");
    assert!(text.contains("PLAN COMPLETE, YOU DECIDE"), "{text}");
}

#[test]
fn a_closed_vessel_is_refused_without_an_estimate() {
    let closed = PLAIN.replace(
        "\"400 mL beaker\"",
        "\"400 mL beaker\"\ncover = \"stopper\"",
    );
    let output = emberpot()
        .args(["burn", "-"])
        .write_stdin(closed.clone())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout.is_empty());
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(
        error.contains("refused") && error.contains("closed"),
        "{error}"
    );
    let (json, code) = stdout(
        emberpot()
            .args(["burn", "-", "--format", "json"])
            .write_stdin(closed),
    );
    assert_eq!(code, 2);
    let value: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(value["refused"], true);
    assert_eq!(value["warnings"][0]["severity"], "stop");
    assert!(value.get("water_states").is_none());
}

#[test]
fn bad_input_exits_with_2_and_prints_no_result() {
    let output = emberpot()
        .args(["burn", "-"])
        .write_stdin("mass = 3")
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(output.stdout.is_empty());
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(
        error.starts_with("error: ") && error.contains("-:1:1"),
        "{error}"
    );
}

#[test]
fn an_unknown_command_exits_with_2() {
    assert_eq!(
        emberpot().arg("explode").output().unwrap().status.code(),
        Some(2)
    );
    assert_eq!(
        emberpot().arg("substance").output().unwrap().status.code(),
        Some(2)
    );
}

#[test]
fn a_name_that_an_option_does_not_know_is_told_with_those_there_are() {
    let file = example("zinc-aluminate.toml");
    let file = file.to_str().unwrap();
    for (arguments, known) in [
        (vec!["ignite", file, "--way", "nonsense"], "hot plate"),
        (vec!["ignite", file, "--show", "nonsense"], "losses"),
        (vec!["burn", file, "--show", "nonsense"], "oxygen"),
        (
            vec![
                "vary", file, "--over", "nonsense", "--from", "1", "--to", "2",
            ],
            "fuel-ratio",
        ),
        (
            vec!["substance", "--list", "--kind", "nonsense"],
            "oxidiser",
        ),
        (vec!["substance", "--list", "--element", "Qq"], "--element"),
        (vec!["substance", "urea", "--kind", "fuel"], "--kind"),
        (vec!["substance", "--audit", "--element", "Al"], "--element"),
        (
            vec!["substance", "urea", "--reliability", "computed"],
            "--reliability",
        ),
    ] {
        let output = emberpot().args(&arguments).output().unwrap();
        let text = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(output.stdout.is_empty(), "{arguments:?}");
        assert!(text.contains(known), "{arguments:?}: {text}");
    }
}

#[test]
fn the_json_has_the_promised_fields() {
    let (json, _) = stdout(
        emberpot()
            .arg("burn")
            .arg(example("zinc-aluminate-blue.toml"))
            .args(["--format", "json"]),
    );
    let value: Value = serde_json::from_str(&json).unwrap();
    assert_eq!(value["schema_version"], 1);
    assert_eq!(value["mixture"], "rich");
    let phi = value["equivalence_ratio"].as_f64().unwrap();
    assert!((phi - 1.1).abs() < 1e-9);
    let definitions = &value["ratio_definitions"];
    assert!((definitions["lambda"].as_f64().unwrap() - 1.0 / 1.1).abs() < 1e-9);
    assert!(
        value["balanced_equation"]
            .as_str()
            .unwrap()
            .contains("→ Co0.2Zn0.8Al2O4")
    );
    let states = value["water_states"].as_array().unwrap();
    let names: Vec<&str> = states.iter().map(|s| s["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["as mixed", "boiled down", "dried", "at ignition"]);
    for state in states {
        assert!(state["gas"]["amount_mol"].as_f64().unwrap() > 0.0);
        assert!(state["gas"]["by_species_mol"]["N2"].as_f64().unwrap() > 0.0);
        assert!(state["gas"]["volume_25c_l"].as_f64().unwrap() > 0.0);
        assert!(state["gas_per_product_l_per_g"].as_f64().unwrap() > 0.0);
        // As mixed there is so much water that nothing burns.
        let equilibrium = &state["equilibrium"];
        if state["name"] == "as mixed" {
            assert!(equilibrium.is_null());
            continue;
        }
        assert!(equilibrium["temperature_k"].as_f64().unwrap() > 273.0);
        assert!(equilibrium["log10_oxygen_pressure_bar"].as_f64().unwrap() < 0.0);
        assert!(equilibrium["amounts_mol"]["N2"].as_f64().unwrap() > 0.0);
        assert!(!equilibrium["condensed"].as_array().unwrap().is_empty());
        assert!(equilibrium["iterations"].as_u64().unwrap() > 0);
        assert!(equilibrium["residual"].as_f64().unwrap() < 1e-9);
    }
    assert!(
        states[2]["complete_combustion"]["temperature_k"]
            .as_f64()
            .unwrap()
            > 1500.0
    );
    assert!(states[2]["gas"]["volume_flame_l"].as_f64().unwrap() > 1.0);
    assert!(value["ledger"].as_array().unwrap().len() > 10);
    for warning in value["warnings"].as_array().unwrap() {
        for key in ["severity", "code", "text"] {
            assert!(!warning[key].as_str().unwrap().is_empty(), "{key}");
        }
    }
    assert!(
        value["sources"]
            .as_array()
            .unwrap()
            .iter()
            .all(|s| s["title"].is_string())
    );
}

#[test]
fn the_starter_file_can_be_burnt() {
    let (starter, code) = stdout(emberpot().arg("new"));
    assert_eq!(code, 0);
    let (text, code) = stdout(emberpot().args(["burn", "-"]).write_stdin(starter));
    assert!(code <= 1 && text.contains("ZnAl2O4"), "{text}");
}

#[test]
fn new_does_not_write_over_a_file() {
    let folder = std::env::temp_dir().join(format!("emberpot-new-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("batch.toml");
    assert_eq!(
        emberpot()
            .arg("new")
            .arg(&file)
            .output()
            .unwrap()
            .status
            .code(),
        Some(0)
    );
    std::fs::write(&file, "mine").unwrap();
    assert_eq!(
        emberpot()
            .arg("new")
            .arg(&file)
            .output()
            .unwrap()
            .status
            .code(),
        Some(2)
    );
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn a_closed_pipe_is_success() {
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_emberpot"))
        .args(["substance", "--list"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    assert!(
        output.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}

#[test]
fn substance_knows_names_formulas_and_numbers_and_offers_close_ones() {
    for name in ["urea", "CO(NH2)2", "57-13-6"] {
        let (text, code) = stdout(emberpot().args(["substance", name]));
        assert_eq!(code, 0, "{name}");
        assert!(text.contains("−333.1"), "{name}: {text}");
    }
    let output = emberpot().args(["substance", "uera"]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(
        String::from_utf8(output.stderr)
            .unwrap()
            .contains("did you mean urea")
    );
    let output = emberpot().args(["substance", "KClO4"]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(
        String::from_utf8(output.stderr)
            .unwrap()
            .contains("refused")
    );
}

#[test]
fn a_mistake_in_a_table_of_ones_own_names_its_file() {
    let folder = std::env::temp_dir().join(format!("emberpot-tables-{}", std::process::id()));
    std::fs::create_dir_all(folder.join("reactants")).unwrap();
    std::fs::write(
        folder.join("reactants/own.toml"),
        "units = { enthalpy = \"kJ/mol\" }\n[[reactant]]\nid = \"urea\"\nname = 12\n",
    )
    .unwrap();
    let output = emberpot()
        .arg("--tables")
        .arg(&folder)
        .args(["substance", "urea"])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let error = String::from_utf8(output.stderr).unwrap();
    assert!(error.contains("own.toml"), "{error}");
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn a_batch_is_told_in_three_words() {
    let words = ["ZnAl2O4", "--fuel", "urea", "--mass", "2 g"];
    let (text, code) = stdout(emberpot().arg("burn").args(words));
    assert!(code <= 1 && text.contains("2 g ZnAl2O4"), "{text}");
    let (_, file) = text
        .split_once("The batch file that was used:\n\n")
        .unwrap();
    let (written, _) = stdout(emberpot().arg("new").args(words));
    assert_eq!(file, written);
    assert!(
        file.contains("Zn(NO3)2·6H2O") && file.contains("Al(NO3)3·9H2O"),
        "{file}"
    );
    // The file burns to the same screen.
    let (again, _) = stdout(emberpot().args(["burn", "-"]).write_stdin(written));
    assert!(text.starts_with(&again), "{again}");
}

#[test]
fn words_that_tell_no_batch_are_errors() {
    for (words, wanted) in [
        (["burn", "ZnAl2O4", "--fuel", "sand"], "fuel: no reactant"),
        (["burn", "ZnAl2O4", "--fuel", "water"], "is no fuel"),
        (["burn", "SiO2", "--fuel", "urea"], "no"),
        (["new", "Zn(", "--fuel", "urea"], "target: "),
    ] {
        let output = emberpot().args(words).assert().code(2).get_output().clone();
        let error = String::from_utf8(output.stderr).unwrap();
        assert!(error.contains(wanted), "{error}");
        assert!(output.stdout.is_empty());
    }
}

#[test]
fn check_lists_every_mistake_with_its_place() {
    let wrong = PLAIN
        .replace("\"1.5 g\"", "\"1.5 mL\"")
        .replace("place", "plaze");
    let check = |text: &str, format: &str| {
        stdout(
            emberpot()
                .args(["check", "-", "--format", format])
                .write_stdin(text),
        )
    };
    let (json, code) = check(&wrong, "json");
    assert_eq!(code, 2);
    let value: Value = serde_json::from_str(&json).unwrap();
    let places: Vec<(i64, i64)> = value["mistakes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|m| (m["line"].as_i64().unwrap(), m["column"].as_i64().unwrap()))
        .collect();
    assert!(places.contains(&(4, 8)), "{json}");
    assert!(places.contains(&(11, 1)), "{json}");
    let (json, code) = check(PLAIN, "json");
    assert_eq!(code, 0);
    let value: Value = serde_json::from_str(&json).unwrap();
    assert!(value["mistakes"].as_array().unwrap().is_empty());
    assert!(check(PLAIN, "text").0.contains("no mistake"));
}

/// The names of all commands.
fn commands() -> Vec<String> {
    let (help, _) = stdout(emberpot().arg("--help"));
    let names = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help");
    let names: Vec<String> = names.map(str::to_owned).collect();
    assert!(names.contains(&"burn".to_owned()), "{help}");
    names
}

#[test]
fn every_shell_completes_every_command() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let (script, code) = stdout(emberpot().args(["completions", shell]));
        assert_eq!(code, 0);
        for command in &commands() {
            assert!(script.contains(command), "{shell}: {command}");
        }
    }
}

#[test]
fn every_command_has_a_page_for_man_and_a_line_in_the_guide() {
    let (guide, _) = stdout(emberpot().args(["guide", "commands"]));
    for command in commands() {
        let (page, code) = stdout(emberpot().args(["manual", &command]));
        assert_eq!(code, 0);
        assert!(
            page.contains(&format!(".TH emberpot-{command} 1")),
            "{page}"
        );
        assert!(guide.contains(&format!("`{command}")), "{command}");
    }
}

#[test]
fn the_guide_fits_its_width_and_the_readme_names_its_topics() {
    let readme = std::fs::read_to_string(example("../README.md")).unwrap();
    let (list, _) = stdout(emberpot().arg("guide"));
    let topics = list
        .lines()
        .skip(2)
        .filter_map(|line| line.split_whitespace().next());
    for topic in topics {
        let (text, code) = stdout(emberpot().args(["guide", topic]));
        assert_eq!(code, 0);
        assert!(
            readme.contains(&format!("src/cli/guide/{topic}.md")),
            "{topic}"
        );
        let mut code = false;
        for line in text.lines() {
            code ^= line.starts_with("```");
            // What is copied is not broken.
            assert!(
                line.chars().count() <= if code { 100 } else { 80 },
                "{topic}: {line}"
            );
        }
    }
}

#[test]
fn the_version_names_the_tables() {
    let (text, _) = stdout(emberpot().arg("--version"));
    let mark = text.trim_end().split("(tables ").nth(1).unwrap();
    assert!(mark.len() == 9 && mark.ends_with(')'), "{text}");
}
