//! Sweeps: every row is the single run, in a fixed order, and follows the physics.

use approx::assert_relative_eq;
use assert_cmd::Command;
use emberpot::internal::report::{Shown, sweep_csv, sweep_document, sweep_json};
use emberpot::vary::{Axis, Factor, Point, Sweep, VaryError, batch_at, sweep, usual_state};
use emberpot::{Batch, Tables, WaterStateName, plan};
use uom::si::ratio::ratio;
use uom::si::specific_volume::cubic_meter_per_kilogram;
use uom::si::thermodynamic_temperature::kelvin;

const SPINEL: &str = r#"
    name = "Course spinel with two fuels"
    [target]
    formula = "ZnAl2O4"
    product_mass = "2 g"
    equivalence_ratio = 1.1
    [[ingredient]]
    substance = "Zn(NO3)2·6H2O"
    [[ingredient]]
    substance = "Al(NO3)3·9H2O"
    [[ingredient]]
    substance = "urea"
    share = 0.7
    [[ingredient]]
    substance = "glycine"
    [[ingredient]]
    substance = "water"
    volume = "15 mL"
"#;

fn parse(text: &str, tables: &Tables) -> Batch {
    Batch::parse(text, "test", tables).unwrap_or_else(|error| panic!("{error}"))
}

fn axis(name: &str, from: &str, to: &str, steps: usize, batch: &Batch, tables: &Tables) -> Axis {
    let factor = Factor::read(name, batch, tables).unwrap_or_else(|error| panic!("{error}"));
    let (from, to) = (factor.level(from).unwrap(), factor.level(to).unwrap());
    Axis::evenly(factor, from, to, steps).unwrap()
}

fn swept(batch: &Batch, axes: Vec<Axis>, tables: &Tables) -> Sweep {
    let state = usual_state(batch, &axes);
    sweep(batch, axes, state, tables, &|| {}).unwrap()
}

fn points(sweep: &Sweep) -> Vec<&Point> {
    sweep
        .rows
        .iter()
        .map(|row| {
            row.outcome
                .as_ref()
                .unwrap_or_else(|error| panic!("{error}"))
        })
        .collect()
}

/// Every field of the row against the plan of the changed batch, bit by bit; a row without a flame
/// has none there either.
fn equals_single_runs(batch: &Batch, sweep: &Sweep, tables: &Tables) {
    assert!(sweep.rows.iter().any(|row| row.outcome.is_ok()));
    for row in &sweep.rows {
        let single = batch_at(batch, &sweep.axes, &row.levels, tables).unwrap();
        let plan = plan(&single, tables).unwrap();
        let result = plan.state(sweep.state).unwrap();
        let again = Point::of(&single, &plan.redox, &plan.product, result, tables);
        match (&row.outcome, again) {
            (Ok(point), Ok(again)) => assert_eq!(*point, again, "at {:?}", row.levels),
            (Err(error), Err(again)) => assert_eq!(error.to_string(), again.to_string()),
            (point, again) => panic!("at {:?}: {point:?} and {again:?}", row.levels),
        }
    }
}

#[test]
fn every_row_equals_the_single_run_exactly() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    for (name, from, to) in [
        ("fuel-ratio", "0.6", "2.2"),
        ("water", "0 mL", "30 mL"),
        ("water-left", "0 %", "40 %"),
        ("fuel-share:glycine", "0 %", "100 %"),
        ("loss", "0 %", "40 %"),
        ("start", "25 °C", "200 °C"),
        ("size", "0.5 g", "5 g"),
        ("air", "0 %", "100 %"),
        ("flux:H3BO3", "0 %", "10 %"),
    ] {
        let axes = vec![axis(name, from, to, 3, &batch, &tables)];
        let sweep = swept(&batch, axes, &tables);
        equals_single_runs(&batch, &sweep, &tables);
    }
}

#[test]
fn a_doped_target_is_swept_by_its_dopant() {
    let tables = Tables::built_in().unwrap();
    let text = SPINEL.replace("ZnAl2O4", "Zn0.8Co0.2Al2O4").replace(
        "[[ingredient]]\n    substance = \"Al",
        "[[ingredient]]\n    substance = \"Co(NO3)2·6H2O\"\n    [[ingredient]]\n    substance = \"Al",
    );
    let batch = parse(&text, &tables);
    let axes = vec![axis("dopant:Co/Zn", "0 %", "50 %", 3, &batch, &tables)];
    let sweep = swept(&batch, axes, &tables);
    equals_single_runs(&batch, &sweep, &tables);
    let cobalt = |row: usize| {
        let sweep = &sweep;
        let point = points(sweep)[row];
        point.condensed.iter().any(|(id, _)| id.contains("Co"))
    };
    assert!(!cobalt(0) && cobalt(1) && cobalt(2));
}

