//! `emberpot choose`: which fuel, and how much of it, for the wanted phase.

use super::output::{page_width, print};
use super::{CliError, TableFormat, prepare};
use emberpot::choose::choose;
use emberpot::report::{choice_csv, choice_document, choice_json, json_text};
use emberpot::tables::Tables;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch file, or - for the standard input; [wanted] says what the powder shall be.
    file: PathBuf,
    /// Show reasons and details too.
    #[arg(long)]
    full: bool,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = TableFormat::Text)]
    format: TableFormat,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<ExitCode, CliError> {
    let prepared = prepare(&arguments.file, tables)?;
    let choice = choose(&prepared)?;
    let text = match arguments.format {
        TableFormat::Csv => choice_csv(&choice),
        TableFormat::Json => json_text(&choice_json(&choice)),
        TableFormat::Text => choice_document(&choice, arguments.full).text(page_width()),
    };
    print(&text)?;
    Ok(ExitCode::SUCCESS)
}
