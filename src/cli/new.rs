//! `emberpot new`: a commented starter file.

use super::CliError;
use super::output::{print, tell, write_new};
use std::path::PathBuf;
use std::process::ExitCode;

/// The starter file. It is a valid batch; a test burns it.
const STARTER: &str = include_str!("starter.toml");

#[derive(clap::Args)]
pub struct Arguments {
    /// File to write; it must not exist yet. Without it the text goes to the standard output.
    file: Option<PathBuf>,
}

pub fn run(arguments: &Arguments) -> Result<ExitCode, CliError> {
    match &arguments.file {
        Some(path) => {
            write_new(path, STARTER)?;
            let path = path.display();
            tell(&format!("wrote {path}; next: emberpot burn {path}"));
        }
        None => print(STARTER)?,
    }
    Ok(ExitCode::SUCCESS)
}
