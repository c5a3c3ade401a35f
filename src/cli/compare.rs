//! `emberpot compare`: batches side by side.

use super::output::{page_width, print};
use super::{CliError, TableFormat, prepare};
use emberpot::compare::compare;
use emberpot::report::{compared_csv, compared_document, compared_json, json_text};
use emberpot::tables::Tables;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch files, two to six; one of them may be - for the standard input.
    #[arg(required = true, num_args = 2..)]
    files: Vec<PathBuf>,
    /// Show every state of the water, and what the batches share.
    #[arg(long)]
    full: bool,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = TableFormat::Text)]
    format: TableFormat,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<ExitCode, CliError> {
    let batches = arguments
        .files
        .iter()
        .map(|file| prepare(file, tables))
        .collect::<Result<Vec<_>, _>>()?;
    let comparison = compare(&batches)?;
    let text = match arguments.format {
        TableFormat::Csv => compared_csv(&comparison),
        TableFormat::Json => json_text(&compared_json(&comparison)),
        TableFormat::Text => compared_document(&comparison, arguments.full).text(page_width()),
    };
    print(&text)?;
    Ok(ExitCode::SUCCESS)
}
