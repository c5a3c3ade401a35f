//! `emberpot schema`: the JSON Schema of what the commands write.

use super::answer::Answer;
use super::error::CliError;
use emberpot::internal::report::schema;

#[derive(clap::Args)]
pub struct Arguments {
    /// The command; without it the schema of all commands.
    command: Option<String>,
}

pub fn run(arguments: &Arguments) -> Result<Answer, CliError> {
    let found = schema(arguments.command.as_deref());
    found.map(Answer::from).map_err(CliError::Argument)
}
