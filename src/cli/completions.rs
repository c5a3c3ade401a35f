//! `emberpot completions`: commands and options for the shell.

use super::Answer;
use clap::CommandFactory;
use clap_complete::{Shell, generate};

#[derive(clap::Args)]
pub struct Arguments {
    /// The shell.
    shell: Shell,
}

pub fn run(arguments: &Arguments) -> Answer {
    let mut script = Vec::new();
    let mut command = super::Arguments::command();
    generate(arguments.shell, &mut command, "emberpot", &mut script);
    Answer::script(String::from_utf8_lossy(&script).into_owned())
}
