//! Pictures and pages: what they must hold, what they must not give away, and how files are
//! written.

use assert_cmd::Command;
use emberpot::internal::report::svg::{
    CoolingPath, CoupleLine, Floor, HeatEntrance, HeatingLine, HeatingStage, Picture, WeighingBar,
    entrance_picture, fuel_ratio_axes, heat_picture, heating_picture, oxygen_picture,
    weighing_picture,
};
use emberpot::internal::report::{
    ClassPart, Material, class_html, cooling_paths, fuel_sweep, report_html, water_curve,
};
use emberpot::quantity::{Band, Mass, Ratio, ThermodynamicTemperature};
use emberpot::{Batch, Plan, SheetOptions, Tables, WaterStateName, plan, sheet};
use std::fs;
use std::path::{Path, PathBuf};
use uom::si::f64::Time;
use uom::si::mass::milligram;
use uom::si::ratio::percent;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::time::minute;

const BLUE: &str = "examples/zinc-aluminate-blue.toml";
const GARNET: &str = "examples/garnet-phosphor.toml";

fn planned<'t>(file: &str, tables: &'t Tables) -> Plan<'t> {
    let batch = Batch::read(Path::new(file), tables).unwrap();
    plan(&batch, tables).unwrap()
}

fn celsius(value: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<degree_celsius>(value)
}

fn minutes(value: f64) -> Time {
    Time::new::<minute>(value)
}

/// Material with everything a report can show; heating ways and couples are invented here.
fn full_material<'a>(plan: &'a Plan<'a>) -> Material<'a> {
    Material {
        water: water_curve(plan),
        sweep: fuel_sweep(plan),
        floor: Some(Floor {
            temperature: celsius(900.0),
            least: Some(celsius(820.0)),
            label: "ZnAl2O4 forms".to_owned(),
        }),
        couples: couples(),
        cooling: cooling_paths(plan),
        heating: heating(),
        sheet: sheet(&plan.batch, plan.tables, &SheetOptions::default()).ok(),
        ..Material::new(plan)
    }
}

fn couples() -> Vec<CoupleLine> {
    vec![CoupleLine {
        name: "MO/M3O4".to_owned(),
        points: (0..30)
            .map(|at| (celsius(100.0 * f64::from(at)), -40.0 + 1.5 * f64::from(at)))
            .collect(),
        band: Some(1.0),
    }]
}

fn entrance(below: f64, above: f64, inside: f64) -> HeatEntrance {
    let share = Ratio::new::<uom::si::ratio::percent>;
    HeatEntrance {
        below: share(below),
        above: share(above),
        inside: share(inside),
    }
}

fn heating() -> Vec<HeatingLine> {
    let stage = |name: &str, until| HeatingStage {
        name: name.to_owned(),
        until: minutes(until),
        live: name == "dry gel",
    };
    vec![
        HeatingLine {
            way: "hot plate".to_owned(),
            stages: vec![
                stage("heats", 4.0),
                stage("boils", 21.0),
                stage("gels", 24.0),
                stage("dry gel", 24.5),
            ],
            lights: Some(Band::between(minutes(20.0), minutes(31.0))),
            sure: true,
            heat: Some(entrance(98.0, 2.0, 0.0)),
            ending: "lights after 20 to 31 min".to_owned(),
        },
        HeatingLine {
            way: "infrared lamp".to_owned(),
            stages: vec![
                stage("heats", 9.0),
                stage("boils", 30.0),
                stage("dry gel", 120.0),
            ],
            lights: None,
            sure: false,
            heat: Some(entrance(0.0, 100.0, 0.0)),
            ending: "does not light".to_owned(),
        },
    ]
}

/// Values of an attribute in the order of the file.
fn attributes<'a>(xml: &'a str, name: &str) -> Vec<&'a str> {
    let start = format!(" {name}=\"");
    xml.split(&start)
        .skip(1)
        .map(|rest| rest.split('"').next().unwrap())
        .collect()
}

