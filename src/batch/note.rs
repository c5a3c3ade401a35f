//! Adding a run to the text of a batch file, every comment and line of it kept.

use super::powder;
use super::run;
pub use super::run_key::{Kind, RunKey};
use std::collections::BTreeMap;
use thiserror::Error;
use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, Value};

/// Why a run cannot be added.
#[derive(Debug, Error, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum NoteError {
    #[error("{message}")]
    Syntax { message: String },
    #[error("a run has no `{key}`{hint}")]
    Key { key: String, hint: String },
    #[error("`{key}` is \"{value}\", but should be {wanted}")]
    Value {
        key: String,
        value: String,
        wanted: &'static str,
    },
    #[error("nothing to note: give at least one KEY=VALUE")]
    Nothing,
    #[error("`run` should be a table, written [run], or a list of tables, written [[run]]")]
    Run,
}

/// Every key that can be noted.
pub fn run_keys() -> impl Iterator<Item = &'static RunKey> {
    run::KEYS.iter().chain(powder::KEYS)
}

/// The text of a batch file with one more run at its end. `entries` are keys with their values as
/// a person writes them; `masses.NAME` is the mass of an ingredient as weighed. The run is not
/// checked further: read the new text as a batch before it is kept.
///
/// # Errors
/// `NoteError` if the text is no TOML, a key is unknown or a value of the wrong kind.
pub fn with_run(text: &str, entries: &[(String, String)]) -> Result<String, NoteError> {
    if entries.is_empty() {
        return Err(NoteError::Nothing);
    }
    let mut document: DocumentMut =
        text.parse()
            .map_err(|error: toml_edit::TomlError| NoteError::Syntax {
                message: error.to_string(),
            })?;
    let run = run_table(entries)?;
    let mut runs = match document.remove("run") {
        None => ArrayOfTables::new(),
        Some(Item::ArrayOfTables(runs)) => runs,
        Some(item) => {
            let only = item.into_table().map_err(|_| NoteError::Run)?;
            ArrayOfTables::from_iter([only])
        }
    };
    let first = runs.is_empty();
    runs.push(run);
    document.insert("run", Item::ArrayOfTables(runs));
    let mut new = document.to_string();
    if first && !text.is_empty() && !text.ends_with('\n') {
        new = format!("{text}\n{}", &new[text.len()..]);
    }
    Ok(new)
}

fn run_table(entries: &[(String, String)]) -> Result<Table, NoteError> {
    let mut table = Table::new();
    let mut powder = Table::new();
    let mut masses = Table::new();
    for (key, value) in entries {
        if let Some(name) = key.strip_prefix("masses.") {
            masses.insert(name, Item::Value(value.as_str().into()));
            continue;
        }
        let known = run_keys().find(|known| known.name == key);
        let known = known.ok_or_else(|| unknown(key))?;
        match known.name.strip_prefix("powder.") {
            Some("flakes") => powder.insert("flakes", Item::Value(flakes(value)?)),
            Some(name) => powder.insert(name, Item::Value(written(known, value)?)),
            None => table.insert(known.name, Item::Value(written(known, value)?)),
        };
    }
    table.decor_mut().set_prefix("\n");
    for (name, inner) in [("masses", masses), ("powder", powder)] {
        if !inner.is_empty() {
            table.insert(name, Item::Table(inner));
        }
    }
    Ok(table)
}

fn unknown(key: &str) -> NoteError {
    let names = || run_keys().map(|known| known.name);
    let hint = match crate::names::closest(key, names()) {
        Some(near) => format!("; did you mean `{near}`?"),
        None => format!("; it has {}", names().collect::<Vec<_>>().join(", ")),
    };
    NoteError::Key {
        key: key.to_owned(),
        hint,
    }
}

