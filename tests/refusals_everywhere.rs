//! What is refused is refused by every command that takes a batch, with the same words and exit
//! code 2, and without a single figure on the standard output.

use assert_cmd::Command;
use rayon::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};

/// A small spinel batch; what follows is added to it.
const SPINEL: &str = "name = \"spinel\"\n\
    [[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\nmass = \"1.5 g\"\n\
    [[ingredient]]\nsubstance = \"Mg(NO3)2·6H2O\"\nmass = \"0.51 g\"\n\
    [[ingredient]]\nsubstance = \"urea\"\nmass = \"0.8 g\"\n\
    [[ingredient]]\nsubstance = \"water\"\nvolume = \"5 mL\"\n";

/// The spinel batch in a vessel or on a heating way.
const SET_UP: [(&str, &str, &str); 13] = [
    (
        "lid",
        "[vessel]\nname = \"250 mL beaker\"\ncover = \"lid\"",
        "The vessel is closed",
    ),
    (
        "stopper",
        "[vessel]\nname = \"250 mL beaker\"\ncover = \"stopper\"",
        "The vessel is closed",
    ),
    (
        "plug",
        "[vessel]\nname = \"250 mL beaker\"\ncover = \"plug\"",
        "The vessel is closed",
    ),
    (
        "foil",
        "[vessel]\nname = \"250 mL beaker\"\ncover = \"foil\"",
        "The vessel is closed",
    ),
    (
        "autoclave",
        "[vessel]\nname = \"autoclave\"",
        "pressure vessel",
    ),
    (
        "neck",
        "[vessel]\nname = \"250 mL conical flask\"",
        "too narrow a mouth",
    ),
    (
        "tube",
        "[vessel]\nname = \"test tube\"",
        "too narrow a mouth",
    ),
    (
        "jar",
        "[vessel]\nname = \"jam jar\"",
        "material that is refused",
    ),
    (
        "plastic",
        "[vessel]\nname = \"250 mL plastic beaker\"",
        "material that is refused",
    ),
    (
        "foil-tray",
        "[vessel]\nname = \"aluminium foil tray\"",
        "material that is refused",
    ),
    (
        "outer",
        "[vessel]\nname = \"250 mL beaker\"\nouter = \"preserving jar\"",
        "outer vessel cannot serve",
    ),
    (
        "microwave",
        "[vessel]\nname = \"1 L steel pot\"\n[heating]\nway = \"microwave oven\"",
        "Metal in a microwave oven",
    ),
    (
        "froth",
        "[vessel]\nmaterial = \"porcelain\"\nmouth = \"30 mm\"\ndepth = \"30 mm\"",
        "froth fills at least",
    ),
];

