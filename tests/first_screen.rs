//! The first screen: never longer than thirty lines of eighty columns, whatever the batch.

use emberpot::internal::report::{SCREEN_LINES, SCREEN_WIDTH, first_screen};
use emberpot::{Batch, Plan, Tables, burn_document, burn_sections, plan};
use std::path::Path;

const TARGETS: [(&str, &[&str]); 10] = [
    ("ZnAl2O4", &["Zn(NO3)2·6H2O", "Al(NO3)3·9H2O"]),
    ("MgAl2O4", &["Mg(NO3)2·6H2O", "Al(NO3)3·9H2O"]),
    ("Al2O3", &["Al(NO3)3·9H2O"]),
    ("ZnO", &["Zn(NO3)2·6H2O"]),
    ("NiFe2O4", &["Ni(NO3)2·6H2O", "Fe(NO3)3·9H2O"]),
    ("Y2O3", &["Y(NO3)3·6H2O"]),
    ("CeO2", &["Ce(NO3)3·6H2O"]),
    (
        "Co0.3Zn0.7Al2O4",
        &["Co(NO3)2·6H2O", "Zn(NO3)2·6H2O", "Al(NO3)3·9H2O"],
    ),
    (
        "Ni0.25Co0.25Zn0.25Mg0.25Al2O4",
        &[
            "Ni(NO3)2·6H2O",
            "Co(NO3)2·6H2O",
            "Zn(NO3)2·6H2O",
            "Mg(NO3)2·6H2O",
            "Al(NO3)3·9H2O",
        ],
    ),
    ("CoFe2O4", &["Co(NO3)2·6H2O", "Fe(NO3)3·9H2O"]),
];

/// Fuel, φ, product mass in g, and how it is set up.
const SETUPS: [(&str, f64, f64, &str); 5] = [
    ("urea", 1.0, 1.0, ""),
    (
        "glycine",
        0.7,
        2.0,
        "[vessel]\nname = \"400 mL beaker\"\n[heating]\nway = \"hot plate\"\n",
    ),
    (
        "citric acid",
        1.9,
        0.3,
        "[water]\nleft_at_ignition = \"20 %\"\n[room]\nplace = \"outdoors\"\n",
    ),
    (
        "carbohydrazide",
        1.2,
        5.0,
        "[vessel]\nname = \"640 mL evaporating dish\"\n[heating]\nway = \"muffle furnace\"\n",
    ),
    (
        "glycine",
        1.1,
        1.0,
        "[heating]\nway = \"microwave oven\"\n[water]\nleft_at_ignition = \"from ignition\"\n",
    ),
];

fn generated() -> impl Iterator<Item = String> {
    TARGETS.iter().flat_map(|(target, salts)| {
        SETUPS.iter().map(move |(fuel, phi, grams, rest)| {
            let names = salts.iter().chain([fuel]);
            let list: String = names
                .map(|name| format!("[[ingredient]]\nsubstance = \"{name}\"\n"))
                .collect();
            format!(
                "name = \"{target} with {fuel}\"\n[target]\nformula = \"{target}\"\n\
                 product_mass = \"{grams} g\"\nequivalence_ratio = {phi}\n{list}\
                 [[ingredient]]\nsubstance = \"water\"\nvolume = \"10 mL\"\n{rest}"
            )
        })
    })
}

/// The lines of a text that pass `columns`.
fn too_wide(text: &str, columns: usize) -> Vec<&str> {
    let wide = |line: &&str| line.chars().count() > columns;
    text.lines().filter(wide).collect()
}

fn check(plan: &Plan) {
    let text = first_screen(plan, SCREEN_WIDTH);
    assert!(text.lines().count() <= SCREEN_LINES, "{text}");
    let words = |text: &str| -> Vec<String> {
        let words = text.split_whitespace().filter(|word| !word.contains('═'));
        words.map(str::to_owned).collect()
    };
    for width in [SCREEN_WIDTH, 52, 40] {
        let screen = first_screen(plan, width);
        assert_eq!(too_wide(&screen, width), Vec::<&str>::new());
        // A narrow screen leaves nothing out.
        assert_eq!(words(&screen), words(&text));
        if width == 40 {
            continue;
        }
        let all = burn_document(plan, &burn_sections()).text(width);
        assert_eq!(too_wide(&all, width), Vec::<&str>::new());
    }
    for label in [
        "Weigh", "Ratio", "Equation", "Peak", "Powder", "Always", "Rules",
    ] {
        assert!(text.contains(&format!("\n{label} ")), "no {label}:\n{text}");
    }
    let verdicts = ["STOP. ", "DECIDE FIRST. ", "PLAN COMPLETE, YOU DECIDE. "];
    assert!(
        verdicts.iter().any(|verdict| text.contains(verdict)),
        "{text}"
    );
    for wrong in ["NaN", "inf ", "-0 ", "0 ppm to", " safe ", " safe.", "e−1"] {
        assert!(!text.contains(wrong), "{wrong:?}:\n{text}");
    }
}

#[test]
fn the_examples_fit_one_screen() {
    let tables = Tables::built_in().unwrap();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path
            .extension()
            .is_some_and(|extension| extension == "toml")
        {
            let batch = Batch::read(&path, &tables).unwrap();
            check(&plan(&batch, &tables).unwrap());
            seen += 1;
        }
    }
    assert!(seen >= 8, "{seen}");
}

#[test]
fn fifty_batches_fit_one_screen() {
    let tables = Tables::built_in().unwrap();
    let mut seen = 0;
    for text in generated() {
        let batch = Batch::parse(&text, "generated", &tables).unwrap_or_else(|e| panic!("{e}"));
        check(&plan(&batch, &tables).unwrap_or_else(|e| panic!("{text}{e}")));
        seen += 1;
    }
    assert_eq!(seen, TARGETS.len() * SETUPS.len());
}

/// The standard output of a command on an example, and its exit code.
fn answer(command: &str) -> (String, Option<i32>) {
    let words: Vec<&str> = command.split(' ').collect();
    let run = assert_cmd::Command::cargo_bin("emberpot")
        .unwrap()
        .args(&words)
        .env("COLUMNS", "80")
        .output()
        .unwrap();
    (String::from_utf8(run.stdout).unwrap(), run.status.code())
}

#[test]
fn other_answers_fit_one_screen_and_name_their_sections() {
    for command in [
        "ignite examples/zinc-aluminate.toml",
        "ignite examples/ceria-gadolinium.toml",
        "ignite examples/garnet-phosphor.toml",
        "ignite examples/garnet-phosphor.toml --all-ways",
        "ignite examples/nickel-zinc-ferrite.toml --all-ways",
        "choose examples/ceria-gadolinium.toml",
        "vary examples/zinc-aluminate.toml --over loss --from 0 --to 20% --steps 3",
    ] {
        let (text, _) = answer(command);
        assert!(text.lines().count() <= SCREEN_LINES, "{command}: {text}");
        assert_eq!(too_wide(&text, SCREEN_WIDTH), Vec::<&str>::new());
        let last = text.lines().rfind(|line| line.contains("--show"));
        let named = last.unwrap().split("--show ").nth(1).unwrap();
        let named = named.split(' ').next().unwrap();
        // Every section that is named is there.
        let (shown, code) = answer(&format!("{command} --show {named}"));
        assert!(code.is_some_and(|code| code < 2), "{command}: {code:?}");
        assert!(
            shown.lines().count() > 15 && shown.contains("safety officer"),
            "{shown}"
        );
        let (_, code) = answer(&format!("{command} --show nonsense"));
        assert_eq!(code, Some(2));
    }
}
