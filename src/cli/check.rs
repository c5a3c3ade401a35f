//! `emberpot check`: every mistake of a batch file, without an estimate.

use super::answer::{Answer, Format};
use super::error::CliError;
use super::input::read_batch;
use emberpot::internal::report::{json_text, mistakes_json};
use emberpot::{PrepareError, Prepared, Tables};
use std::path::PathBuf;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch file, or - for the standard input.
    file: PathBuf,
    /// How the mistakes are written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let read = read_batch(&arguments.file, tables);
    if let Ok(batch) = &read {
        // A file without mistake can still hold a batch that is refused.
        if let Err(refused @ PrepareError::Refused(_)) = Prepared::new(batch, tables) {
            return Err(refused.into());
        }
    }
    match (arguments.format, read) {
        (Format::Text, Ok(batch)) => {
            Ok(format!("no mistake in the file of \"{}\"\n", batch.name).into())
        }
        (Format::Json, Ok(_)) => Ok(json_text(&mistakes_json(None)).into()),
        (Format::Json, Err(CliError::Batch(error))) => {
            let mistakes = json_text(&mistakes_json(Some(&error)));
            Ok(Answer::from(mistakes).with(2))
        }
        (_, Err(error)) => Err(error),
    }
}
