//! `emberpot series` as a process, and its arithmetic by hand.

use assert_cmd::Command;
use emberpot::{Batch, Element, Tables};
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use uom::si::amount_of_substance::mole;

const PHOSPHOR: &str = "# of the course\nname = \"red\"\n[target]\nformula = \"Y1.98Eu0.02O3\"\n\
    product_mass = \"1 g\"\nequivalence_ratio = 1.0\n\
    [[ingredient]]\nsubstance = \"Y(NO3)3·6H2O\"\n[[ingredient]]\nsubstance = \"Eu(NO3)3·6H2O\"\n\
    [[ingredient]]\nsubstance = \"glycine\"\n[[ingredient]]\nsubstance = \"water\"\nvolume = \"10 mL\"\n";

fn folder(test: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR"))
        .join("series")
        .join(test);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("red.toml"), PHOSPHOR).unwrap();
    folder
}

fn emberpot(folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_emberpot"));
    let output = command
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (
        output.status.code(),
        text(output.stdout),
        text(output.stderr),
    )
}

fn json(folder: &Path, arguments: &[&str]) -> Value {
    let mut all = vec!["series", "red.toml", "--format", "json"];
    all.extend(arguments);
    let (code, out, complaint) = emberpot(folder, &all);
    assert!(code.is_some_and(|code| code < 2), "{complaint}");
    serde_json::from_str(&out).unwrap()
}

fn member<'v>(series: &'v Value, label: &str) -> &'v Value {
    let members = series["members"].as_array().unwrap();
    members.iter().find(|m| m["label"] == label).unwrap()
}

#[test]
fn a_fuel_ratio_changes_the_fuel_and_shares_the_rest() {
    let series = json(&folder("ratio"), &["--over", "fuel-ratio=0.8,1,1.2"]);
    let fuel = |label: &str| {
        let weighed = member(&series, label)["weighed"]
            .as_array()
            .unwrap()
            .clone();
        assert_eq!(weighed.len(), 1, "the mother solution holds the rest");
        weighed[0]["mass_g"].as_f64().unwrap()
    };
    // Fuel goes with φ: 0.8 and 1.2 of that at φ = 1.
    assert!((fuel("A") / fuel("B") - 0.8).abs() < 1e-9);
    assert!((fuel("C") / fuel("B") - 1.2).abs() < 1e-9);
    // The reference is the middle level, burnt twice: four runs.
    assert_eq!(member(&series, "B")["purpose"], "reference");
    assert_eq!(series["order"].as_array().unwrap().len(), 4);
    let mother = &series["mother"];
    assert_eq!(mother["portions"], 4);
    let sum: f64 = mother["ingredients"]
        .as_array()
        .unwrap()
        .iter()
        .map(|i| i["mass_g"].as_f64().unwrap())
        .sum();
    let portion = mother["portion_g"].as_f64().unwrap();
    assert!(
        (sum / portion - 4.0 * 1.05).abs() < 1e-9,
        "four portions and a twentieth"
    );
    let bought: f64 = series["purchases"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|p| p["name"] == "glycine")
        .map(|p| p["mass_g"].as_f64().unwrap())
        .sum();
    assert!((bought / fuel("B") - 4.0).abs() < 1e-9, "0.8 + 2 × 1 + 1.2");
}

#[test]
fn a_dopant_is_drawn_in_steps_and_the_composition_follows() {
    let folder = folder("dopant");
    let arguments = ["--over", "dopant:Eu/Y=0.322 %,1 %,2 %", "--write", "out"];
    let series = json(&folder, &arguments);
    assert_eq!(member(&series, "A")["purpose"], "blank");
    let stock = |label| member(&series, label)["stock_ml"].as_f64();
    assert_eq!(stock("A"), None);
    // 2 % takes the whole millilitre; the others whole steps of 0.01 mL.
    let (low, middle, high) = (
        stock("B").unwrap(),
        stock("C").unwrap(),
        stock("D").unwrap(),
    );
    for (volume, wanted) in [(low, 0.161), (middle, 0.5), (high, 1.0)] {
        assert!(
            (volume - wanted).abs() < 0.005 + 1e-9,
            "{volume} for {wanted}"
        );
        assert!(
            (volume / 0.01 - (volume / 0.01).round()).abs() < 1e-6,
            "{volume}"
        );
    }
    // What is drawn is what the file says: Eu per millilitre of stock is the same in all.
    let tables = Tables::built_in().unwrap();
    let europium = Element::from_symbol("Eu").unwrap();
    let per_volume = |label: &str, volume: f64| {
        let text = fs::read_to_string(folder.join(format!("out/{label}.toml"))).unwrap();
        assert!(text.starts_with("# of the course"), "{text}");
        let batch = Batch::parse(&text, label, &tables).unwrap();
        batch.dry_elements()[&europium].get::<mole>() / volume
    };
    let (b, d) = (per_volume("B", low), per_volume("D", high));
    assert!((b / d - 1.0).abs() < 2e-3, "{b} {d}");
    let blank = fs::read_to_string(folder.join("out/A.toml")).unwrap();
    assert!(!blank.contains("Eu(NO3)3"), "{blank}");
}