/// Checks that opening and closing tags match, and gives the names of the elements.
fn elements(xml: &str) -> Vec<String> {
    let mut open: Vec<String> = Vec::new();
    let mut all = Vec::new();
    for tag in xml.split('<').skip(1) {
        let (tag, _) = tag.split_once('>').expect("every tag is closed");
        if tag.starts_with('?') {
            continue;
        }
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(
                open.pop().as_deref(),
                Some(name),
                "{tag} closes another tag"
            );
            continue;
        }
        let name = tag.split([' ', '\n', '/']).next().unwrap().to_owned();
        all.push(name.clone());
        if !tag.ends_with('/') {
            open.push(name);
        }
    }
    assert!(open.is_empty(), "left open: {open:?}");
    all
}

fn check(picture: &Picture) {
    let file = picture.file();
    let name = &picture.name;
    for word in ["NaN", "Some("] {
        assert!(!file.contains(word), "{name} holds {word}");
    }
    let names = elements(&file);
    for wanted in ["svg", "title", "desc"] {
        let count = names.iter().filter(|name| *name == wanted).count();
        assert_eq!(count, 1, "{name}: {wanted}");
    }
    assert!(
        picture.description.len() > 40,
        "{name}: {}",
        picture.description
    );
    let labelled = attributes(&file, "aria-labelledby")[0];
    for id in labelled.split(' ') {
        assert!(attributes(&file, "id").contains(&id), "{name}: no {id}");
    }
    let size: Vec<f64> = attributes(&file, "viewBox")[0]
        .split(' ')
        .map(|number| number.parse().unwrap())
        .collect();
    for (attribute, most) in [
        ("x", size[2]),
        ("x1", size[2]),
        ("x2", size[2]),
        ("cx", size[2]),
        ("y", size[3]),
        ("y1", size[3]),
        ("y2", size[3]),
        ("cy", size[3]),
    ] {
        for value in attributes(&file, attribute) {
            let value: f64 = value.parse().unwrap();
            assert!(
                (-0.5..=most + 0.5).contains(&value),
                "{name}: {attribute} = {value}"
            );
        }
    }
    for path in attributes(&file, "d") {
        for number in path
            .split(['M', 'L', 'Z', ' '])
            .filter(|text| !text.is_empty())
        {
            assert!(
                number.parse::<f64>().is_ok_and(f64::is_finite),
                "{name}: {path}"
            );
        }
    }
    // 85 mm at 340 units: letters of 10 units are 2.5 mm, about 7 pt.
    assert_eq!(attributes(&file, "width")[0], "85mm");
}

#[test]
fn every_picture_is_whole_within_its_frame_and_described() {
    let tables = Tables::built_in().unwrap();
    for file in [BLUE, GARNET] {
        let plan = planned(file, &tables);
        let material = full_material(&plan);
        let pictures = material.pictures();
        assert_eq!(pictures.len(), 9, "{file}");
        pictures.iter().for_each(check);
    }
}

#[test]
fn a_picture_without_anything_to_show_is_left_out() {
    let tables = Tables::built_in().unwrap();
    let plan = planned(BLUE, &tables);
    let pictures = Material::new(&plan).pictures();
    let is_there = |name: &str| pictures.iter().any(|picture| picture.name == name);
    assert!(is_there("gas") && !is_there("fuel-ratio") && !is_there("oxygen"));
    assert!(heating_picture(&[]).is_none());
    assert!(weighing_picture(&[]).is_none());
    assert!(oxygen_picture(&couples(), &[]).is_none());
}

