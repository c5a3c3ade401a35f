//! Whole reports of the examples, word for word, and the report that the README shows.
//!
//! `EMBERPOT_RENEW=1 cargo test golden` writes them anew; read the difference.

use emberpot::batch::Batch;
use emberpot::plan::plan;
use emberpot::report::{SCREEN_WIDTH, Topic, burn_document, first_screen, plan_json};
use emberpot::tables::Tables;
use serde_json::Value;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_path_buf()
}

fn examples() -> Vec<PathBuf> {
    let mut list: Vec<PathBuf> = std::fs::read_dir(root().join("examples"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    list.sort();
    list
}

/// Numbers to seven significant digits: platforms differ in the last ones.
fn rounded(value: Value) -> Value {
    match value {
        Value::Number(number) if number.is_f64() => {
            let number = number.as_f64().unwrap();
            let text = format!("{number:.6e}");
            // What is this faint is rounding, and differs from platform to platform.
            if number.abs() < 1e-9 {
                Value::from(0.0)
            } else {
                Value::from(text.parse::<f64>().unwrap())
            }
        }
        Value::Array(list) => Value::Array(list.into_iter().map(rounded).collect()),
        Value::Object(map) => map.into_iter().map(|(key, v)| (key, rounded(v))).collect(),
        other => other,
    }
}

fn compare(path: &Path, found: &str) -> Result<(), String> {
    if std::env::var_os("EMBERPOT_RENEW").is_some() {
        std::fs::write(path, found).unwrap();
    }
    let expected = std::fs::read_to_string(path).unwrap_or_default();
    if found == expected {
        return Ok(());
    }
    let pair = found.lines().zip(expected.lines()).find(|(a, b)| a != b);
    Err(format!("{}: {pair:?}", path.display()))
}

#[test]
fn the_reports_of_the_examples_are_the_ones_on_file() {
    let tables = Tables::built_in().unwrap();
    let mut wrong = Vec::new();
    for path in examples() {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let batch = Batch::read(&path, &tables).unwrap_or_else(|error| panic!("{error}"));
        let plan = plan(&batch, &tables).unwrap();
        let mut text = first_screen(&plan, SCREEN_WIDTH);
        text += &burn_document(&plan, &Topic::ALL, &tables).text(SCREEN_WIDTH);
        let mut json = rounded(plan_json(&plan, &tables));
        // Solver effort and residuals are rounding; their own tests bound them.
        for state in json["water_states"].as_array_mut().unwrap() {
            let equilibrium = state["equilibrium"].as_object_mut().unwrap();
            for key in [
                "iterations",
                "minimisations",
                "residual",
                "potential_residual",
            ] {
                equilibrium.remove(key);
            }
        }
        let folder = root().join("tests/golden");
        let json = format!("{json:#}\n");
        wrong.extend(compare(&folder.join(format!("{name}.txt")), &text).err());
        wrong.extend(compare(&folder.join(format!("{name}.json")), &json).err());
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_report_in_the_readme_is_what_the_program_prints() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let golden = root().join("tests/golden/zinc-aluminate.txt");
    let report = std::fs::read_to_string(golden).unwrap();
    let block = readme
        .split("```text\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .expect("the README shows a report");
    for line in block.lines().filter(|line| *line != "[…]") {
        assert!(
            report.contains(line),
            "README shows {line:?}, the program does not print it"
        );
    }
}
