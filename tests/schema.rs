//! What the commands write as JSON is what `emberpot schema` says: every field with its type, none
//! that the schema lacks; each field of the schema has a description.

use crate::common::{examples, root};
use rayon::prelude::*;
use serde_json::Value;
use std::process::Command;

/// Part of the schema and arguments; `|` stands for a space inside an argument.
const SINGLE: [(&str, &str); 29] = [
    ("burn", "burn tests/schema/closed.toml"),
    ("burn", "burn tests/schema/acid.toml"),
    ("weigh", "weigh tests/schema/acid.toml"),
    ("check", "check examples/zinc-aluminate.toml"),
    ("check", "check tests/bad_input/many_at_once.toml"),
    ("settle", "settle CH4=1 O2=2 N2=7.52 --adiabatic-from 25C"),
    (
        "settle",
        "settle Fe2O3=1 ZnO=0.5 O2=1 --temperature 1400K --solutions",
    ),
    ("substance", "substance urea"),
    ("substance", "substance Al(NO3)3·9H2O"),
    ("substance", "substance MgAl2O4"),
    ("substance", "substance --list"),
    ("substance", "substance --audit"),
    (
        "calcine",
        "calcine Ni(NO3)2·6H2O --sample 1.0000g --residue 0.2569g",
    ),
    ("calcine", "calcine Ni(NO3)2·6H2O"),
    ("convert", "convert SrCO3 --mass 2g"),
    ("dope", "dope ZnAl2O4 --with Co --on Zn --site 20%"),
    (
        "recrystallise",
        "recrystallise Al(NO3)3·9H2O --mass 50|g --impurity Fe=50ppm",
    ),
    ("choose", "choose tests/schema/wish.toml"),
    ("judge", "judge examples/zinc-aluminate-two-runs.toml"),
    (
        "learn",
        "learn examples/zinc-aluminate-two-runs.toml --show-only",
    ),
    ("next", "next examples/zinc-aluminate-two-runs.toml"),
    (
        "series",
        "series examples/zinc-aluminate.toml --over fuel-ratio=0.9,1,1.1",
    ),
    (
        "series",
        "series examples/yttria-europium.toml --over dopant:Eu/Y=1|%,3|%,5|% --blind",
    ),
    ("ignite", "ignite examples/zinc-aluminate.toml"),
    ("ignite", "ignite examples/zinc-aluminate-blue.toml"),
    (
        "ignite",
        "ignite examples/zinc-aluminate-as-weighed.toml --way hot|plate",
    ),
    ("ignite", "ignite examples/zinc-aluminate.toml --all-ways"),
    (
        "ignite",
        "ignite examples/zinc-aluminate-blue.toml --all-ways",
    ),
    ("choose", "choose examples/zinc-aluminate-blue.toml"),
];

/// Part of the schema and arguments with each example in place of `{}`.
const OF_EXAMPLES: [(&str, &str); 4] = [
    ("burn", "burn {}"),
    ("weigh", "weigh {}"),
    (
        "compare",
        "compare {} examples/zinc-aluminate-as-weighed.toml",
    ),
    (
        "vary",
        "vary {} --over fuel-ratio --from 0.8 --to 1.6 --steps 3",
    ),
];

fn runs() -> Vec<(String, String)> {
    let own = |(part, arguments): (&str, &str)| (part.to_owned(), arguments.to_owned());
    let mut runs: Vec<(String, String)> = SINGLE.into_iter().map(own).collect();
    for path in examples() {
        let name = path.file_name().unwrap().to_str().unwrap();
        let example = format!("examples/{name}");
        runs.extend(OF_EXAMPLES.map(|(part, text)| own((part, &text.replace("{}", &example)))));
    }
    runs
}

fn json_of(arguments: &str) -> Value {
    let words = arguments.split(' ').map(|word| word.replace('|', " "));
    let output = Command::new(env!("CARGO_BIN_EXE_emberpot"))
        .current_dir(root())
        .args(words)
        .args(["--format", "json"])
        .output()
        .unwrap();
    serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{arguments}: {e} {output:?}"))
}