#[test]
fn strange_numbers_do_not_break_a_picture() {
    let bar = |mass, error| WeighingBar {
        name: "a <very> long & strange name of a substance with many words".to_owned(),
        mass: Mass::new::<milligram>(mass),
        balance: "balance".to_owned(),
        error: Ratio::new::<percent>(error),
        below_minimum: error > 1.0,
    };
    check(&weighing_picture(&[bar(1e-3, 250.0), bar(1e6, 1e-7), bar(5.0, 0.0)]).unwrap());
    let path = CoolingPath {
        state: WaterStateName::Dried,
        points: vec![
            (celsius(2500.0), -1.0),
            (celsius(600.0), f64::NAN),
            (celsius(500.0), -90.0),
        ],
    };
    check(&oxygen_picture(&couples(), &[path]).unwrap());
}

#[test]
fn the_steps_of_the_waterfall_lead_back_to_nothing() {
    let tables = Tables::built_in().unwrap();
    for file in [BLUE, GARNET] {
        for result in &planned(file, &tables).states {
            let picture = heat_picture(result).unwrap();
            let sum: f64 = picture
                .numbers
                .rows
                .iter()
                .map(|row| row[1].replace('−', "-").parse::<f64>().unwrap())
                .sum();
            // Each of up to ten rows is rounded to four digits of at most some 100 kJ.
            assert!(sum.abs() < 0.2, "{file}, {}: {sum}", result.state.name);
        }
    }
}

#[test]
fn the_report_needs_no_network_and_runs_no_script() {
    let tables = Tables::built_in().unwrap();
    let plan = planned(BLUE, &tables);
    let material = full_material(&plan);
    for page in [
        report_html(&material),
        class_html(&material, ClassPart::Whole),
    ] {
        for word in [
            "<script", "<link", "<img", "<iframe", " src=", "@import", "url(",
        ] {
            assert!(!page.contains(word), "{word}");
        }
        for link in attributes(&page, "href") {
            assert!(link.starts_with('#'), "{link}");
            assert!(
                attributes(&page, "id").contains(&&link[1..]),
                "{link} leads nowhere"
            );
        }
        let mut ids = attributes(&page, "id");
        let count = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), count, "an id is there twice");
    }
}

#[test]
fn the_report_is_in_the_order_a_reader_needs() {
    let tables = Tables::built_in().unwrap();
    let plan = planned(BLUE, &tables);
    let page = report_html(&full_material(&plan));
    let order = [
        "decide", "dangers", "ignition", "burn", "gas", "what-if", "appendix",
    ];
    let places: Vec<usize> = order
        .iter()
        .map(|id| page.find(&format!("<section id=\"{id}\"")).unwrap())
        .collect();
    assert!(places.is_sorted(), "{places:?}");
}

#[test]
fn markup_in_a_name_stays_text() {
    let tables = Tables::built_in().unwrap();
    let mut plan = planned(BLUE, &tables);
    plan.batch.name = "</title><script>alert(1)</script> & \"quotes\"".to_owned();
    let material = Material::new(&plan);
    for page in [
        report_html(&material),
        class_html(&material, ClassPart::Whole),
    ] {
        assert!(!page.contains("<script"), "markup came through");
        assert!(page.contains("alert(1)"), "the name is there as text");
    }
}

/// What only the answer sheet may say: every flame temperature, φ, the equation, the gas.
fn answers(plan: &Plan) -> Vec<String> {
    let report = emberpot::internal::report::significant;
    let phi = plan.redox.equivalence_ratio.get::<uom::si::ratio::ratio>();
    let mut found = vec![
        format!("φ = {}", report(phi, 3)),
        plan.redox.mixture.to_string(),
    ];
    found.push(emberpot::internal::report::subscripts(
        &plan.equation.to_string(),
    ));
    for result in &plan.states {
        if let Some(t) = result.complete.flame.temperature() {
            found.push(format!("{:.0} °C", t.get::<degree_celsius>()));
        }
    }
    found
}

