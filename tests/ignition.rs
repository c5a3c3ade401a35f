//! The course of heating from a batch file: laws, feedback of the user's own tests, reports.

use approx::assert_relative_eq;
use emberpot::internal::ignition::{Judged, LitPlace, course};
use emberpot::internal::report::{
    Shown, comparison_document, comparison_json, course_csv, course_document, ignite_json,
};
use emberpot::{Batch, Course, IgnitionError, Prepared, Tables, all_ways};
use serde_json::Value;
use std::sync::LazyLock;
use uom::si::energy::joule;
use uom::si::power::watt;
use uom::si::ratio::ratio;
use uom::si::time::second;

static TABLES: LazyLock<Tables> = LazyLock::new(|| Tables::built_in().unwrap());

const NICKEL: &str = "name = \"Nickel oxide\"\n[[ingredient]]\nsubstance = \"Ni(NO3)2·6H2O\"\nmass = \"5.82 g\"\n\
    [[ingredient]]\nsubstance = \"glycine\"\nmass = \"1.67 g\"\n\
    [[ingredient]]\nsubstance = \"water\"\nmass = \"20 g\"\n";

fn batch(heating: &str) -> Batch {
    Batch::parse(&format!("{NICKEL}[heating]\n{heating}"), "test", &TABLES)
        .unwrap_or_else(|e| panic!("{e}"))
}

fn run(heating: &str) -> Course {
    course(&batch(heating), &TABLES, None).unwrap()
}

fn judged(batch: &Batch) -> Judged {
    Judged::new(course(batch, &TABLES, None).unwrap()).unwrap()
}

fn time(course: &Course) -> f64 {
    course.time_to_ignition().unwrap().get::<second>()
}

#[test]
fn equal_batches_ignite_first_in_the_microwave_then_the_furnace_then_on_the_plate() {
    let of = |way: &str| time(&run(&format!("way = \"{way}\"\ndiameter = \"70 mm\"")));
    let (microwave, furnace, plate) = (of("microwave"), of("furnace"), of("plate"));
    assert!(
        microwave < furnace && furnace < plate,
        "{microwave} {furnace} {plate}"
    );
}

#[test]
fn energy_is_kept_to_1e_9_of_what_is_turned_over() {
    for way in &TABLES.heating.ways {
        let book = course(&batch(""), &TABLES, Some(&way.id)).unwrap().energy;
        let turnover = book.from_below.abs() + book.from_above.abs() + book.microwaves + book.steam;
        assert!(
            book.imbalance.abs().get::<joule>() < 1e-9 * turnover.get::<joule>(),
            "{}",
            way.id
        );
    }
}

#[test]
fn a_batch_twice_as_large_in_twice_the_area_takes_the_same_time_on_a_plate() {
    // Same depth, same fluxes: time and shares do not know the size.
    let small = run("way = \"plate\"\ndiameter = \"60 mm\"");
    let text = NICKEL
        .replace("5.82", "11.64")
        .replace("1.67", "3.34")
        .replace("\"20 g\"", "\"40 g\"");
    let wide = 60.0 * 2.0_f64.sqrt();
    let text = format!("{text}[heating]\nway = \"plate\"\ndiameter = \"{wide} mm\"\n");
    let large = course(
        &Batch::parse(&text, "test", &TABLES).unwrap(),
        &TABLES,
        None,
    )
    .unwrap();
    assert_relative_eq!(time(&small), time(&large), max_relative = 1e-6);
    assert_relative_eq!(
        small.water_left.get::<ratio>(),
        large.water_left.get::<ratio>(),
        max_relative = 1e-6
    );
}

#[test]
fn more_water_takes_longer() {
    let mut last = 0.0;
    for water in ["10 g", "20 g", "40 g"] {
        let text = format!(
            "{}[heating]\nway = \"plate\"\n",
            NICKEL.replace("\"20 g\"", &format!("\"{water}\""))
        );
        let now = time(
            &course(
                &Batch::parse(&text, "test", &TABLES).unwrap(),
                &TABLES,
                None,
            )
            .unwrap(),
        );
        assert!(now > last);
        last = now;
    }
}

