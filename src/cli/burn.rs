//! `emberpot burn`: the main job.

use super::output::{json_text, print};
use super::{CliError, Format, exit_code, prepare};
use emberpot::plan::plan_of;
use emberpot::prepared::PrepareError;
use emberpot::report::{plan_json, plan_text, refusal_json};
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
    let prepared = match (prepare(&arguments.file, tables), arguments.format) {
        (Err(CliError::Prepare(PrepareError::Refused(refused))), Format::Json) => {
            print(&json_text(&refusal_json(&refused)))?;
            return Err(PrepareError::Refused(refused).into());
        }
        (prepared, _) => prepared?,
    };
    let plan = plan_of(&prepared)?;
    let text = match arguments.format {
        Format::Json => json_text(&plan_json(&plan, tables)),
        Format::Text => {
            let mut text = String::new();
            plan_text(&plan, tables, &mut text).expect("a String takes every text");
            text
        }
    };
    print(&text)?;
    Ok(exit_code(&plan.advice.warnings))
}