#[test]
fn the_class_page_keeps_the_answers_for_the_second_sheet() {
    let tables = Tables::built_in().unwrap();
    for file in [BLUE, GARNET] {
        let plan = planned(file, &tables);
        let page = class_html(&full_material(&plan), ClassPart::Whole);
        let (questions, answer_sheet) = page.split_once("<section class=\"answers\"").unwrap();
        // The style sheet and the question "lean, balanced or rich" are no answers.
        let questions = questions.split_once("<body>").unwrap().1;
        let questions = questions
            .replace("lean, balanced or rich", "")
            .replace("fuel-rich", "");
        for answer in answers(&plan) {
            assert!(
                !questions.contains(&answer),
                "{file}: the questions say {answer}"
            );
            assert!(answer_sheet.contains(&answer), "{file}: no answer {answer}");
        }
    }
}

#[test]
fn questions_and_answers_of_a_class_come_apart() {
    let tables = Tables::built_in().unwrap();
    for file in [BLUE, GARNET] {
        let plan = planned(file, &tables);
        let material = full_material(&plan);
        let body = |part| {
            let page = class_html(&material, part);
            page.split_once("<body>").unwrap().1.to_owned()
        };
        let whole = body(ClassPart::Whole);
        let (questions, answers) = (body(ClassPart::Questions), body(ClassPart::Answers));
        // Every heading and every row is on one of the two sheets, none on both.
        for tag in ["<h2", "<h3", "<tr", "<li", "<figure"] {
            let count = |page: &str| page.matches(tag).count();
            assert_eq!(count(&questions) + count(&answers), count(&whole), "{tag}");
        }
        for answer in self::answers(&plan) {
            assert!(answers.contains(&answer), "{answer}");
        }
        assert!(!questions.contains("Answer sheet") && !answers.contains("class=\"hidden\""));
        // The cautions stand with the questions, and what the sums need.
        let fixed = plan.advice.warnings.iter().filter(|w| w.is_fixed());
        let mut count = 0;
        for warning in fixed {
            let brief = warning.brief().replace("NO2", "NO₂");
            assert!(questions.contains(&brief), "{brief}");
            count += 1;
        }
        assert_eq!(count, 3);
        for ingredient in &plan.batch.weighed {
            let molar = ingredient.reactant.formula.molar_mass();
            let molar = molar.get::<uom::si::molar_mass::gram_per_mole>();
            let written = emberpot::internal::report::significant(molar, 5);
            assert!(
                questions.contains(&format!("<td>{written}</td>")),
                "{written}"
            );
        }
    }
}

/// An empty folder of this test.
fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR"))
        .join("pictures")
        .join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn report(arguments: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("emberpot")
        .unwrap()
        .arg("report")
        .args(arguments)
        .assert()
}

#[test]
fn the_report_never_goes_over_the_batch_file() {
    let folder = folder("over");
    let batch = folder.join("batch.toml");
    fs::copy(BLUE, &batch).unwrap();
    let before = fs::read(&batch).unwrap();
    let path = batch.to_str().unwrap();
    let detour = folder.join("..").join("over").join("batch.toml");
    for output in [path, detour.to_str().unwrap()] {
        let failed = report(&[path, "-o", output]).code(2);
        let error = String::from_utf8(failed.get_output().stderr.clone()).unwrap();
        assert!(error.contains("choose another name"), "{error}");
    }
    assert_eq!(fs::read(&batch).unwrap(), before);
    assert_eq!(
        fs::read_dir(&folder).unwrap().count(),
        1,
        "something was left behind"
    );
}

#[test]
fn a_report_is_written_whole_or_not_at_all() {
    let folder = folder("whole");
    let output = folder.join("report.html");
    fs::write(&output, "the old one").unwrap();
    let nowhere = folder.join("nowhere").join("report.html");
    report(&[BLUE, "-o", nowhere.to_str().unwrap()]).code(2);
    report(&[
        "tests/bad_input/no-such-file.toml",
        "-o",
        output.to_str().unwrap(),
    ])
    .code(2);
    assert_eq!(fs::read_to_string(&output).unwrap(), "the old one");
    report(&[BLUE, "-o", output.to_str().unwrap()]);
    let page = fs::read_to_string(&output).unwrap();
    assert!(page.starts_with("<!DOCTYPE html>") && page.trim_end().ends_with("</html>"));
    assert_eq!(
        fs::read_dir(&folder).unwrap().count(),
        1,
        "something was left behind"
    );
}

