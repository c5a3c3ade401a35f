//! `emberpot weigh`: the bench sheet.

use super::answer::{Answer, TableFormat};
use super::error::CliError;
use super::input::read_batch;
use super::output::page_width;
use emberpot::internal::report::{sheet_csv, sheet_json};
use emberpot::quantity::{ThermodynamicTemperature, parse};
use emberpot::{Prepared, SheetOptions, Tables, sheet, sheet_document};
use std::path::PathBuf;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch file, or - for the standard input.
    file: PathBuf,
    /// How the sheet is written; CSV holds the lines of its table.
    #[arg(long, value_enum, default_value_t = TableFormat::Text)]
    format: TableFormat,
    /// Divide the batch into this many equal pots, to be burnt one by one.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=100))]
    pots: u32,
    /// Room temperature, for solubility.
    #[arg(long, value_name = "T", default_value = "25 °C", value_parser = temperature)]
    room: ThermodynamicTemperature,
    /// Temperature to which the solution may be warmed.
    #[arg(long, value_name = "T", default_value = "60 °C", value_parser = temperature)]
    warm: ThermodynamicTemperature,
}

fn temperature(text: &str) -> Result<ThermodynamicTemperature, String> {
    parse::temperature(text).map_err(|error| error.to_string())
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    // Each pot is burnt by itself: what is refused of a pot is refused.
    let batch = read_batch(&arguments.file, tables)?;
    let prepared = Prepared::new(
        &batch.scaled(1.0 / f64::from(arguments.pots.max(1))),
        tables,
    )?;
    let options = SheetOptions {
        room: arguments.room,
        warm: arguments.warm,
        pots: arguments.pots,
    };
    let mut sheet = sheet(&batch, tables, &options)?;
    sheet.purity = prepared.purity;
    let text = || sheet_document(&sheet).text(page_width());
    let text = arguments
        .format
        .write(text, || sheet_csv(&sheet), || sheet_json(&sheet));
    Ok(text.into())
}