/// What `value` has against its schema.
fn faults(all: &Value, schema: &Value, value: &Value, at: &str) -> Vec<String> {
    if let Some(part) = schema["$ref"].as_str() {
        return faults(all, &all["$defs"][&part["#/$defs/".len()..]], value, part);
    }
    if let Some(ways) = schema["anyOf"].as_array().or(schema["oneOf"].as_array()) {
        let found = ways.iter().map(|way| faults(all, way, value, at));
        return found.min_by_key(Vec::len).unwrap();
    }
    let mut found = Vec::new();
    let types = &schema["type"];
    let is =
        |name: &str| types == name || types.as_array().is_some_and(|t| t.contains(&name.into()));
    let fits = match value {
        Value::Null => is("null"),
        Value::Bool(_) => is("boolean"),
        Value::Number(number) => is("number") || is("integer") && !number.is_f64(),
        Value::String(text) => {
            is("string") && (schema["const"].is_null() || schema["const"] == *text)
        }
        Value::Array(items) => {
            for item in items {
                found.extend(faults(all, &schema["items"], item, &format!("{at}[]")));
            }
            is("array")
        }
        Value::Object(fields) => {
            for name in schema["required"].as_array().into_iter().flatten() {
                if !fields.contains_key(name.as_str().unwrap()) {
                    found.push(format!("{at} lacks {name}"));
                }
            }
            for (name, value) in fields {
                let own = &schema["properties"][name];
                let of_map = &schema["additionalProperties"];
                let below = format!("{at}.{name}");
                if own.is_object() {
                    found.extend(faults(all, own, value, &below));
                } else if of_map.is_object() {
                    found.extend(faults(all, of_map, value, &format!("{at}.*")));
                } else if schema["properties"].is_object() {
                    found.push(format!("the schema lacks {below}"));
                }
            }
            is("object")
        }
    };
    if !fits {
        found.push(format!("{at} is {types}, not {value}"));
    }
    found
}

/// The fields of a schema without a description; a constant that tells variants apart needs none,
/// and the part that a variant refers to has its own.
fn silent_fields(schema: &Value, at: &str, silent: &mut Vec<String>) {
    for way in ["anyOf", "oneOf"]
        .iter()
        .filter_map(|key| schema[key].as_array())
        .flatten()
    {
        silent_fields(way, at, silent);
    }
    for (name, field) in schema["properties"].as_object().into_iter().flatten() {
        let below = format!("{at}.{name}");
        let told = !field["const"].is_null() || schema["additionalProperties"] == false;
        if field["description"].as_str().is_none_or(str::is_empty) && !told {
            silent.push(below.clone());
        }
        silent_fields(field, &below, silent);
    }
    for (key, mark) in [("items", "[]"), ("additionalProperties", ".*")] {
        if schema[key].is_object() {
            silent_fields(&schema[key], &format!("{at}{mark}"), silent);
        }
    }
}

fn schema_of(command: Option<&str>) -> Value {
    serde_json::from_str(&emberpot::internal::report::schema(command).unwrap()).unwrap()
}

#[test]
fn every_field_that_is_written_is_in_the_schema() {
    let found: Vec<String> = runs()
        .into_par_iter()
        .flat_map(|(command, arguments)| {
            let schema = schema_of(Some(&command));
            let found = faults(&schema, &schema["anyOf"][0], &json_of(&arguments), &command);
            let told = found
                .into_iter()
                .map(|fault| format!("{arguments}: {fault}"));
            told.collect::<Vec<_>>()
        })
        .collect();
    assert!(
        found.is_empty(),
        "{}",
        found[..found.len().min(40)].join("\n")
    );
}

#[test]
fn every_field_of_the_schema_has_a_description() {
    let mut silent = Vec::new();
    for (name, part) in schema_of(None)["$defs"].as_object().unwrap() {
        silent_fields(part, name, &mut silent);
    }
    assert!(silent.is_empty(), "without description: {silent:?}");
}

#[test]
fn the_schema_of_one_command_holds_all_that_it_refers_to() {
    let all = schema_of(None);
    for result in all["anyOf"].as_array().unwrap() {
        let one = schema_of(result["title"].as_str());
        for reference in one.to_string().split("\"$ref\":\"#/$defs/").skip(1) {
            let part = reference.split('"').next().unwrap();
            assert_eq!(one["$defs"][part], all["$defs"][part], "{result}: {part}");
            assert!(one["$defs"][part].is_object(), "{result}: {part}");
        }
    }
    assert!(emberpot::internal::report::schema(Some("guide")).is_err());
}
