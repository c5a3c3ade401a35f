//! `emberpot completions`: commands and options for the shell.

use super::answer::Answer;
use clap::Command;
use clap_complete::{Shell, generate};

#[derive(clap::Args)]
pub struct Arguments {
    /// The shell.
    shell: Shell,
}

pub fn run(arguments: &Arguments, mut program: Command) -> Answer {
    let mut script = Vec::new();
    generate(arguments.shell, &mut program, "emberpot", &mut script);
    Answer::script(String::from_utf8_lossy(&script).into_owned())
}
