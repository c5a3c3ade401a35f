//! A user's own folder of tables: it adds and replaces rows, and a mistake is told with file and
//! line.

use emberpot::Tables;
use std::fs;
use std::path::PathBuf;
use uom::si::molar_energy::kilojoule_per_mole;

const HEAD: &str = r#"units = { formation_enthalpy = "kJ/mol", entropy = "J/(mol K)", heat_capacity = "J/(mol K)", temperature = "K" }
cp_uncertainty = { own = 0.02, estimated = 0.05 }
"#;

/// MgO with an invented formation enthalpy.
const ROW: &str = r#"
[[species]]
id = "MgO(cr)"
formula = "MgO"
phase = "cr"
from = { source = "invented", at = "example", seen = "estimated" }
formation_enthalpy = { value = -600.0, assessed = 5 }
entropy = { value = 27, assessed = 1 }
cp = [ { from = 298.15, to = 3000, form = "six_term", c = [45, 0.005, -800000, 0, 0] } ]
"#;

const SOURCES: &str = "[[source]]\nkey = \"invented\"\ntitle = \"Invented for this test\"\n";

/// A folder with these files, made anew.
fn folder(name: &str, files: &[(&str, &str)]) -> PathBuf {
    let root = std::env::temp_dir().join(format!("emberpot-{name}-{}", std::process::id()));
    let _ = fs::remove_dir_all(&root);
    fs::create_dir_all(root.join("species")).unwrap();
    for (file, text) in files {
        fs::write(root.join(file), text).unwrap();
    }
    root
}

/// The message for a species file with this text.
fn refusal(name: &str, species: &str) -> String {
    let text = format!("{HEAD}{species}");
    let root = folder(
        name,
        &[
            ("sources.toml", SOURCES),
            ("species/own.toml", text.as_str()),
        ],
    );
    let message = match Tables::with_directory(&root) {
        Ok(_) => panic!("{name} was accepted"),
        Err(error) => {
            let cause = std::error::Error::source(&error).map(|c| format!(": {c}"));
            format!("{error}{}", cause.unwrap_or_default())
        }
    };
    fs::remove_dir_all(&root).unwrap();
    message
}

#[test]
fn a_row_replaces_the_built_in_one_and_what_rests_on_it_follows() {
    let text = format!("{HEAD}{ROW}");
    let root = folder(
        "replace",
        &[
            ("sources.toml", SOURCES),
            ("species/own.toml", text.as_str()),
        ],
    );
    let own = Tables::with_directory(&root).unwrap();
    let built_in = Tables::built_in().unwrap();
    fs::remove_dir_all(&root).unwrap();
    let value = |tables: &Tables, id: &str| {
        let species = tables.species_by_id(id).unwrap();
        species
            .formation_enthalpy
            .as_ref()
            .unwrap()
            .value
            .get::<kilojoule_per_mole>()
    };
    assert!((value(&own, "MgO(cr)") + 600.0).abs() < 1e-9);
    assert_eq!(own.species.len(), built_in.species.len());
    // Mg3B2O6 is estimated from its oxides: three times the difference of −600 and −601.6
    let moved = value(&own, "Mg3B2O6(cr)") - value(&built_in, "Mg3B2O6(cr)");
    assert!((moved - 3.0 * 1.6).abs() < 1e-6, "{moved}");
}

#[test]
fn a_remark_behind_a_header_loses_no_row() {
    let text = format!("{HEAD}{}", ROW.replace("[[species]]", "[[species]] # mine"));
    let sources = SOURCES.replace("[[source]]", "[[source]] # mine");
    let root = folder(
        "remark",
        &[
            ("sources.toml", sources.as_str()),
            ("species/own.toml", text.as_str()),
        ],
    );
    let tables = Tables::with_directory(&root).unwrap();
    fs::remove_dir_all(&root).unwrap();
    let own = tables.species_by_id("MgO(cr)").unwrap();
    assert_eq!(own.heat_capacity_origin.source.0, "invented");
}

#[test]
fn an_empty_folder_changes_nothing_and_a_missing_one_is_told() {
    let root = folder("empty", &[]);
    let tables = Tables::with_directory(&root).unwrap();
    fs::remove_dir_all(&root).unwrap();
    assert_eq!(
        tables.species.len(),
        Tables::built_in().unwrap().species.len()
    );
    let error = Tables::with_directory(std::path::Path::new("no such folder")).unwrap_err();
    assert!(
        error.to_string().contains("no such folder: cannot be read"),
        "{error}"
    );
}

