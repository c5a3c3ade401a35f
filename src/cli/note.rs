//! `emberpot note`: adds a run to a batch file.

use super::output::{read_text, write_grown};
use super::{Answer, CliError};
use emberpot::batch::Batch;
use emberpot::batch::note::{run_keys, runs_of_csv, with_run};
use emberpot::tables::Tables;
use std::io::{BufRead, IsTerminal, Write};
use std::path::PathBuf;

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
            runs_of_csv(&text).map_err(|error| CliError::Csv { error })?
        }
        None if arguments.entries.is_empty() => vec![asked()?],
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

/// Asks for each key at the terminal.
fn asked() -> Result<Vec<(String, String)>, CliError> {
    if !std::io::stdin().is_terminal() {
        let message = "nothing to note: give at least one KEY=VALUE, or --from CSV";
        return Err(CliError::Argument(message.to_owned()));
    }
    let failed = |error| CliError::Io {
        what: "terminal".to_owned(),
        error,
    };
    let mut lines = std::io::stdin().lock().lines();
    let mut entries = Vec::new();
    for key in run_keys() {
        let mut out = std::io::stderr().lock();
        write!(out, "{}: ", key.question)
            .and_then(|()| out.flush())
            .map_err(failed)?;
        let Some(line) = lines.next() else { break };
        let line = line.map_err(failed)?;
        if !line.trim().is_empty() {
            entries.push((key.name.to_owned(), line.trim().to_owned()));
        }
    }
    Ok(entries)
}