#[test]
fn a_file_with_the_ratio_of_a_row_gives_that_row() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    let axes = vec![axis("fuel-ratio", "0.8", "1.6", 3, &batch, &tables)];
    let sweep = swept(&batch, axes, &tables);
    for (row, point) in sweep.rows.iter().zip(points(&sweep)) {
        let text = SPINEL.replace(
            "equivalence_ratio = 1.1",
            &format!("equivalence_ratio = {}", row.levels[0]),
        );
        let plan = plan(&parse(&text, &tables), &tables).unwrap();
        let result = plan.state(WaterStateName::BoiledDown).unwrap();
        // Amounts by another way round: equal but for rounding.
        assert_relative_eq!(
            point.equilibrium.get::<kelvin>(),
            result.equilibrium_temperature().unwrap().get::<kelvin>(),
            max_relative = 1e-9
        );
        assert_relative_eq!(
            point.complete.unwrap().get::<kelvin>(),
            result.complete.flame.temperature().unwrap().get::<kelvin>(),
            max_relative = 1e-9
        );
    }
}

#[test]
fn the_order_of_the_rows_does_not_depend_on_the_threads() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    let on = |threads| {
        let axes = vec![
            axis("fuel-ratio", "0.6", "2.4", 7, &batch, &tables),
            axis("water-left", "0 %", "50 %", 5, &batch, &tables),
        ];
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| swept(&batch, axes, &tables))
    };
    let (one, four) = (on(1), on(4));
    assert_eq!(sweep_csv(&one), sweep_csv(&four));
    assert_eq!(sweep_json(&one), sweep_json(&four));
    assert_eq!(one.rows[0].levels, [0.6, 0.0]);
    assert_eq!(one.rows[4].levels, [0.6, 50.0]);
    assert_eq!(one.rows[34].levels, [2.4, 50.0]);
}

#[test]
fn a_row_without_a_result_keeps_its_place() {
    let tables = Tables::built_in().unwrap();
    // The acetate alone already brings φ 0.56: below that no fuel can be taken away.
    let text = r#"
        [[ingredient]]
        substance = "Zn(CH3COO)2·2H2O"
        amount = "1 mmol"
        [[ingredient]]
        substance = "Al(NO3)3·9H2O"
        amount = "2 mmol"
        [[ingredient]]
        substance = "urea"
        amount = "3 mmol"
    "#;
    let batch = parse(text, &tables);
    let axes = vec![axis("fuel-ratio", "0.2", "1.4", 4, &batch, &tables)];
    let sweep = swept(&batch, axes, &tables);
    let failed: Vec<bool> = sweep.rows.iter().map(|row| row.outcome.is_err()).collect();
    assert_eq!(failed, [true, false, false, false]);
    assert!(matches!(
        sweep.rows[0].outcome,
        Err(VaryError::Change(_) | VaryError::Redox(_))
    ));
    let json = sweep_json(&sweep);
    assert!(json["rows"][0]["error"].as_str().unwrap().contains("fuel"));
    assert!(json["rows"][0]["result"].is_null());
    assert_eq!(sweep_csv(&sweep).lines().count(), 5);
}

/// Whether each value is above the one before it.
fn rises(values: &[f64]) -> bool {
    values.windows(2).all(|pair| pair[1] > pair[0])
}

#[test]
fn heat_lost_and_water_cool_the_flame_and_a_warm_start_heats_it() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    for (name, from, to, falls) in [
        ("loss", "0 %", "50 %", true),
        ("water-left", "0 %", "45 %", true),
        ("start", "25 °C", "250 °C", false),
    ] {
        let axes = vec![axis(name, from, to, 8, &batch, &tables)];
        let sweep = swept(&batch, axes, &tables);
        let sign = if falls { -1.0 } else { 1.0 };
        let all = points(&sweep);
        let fixed: Vec<f64> = all
            .iter()
            .filter_map(|point| point.complete)
            .map(|t| sign * t.get::<kelvin>())
            .collect();
        let equilibrium: Vec<f64> = all
            .iter()
            .map(|point| sign * point.equilibrium.get::<kelvin>())
            .collect();
        assert!(fixed.len() > 5 && rises(&fixed), "{name}: {fixed:?}");
        assert!(rises(&equilibrium), "{name}: {equilibrium:?}");
    }
}