/// Mixtures: ingredients with their amounts.
const MIXTURES: [(&str, &str, &str); 20] = [
    (
        "large",
        "Al(NO3)3·9H2O 70 g; urea 28 g; water 50 g",
        "beyond the bench",
    ),
    (
        "ammonium",
        "Zn(NO3)2·6H2O 3 g; NH4NO3 6 g; urea 1.5 g; water 8 g",
        "explode as a whole",
    ),
    (
        "ammonium-alone",
        "NH4NO3 3 g; urea 1 g; water 8 g",
        "no such batch",
    ),
    (
        "ammonium-sugar",
        "NH4NO3 3 g; sucrose 1 g; water 8 g",
        "no such batch",
    ),
    (
        "saltpetre",
        "KNO3 3 g; sucrose 1 g; water 8 g",
        "no oxide or metal powder",
    ),
    (
        "soda-nitre",
        "NaNO3 3 g; glycine 1 g; water 8 g",
        "no oxide or metal powder",
    ),
    (
        "lithium",
        "LiNO3 3 g; sorbitol 1 g; water 8 g",
        "no oxide or metal powder",
    ),
    (
        "saltpetre-dusted",
        "KNO3 3 g; Zn(NO3)2·6H2O 0.05 g; sucrose 1 g; water 8 g",
        "no oxide or metal powder",
    ),
    (
        "hexamine",
        "Zn(NO3)2·6H2O 3 g; HNO3 0.5 g; hexamine 1 g; water 8 g",
        "nitramines",
    ),
    (
        "hydrazide",
        "Zn(NO3)2·6H2O 3 g; HNO3 0.5 g; carbohydrazide 1 g; water 8 g",
        "leave the acid out",
    ),
    (
        "odh",
        "Zn(NO3)2·6H2O 3 g; HNO3 0.5 g; ODH 1 g; water 8 g",
        "leave the acid out",
    ),
    (
        "alcohol",
        "Zn(NO3)2·6H2O 3 g; HNO3 0.5 g; ethanol 1 g; water 8 g",
        "nitrate esters",
    ),
    (
        "ketone",
        "Zn(NO3)2·6H2O 3 g; HNO3 0.5 g; acetylacetone 1 g; water 8 g",
        "nitrate esters",
    ),
    (
        "glycol",
        "Zn(NO3)2·6H2O 3 g; HNO3 0.5 g; glycerol 1 g; water 8 g",
        "nitrate esters",
    ),
    (
        "urea-acid",
        "Zn(NO3)2·6H2O 3 g; HNO3 4 g; urea 1 g; water 2 g",
        "crystallises out",
    ),
    (
        "melamine-acid",
        "Zn(NO3)2·6H2O 3 g; HNO3 4 g; melamine 1 g; water 2 g",
        "crystallises out",
    ),
    (
        "acetic-acid",
        "Zn(NO3)2·6H2O 3 g; HNO3 6 g; acetic acid 1 g; water 1 g",
        "acetyl nitrate",
    ),
    (
        "cellulose-acid",
        "Zn(NO3)2·6H2O 3 g; HNO3 5 g; cellulose 1 g; water 1 g",
        "nitrate esters",
    ),
    (
        "glycine-acid",
        "Zn(NO3)2·6H2O 3 g; HNO3 9 g; glycine 1 g; water 1 g",
        "runaway",
    ),
    (
        "silver",
        "AgNO3 1 g; hexamine 0.1 g; water 5 g",
        "explode at a touch",
    ),
];

/// Ingredients that are refused whatever they are with.
const SUBSTANCES: [&str; 13] = [
    "NaClO2",
    "Ca(ClO)2",
    "KBrO3",
    "NaNO2",
    "guanidine nitrate",
    "CH4N2O·HNO3",
    "nitromethane",
    "NaN3",
    "hydrogen peroxide",
    "Hg(NO3)2·H2O",
    "UO2(NO3)2·6H2O",
    "Be(NO3)2·4H2O",
    "diethyl ether",
];

/// Every command that takes a batch; `{}` is the refused file, `ok` a harmless one.
const COMMANDS: [&str; 13] = [
    "burn {}",
    "burn {} --format json",
    "weigh {}",
    "weigh {} --format csv",
    "ignite {}",
    "ignite {} --all-ways",
    "vary {} --over fuel-ratio --from 0.9 --to 1.1 --steps 2",
    "choose {}",
    "compare {} ok",
    "compare ok {}",
    "report {}",
    "report {} --class",
    "check {}",
];

fn folder() -> PathBuf {
    let folder = std::env::temp_dir().join(format!("emberpot-everywhere-{}", std::process::id()));
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("ok.toml"), SPINEL).unwrap();
    folder
}

fn mixture(parts: &str) -> String {
    let ingredient = |part: &str| {
        let part = part.trim();
        let (rest, _) = part.rsplit_once(' ').unwrap();
        let (name, _) = rest.rsplit_once(' ').unwrap();
        let mass = &part[name.len() + 1..];
        let name = name.replace("HNO3", "nitric acid 65 %");
        if name == "water" {
            let volume = mass.replace('g', "mL");
            return format!("[[ingredient]]\nsubstance = \"water\"\nvolume = \"{volume}\"\n");
        }
        format!("[[ingredient]]\nsubstance = \"{name}\"\nmass = \"{mass}\"\n")
    };
    parts.split(';').map(ingredient).collect()
}

