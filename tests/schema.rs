//! What the commands write as JSON is what `emberpot schema` says: every field with its type, none
//! that the schema lacks, and each field of the schema is written by some command.

use crate::common::{examples, root};
use rayon::prelude::*;
use serde_json::Value;
use std::collections::BTreeSet;
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

/// What a value has against its schema, and the fields of the schema that it has.
#[derive(Default)]
struct Found {
    errors: Vec<String>,
    fields: BTreeSet<String>,
}

impl Found {
    fn of(all: &Value, schema: &Value, value: &Value, at: &str) -> Self {
        if let Some(part) = schema["$ref"].as_str() {
            return Self::of(all, &all["$defs"][&part["#/$defs/".len()..]], value, part);
        }
        if let Some(ways) = schema["anyOf"].as_array() {
            let found = ways.iter().map(|way| Self::of(all, way, value, at));
            return found.min_by_key(|found| found.errors.len()).unwrap();
        }
        let mut found = Self::default();
        let types = &schema["type"];
        let is = |name: &str| {
            types == name || types.as_array().is_some_and(|t| t.contains(&name.into()))
        };
        let fits = match value {
            Value::Null => is("null"),
            Value::Bool(_) => is("boolean"),
            Value::Number(number) => is("number") || is("integer") && !number.is_f64(),
            Value::String(_) => is("string"),
            Value::Array(items) => {
                for item in items {
                    found.take(Self::of(all, &schema["items"], item, &format!("{at}[]")));
                }
                is("array")
            }
            Value::Object(fields) => {
                for name in schema["required"].as_array().into_iter().flatten() {
                    if !fields.contains_key(name.as_str().unwrap()) {
                        found.errors.push(format!("{at} lacks {name}"));
                    }
                }
                for (name, value) in fields {
                    let own = &schema["properties"][name];
                    let of_map = &schema["additionalProperties"];
                    let below = format!("{at}.{name}");
                    if own.is_object() {
                        found.take(Self::of(all, own, value, &below));
                        found.fields.insert(below);
                    } else if of_map.is_object() {
                        found.take(Self::of(all, of_map, value, &format!("{at}.*")));
                    } else if schema["properties"].is_object() {
                        found.errors.push(format!("the schema lacks {below}"));
                    }
                }
                is("object")
            }
        };
        if !fits {
            found.errors.push(format!("{at} is {types}, not {value}"));
        }
        found
    }

    fn take(&mut self, other: Self) {
        self.errors.extend(other.errors);
        self.fields.extend(other.fields);
    }
}

/// The fields that a schema has, as [`Found`] names them, and those without a description.
fn fields_of(schema: &Value, at: &str, named: &mut BTreeSet<String>, silent: &mut Vec<String>) {
    for way in schema["anyOf"].as_array().into_iter().flatten() {
        fields_of(way, at, named, silent);
    }
    for (name, field) in schema["properties"].as_object().into_iter().flatten() {
        let below = format!("{at}.{name}");
        if field["description"].as_str().is_none_or(str::is_empty) {
            silent.push(below.clone());
        }
        fields_of(field, &below, named, silent);
        named.insert(below);
    }
    for (key, mark) in [("items", "[]"), ("additionalProperties", ".*")] {
        if schema[key].is_object() {
            fields_of(&schema[key], &format!("{at}{mark}"), named, silent);
        }
    }
}

#[test]
fn every_field_is_in_the_schema_and_every_field_of_the_schema_is_written() {
    let all: Value = serde_json::from_str(&emberpot::report::schema(None).unwrap()).unwrap();
    let found = runs()
        .into_par_iter()
        .map(|(part, arguments)| {
            let schema = serde_json::json!({ "$ref": format!("#/$defs/{part}") });
            let mut found = Found::of(&all, &schema, &json_of(&arguments), &part);
            found
                .errors
                .iter_mut()
                .for_each(|e| *e = format!("{arguments}: {e}"));
            found
        })
        .reduce(Found::default, |mut all, one| {
            all.take(one);
            all
        });
    let list = found.errors[..found.errors.len().min(40)].join("\n");
    assert!(
        found.errors.is_empty(),
        "mend src/report/schema.json:\n{list}"
    );
    let (mut named, mut silent) = (BTreeSet::new(), Vec::new());
    for (name, part) in all["$defs"].as_object().unwrap() {
        fields_of(part, &format!("#/$defs/{name}"), &mut named, &mut silent);
    }
    assert!(silent.is_empty(), "without description: {silent:?}");
    let unwritten: Vec<&String> = named.difference(&found.fields).collect();
    assert!(unwritten.is_empty(), "nothing writes {unwritten:?}");
}

#[test]
fn the_schema_of_one_command_holds_all_that_it_refers_to() {
    let all: Value = serde_json::from_str(&emberpot::report::schema(None).unwrap()).unwrap();
    for result in all["anyOf"].as_array().unwrap() {
        let name = result["$ref"]
            .as_str()
            .unwrap()
            .strip_prefix("#/$defs/")
            .unwrap();
        let text = emberpot::report::schema(Some(name)).unwrap();
        let one: Value = serde_json::from_str(&text).unwrap();
        let references = text.split("\"$ref\": \"#/$defs/").skip(1);
        for part in references.map(|rest| rest.split('"').next().unwrap()) {
            assert_eq!(one["$defs"][part], all["$defs"][part], "{name}: {part}");
            assert!(one["$defs"][part].is_object(), "{name}: {part}");
        }
    }
    assert!(emberpot::report::schema(Some("guide")).is_err());
}