#[test]
fn half_the_power_takes_the_same_heat_and_what_is_lost_meanwhile() {
    let [full, half] =
        ["800 W", "400 W"].map(|power| run(&format!("way = \"microwave\"\npower = \"{power}\"")));
    // What goes out through floor and surface or stays behind as steam and heat comes from the
    // microwaves and the reaction: longer heating loses more, so it takes more than twice the time.
    assert!(time(&half) > 2.0 * time(&full));
    // The slower course reacts a little more before it lights: within 2 %.
    let taken = |course: &Course| {
        let book = &course.energy;
        book.microwaves + book.from_below + book.from_above
    };
    assert_relative_eq!(
        taken(&half).get::<joule>(),
        taken(&full).get::<joule>(),
        max_relative = 0.02
    );
}

#[test]
fn the_users_oven_test_replaces_the_rated_output() {
    // 52 s for 10 K in 1 kg: 805 W, as good as the rated 800 W; 104 s: half of it.
    let rated = run("way = \"microwave\"");
    let test = |seconds: u32| {
        run(&format!(
            "way = \"microwave\"\n[heating.oven_test]\nwater = \"1 kg\"\nfrom = \"10 °C\"\nto = \"20 °C\"\ntime = \"{seconds} s\""
        ))
    };
    assert_relative_eq!(time(&test(52)), time(&rated), max_relative = 0.01);
    assert!(time(&test(104)) > 1.8 * time(&rated));
    assert_relative_eq!(
        test(104).setting.power.unwrap().get::<watt>(),
        402.6,
        max_relative = 1e-3
    );
}

#[test]
fn the_users_load_test_replaces_the_tabulated_share() {
    // 24 g of water from 20 to 60 °C: the power into a load of the batch's size.
    let with = |seconds: u32| {
        run(&format!(
            "way = \"microwave\"\n[heating.load_test]\nwater = \"24 g\"\nfrom = \"20 °C\"\nto = \"60 °C\"\ntime = \"{seconds} s\""
        ))
    };
    let (weak, strong) = (with(20), with(10));
    let measured = 4187.0 * 0.024 * 40.0 / 20.0;
    let absorbed = weak.microwave.unwrap().absorbed_first.get::<watt>();
    // The batch holds a little more than 24 mL: the share rises slowly with volume.
    assert!(
        (absorbed / measured - 1.0).abs() < 0.1,
        "{absorbed} {measured}"
    );
    assert!(time(&strong) < time(&weak));
}

#[test]
fn the_users_boil_test_replaces_the_contact_of_the_plate() {
    let with = |minutes: u32| {
        run(&format!(
            "way = \"plate\"\ndiameter = \"80 mm\"\n[heating.boil_test]\nwater = \"100 g\"\nfrom = \"20 °C\"\nto = \"95 °C\"\ntime = \"{minutes} min\""
        ))
    };
    assert!(time(&with(4)) < time(&with(8)));
}

#[test]
fn a_measured_peak_replaces_the_tabulated_one() {
    let low = run("way = \"plate\"\npeak = \"180 °C\"");
    let high = run("way = \"plate\"\npeak = \"240 °C\"");
    assert!(time(&low) < time(&high));
    assert!(low.start_temperature < high.start_temperature);
}

#[test]
fn a_steel_pan_does_not_go_into_a_microwave_oven() {
    let error = course(
        &batch("way = \"microwave\"\nfloor = \"steel\""),
        &TABLES,
        None,
    )
    .unwrap_err();
    assert!(matches!(error, IgnitionError::MetalInMicrowave { .. }));
    // Beside the other ways it stands as an error, not as a number.
    let all = all_ways(&batch("floor = \"steel\""), &TABLES).unwrap();
    assert!(all.ways[0].judged.is_err() && all.ways[1].judged.is_ok());
}

