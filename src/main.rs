//! emberpot: plans solution-combustion batches from one batch file.

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::run().unwrap_or_else(|error| {
        cli::tell(&format!("error: {error}"));
        ExitCode::from(2)
    })
}
