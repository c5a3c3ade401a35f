//! `emberpot choose`: which fuel, and how much of it, for the wanted phase.

use super::answer::{Answer, TableFormat};
use super::error::CliError;
use super::input::read_batch;
use super::output::page_width;
use clap::builder::PossibleValuesParser;
use emberpot::batch::{LARGEST_FILE, Wanted};
use emberpot::internal::report::{
    CHOOSE_SECTIONS, Shown, choice_csv, choice_document, choice_json, json_text, wish_document,
    wish_json,
};
use emberpot::internal::wish::answer;
use emberpot::{Batch, Prepared, Tables, choose};
use std::io::Read;
use std::path::{Path, PathBuf};

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch file, or - for the standard input; [wanted] says what the powder shall be. A file with
    /// [wanted] alone (`colour`, `glow`, `use`) is answered by a batch to start from.
    file: PathBuf,
    /// Show these sections instead of the answer; several with commas between.
    #[arg(long, value_name = "SECTION", value_delimiter = ',', value_parser = PossibleValuesParser::new(CHOOSE_SECTIONS))]
    show: Vec<String>,
    /// Show the answer and every section.
    #[arg(long, conflicts_with = "show")]
    full: bool,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = TableFormat::Text)]
    format: TableFormat,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let origin = arguments.file.display().to_string();
    let bytes = read(&arguments.file, tables)?;
    if let Some(wanted) = Batch::wish(&bytes, &origin, tables)? {
        return wish(&wanted, arguments.format, tables);
    }
    let batch = Batch::from_bytes(&bytes, &origin, tables)?;
    let prepared = Prepared::new(&batch, tables)?;
    let choice = choose(&prepared)?;
    let shown = Shown::asked(&arguments.show, arguments.full);
    let text = arguments.format.write(
        || choice_document(&choice, &shown).text(page_width()),
        || choice_csv(&choice),
        || choice_json(&choice),
    );
    Ok(text.into())
}

/// The bytes of a file or of the standard input, no more than a batch file may have.
fn read(path: &Path, tables: &Tables) -> Result<Vec<u8>, CliError> {
    let mut bytes = Vec::new();
    let most = LARGEST_FILE as u64 + 1;
    let read = if path.as_os_str() == "-" {
        std::io::stdin().lock().take(most).read_to_end(&mut bytes)
    } else {
        std::fs::File::open(path).and_then(|file| file.take(most).read_to_end(&mut bytes))
    };
    match read {
        Ok(_) => Ok(bytes),
        // Told as of any batch file.
        Err(error) => Err(read_batch(path, tables).err().unwrap_or(CliError::Io {
            what: path.display().to_string(),
            error,
        })),
    }
}

fn wish(wanted: &Wanted, format: TableFormat, tables: &Tables) -> Result<Answer, CliError> {
    let answer = answer(wanted, tables)?;
    let text = match format {
        TableFormat::Json => json_text(&wish_json(&answer, tables)),
        TableFormat::Text => wish_document(&answer, tables).text(page_width()),
        TableFormat::Csv | TableFormat::CsvDecimalComma => {
            let without = "the answer to a wish is no table: take --format text or json";
            return Err(CliError::Argument(without.to_owned()));
        }
    };
    Ok(text.into())
}