#[test]
fn pictures_alone_and_the_picture_of_a_sweep_are_files_of_their_own() {
    let folder = folder("alone");
    let pictures = folder.join("pictures");
    report(&[BLUE, "--pictures", pictures.to_str().unwrap()]).stdout("");
    let names: Vec<_> = fs::read_dir(&pictures).unwrap().collect();
    assert!(names.len() >= 5, "{names:?}");
    let curve = folder.join("curve.svg");
    let map = folder.join("map.svg");
    let range = ["--over", "fuel-ratio", "--from", "0.6", "--to", "1.8"];
    let vary = |more: &[&str]| {
        let mut command = Command::cargo_bin("emberpot").unwrap();
        command
            .arg("vary")
            .arg(BLUE)
            .args(range)
            .args(more)
            .assert()
            .success();
    };
    vary(&["--svg", curve.to_str().unwrap()]);
    let more = [
        "--and",
        "loss",
        "--and-from",
        "0 %",
        "--and-to",
        "30 %",
        "--and-steps",
        "7",
    ];
    vary(&[&more[..], &["--svg", map.to_str().unwrap()]].concat());
    for (file, is_map) in [(curve, false), (map, true)] {
        let text = fs::read_to_string(&file).unwrap();
        // Which batch, which water, the balance, and cells for a map.
        for told in ["Cobalt–zinc aluminate blue", "water: at ignition", "φ = 1"] {
            assert!(text.contains(&format!(">{told}")), "{told}");
        }
        assert_eq!(text.contains("class=\"tint5\""), is_map);
        assert!(elements(&text).contains(&"path".to_owned()));
        assert!(!text.contains("NaN"));
    }
}

/// Pictures of fixed, invented input: they change only if the drawing does.
fn drawn() -> Vec<Picture> {
    let path = CoolingPath {
        state: WaterStateName::BoiledDown,
        points: (0..12)
            .map(|at| {
                (
                    celsius(1500.0 - 100.0 * f64::from(at)),
                    -3.0 - f64::from(at),
                )
            })
            .collect(),
    };
    let bar = |name: &str, mass, error, below_minimum| WeighingBar {
        name: name.to_owned(),
        mass: Mass::new::<milligram>(mass),
        balance: "top-pan balance".to_owned(),
        error: Ratio::new::<percent>(error),
        below_minimum,
    };
    let bars = [
        bar("aluminium nitrate nonahydrate", 8400.0, 0.3, false),
        bar("europium(III) nitrate hexahydrate", 32.0, 76.0, true),
    ];
    [
        heating_picture(&heating()),
        oxygen_picture(&couples(), &[path]),
        weighing_picture(&bars),
        Some(fuel_ratio_axes()),
    ]
    .into_iter()
    .map(Option::unwrap)
    .collect()
}

#[test]
fn the_name_over_a_weighing_bar_fits() {
    let bar = |name: &str| WeighingBar {
        name: name.to_owned(),
        mass: Mass::new::<milligram>(63.34),
        balance: "analytical balance".to_owned(),
        error: Ratio::new::<percent>(0.3),
        below_minimum: false,
    };
    let long = "dysprosium(III) nitrate pentahydrate";
    let file = weighing_picture(&[bar(long), bar(&long.repeat(3)), bar("urea")])
        .unwrap()
        .file();
    assert!(
        file.contains(&format!(">{long}, 63.34 mg</text>")),
        "the name stays, the balance goes"
    );
    assert!(file.contains(">urea, 63.34 mg on analytical balance</text>"));
    assert!(file.contains("…, 63.34 mg</text>"));
}

