//! What the program prints, word for word: every command, format and example, wrong input, own
//! tables, help. `EMBERPOT_RENEW=1 cargo test --test all golden` writes the files anew; read the
//! difference before it is committed.

use crate::common::{examples, root};
use emberpot::internal::report::{Material, water_curve};
use emberpot::{Batch, Tables, plan};
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Examples whose JSON is kept whole.
const WHOLE: [&str; 3] = [
    "nickel-zinc-ferrite",
    "garnet-phosphor",
    "zinc-aluminate-blue",
];

/// Runs with each example in place of `{}`: folder, arguments, formats kept for all examples,
/// formats kept for the examples of `WHOLE`.
const OF_EXAMPLES: [(&str, &str, &str, &str); 7] = [
    ("burn", "burn {}", "text", "json"),
    ("burn-full", "burn {} --full", "text", ""),
    ("weigh", "weigh {}", "text csv", "json"),
    ("ignite", "ignite {}", "text", "json"),
    ("ignite-all-ways", "ignite {} --all-ways", "text", ""),
    (
        "compare",
        "compare {} examples/zinc-aluminate-as-weighed.toml",
        "text csv",
        "json",
    ),
    (
        "vary",
        "vary {} --over fuel-ratio --from 0.8 --to 1.6 --steps 3",
        "text csv",
        "json",
    ),
];

/// Single runs: file and arguments. `|` stands where the arguments have a space inside.
const SINGLE: [(&str, &str); 62] = [
    ("help/emberpot.txt", "--help"),
    ("help/burn.txt", "burn --help"),
    ("help/calcine.txt", "calcine --help"),
    ("help/choose.txt", "choose --help"),
    ("help/guide.txt", "guide --help"),
    ("help/manual.txt", "manual --help"),
    ("help/schema.txt", "schema --help"),
    ("help/topics.txt", "guide"),
    (
        "weigh/decimal-comma.csv",
        "weigh examples/zinc-aluminate.toml --format csv-decimal-comma",
    ),
    ("help/compare.txt", "compare --help"),
    ("help/convert.txt", "convert --help"),
    ("help/ignite.txt", "ignite --help"),
    ("help/new.txt", "new --help"),
    ("help/report.txt", "report --help"),
    ("help/settle.txt", "settle --help"),
    ("help/substance.txt", "substance --help"),
    ("help/vary.txt", "vary --help"),
    ("help/weigh.txt", "weigh --help"),
    (
        "choose/zinc-aluminate-blue.txt",
        "choose examples/zinc-aluminate-blue.toml",
    ),
    (
        "choose/full.txt",
        "choose examples/zinc-aluminate-blue.toml --full",
    ),
    (
        "compare/full.txt",
        "compare examples/zinc-aluminate.toml examples/zinc-aluminate-blue.toml --full",
    ),
    (
        "ignite/full.txt",
        "ignite examples/zinc-aluminate.toml --full",
    ),
    (
        "new/words.txt",
        "new MgAl2O4 --fuel glycine --mass 2|g --ratio 1.2",
    ),
    (
        "choose/zinc-aluminate-blue.csv",
        "choose examples/zinc-aluminate-blue.toml --format csv",
    ),
    ("help/judge.txt", "judge --help"),
    ("help/learn.txt", "learn --help"),
    ("help/next.txt", "next --help"),
    ("help/note.txt", "note --help"),
    ("help/series.txt", "series --help"),
    (
        "judge/two-runs.txt",
        "judge examples/zinc-aluminate-two-runs.toml",
    ),
    (
        "learn/two-runs.txt",
        "learn examples/zinc-aluminate-two-runs.toml --show-only",
    ),
    (
        "next/two-runs.txt",
        "next examples/zinc-aluminate-two-runs.toml",
    ),
    (
        "series/fuel-ratio.txt",
        "series examples/zinc-aluminate.toml --over fuel-ratio=0.9,1,1.1,1.2",
    ),
    (
        "series/dopant.txt",
        "series examples/yttria-europium.toml --over dopant:Eu/Y=1|%,3|%,5|% --blind",
    ),
    (
        "wrong/learn.txt",
        "learn examples/zinc-aluminate.toml --show-only",
    ),
    (
        "wrong/series_factor.txt",
        "series examples/zinc-aluminate.toml --over luck=1,2",
    ),
    ("report/page.html", "report examples/zinc-aluminate.toml"),
    (
        "report/class.html",
        "report examples/zinc-aluminate.toml --class",
    ),
    (
        "settle/methane.txt",
        "settle CH4=1 O2=2 N2=7.52 --adiabatic-from 25C",
    ),
    (
        "settle/methane.json",
        "settle CH4=1 O2=2 N2=7.52 --adiabatic-from 25C --format json",
    ),
    (
        "settle/spinel.txt",
        "settle Fe2O3=1 ZnO=0.5 NiO=0.5 O2=1 --temperature 1400K --solutions",
    ),
    ("substance/urea.txt", "substance urea"),
    ("substance/urea.json", "substance urea --format json"),
    ("substance/hydrate.txt", "substance Al(NO3)3·9H2O"),
    ("substance/spinel.txt", "substance MgAl2O4"),
    ("substance/list.txt", "substance --list --element Ce"),
    ("substance/audit.txt", "substance --audit"),
    (
        "calcine/nickel.txt",
        "calcine Ni(NO3)2·6H2O --sample 1.0000g --residue 0.2569g",
    ),
    (
        "calcine/nickel.json",
        "calcine Ni(NO3)2·6H2O --sample 1.0000g --residue 0.2569g --format json",
    ),
    ("convert/magnesia.txt", "convert MgO --mass 2g"),
    (
        "convert/magnesia.json",
        "convert MgO --mass 2g --format json",
    ),
    ("new/starter.txt", "new"),
    (
        "vary/map.txt",
        "vary examples/zinc-aluminate.toml --over fuel-ratio --from 0.9 --to 1.3 --steps 3 \
         --and water-left --and-from 0% --and-to 50% --and-steps 2",
    ),
    ("wrong/no-file.txt", "burn no-such-file.toml"),
    ("wrong/no-command.txt", "explode"),
    (
        "wrong/mistakes.txt",
        "weigh tests/bad_input/many_at_once.toml",
    ),
    (
        "wrong/refused.txt",
        "burn tests/bad_input/refused_chlorate.toml",
    ),
    ("wrong/substance.txt", "substance uera"),
    (
        "wrong/vary_factor.txt",
        "vary examples/zinc-aluminate.toml --over luck --from 1 --to 2",
    ),
    ("wrong/unit.txt", "convert MgO --mass 2|miles"),
    (
        "own-tables/species.txt",
        "--tables tests/own_tables/good substance MgO(cr)",
    ),
    (
        "own-tables/reactant.txt",
        "--tables tests/own_tables/good substance chalk|sugar",
    ),
];