#[test]
fn the_pipette_goes_into_the_band_of_each_level() {
    let folder = folder("band");
    let series = json(&folder, &["--over", "dopant:Eu/Y=0.5 %,1 %,2 %"]);
    // ISO 8655-2, 1 mL: 8 µL to one side (even: /√3) and 3 µL of scatter; 0.01 g balance, half
    // width of linearity two divisions: √(0.408² + (2/√3)²) = 1.225 divisions, on the host's salt.
    let delivered_ml = (0.008 / 3.0_f64.sqrt()).hypot(0.003);
    for label in ["B", "C", "D"] {
        let member = member(&series, label);
        let volume = member["stock_ml"].as_f64().unwrap();
        let weighed = member["weighed"].as_array().unwrap();
        let salt = weighed
            .iter()
            .find(|w| w["name"].as_str().unwrap().starts_with("yttrium"));
        let host = 0.01225 / salt.unwrap()["mass_g"].as_f64().unwrap();
        let of = |key: &str| member["level_band"][key].as_f64().unwrap();
        let (level, half_width, common) = (of("level"), of("half_width"), of("common"));
        let own = 2.0 * level * (1.0 - level) * (delivered_ml / volume).hypot(host);
        let found = (half_width.powi(2) - common.powi(2)).sqrt();
        assert!((found / own - 1.0).abs() < 2e-3, "{label}: {found} {own}");
        assert!(common > 0.0 && common < half_width, "{member}");
    }
    // The share of the site is that of the volume drawn.
    let level = |label| {
        member(&series, label)["level_band"]["level"]
            .as_f64()
            .unwrap()
    };
    assert!((level("D") - 0.02).abs() < 1e-6, "{}", level("D"));
    assert!(member(&series, "A")["level_band"].is_null());
}

#[test]
fn labels_can_be_blind_and_the_order_repeats_with_its_seed() {
    let folder = folder("blind");
    let arguments = |seed| {
        let words = [
            "series",
            "red.toml",
            "--over",
            "fuel-ratio=0.8,1,1.2",
            "--blind",
            "--seed",
            seed,
        ];
        emberpot(&folder, &words).1
    };
    let text = arguments("3");
    assert_eq!(text, arguments("3"));
    assert_ne!(text, arguments("4"));
    let (before, key) = text.split_once("Key, for after").unwrap();
    assert!(
        !before.contains("fuel-ratio 0.8") && key.contains("fuel-ratio 0.8"),
        "{text}"
    );
}

#[test]
fn nothing_is_overwritten_and_bad_input_is_told() {
    let folder = folder("bad");
    // A file with a mistake is told as by every other command.
    std::fs::write(folder.join("twice.toml"), "name = \"a\"\nname = \"b\"\n").unwrap();
    let series = ["series", "twice.toml", "--over", "fuel-ratio=1,1.1"];
    let told = emberpot(&folder, &series);
    assert_eq!(told, emberpot(&folder, &["burn", "twice.toml"]));
    assert_eq!(told.0, Some(2));
    let over = [
        "series",
        "red.toml",
        "--over",
        "fuel-ratio=0.8,1.2",
        "--write",
        "out",
    ];
    assert!(emberpot(&folder, &over).0.is_some_and(|code| code < 2));
    for (arguments, told) in [
        (over.to_vec(), "is there already"),
        (
            vec!["series", "red.toml", "--over", "luck=1,2"],
            "cannot change `luck`",
        ),
        (
            vec!["series", "red.toml", "--over", "fuel-ratio=1"],
            "has 1 members",
        ),
        (
            vec!["series", "red.toml", "--over", "fuel-ratio=1,1.0"],
            "are the same batch",
        ),
        (
            vec!["series", "red.toml", "--over", "fuel-ratio=1,hot"],
            "member hot",
        ),
        (
            vec!["series", "red.toml", "--over", "fuel=glycine,chalk"],
            "member chalk",
        ),
        (
            vec!["series", "red.toml", "--over", "size=1 g,80 g"],
            "refused",
        ),
        (
            vec!["series", "red.toml", "--over", "fuel-ratio"],
            "FACTOR=LEVELS",
        ),
    ] {
        let (code, out, complaint) = emberpot(&folder, &arguments);
        assert_eq!(code, Some(2), "{arguments:?}");
        assert!(complaint.contains(told), "{complaint}");
        assert!(out.is_empty(), "{out}");
    }
}

#[test]
fn all_of_it_in_one_room_is_counted() {
    let folder = folder("room");
    let series = json(&folder, &["--over", "size=8 g,9 g", "--repeat", "4"]);
    let together = &series["together"];
    // 8 + 9 + 4 × 1 g of powder, each with some four times its mass of nitrate and fuel: above the
    // 50 g that stop a single batch.
    assert!(together["mass_g"].as_f64().unwrap() > 60.0, "{together}");
    assert!(!together["stops"].as_array().unwrap().is_empty());
    let at_once = together["at_once"].as_u64().unwrap();
    assert!((1..6).contains(&at_once), "{at_once}");
}