#[test]
fn without_a_stated_way_the_error_names_the_ways() {
    let error = course(&batch(""), &TABLES, None).unwrap_err().to_string();
    assert!(
        error.contains("muffle furnace") && error.contains("[heating]"),
        "{error}"
    );
}

#[test]
fn a_batch_without_water_is_refused() {
    let text = "[[ingredient]]\nsubstance = \"AgNO3\"\nmass = \"5 g\"\n[[ingredient]]\nsubstance = \"glycine\"\nmass = \"1 g\"\n[heating]\nway = \"plate\"\n";
    let batch = Batch::parse(text, "test", &TABLES).unwrap();
    assert_eq!(
        course(&batch, &TABLES, None).unwrap_err(),
        IgnitionError::NoWater
    );
}

fn course_json(batch: &Batch, judged: &Judged) -> Value {
    ignite_json(&Prepared::new(batch, &TABLES).unwrap(), judged)
}

#[test]
fn json_has_the_documented_keys_and_stages_join() {
    let batch = batch("way = \"furnace\"");
    let value = course_json(&batch, &judged(&batch));
    for key in [
        "stages",
        "time_to_ignition_s",
        "no_ignition",
        "water_left_fraction",
        "wall_minus_centre_k",
        "ignites_at",
        "fuel_lost_fraction",
    ] {
        assert!(value.get(key).is_some(), "{key}");
    }
    let stages = value["stages"].as_array().unwrap();
    assert!(stages.len() >= 4);
    let mut last = 0.0;
    for stage in stages {
        assert_relative_eq!(stage["start_s"].as_f64().unwrap(), last);
        last = stage["end_s"].as_f64().unwrap();
        assert!(stage["name"].is_string() && stage["temperature_k"].as_f64().unwrap() > 273.0);
    }
    assert_relative_eq!(last, value["time_to_ignition_s"].as_f64().unwrap());
}

#[test]
fn a_failure_has_a_reason_instead_of_a_time() {
    let batch = batch("way = \"furnace\"\ntemperature = \"130 °C\"");
    let value = course_json(&batch, &judged(&batch));
    assert!(value["time_to_ignition_s"].is_null() && value["ignites_at"].is_null());
    assert!(value["no_ignition"]["reason"].as_str().unwrap().len() > 20);
}

#[test]
fn reports_fit_eighty_columns_and_end_with_the_caution() {
    let batch = batch("way = \"microwave\"");
    let ready = Prepared::new(&batch, &TABLES).unwrap();
    let text = course_document(&ready, &judged(&batch), &Shown::Full).text(80);
    let all = all_ways(&batch, &TABLES).unwrap();
    let side_by_side = comparison_document(&ready, &all, &Shown::Full).text(80);
    for line in text.lines().chain(side_by_side.lines()) {
        assert!(line.chars().count() <= 80, "{line}");
    }
    for report in [&text, &side_by_side] {
        assert!(report.contains("safety officer"));
        assert!(!report.contains("NaN") && !report.contains("inf "));
    }
    assert_eq!(
        comparison_json(&ready, &all)["ways"]
            .as_array()
            .unwrap()
            .len(),
        TABLES.heating.ways.len()
    );
}

#[test]
fn two_runs_print_the_same() {
    let batch = batch("way = \"plate\"");
    let json = || course_json(&batch, &judged(&batch)).to_string();
    assert_eq!(json(), json());
}

#[test]
fn the_shortest_duty_cycle_over_a_whole_day_comes_to_an_end() {
    // The ripple of one second is not felt and counts with its mean; that of twenty is followed.
    let end = |cycle: &str| {
        run(&format!(
            "way = \"microwave\"\npower = \"100 W\"\nsetting = 0.05\ncycle = \"{cycle}\"\n\
             time_limit = \"24 h\"\ndiameter = \"90 mm\""
        ))
    };
    let (short, long) = (end("1 s"), end("20 s"));
    let water = |course: &Course| course.water_left.get::<ratio>();
    assert_relative_eq!(water(&short), water(&long), epsilon = 0.01);
    assert!(
        long.steps > 10 * short.steps,
        "{} {}",
        long.steps,
        short.steps
    );
}

