//! `emberpot completions`: commands and options for the shell.

use super::CliError;
use clap::CommandFactory;
use clap_complete::{Shell, generate};
use std::io::{ErrorKind, Write};
use std::process::ExitCode;

#[derive(clap::Args)]
pub struct Arguments {
    /// The shell.
    shell: Shell,
}

pub fn run(arguments: &Arguments) -> Result<ExitCode, CliError> {
    let mut script = Vec::new();
    let mut command = super::Arguments::command();
    generate(arguments.shell, &mut command, "emberpot", &mut script);
    // Byte for byte: a script holds tabs, which a text would show as marks.
    match std::io::stdout().lock().write_all(&script) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(CliError::Io {
            what: "standard output".to_owned(),
            error,
        }),
        _ => Ok(ExitCode::SUCCESS),
    }
}
