//! `emberpot note`: adds a run to a batch file.

use super::answer::Answer;
use super::error::CliError;
use super::output::{read_text, write_grown};
use emberpot::internal::batch::note::{run_keys, runs_of_csv, with_run};
use emberpot::{Batch, Tables};
use std::io::{BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

#[derive(clap::Args)]
#[command(
    after_help = "Keys are those of [[run]] in `emberpot guide batch`: peak_temperature=\"1120 °C\" ignited_after=\"7 min\"\npowder.colour=white masses.urea=\"1.204 g\" … Without any, each is asked for; an empty answer leaves it out."
)]
pub struct Arguments {
    /// The batch file.
    file: PathBuf,
    /// What was seen, as KEY=VALUE.
    #[arg(value_name = "KEY=VALUE", value_parser = pair)]
    entries: Vec<(String, String)>,
    /// A table of a spreadsheet (CSV) with the keys in its first line and a run in each further one.
    #[arg(long, value_name = "CSV", conflicts_with = "entries")]
    from: Option<PathBuf>,
}

fn pair(text: &str) -> Result<(String, String), String> {
    let (key, value) = text
        .split_once('=')
        .ok_or("should be KEY=VALUE, such as powder_mass=\"1.62 g\"")?;
    Ok((key.trim().to_owned(), value.trim().to_owned()))
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let file = &arguments.file;
    let old = read_text(file)?;
    let runs = match &arguments.from {
        Some(csv) => {
            let text = read_text(csv)?;
            runs_of_csv(&text).map_err(|error| CliError::Argument(format!("CSV: {error}")))?
        }
        None if arguments.entries.is_empty() => vec![asked(file, &old, tables)?],
        None => vec![arguments.entries.clone()],
    };
    let mut new = old.clone();
    for run in &runs {
        new = with_run(&new, run).map_err(|error| CliError::Argument(error.to_string()))?;
    }
    // What would not be read is not kept.
    let batch = Batch::parse(&new, &file.display().to_string(), tables)?;
    write_grown(file, &old, &new)?;
    let noted = match runs.len() {
        1 => "1 run".to_owned(),
        more => format!("{more} runs"),
    };
    let all = batch.runs.len();
    let file = file.display();
    Ok(format!("{noted} noted in {file}; it holds {all} now\n").into())
}

/// Asks for each key at the terminal, and again while an answer cannot be read.
fn asked(file: &Path, old: &str, tables: &Tables) -> Result<Vec<(String, String)>, CliError> {
    if !std::io::stdin().is_terminal() {
        let message = "nothing to note: give at least one KEY=VALUE, or --from CSV";
        return Err(CliError::Argument(message.to_owned()));
    }
    let origin = file.display().to_string();
    let batch = Batch::parse(old, &origin, tables)?;
    let mut lines = std::io::stdin().lock().lines();
    say("An empty answer leaves it out; Ctrl-D ends.\n")?;
    let mut entries = Vec::new();
    for (key, question) in questions(&batch) {
        loop {
            say(&format!("{question}: "))?;
            let Some(line) = lines.next() else {
                say("\n")?;
                return Ok(entries);
            };
            let line = line.map_err(failed)?;
            let entry = (key.clone(), line.trim().to_owned());
            if entry.1.is_empty() {
                break;
            }
            match complaint(old, &origin, &entry, tables) {
                Some(complaint) => say(&format!("  {complaint}\n"))?,
                None => {
                    entries.push(entry);
                    break;
                }
            }
        }
    }
    Ok(entries)
}

/// Every key with its question; behind the setting, each mass as weighed.
fn questions(batch: &Batch) -> Vec<(String, String)> {
    let masses = batch.weighed.iter().map(|ingredient| {
        let name = &ingredient.reactant.name;
        (format!("masses.{name}"), format!("{name} as weighed"))
    });
    let mut masses: Vec<(String, String)> = masses.collect();
    let mut questions = Vec::new();
    for key in run_keys() {
        questions.push((key.name.to_owned(), key.question.to_owned()));
        if key.name == "setting" {
            questions.append(&mut masses);
        }
    }
    questions
}

/// What is wrong with one answer by itself.
fn complaint(old: &str, origin: &str, entry: &(String, String), tables: &Tables) -> Option<String> {
    let text = match with_run(old, std::slice::from_ref(entry)) {
        Ok(text) => text,
        Err(error) => return Some(error.to_string()),
    };
    let error = Batch::parse(&text, origin, tables).err()?;
    error
        .mistakes
        .first()
        .map(|mistake| mistake.message.clone())
}

fn say(text: &str) -> Result<(), CliError> {
    let mut out = std::io::stderr().lock();
    out.write_all(text.as_bytes())
        .and_then(|()| out.flush())
        .map_err(failed)
}

fn failed(error: std::io::Error) -> CliError {
    CliError::Io {
        what: "terminal".to_owned(),
        error,
    }
}
