//! `emberpot compare`: batches side by side.

use super::answer::{Answer, TableFormat};
use super::error::CliError;
use super::input::prepare;
use super::output::page_width;
use clap::builder::PossibleValuesParser;
use emberpot::internal::report::{
    COMPARE_SECTIONS, Shown, compared_csv, compared_document, compared_json,
};
use emberpot::{Tables, compare};
use std::path::PathBuf;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch files, two to six; one of them may be - for the standard input.
    #[arg(required = true, num_args = 2..)]
    files: Vec<PathBuf>,
    /// Show these sections instead of the answer; several with commas between.
    #[arg(long, value_name = "SECTION", value_delimiter = ',', value_parser = PossibleValuesParser::new(COMPARE_SECTIONS))]
    show: Vec<String>,
    /// Show the answer and every section.
    #[arg(long, conflicts_with = "show")]
    full: bool,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = TableFormat::Text)]
    format: TableFormat,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let batches = arguments
        .files
        .iter()
        .map(|file| prepare(file, tables))
        .collect::<Result<Vec<_>, _>>()?;
    let comparison = compare(&batches)?;
    let shown = Shown::asked(&arguments.show, arguments.full);
    let text = arguments.format.write(
        || compared_document(&comparison, &shown).text(page_width()),
        || compared_csv(&comparison),
        || compared_json(&comparison),
    );
    Ok(text.into())
}