#[test]
fn a_sweep_of_the_start_says_where_a_heated_burn_starts() {
    let tables = Tables::built_in().unwrap();
    let told = |heating: &str, over: &str, from: &str, to: &str| {
        let batch = parse(
            &format!("{SPINEL}[water]\nleft_at_ignition = 0.2\n{heating}"),
            &tables,
        );
        let axes = vec![axis(over, from, to, 3, &batch, &tables)];
        let sweep = swept(&batch, axes, &tables);
        let at = |row: &Point| row.equilibrium.get::<kelvin>();
        let points = points(&sweep);
        let moves = (at(points[2]) - at(points[0])).abs();
        let text = sweep_document(&sweep, &Shown::Answer).text(80);
        (moves, text.contains("The burn starts at the temperature"))
    };
    let furnace = "[heating]\nway = \"muffle furnace\"\n";
    // Where the heating sets the start, a warmer one does next to nothing, and that is said.
    let (moves, said) = told(furnace, "start", "20 °C", "200 °C");
    assert!(moves < 20.0 && said, "{moves} K, {said}");
    let (moves, said) = told("", "start", "20 °C", "200 °C");
    assert!(moves > 50.0 && !said, "{moves} K, {said}");
    assert!(!told(furnace, "water-left", "0 %", "40 %").1);
}

#[test]
fn the_caution_about_metal_vapour_tells_the_share_of_the_sweep() {
    let tables = Tables::built_in().unwrap();
    let zinc = "[target]\nformula = \"ZnO\"\nproduct_mass = \"1 g\"\nequivalence_ratio = 1.3\n\
                [[ingredient]]\nsubstance = \"Zn(NO3)2·6H2O\"\n[[ingredient]]\nsubstance = \"glycine\"\n\
                [[ingredient]]\nsubstance = \"water\"\nvolume = \"5 mL\"\n[water]\nleft_at_ignition = 0\n";
    let (mut told, mut untold, mut last) = (0, 0, 2.0);
    for lost in [0.05, 0.2, 0.35, 0.5, 0.65] {
        let batch = parse(
            &format!("{zinc}[conditions]\nheat_loss = {lost}\n"),
            &tables,
        );
        let plan = plan(&batch, &tables).unwrap();
        let dried = plan.state(WaterStateName::Dried).unwrap();
        let point = Point::of(&batch, &plan.redox, &plan.product, dried, &tables).unwrap();
        let share = point
            .evaporated
            .first()
            .map_or(0.0, |(_, share)| share.get::<ratio>());
        // A colder burn keeps more, as the caution says.
        assert!(
            (0.0..=1.0).contains(&share) && share <= last,
            "{lost}: {share} after {last}"
        );
        last = share;
        let caution = plan
            .advice
            .warnings
            .iter()
            .find(|w| w.code == "metal-vapour");
        assert_eq!(caution.is_some(), share > 0.1, "{lost}: {share}");
        match caution {
            Some(caution) => {
                let words = format!("{:.0} % of the zinc leaves as vapour", 100.0 * share);
                assert!(caution.text.contains(&words), "{words}: {}", caution.text);
                told += 1;
            }
            None => untold += 1,
        }
    }
    assert!(told > 0 && untold > 0, "{told} {untold}");
}

#[test]
fn gas_per_gram_grows_with_fuel_and_oxygen_gets_scarce() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    let axes = vec![axis("fuel-ratio", "0.8", "3", 11, &batch, &tables)];
    let sweep = swept(&batch, axes, &tables);
    let all = points(&sweep);
    let gas: Vec<f64> = all
        .iter()
        .map(|point| point.gas_per_product.get::<cubic_meter_per_kilogram>())
        .collect();
    assert!(rises(&gas), "{gas:?}");
    let lean = all[0].log10_oxygen_pressure.unwrap();
    let rich = all[10].log10_oxygen_pressure.unwrap();
    assert!(lean > -2.0 && rich < -10.0, "{lean} {rich}");
}

#[test]
fn the_size_changes_no_temperature() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    let axes = vec![axis("size", "0.2 g", "5 g", 4, &batch, &tables)];
    let sweep = swept(&batch, axes, &tables);
    let all = points(&sweep);
    for (row, point) in sweep.rows.iter().zip(&all) {
        assert_relative_eq!(
            point.equilibrium.get::<kelvin>(),
            all[0].equilibrium.get::<kelvin>(),
            max_relative = 1e-8
        );
        let mass = point.product_mass.get::<uom::si::mass::gram>();
        assert_relative_eq!(mass, row.levels[0], max_relative = 1e-12);
    }
}

