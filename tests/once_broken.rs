//! Batches that once hung or broke the program, each through every command as a process.

use assert_cmd::Command;
use rayon::prelude::*;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Bound on the time of one command. A hang is endless; the bound leaves room for a loaded
/// machine and a build without optimisation.
const PATIENCE: Duration = Duration::from_secs(120);

/// The commands, `FILE` standing for the batch.
const COMMANDS: [&[&str]; 9] = [
    &["burn", "FILE"],
    &["weigh", "FILE"],
    &["ignite", "FILE"],
    &["ignite", "FILE", "--all-ways"],
    &["ignite", "FILE", "--all-ways", "--format", "json"],
    &[
        "vary",
        "FILE",
        "--over",
        "fuel-ratio",
        "--from",
        "0.8",
        "--to",
        "1.2",
        "--steps",
        "3",
    ],
    &["compare", "FILE", "FILE"],
    &["report", "FILE"],
    &["burn", "FILE", "--format", "json"],
];

fn batches() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/once_broken");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    files
}

#[test]
fn every_command_comes_to_an_end_without_a_panic() {
    let files = batches();
    assert!(!files.is_empty());
    files.par_iter().for_each(|file| {
        for command in COMMANDS {
            let arguments = command.iter().map(|a| match *a {
                "FILE" => file.as_os_str(),
                word => word.as_ref(),
            });
            let output = Command::cargo_bin("emberpot")
                .unwrap()
                .args(arguments)
                .timeout(PATIENCE)
                .output()
                .unwrap();
            let code = output.status.code();
            let errors = String::from_utf8_lossy(&output.stderr);
            assert!(
                matches!(code, Some(0..=2)) && !errors.contains("panicked"),
                "{} {command:?}: {code:?} {errors}",
                file.display()
            );
        }
    });
}
