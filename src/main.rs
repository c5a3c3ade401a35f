//! emberpot: plans solution-combustion batches from one batch file.

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(cli::run())
}