#[test]
fn levels_have_units_and_ranges() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    let read = |name: &str| Factor::read(name, &batch, &tables);
    assert!(matches!(
        read("fuel-ration"),
        Err(VaryError::UnknownFactor { close: Some(close), .. }) if close == "fuel-ratio"
    ));
    assert!(matches!(read("loss:x"), Err(VaryError::Qualifier { .. })));
    assert!(matches!(read("dopant"), Err(VaryError::DopantUnclear)));
    assert!(matches!(
        read("dopant:Eu/Sr"),
        Err(VaryError::NotInBatch { .. })
    ));
    assert!(matches!(
        read("fuel-share:citric acid anhydrous"),
        Err(VaryError::NotInBatch { .. })
    ));
    let start = read("start").unwrap();
    assert!(matches!(start.level("25"), Err(VaryError::Level { .. })));
    assert!(matches!(
        start.level("900 °C"),
        Err(VaryError::OutOfRange { .. })
    ));
    let ratio_factor = read("fuel-ratio").unwrap();
    assert!(matches!(
        Axis::evenly(ratio_factor.clone(), 1.0, 2.0, 1),
        Err(VaryError::Steps { steps: 1 })
    ));
    assert!(Axis::evenly(ratio_factor, 1.0, 1.0, 1).is_ok());
}

#[test]
fn a_level_that_breaks_the_charges_is_a_row_with_its_reason() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    let axes = vec![axis("dopant:Zn/Al", "33 %", "60 %", 2, &batch, &tables)];
    let sweep = swept(&batch, axes, &tables);
    let reason = |row: usize| {
        sweep.rows[row]
            .outcome
            .as_ref()
            .err()
            .map(ToString::to_string)
    };
    assert_eq!(reason(0), None);
    assert!(reason(1).unwrap().contains("charge"));
}

#[test]
fn the_share_of_a_fuel_is_by_valence() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    let factor = Factor::read("fuel-share:urea", &batch, &tables).unwrap();
    let changed = factor.at(25.0, &batch, &tables).unwrap();
    let sum = changed.redox().unwrap();
    let urea = sum
        .lines
        .iter()
        .find(|line| line.formula.to_string() == "CH4N2O")
        .unwrap();
    let share = urea.total / sum.reducing;
    assert_relative_eq!(share.get::<ratio>(), 0.25, max_relative = 1e-12);
}

fn emberpot() -> Command {
    Command::cargo_bin("emberpot").unwrap()
}

#[test]
fn the_command_writes_csv_with_units_in_the_head() {
    let run = emberpot()
        .args([
            "vary",
            "-",
            "--over",
            "fuel-ratio",
            "--from",
            "0.5",
            "--to",
            "2",
        ])
        .args(["--steps", "4", "--and", "loss", "--and-from", "0 %"])
        .args(["--and-to", "20 %", "--and-steps", "2", "--format", "csv"])
        .write_stdin(SPINEL)
        .assert()
        .success();
    let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    let mut lines = text.lines();
    let head = lines.next().unwrap();
    assert!(head.starts_with("equivalence_ratio,heat_loss_percent,phi,"));
    assert!(head.ends_with(",reason"));
    assert_eq!(lines.count(), 8);
}

#[test]
fn a_sweep_over_the_balance_has_it_among_its_levels() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    let levels = |from: &str, to: &str, steps| {
        let axis = axis("fuel-ratio", from, to, steps, &batch, &tables);
        axis.with_balance().levels
    };
    assert_eq!(levels("0.7", "1.6", 4), [0.7, 1.0, 1.3, 1.6]);
    assert_eq!(levels("0.8", "1.4", 3), [0.8, 1.0, 1.1, 1.4]);
    assert_eq!(levels("1.4", "0.8", 3), [1.4, 1.1, 1.0, 0.8]);
    assert_eq!(levels("1.1", "1.5", 2), [1.1, 1.5]);
    let other = axis("loss", "0 %", "20 %", 2, &batch, &tables).with_balance();
    assert_eq!(other.levels.len(), 2);
}

#[test]
fn the_text_fits_eighty_columns() {
    let tables = Tables::built_in().unwrap();
    let batch = parse(SPINEL, &tables);
    let axes = vec![
        axis("loss", "0 %", "20 %", 3, &batch, &tables),
        axis("start", "25 °C", "75 °C", 3, &batch, &tables),
    ];
    let text = sweep_document(&swept(&batch, axes, &tables), &Shown::Full).text(80);
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

#[test]
fn a_wrong_factor_is_bad_input() {
    let run = emberpot()
        .args(["vary", "-", "--over", "colour", "--from", "1", "--to", "2"])
        .write_stdin(SPINEL)
        .assert()
        .code(2);
    let error = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(error.contains("fuel-ratio") && run.get_output().stdout.is_empty());
}

#[test]
fn a_sweep_without_any_result_says_so() {
    let run = emberpot()
        .args([
            "vary", "-", "--over", "loss", "--from", "0 %", "--to", "5 %",
        ])
        .args(["--steps", "2", "--water-state", "at-ignition"])
        .write_stdin(SPINEL)
        .assert()
        .code(2);
    let output = run.get_output();
    assert!(String::from_utf8_lossy(&output.stdout).contains("left_at_ignition"));
}