/// Folders of own tables with one mistake each, and what is asked of them.
fn wrong_tables() -> Vec<(String, Vec<String>)> {
    let folder = root().join("tests/own_tables/wrong");
    let names = fs::read_dir(folder).unwrap();
    names
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .map(|name| {
            let asked = format!("--tables tests/own_tables/wrong/{name} substance urea");
            (format!("own-tables/wrong-{name}.txt"), words(&asked))
        })
        .collect()
}

fn words(arguments: &str) -> Vec<String> {
    let words = arguments.split_whitespace();
    words.map(|word| word.replace('|', " ")).collect()
}

/// Every file and the arguments that give it.
fn runs() -> Vec<(String, Vec<String>)> {
    let mut runs = wrong_tables();
    for (file, arguments) in SINGLE {
        runs.push((file.to_owned(), words(arguments)));
    }
    for (folder, arguments, always, whole) in OF_EXAMPLES {
        for path in examples() {
            let name = path.file_stem().unwrap().to_str().unwrap();
            let batch = format!("examples/{name}.toml");
            let whole = if WHOLE.contains(&name) { whole } else { "" };
            for format in always.split(' ').chain(whole.split(' ')) {
                let mut arguments = words(&arguments.replace("{}", &batch));
                let ending = match format {
                    "" => continue,
                    "text" => "txt",
                    other => {
                        arguments.extend(["--format".to_owned(), other.to_owned()]);
                        other
                    }
                };
                runs.push((format!("{folder}/{name}.{ending}"), arguments));
            }
        }
    }
    runs
}

/// What the program answers: its output, then its complaint and exit code where it has one.
fn answer(file: &str, arguments: &[String]) -> String {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_emberpot"))
        .current_dir(root())
        .args(arguments)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap().replace("\r\n", "\n");
    let (mut found, complaint) = (text(output.stdout), text(output.stderr));
    let code = output.status.code().unwrap();
    if !complaint.is_empty() {
        found += &format!("--- standard error\n{}", complaint.replace('\\', "/"));
    }
    let data = file.ends_with(".json") || file.ends_with(".csv") || file.ends_with(".html");
    if code != 0 && !data {
        found += &format!("--- exit code {code}\n");
    }
    if data { rounded(&found) } else { found }
}

