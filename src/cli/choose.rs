//! `emberpot choose`: which fuel, and how much of it, for the wanted phase.

use super::output::{json_text, print};
use super::{CliError, Format, read_batch, refuse_as_burn};
use emberpot::choose::choose;
use emberpot::report::{choice_json, choice_text};
use emberpot::tables::Tables;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch file, or - for the standard input; [wanted] says what the powder shall be.
    file: PathBuf,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<ExitCode, CliError> {
    let batch = read_batch(&arguments.file, tables)?;
    refuse_as_burn(&batch, tables)?;
    let choice = choose(&batch, tables)?;
    let text = match arguments.format {
        Format::Json => json_text(&choice_json(&choice)),
        Format::Text => {
            let mut text = String::new();
            choice_text(&choice, &mut text).expect("a String takes every text");
            text
        }
    };
    print(&text)?;
    Ok(ExitCode::SUCCESS)
}