fn written(known: &RunKey, text: &str) -> Result<Value, NoteError> {
    let wrong = |wanted| NoteError::Value {
        key: known.name.to_owned(),
        value: text.to_owned(),
        wanted,
    };
    match known.written {
        Kind::Text | Kind::Quantity => Ok(text.into()),
        Kind::Flag => match text.to_lowercase().as_str() {
            "true" | "yes" => Ok(true.into()),
            "false" | "no" => Ok(false.into()),
            _ => Err(wrong("yes or no")),
        },
        Kind::Texts => {
            let parts = text
                .split(';')
                .map(str::trim)
                .filter(|part| !part.is_empty());
            Ok(Value::Array(parts.collect()))
        }
        Kind::Numbers => numbers(text)
            .map(|numbers| Value::Array(Array::from_iter(numbers)))
            .ok_or_else(|| wrong("numbers, such as 62.5; -4; -31.2")),
    }
}

fn numbers(text: &str) -> Option<Vec<f64>> {
    text.split([';', ' '])
        .filter(|part| !part.is_empty())
        .map(|part| part.parse().ok().filter(|x: &f64| x.is_finite()))
        .collect()
}

/// `41 live, 3 dead` as a table.
fn flakes(text: &str) -> Result<Value, NoteError> {
    let mut counts = BTreeMap::new();
    for part in text.split([',', ';']) {
        let mut words = part.split_whitespace();
        if let (Some(count), Some(kind @ ("live" | "dead")), None) =
            (words.next(), words.next(), words.next())
        {
            counts.insert(kind, count.parse::<i64>().ok());
        }
    }
    let count = |kind| counts.get(kind).copied().flatten();
    match (count("live"), count("dead")) {
        (Some(live), Some(dead)) => Ok(Value::InlineTable(InlineTable::from_iter([
            ("live", live),
            ("dead", dead),
        ]))),
        _ => Err(NoteError::Value {
            key: "powder.flakes".to_owned(),
            value: text.to_owned(),
            wanted: "such as \"41 live, 3 dead\"",
        }),
    }
}

/// Runs from a table of a spreadsheet: the first line holds the keys, each further line is a run;
/// an empty field says nothing. Where fields are parted by semicolons or tabs, a decimal comma is a
/// point.
///
/// # Errors
/// A message with the line, if the text is no such table.
pub fn runs_of_csv(text: &str) -> Result<Vec<Vec<(String, String)>>, csv::Error> {
    let delimiter = other_delimiter(text);
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .delimiter(delimiter.unwrap_or(b','))
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let keys = reader.headers()?.clone();
    reader
        .records()
        .map(|record| {
            let record = record?;
            let pairs = keys.iter().zip(record.iter());
            let filled = pairs.filter(|(_, value)| !value.is_empty());
            Ok(filled
                .map(|(key, value)| (key.to_owned(), field(key, value, delimiter.is_some())))
                .collect())
        })
        .filter(|run: &Result<Vec<_>, _>| !run.as_ref().is_ok_and(Vec::is_empty))
        .collect()
}

/// A field of a spreadsheet; where it may have decimal commas, those of numbers are points.
fn field(key: &str, value: &str, commas: bool) -> String {
    let known = run_keys().find(|known| known.name == key);
    let number = key.starts_with("masses.")
        || known.is_some_and(|known| matches!(known.written, Kind::Quantity | Kind::Numbers));
    if commas && number {
        with_point(value)
    } else {
        value.to_owned()
    }
}

/// Tab or semicolon, if the first line of a spreadsheet has them between its fields: then numbers may
/// have decimal commas.
pub(crate) fn other_delimiter(text: &str) -> Option<u8> {
    let head = text.lines().find(|line| !line.starts_with('#'));
    let head = head.unwrap_or_default();
    [b'\t', b';']
        .into_iter()
        .find(|delimiter| head.contains(char::from(*delimiter)))
}