/// The text with every long number to six significant digits, and what is this faint as 0:
/// platforms differ in the rest. Solver effort and residuals are left out.
fn rounded(text: &str) -> String {
    const EFFORT: [&str; 4] = [
        "\"iterations\"",
        "\"minimisations\"",
        "\"residual\"",
        "\"potential_residual\"",
    ];
    let kept = text
        .lines()
        .filter(|line| !EFFORT.iter().any(|key| line.trim_start().starts_with(key)));
    kept.map(|line| rounded_line(line) + "\n").collect()
}

fn rounded_line(line: &str) -> String {
    let mut written = String::new();
    let mut rest = line;
    while let Some(start) = rest.find(|c: char| c.is_ascii_digit()) {
        written += &rest[..start];
        rest = &rest[start..];
        let mut end = rest
            .find(|c: char| !(c.is_ascii_digit() || c == '.'))
            .unwrap_or(rest.len());
        let exponent = rest[end..]
            .strip_prefix('e')
            .map(|tail| tail.strip_prefix(['-', '+']).unwrap_or(tail));
        if let Some(tail) = exponent.filter(|tail| tail.starts_with(|c: char| c.is_ascii_digit())) {
            let digits = tail
                .find(|c: char| !c.is_ascii_digit())
                .unwrap_or(tail.len());
            end = rest.len() - tail.len() + digits;
        }
        let number = &rest[..end];
        match number.parse::<f64>() {
            Ok(value) if number.contains('.') && number.len() > 7 => {
                let value = if value < 1e-9 { 0.0 } else { value };
                written += &format!("{}", format!("{value:.5e}").parse::<f64>().unwrap());
            }
            _ => written += number,
        }
        rest = &rest[end..];
    }
    written + rest
}

/// The files that are there below `folder`, as paths from the golden folder.
fn kept(folder: &Path) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path: PathBuf = entry.unwrap().path();
        if path.is_dir() {
            let name = path.file_name().unwrap().to_str().unwrap();
            for entry in fs::read_dir(&path).unwrap() {
                let file = entry.unwrap().file_name().into_string().unwrap();
                found.insert(format!("{name}/{file}"));
            }
        }
    }
    found
}

#[test]
fn the_program_prints_what_is_on_file() {
    let folder = root().join("tests/golden");
    let renew = std::env::var_os("EMBERPOT_RENEW").is_some();
    let runs = runs();
    let wrong: Vec<String> = runs
        .par_iter()
        .filter_map(|(file, arguments)| {
            let found = answer(file, arguments);
            let path = folder.join(file);
            if renew {
                fs::create_dir_all(path.parent().unwrap()).unwrap();
                fs::write(&path, &found).unwrap();
            }
            let expected = fs::read_to_string(&path).unwrap_or_default();
            let mut lines = found.lines().zip(expected.lines());
            (found != expected)
                .then(|| format!("{file}: {:?}", lines.find(|(now, before)| now != before)))
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let expected: BTreeSet<String> = runs.into_iter().map(|(file, _)| file).collect();
    for stale in kept(&folder).difference(&expected) {
        assert!(renew, "nothing writes tests/golden/{stale}");
        fs::remove_file(folder.join(stale)).unwrap();
    }
}

#[test]
fn the_report_in_the_readme_is_what_the_program_prints() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let golden = root().join("tests/golden/burn/zinc-aluminate.txt");
    let report = fs::read_to_string(golden).unwrap();
    let block = readme
        .split("```text\n")
        .nth(1)
        .and_then(|rest| rest.split("```").next())
        .expect("the README shows a report");
    let mut printed = report.lines();
    for line in block.lines().filter(|line| *line != "[…]") {
        assert!(
            printed.any(|other| other == line),
            "README shows {line:?}, the program does not print it there"
        );
    }
}

#[test]
fn the_picture_in_the_readme_is_what_the_program_draws() {
    let tables = Tables::built_in().unwrap();
    let batch = Batch::read(&root().join("examples/zinc-aluminate.toml"), &tables).unwrap();
    let plan = plan(&batch, &tables).unwrap();
    let material = Material {
        water: water_curve(&plan),
        ..Material::new(&plan)
    };
    let pictures = material.pictures();
    let drawn = pictures.iter().find(|picture| picture.name == "water-left");
    let drawn = drawn.unwrap().file();
    let path = root().join("examples/zinc-aluminate.svg");
    if std::env::var_os("EMBERPOT_RENEW").is_some() {
        fs::write(&path, &drawn).unwrap();
    }
    assert_eq!(drawn, fs::read_to_string(&path).unwrap());
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    assert!(readme.contains("](examples/zinc-aluminate.svg)"));
}

#[test]
fn only_long_numbers_are_rounded() {
    let line = "a1.25,0.30000000000000004,-1234567.891,2.0000000e-12,x1e-3,1.0999999999999999e2";
    assert_eq!(rounded_line(line), "a1.25,0.3,-1234570,0,x1e-3,110");
}
