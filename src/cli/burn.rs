//! `emberpot burn`: the main job.

use super::output::{json_text, print};
use super::{CliError, Format, exit_code, read_batch};
use emberpot::advice::{Severity, worst};
use emberpot::plan::plan;
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
    let batch = read_batch(&arguments.file, tables)?;
    let plan = plan(&batch, tables)?;
    let warnings = &plan.advice.warnings;
    let refused = worst(warnings) == Some(Severity::Stop);
    let text = match arguments.format {
        Format::Json if refused => json_text(&refusal_json(&plan)),
        Format::Json => json_text(&plan_json(&plan, tables)),
        Format::Text if refused => String::new(),
        Format::Text => {
            let mut text = String::new();
            plan_text(&plan, tables, &mut text).expect("a String takes every text");
            text
        }
    };
    print(&text)?;
    if refused {
        return Err(CliError::refused(warnings));
    }
    Ok(exit_code(warnings))
}