#[test]
fn pictures_are_drawn_as_before() {
    for picture in drawn() {
        check(&picture);
        let path = PathBuf::from("tests/golden").join(format!("{}.svg", picture.name));
        if std::env::var_os("EMBERPOT_RENEW").is_some() {
            fs::write(&path, picture.file()).unwrap();
        }
        let before = fs::read_to_string(&path).unwrap();
        assert!(
            picture.file() == before,
            "{} has changed: look at it, renew it with EMBERPOT_RENEW=1 and read the difference",
            path.display()
        );
    }
}

#[test]
fn heat_enters_where_the_energy_book_says() {
    let mut lines = heating();
    let arrows = |lines: &[HeatingLine]| {
        let file = entrance_picture(lines).unwrap().file();
        file.matches("class=\"gain\"").count()
    };
    // Floor and a little surface on the plate, the surface alone under the lamp.
    assert_eq!(arrows(&lines), 3);
    check(&entrance_picture(&lines).unwrap());
    // Inside: two arrows outwards; below a per cent: none.
    lines[1].heat = Some(entrance(0.5, 0.0, 99.5));
    assert_eq!(arrows(&lines), 4);
    let picture = entrance_picture(&lines).unwrap();
    assert!(
        picture
            .description
            .contains("infrared lamp: 100 % made inside.")
    );
    lines.iter_mut().for_each(|line| line.heat = None);
    assert!(entrance_picture(&lines).is_none());
}

#[test]
fn dry_gel_is_drawn_for_as_long_as_it_lasts_and_lighting_as_a_band() {
    let mut lines = heating();
    let count = |lines: &[HeatingLine], class: &str| {
        let file = heating_picture(lines).unwrap().file();
        file.matches(&format!("class=\"{class}\"")).count()
    };
    // One line of live gel a row and one in the legend; two diamonds a band and four there.
    assert_eq!(count(&lines, "line1"), 3);
    assert_eq!((count(&lines, "dot1"), count(&lines, "ring1")), (4, 2));
    // A way that may light has open diamonds.
    lines[1].lights = Some(Band::between(minutes(40.0), minutes(90.0)));
    assert_eq!((count(&lines, "dot1"), count(&lines, "ring1")), (4, 4));
    // A way that stays live for ten hours leaves the others their room: each decade has the same.
    lines[1].stages[2].until = minutes(600.0);
    let picture = heating_picture(&lines).unwrap();
    assert!(picture.file().contains(">1000</text>"));
    assert!(
        picture
            .description
            .contains("dry gel (dry gel, live) until 600 min")
    );
    check(&picture);
}

#[test]
fn the_heating_over_time_is_drawn_from_the_trace() {
    let tables = Tables::built_in().unwrap();
    let batch = Batch::read(Path::new(BLUE), &tables).unwrap();
    let comparison = emberpot::all_ways(&batch, &tables).unwrap();
    let courses: Vec<_> = comparison.judged().collect();
    let picture = emberpot::internal::report::svg::trace_picture(&courses).unwrap();
    check(&picture);
    let file = picture.file();
    // Three temperatures and three shares a way; diamonds where it lights, one in the legend.
    let curves: usize = (0..3)
        .map(|at| file.matches(&format!("<path class=\"line{at}\"")).count())
        .sum();
    assert_eq!(curves, 6 * courses.len());
    let lit = courses.iter().filter(|j| j.course.no_ignition().is_none());
    assert_eq!(file.matches("class=\"dot1\"").count(), 2 * lit.count() + 1);
    let stages: usize = courses.iter().map(|j| j.course.stages.len()).sum();
    assert_eq!(picture.numbers.rows.len(), stages);
    assert!(emberpot::internal::report::svg::trace_picture(&[]).is_none());
}
