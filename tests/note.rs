//! `emberpot note` as a process.

use assert_cmd::Command;
use std::fs;
use std::path::PathBuf;

const BATCH: &str = "# the first afternoon\nname = \"white\" # of the course\n\
                     [[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\nmass = \"7.5 g\"\n\
                     [[ingredient]]\nsubstance = \"urea\"\nmass = \"3 g\"\n";

fn batch_file(test: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("note");
    fs::create_dir_all(&folder).unwrap();
    let file = folder.join(format!("{test}.toml"));
    fs::write(&file, BATCH).unwrap();
    file
}

fn note(file: &PathBuf, arguments: &[&str]) -> assert_cmd::assert::Assert {
    let mut command = Command::new(env!("CARGO_BIN_EXE_emberpot"));
    command
        .arg("note")
        .arg(file)
        .args(arguments)
        .write_stdin("")
        .assert()
}

#[test]
fn a_run_is_added_and_the_rest_of_the_file_stays_to_the_byte() {
    let file = batch_file("added");
    note(&file, &["peak_temperature=1120 °C", "powder.colour=white"]).code(0);
    note(&file, &["remarks=again, drier"]).code(0);
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.starts_with(BATCH), "{text}");
    assert_eq!(text.matches("[[run]]").count(), 2);
}

#[test]
fn what_would_not_be_read_is_not_written() {
    let file = batch_file("refused");
    let wrong: [&[&str]; 4] = [
        &["peak_temperature=hot"],
        &["peak_temprature=900 °C"],
        &["powder.magnet=sometimes"],
        &[],
    ];
    for arguments in wrong {
        note(&file, arguments).code(2);
        assert_eq!(fs::read_to_string(&file).unwrap(), BATCH);
    }
}

#[test]
fn a_spreadsheet_with_decimal_commas_is_taken_in() {
    let file = batch_file("commas");
    let table = file.with_extension("csv");
    let rows = "label;peak_temperature;loss_on_ignition;powder.lab;remarks;masses.urea\n\
                A;1180,5 °C;4,5 %;62,5 -4 -31,2;3,5 min late;1,204 g\n";
    for rows in [rows.to_owned(), rows.replace(';', "\t")] {
        fs::write(&file, BATCH).unwrap();
        fs::write(&table, rows).unwrap();
        note(&file, &["--from", table.to_str().unwrap()]).code(0);
        let text = fs::read_to_string(&file).unwrap();
        for line in [
            "peak_temperature = \"1180.5 °C\"",
            "loss_on_ignition = \"4.5 %\"",
            "lab = [62.5, -4.0, -31.2]",
            "remarks = \"3,5 min late\"",
            "urea = \"1.204 g\"",
        ] {
            assert!(text.contains(line), "{text}");
        }
    }
    // Which of the two is the decimal sign nobody knows.
    fs::write(&file, BATCH).unwrap();
    fs::write(&table, "label;peak_temperature\nA;1.180,5 °C\n").unwrap();
    note(&file, &["--from", table.to_str().unwrap()]).code(2);
    assert_eq!(fs::read_to_string(&file).unwrap(), BATCH);
}

#[test]
fn a_spreadsheet_of_runs_is_taken_in() {
    let file = batch_file("spreadsheet");
    let table = file.with_extension("csv");
    fs::write(
        &table,
        "date,ignited_after,powder.colour\n2026-03-02,7 min,white\n2026-03-09,8 min,\n",
    )
    .unwrap();
    note(&file, &["--from", table.to_str().unwrap()]).code(0);
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.starts_with(BATCH));
    assert_eq!(text.matches("[[run]]").count(), 2, "{text}");
}
