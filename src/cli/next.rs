//! `emberpot next`: one change to make next.

use super::answer::{Answer, Format};
use super::error::CliError;
use super::learn::pages;
use super::output::page_width;
use emberpot::Tables;
use emberpot::internal::learn::LearnError;
use emberpot::internal::next::next;
use emberpot::internal::report::{next_document, next_json};
use std::path::PathBuf;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch files, or folders of them; the runs of all teach, the last one is changed.
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let pages = pages(&arguments.files, tables)?;
    let proposal = next(&pages, tables)?.ok_or(LearnError::NoRuns)?;
    let text = arguments.format.write(
        || next_document(&proposal).text(page_width()),
        || next_json(&proposal),
    );
    Ok(text.into())
}
