//! `emberpot learn` as a process.

use assert_cmd::Command;
use std::fs;
use std::path::{Path, PathBuf};

fn folder(test: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR"))
        .join("learn")
        .join(test);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

fn batch(more: &str) -> String {
    format!(
        "{more}\n[[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\nmass = \"7.5 g\"\n\
         [[ingredient]]\nsubstance = \"urea\"\nmass = \"3 g\"\n"
    )
}

const RUNS: &str = "[[run]]\nlabel = \"A\"\npeak_temperature = \"1190 °C\"\n\
                    instrument = \"thermocouple\"\n\
                    [[run]]\npeak_temperature = \"1150 °C\"\ninstrument = \"thermocouple\"\n\
                    [[run]]\nlabel = \"C\"\nremarks = \"not measured\"\n";

fn emberpot(folder: &Path, arguments: &[&str]) -> assert_cmd::assert::Assert {
    let mut command = Command::new(env!("CARGO_BIN_EXE_emberpot"));
    command.current_dir(folder).args(arguments).assert()
}

fn told(assert: &assert_cmd::assert::Assert) -> (String, String) {
    let output = assert.get_output();
    let text = |bytes: &Vec<u8>| String::from_utf8(bytes.clone()).unwrap();
    (text(&output.stdout), text(&output.stderr))
}

#[test]
fn what_was_learned_is_written_once_and_taken_in_with_a_line() {
    let folder = folder("whole");
    fs::write(folder.join("a.toml"), batch("") + RUNS).unwrap();
    let (out, _) = told(&emberpot(&folder, &["learn", "."]).code(0));
    assert!(out.contains("learned = \"learned.toml\""), "{out}");
    assert!(
        out.contains("a.toml, run 3 (C): it states neither"),
        "{out}"
    );
    let written = fs::read_to_string(folder.join("learned.toml")).unwrap();
    assert!(written.contains("a.toml, run 1 (A)"), "{written}");
    // A second time it is left alone, unless asked.
    let (_, complaint) = told(&emberpot(&folder, &["learn", "."]).code(2));
    assert!(complaint.contains("--replace"), "{complaint}");
    emberpot(
        &folder,
        &["learn", ".", "--replace", "--picture", "runs.svg"],
    )
    .code(0);
    let again = fs::read_to_string(folder.join("learned.toml")).unwrap();
    let picture = fs::read_to_string(folder.join("runs.svg")).unwrap();
    assert!(picture.contains("read 1190 °C, predicted"), "{picture}");
    assert_eq!(again, written, "the same runs teach the same to the byte");
    fs::write(folder.join("b.toml"), batch("learned = \"learned.toml\"")).unwrap();
    let (out, _) = told(&emberpot(&folder, &["burn", "b.toml", "--show", "heat"]));
    assert!(out.contains("learned from 2 runs"), "{out}");
}

#[test]
fn nothing_but_what_learn_wrote_is_replaced() {
    let folder = folder("kept");
    fs::write(folder.join("a.toml"), batch("") + RUNS).unwrap();
    let before = fs::read_to_string(folder.join("a.toml")).unwrap();
    let arguments = ["learn", "a.toml", "--replace", "--learned", "a.toml"];
    let (_, complaint) = told(&emberpot(&folder, &arguments).code(2));
    assert!(complaint.contains("not replaced"), "{complaint}");
    assert_eq!(fs::read_to_string(folder.join("a.toml")).unwrap(), before);
}

#[test]
fn bad_input_is_told_with_its_place() {
    let folder = folder("bad");
    fs::write(folder.join("none.toml"), batch("")).unwrap();
    let silent = batch("") + "[[run]]\nremarks = \"fine\"\n";
    fs::write(folder.join("silent.toml"), silent).unwrap();
    let masses =
        batch("") + "[[run]]\npeak_temperature = \"1100 °C\"\nmasses = { glycine = \"1 g\" }\n";
    fs::write(folder.join("masses.toml"), masses).unwrap();
    let gone = batch("learned = \"nowhere.toml\"");
    fs::write(folder.join("gone.toml"), gone).unwrap();
    fs::write(folder.join("other.toml"), batch("learned = \"none.toml\"")).unwrap();
    for (arguments, wanted) in [
        (["learn", "none.toml"], "no file holds a [[run]]"),
        (
            ["learn", "silent.toml"],
            "silent.toml, run 1: it states neither",
        ),
        (
            ["learn", "masses.toml"],
            "masses.toml, run 1: `masses` names `glycine`",
        ),
        (["burn", "gone.toml"], "nowhere.toml cannot be read"),
        (["burn", "other.toml"], "none.toml: line"),
    ] {
        let (out, complaint) = told(&emberpot(&folder, &arguments).code(2));
        assert!(complaint.contains(wanted), "{complaint}");
        assert!(out.is_empty(), "{out}");
        assert!(!folder.join("learned.toml").exists());
    }
}