#[test]
fn a_plan_takes_in_what_the_runs_taught() {
    let folder = folder("learned");
    let bare = json(&folder, &["--over", "fuel-ratio=0.9,1.1"]);
    assert!(bare["learned_from"].is_null());
    let over = ["--over", "fuel-ratio=0.9,1.1"];
    let peak = |series: &Value| member(series, "B")["peak_k"].as_f64().unwrap();
    // Colder than expected, but within the band: enough draws are left to tell.
    let read = peak(&bare) - 200.0;
    let run = format!(
        "\n[[run]]\npeak_temperature = \"{} °C\"\ninstrument = \"thermocouple\"\n",
        read - 273.15
    );
    let runs = |n| {
        fs::write(
            folder.join("red.toml"),
            PHOSPHOR.to_owned() + &run.repeat(n),
        )
        .unwrap()
    };
    let off = |series: &Value| (peak(series) - read).abs();
    runs(1);
    let once = json(&folder, &over);
    runs(3);
    let series = json(&folder, &[&over[..], &["--write", "out"]].concat());
    assert_eq!(series["learned_from"].as_array().unwrap().len(), 3);
    // Each further reading of the same draws the expectation nearer to it.
    let [far, near, nearest] = [&bare, &once, &series].map(off);
    assert!(nearest < near && near < far, "{far} {near} {nearest}");
    // The files that were written expect the same, by themselves.
    let (_, out, complaint) = emberpot(&folder, &["burn", "out/B.toml", "--format", "json"]);
    let burnt: Value = serde_json::from_str(&out).expect(&complaint);
    let alone = burnt["expected"]["temperature_k"].as_f64().unwrap();
    // learned.toml keeps four digits of each place.
    assert!(
        (alone - peak(&series)).abs() < 0.1,
        "{alone} {}",
        peak(&series)
    );
    // A file that takes in what was learned before plans with that.
    let with = format!("learned = \"out/learned.toml\"\n{PHOSPHOR}");
    fs::write(folder.join("red.toml"), with).unwrap();
    let again = json(&folder, &["--over", "fuel-ratio=0.9,1.1"]);
    assert!((peak(&again) - alone).abs() < 1e-6);
}

#[test]
fn each_member_has_the_ratio_band_of_its_bench_sheet() {
    let folder = folder("bands");
    let series = json(&folder, &["--over", "fuel-ratio=0.8,1.2", "--write", "out"]);
    for label in ["A", "B", "C"] {
        let band = &member(&series, label)["equivalence_ratio_band"];
        let (_, out, complaint) = emberpot(
            &folder,
            &["weigh", &format!("out/{label}.toml"), "--format", "json"],
        );
        let sheet: Value = serde_json::from_str(&out).expect(&complaint);
        let [all, own, alone] = [
            &band["half_width"],
            &band["own"],
            &sheet["equivalence_ratio"]["half_width"],
        ]
        .map(|value| value.as_f64().unwrap());
        assert!((all - alone).abs() < 1e-9, "{all} {alone}");
        assert!(0.0 <= own && own < all, "{own} of {all}");
    }
}

#[test]
fn runs_of_a_series_give_its_trend_and_where_it_ends() {
    let folder = folder("trend");
    let over = "dopant:Eu/Y=1 %,2 %,3 %,4 %,5 %";
    let arguments = ["series", "red.toml", "--over", over, "--write", "out"];
    assert!(emberpot(&folder, &arguments).0.is_some_and(|code| code < 2));
    // The share of live flakes rises to 3 % of dopant and no further; invented.
    let counts = [
        ("B", [20, 24]),
        ("C", [41, 45]),
        ("D", [62, 66]),
        ("E", [61, 67]),
        ("F", [66, 62]),
    ];
    for (label, live) in counts {
        let file = folder.join(format!("out/{label}.toml"));
        let mut text = fs::read_to_string(&file).unwrap();
        for live in live {
            let dead = 100 - live;
            text +=
                &format!("\n[[run]]\n[run.powder]\nflakes = {{ live = {live}, dead = {dead} }}\n");
        }
        fs::write(&file, text).unwrap();
    }
    let (code, out, complaint) = emberpot(&folder, &["learn", "out", "--format", "json"]);
    assert_eq!(code, Some(0), "{complaint}");
    assert!(!folder.join("learned.toml").exists(), "no peak was read");
    let lesson: Value = serde_json::from_str(&out).unwrap();
    let trend = &lesson["trends"][0];
    assert_eq!(trend["measure"], "live flakes / %");
    assert_eq!(trend["course"], "plateau", "{trend}");
    let from = trend["plateau_from"].as_f64().unwrap();
    assert!((from - 3.0).abs() < 0.1, "{from}");
}
