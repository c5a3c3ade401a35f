//! Every file in `tests/bad_input` is refused with the message beside it, and nothing panics.
//!
//! `EMBERPOT_RENEW=1 cargo test bad_input` writes the messages anew; read the difference.

use emberpot::batch::LARGEST_FILE;
use emberpot::{Batch, Tables};
use std::path::Path;

fn message(bytes: &[u8], origin: &str, tables: &Tables) -> String {
    match Batch::from_bytes(bytes, origin, tables) {
        Ok(batch) => panic!("{origin} was accepted as {}", batch.name),
        Err(error) => error.to_string(),
    }
}

#[test]
fn each_file_gets_its_message() {
    let tables = Tables::built_in().unwrap();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bad_input");
    let mut names: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    names.sort();
    assert!(names.len() >= 30, "only {} files", names.len());
    let renew = std::env::var_os("EMBERPOT_RENEW").is_some();
    let mut wrong = Vec::new();
    for path in names {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let found = message(&std::fs::read(&path).unwrap(), &name, &tables) + "\n";
        let expected_path = path.with_extension("txt");
        if renew {
            std::fs::write(&expected_path, &found).unwrap();
        }
        let expected = std::fs::read_to_string(&expected_path).unwrap_or_default();
        if found != expected {
            wrong.push(format!("{name}\nexpected:\n{expected}\nfound:\n{found}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn bytes_that_are_no_text_are_refused() {
    let tables = Tables::built_in().unwrap();
    let found = message(&[0x00, 0xff, 0xfe, 0x42], "binary", &tables);
    assert!(
        found.contains("no text in UTF-8 (byte 1 is not)"),
        "{found}"
    );
    let found = message(&[0; 64], "zeros", &tables);
    assert!(found.contains("mistake"), "{found}");
}

#[test]
fn a_file_of_10_mb_is_refused_before_it_is_read() {
    let tables = Tables::built_in().unwrap();
    let found = message(&vec![b'#'; 10_000_000], "large", &tables);
    assert!(found.contains("too long") && found.contains(&LARGEST_FILE.to_string()));
}

#[test]
fn a_file_of_the_largest_size_is_read_in_full() {
    let tables = Tables::built_in().unwrap();
    let brackets = message("[".repeat(LARGEST_FILE).as_bytes(), "brackets", &tables);
    assert!(brackets.contains("mistake"));
    let key = format!("x = \"{}\"", "y".repeat(LARGEST_FILE - 10));
    let found = message(key.as_bytes(), "long line", &tables);
    assert!(
        found.lines().all(|line| line.chars().count() < 400),
        "a message line is too long"
    );
}

#[test]
fn a_missing_file_says_so() {
    let tables = Tables::built_in().unwrap();
    let error = Batch::read(Path::new("no/such/file.toml"), &tables).unwrap_err();
    assert!(error.to_string().contains("cannot be read"), "{error}");
}