/// Name, text of the batch, words of the refusal.
fn refusals() -> Vec<(String, String, String)> {
    let set_up = SET_UP.iter().map(|(name, more, words)| {
        (
            name.to_string(),
            format!("{SPINEL}{more}\n"),
            words.to_string(),
        )
    });
    let mixtures = MIXTURES
        .iter()
        .map(|(name, parts, words)| (name.to_string(), mixture(parts), words.to_string()));
    let substances = SUBSTANCES.iter().enumerate().map(|(at, name)| {
        let text = format!("{SPINEL}[[ingredient]]\nsubstance = \"{name}\"\nmass = \"0.1 g\"\n");
        let words = format!("`{name}` is refused");
        (format!("substance-{at}"), text, words)
    });
    set_up.chain(mixtures).chain(substances).collect()
}

/// Exit code, standard output and the refusal, the file's name taken out.
fn run(command: &str, file: &Path, folder: &Path) -> (i32, String, String) {
    let ok = folder.join("ok.toml");
    let arguments = command.split(' ').map(|word| match word {
        "{}" => file.display().to_string(),
        "ok" => ok.display().to_string(),
        word => word.to_owned(),
    });
    let output = Command::cargo_bin("emberpot")
        .unwrap()
        .args(arguments)
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (
        output.status.code().unwrap(),
        text(output.stdout),
        text(output.stderr),
    )
}

#[test]
fn every_command_refuses_what_burn_refuses_in_the_same_words() {
    let folder = folder();
    let refusals = refusals();
    for (name, text, _) in &refusals {
        fs::write(folder.join(format!("{name}.toml")), text).unwrap();
    }
    let answers: Vec<Option<String>> = refusals
        .par_iter()
        .flat_map_iter(|(name, _, words)| {
            let file = folder.join(format!("{name}.toml"));
            let (_, _, of_burn) = run(COMMANDS[0], &file, &folder);
            let folder = &folder;
            COMMANDS.into_iter().map(move |command| {
                let (code, out, error) = run(command, &file, folder);
                let no_figure = out.is_empty() || out.contains("\"refused\": true");
                let right = code == 2 && error.contains(words) && error == of_burn && no_figure;
                (!right).then(|| format!("{name}: {command}: {code}: {error}{out}"))
            })
        })
        .collect();
    let count = answers.len();
    let wrong: Vec<String> = answers.into_iter().flatten().collect();
    assert_eq!(
        count,
        COMMANDS.len() * (SET_UP.len() + MIXTURES.len() + SUBSTANCES.len())
    );
    assert!(
        wrong.is_empty(),
        "{} of {count}\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn each_member_of_a_sweep_is_refused_as_by_itself() {
    let folder = folder();
    let file = folder.join("sweep.toml");
    let text = "[target]\nformula = \"MgAl2O4\"\nproduct_mass = \"1 g\"\nequivalence_ratio = 1\n\
        [[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\n[[ingredient]]\nsubstance = \"Mg(NO3)2·6H2O\"\n\
        [[ingredient]]\nsubstance = \"urea\"\n\
        [[ingredient]]\nsubstance = \"water\"\nvolume = \"5 mL\"\n";
    fs::write(&file, text).unwrap();
    let sweep = "vary {} --over size --from 1g --to 41g --steps 3 --format csv";
    let (code, out, error) = run(sweep, &file, &folder);
    assert_eq!(code, 0, "{error}");
    // 1 g of spinel takes 6.85 g dry (974.3 g/142.3 g): 21 g and 41 g are beyond 50 g.
    let refused = out.lines().filter(|line| line.contains("beyond the bench"));
    assert_eq!(refused.count(), 2, "{out}");
    let all = "vary {} --over size --from 20g --to 41g --steps 3";
    assert_eq!(run(all, &file, &folder).0, 2);
}

#[test]
fn small_pots_of_a_large_batch_are_not_refused() {
    let folder = folder();
    let file = folder.join("pots.toml");
    fs::write(&file, mixture(MIXTURES[0].1)).unwrap();
    assert_eq!(run("weigh {}", &file, &folder).0, 2);
    assert_eq!(run("weigh {} --pots 2", &file, &folder).0, 0);
}