#[test]
fn mistakes_are_told_with_their_line() {
    // the row starts on line 4: two lines of head and an empty one before it
    let cases = [
        (
            "source",
            ROW.replace("\"invented\"", "\"nobody\""),
            "line 8: MgO(cr): cites `nobody`",
        ),
        (
            "formula",
            ROW.replace("\"MgO\"", "\"MgXx\""),
            "line 6: MgO(cr): ",
        ),
        ("key", ROW.replace("phase =", "phaze ="), "phaze"),
        (
            "type",
            ROW.replace("value = 27", "value = \"27\""),
            "line 10",
        ),
        (
            "entropy",
            ROW.replace("value = 27", "value = -27"),
            "the entropy has to be positive",
        ),
        (
            "capacity",
            ROW.replace("c = [45,", "c = [-45,"),
            "it has to be positive",
        ),
        ("count", ROW.replace("0, 0] }", "0] }"), "six_term takes 5"),
        (
            "order",
            ROW.replace("to = 3000", "to = 200"),
            "it has to be below the highest",
        ),
        (
            "nowhere",
            ROW.replace("from = {", "cp_from = {"),
            "has a value without a source",
        ),
        ("twice", format!("{ROW}{ROW}"), "MgO(cr): is there twice"),
        (
            "parts",
            ROW.replace(
                "formula = \"MgO\"",
                "formula = \"MgO\"\ncomponents = { \"CaO(cr)\" = 1 }",
            ),
            "left over after the components",
        ),
        (
            "next",
            ROW.replace(
                "formula = \"MgO\"",
                "formula = \"MgO\"\nnext = { id = \"X\", at_k = 3000 }",
            ),
            "refers to `X`",
        ),
        (
            "gap",
            ROW.replace(
                "cp = [ {",
                "cp = [ { from = 200, to = 250, form = \"six_term\", c = [40, 0, 0, 0, 0] }, {",
            ),
            "pieces have to meet",
        ),
    ];
    for (name, text, expected) in cases {
        let message = refusal(name, &text);
        assert!(message.contains(expected), "{name}: {message}");
        assert!(message.contains("own.toml"), "{name}: {message}");
    }
}

#[test]
fn other_units_are_refused() {
    let text = format!("{}{ROW}", HEAD.replace("kJ/mol", "kcal/mol"));
    let root = folder(
        "units",
        &[
            ("sources.toml", SOURCES),
            ("species/own.toml", text.as_str()),
        ],
    );
    let error = Tables::with_directory(&root).unwrap_err().to_string();
    fs::remove_dir_all(&root).unwrap();
    assert!(
        error.contains("kcal/mol") && error.contains("convert"),
        "{error}"
    );
}

#[test]
fn five_lines_make_a_fuel_and_the_template_is_a_table() {
    let five = "units = { enthalpy = \"kJ/mol\" }\n[[reactant]]\nformula = \"C5H11NO3\"\n\
                role = \"fuel\"\nformation_enthalpy = { value = -1340, source = \"invented\", \
                at = \"example\", seen = \"estimated\" }\n";
    let template = assert_cmd::Command::cargo_bin("emberpot")
        .unwrap()
        .args(["new", "--substance", "grape \"sugar\" of ours"])
        .output()
        .unwrap();
    let template = String::from_utf8(template.stdout).unwrap();
    let root = folder("five", &[("sources.toml", SOURCES)]);
    fs::create_dir_all(root.join("reactants")).unwrap();
    fs::write(root.join("reactants/five.toml"), five).unwrap();
    fs::write(root.join("reactants/template.toml"), &template).unwrap();
    let tables = Tables::with_directory(&root).unwrap_or_else(|error| panic!("{error}"));
    fs::remove_dir_all(&root).unwrap();
    assert_eq!(tables.find_reactant("C5H11NO3").unwrap().name, "C5H11NO3");
    let own = tables.find_reactant("grape \"sugar\" of ours").unwrap();
    let enthalpy = own.formation_enthalpy.as_ref().unwrap().value;
    assert!((enthalpy.get::<kilojoule_per_mole>() + 1273.3).abs() < 1e-9);
}