/// A number with its decimal comma as a point. One that has points too is left as it is, since nobody
/// knows which of them is the decimal one.
pub(crate) fn with_point(value: &str) -> String {
    if value.contains('.') {
        return value.to_owned();
    }
    let digit = |at: Option<&char>| at.is_some_and(char::is_ascii_digit);
    let letters: Vec<char> = value.chars().collect();
    let between = |at: usize| at > 0 && digit(letters.get(at - 1)) && digit(letters.get(at + 1));
    let letters = letters.iter().enumerate();
    letters
        .map(|(at, c)| if *c == ',' && between(at) { '.' } else { *c })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entries(list: &[(&str, &str)]) -> Vec<(String, String)> {
        list.iter()
            .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
            .collect()
    }

    #[test]
    fn all_that_stood_in_the_file_stays_as_it_was() {
        let texts = [
            "# head\nname = \"x\"  # beside\n\n[water]\nleft_at_ignition = 0.1 # guess\n# tail\n",
            "name = \"x\"\n",
            "name = \"x\"",
            "[[run]] # the first\ndate = \"1\"\n[run.powder]\ncolour = \"red\"\n\n[vessel]\nname = \"dish\"\n",
        ];
        for text in texts {
            let new = with_run(text, &entries(&[("peak_temperature", "1100 °C")])).unwrap();
            for line in text.lines() {
                assert!(
                    new.lines().any(|other| other == line),
                    "{line} is gone:\n{new}"
                );
            }
            let parsed: toml::Table = toml::from_str(&new).unwrap();
            let runs = parsed["run"].as_array().unwrap();
            let last = runs.last().unwrap().as_table().unwrap();
            assert_eq!(last["peak_temperature"].as_str(), Some("1100 °C"));
        }
    }

    #[test]
    fn a_single_run_becomes_the_first_of_a_list() {
        let text =
            "[run] # invented\npeak_temperature = \"900 °C\"\n[run.powder]\nfizz = \"weak\"\n";
        let new = with_run(text, &entries(&[("remarks", "second")])).unwrap();
        let parsed: toml::Table = toml::from_str(&new).unwrap();
        let runs = parsed["run"].as_array().unwrap();
        assert_eq!(runs.len(), 2, "{new}");
        assert_eq!(runs[0]["powder"]["fizz"].as_str(), Some("weak"));
        assert_eq!(runs[1]["remarks"].as_str(), Some("second"));
        assert!(new.contains("# invented"), "{new}");
    }

    #[test]
    fn values_are_written_as_the_file_wants_them() {
        let new = with_run(
            "",
            &entries(&[
                ("ignited", "yes"),
                ("photographs", "a.jpg; b.jpg"),
                ("powder.lab", "62.5; -4; -31.2"),
                ("powder.flakes", "41 live, 3 dead"),
                ("masses.urea", "1.204 g"),
            ]),
        )
        .unwrap();
        let run = &toml::from_str::<toml::Table>(&new).unwrap()["run"][0];
        assert_eq!(run["ignited"].as_bool(), Some(true));
        assert_eq!(run["photographs"].as_array().map(Vec::len), Some(2));
        assert_eq!(run["powder"]["lab"][1].as_float(), Some(-4.0));
        assert_eq!(run["powder"]["flakes"]["dead"].as_integer(), Some(3));
        assert_eq!(run["masses"]["urea"].as_str(), Some("1.204 g"));
    }

    #[test]
    fn a_misspelt_key_is_told_with_the_near_one() {
        let error = with_run("", &entries(&[("peak_temprature", "900 °C")])).unwrap_err();
        assert!(
            error
                .to_string()
                .contains("did you mean `peak_temperature`"),
            "{error}"
        );
    }

    #[test]
    fn a_spreadsheet_gives_a_run_a_line() {
        let runs = runs_of_csv(
            "date;ignited_after;remarks\n2026-03-02;7 min;\n;;\n2026-03-09;8 min;quiet\n",
        )
        .unwrap();
        assert_eq!(runs.len(), 2);
        assert_eq!(runs[1][2], ("remarks".to_owned(), "quiet".to_owned()));
        assert_eq!(runs[0].len(), 2);
    }
}
