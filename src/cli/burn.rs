//! `emberpot burn`: the main job.

use super::output::{json_text, print};
use super::{CliError, Format, read_batch};
use emberpot::plan::plan;
use emberpot::report::{plan_json, plan_text};
use emberpot::tables::Tables;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch file, or - for the standard input.
    file: PathBuf,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<ExitCode, CliError> {
    let batch = read_batch(&arguments.file, tables)?;
    let plan = plan(&batch, tables)?;
    let text = match arguments.format {
        Format::Json => json_text(&plan_json(&plan, tables)),
        Format::Text => {
            let mut text = String::new();
            plan_text(&plan, tables, &mut text).expect("a String takes every text");
            text
        }
    };
    print(&text)?;
    Ok(ExitCode::SUCCESS)
}
