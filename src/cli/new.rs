//! `emberpot new`: a commented starter file, of a batch or of a substance of one's own.

use super::CliError;
use super::output::{print, tell, write_new};
use std::path::PathBuf;
use std::process::ExitCode;

/// The starter file. It is a valid batch; a test burns it.
const STARTER: &str = include_str!("starter.toml");

/// The row of a substance, `{name}` where its name goes. It is a valid table; a test loads it.
const SUBSTANCE: &str = include_str!("substance.toml");

#[derive(clap::Args)]
pub struct Arguments {
    /// File to write; it must not exist yet. Without it the text goes to the standard output.
    file: Option<PathBuf>,
    /// Write a table with one substance of your own instead of a batch.
    #[arg(long, value_name = "NAME")]
    substance: Option<String>,
}

pub fn run(arguments: &Arguments) -> Result<ExitCode, CliError> {
    let (text, next) = match &arguments.substance {
        None => (STARTER.to_owned(), "emberpot burn"),
        Some(name) => {
            // as a quoted string of TOML, whatever stands in it
            let name = toml::Value::from(name.as_str()).to_string();
            (SUBSTANCE.replace("{name}", &name), "put in its numbers:")
        }
    };
    match &arguments.file {
        Some(path) => {
            write_new(path, &text)?;
            let path = path.display();
            tell(&format!("wrote {path}; next: {next} {path}"));
        }
        None => print(&text)?,
    }
    Ok(ExitCode::SUCCESS)
}