#[test]
fn the_course_as_a_table_has_the_points_of_its_json() {
    let batch = batch("way = \"plate\"");
    let judged = judged(&batch);
    let text = course_csv(&judged);
    let points = course_json(&batch, &judged)["trace"]
        .as_array()
        .unwrap()
        .clone();
    assert_eq!(text.lines().count(), points.len() + 1);
    let head: Vec<&str> = text.lines().next().unwrap().split(',').collect();
    for (line, point) in text.lines().skip(1).zip(&points) {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), head.len());
        for (name, cell) in head.iter().zip(cells).skip(1) {
            match &point[*name] {
                serde_json::Value::Number(number) => {
                    // The table writes ten digits.
                    let (full, cell) = (number.as_f64().unwrap(), cell.parse::<f64>().unwrap());
                    assert_relative_eq!(full, cell, max_relative = 1e-9);
                }
                other => assert_eq!(other.as_str(), Some(cell), "{name}"),
            }
        }
    }
}

#[test]
fn a_liquid_that_does_not_mix_is_less_even_the_deeper_it_is() {
    use uom::si::temperature_interval::kelvin;
    let skin = |diameter: u32| {
        let course = run(&format!(
            "way = \"microwave\"\ndiameter = \"{diameter} mm\""
        ));
        let layers = course.unstirred().unwrap();
        // The mixed liquid has one temperature.
        let start = course.trace[1];
        assert_eq!(start.floor, start.surface);
        layers.spread.get::<kelvin>()
    };
    let (deep, thin) = (skin(40), skin(90));
    assert!(deep > thin && thin > 0.0, "{deep} {thin}");
}

#[test]
fn what_stirring_changes_is_told_for_every_way_from_its_numbers() {
    for way in ["microwave", "plate", "lamp"] {
        let batch = batch(&format!("way = \"{way}\""));
        let prepared = Prepared::new(&batch, &TABLES).unwrap();
        let judged = judged(&batch);
        let asked = Shown::Sections(vec!["layer".to_owned()]);
        let text = course_document(&prepared, &judged, &asked).text(200);
        let apart = judged.course.unstirred().unwrap();
        let (mixed, layers) = (judged.course.time_to_ignition(), apart.time);
        if let (Some(mixed), Some(layers)) = (mixed, layers) {
            let sooner = text.contains("light sooner");
            assert_eq!(sooner, layers > 1.1 * mixed, "{text}");
            assert_eq!(text.contains("light later"), layers < 0.9 * mixed, "{text}");
        }
        let rises = text.contains("hot liquid rises");
        assert_eq!(rises, apart.hottest == LitPlace::Wall, "{text}");
    }
}

#[test]
fn all_ways_show_the_sections_that_are_asked_for() {
    let batch = batch("way = \"plate\"");
    let ready = Prepared::new(&batch, &TABLES).unwrap();
    let all = all_ways(&batch, &TABLES).unwrap();
    let text = |shown: &Shown| comparison_document(&ready, &all, shown).text(1000);
    let layers = text(&Shown::Sections(vec!["layer".to_owned()]));
    assert_eq!(layers.matches(": Layer").count(), all.judged().count());
    assert!(!layers.contains("verdict") && !layers.contains(": Energy"));
    let answer = text(&Shown::Answer);
    assert!(answer.contains("--show why,") && !answer.contains(": Layer"));
    // The answer keeps what sets the ways apart; what each does is behind it.
    assert!(answer.contains("brings most power") && !answer.contains("of its heat enters"));
    assert!(text(&Shown::Full).contains("of its heat"));
}
