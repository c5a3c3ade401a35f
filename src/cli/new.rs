//! `emberpot new`: a commented starter file, the file of a batch told in three words, or the
//! table of a substance of one's own.

use super::answer::Answer;
use super::error::CliError;
use super::output::{tell, write_new};
use emberpot::Tables;
use emberpot::batch::starting_file;
use std::path::{Path, PathBuf};

/// The starter file. It is a valid batch; a test burns it.
const STARTER: &str = include_str!("starter.toml");

/// The row of a substance, `{name}` where its name goes. It is a valid table; a test loads it.
const SUBSTANCE: &str = include_str!("substance.toml");

/// A batch told in words instead of a file.
#[derive(clap::Args)]
pub struct Start {
    /// Fuel: then FILE is the formula of the wanted powder, such as ZnAl2O4.
    #[arg(long, value_name = "NAME")]
    fuel: Option<String>,
    /// With --fuel: mass of the powder.
    #[arg(long, value_name = "MASS", default_value = "1 g", requires = "fuel")]
    mass: String,
    /// With --fuel: fuel ratio φ, 1 for just enough fuel.
    #[arg(long, value_name = "PHI", default_value_t = 1.0, requires = "fuel")]
    ratio: f64,
}

impl Start {
    /// The batch file for the powder `target`; none without a fuel.
    pub fn file(&self, target: &Path, tables: &Tables) -> Result<Option<String>, CliError> {
        let Some(fuel) = &self.fuel else {
            return Ok(None);
        };
        let target = target.display().to_string();
        Ok(Some(starting_file(
            &target, fuel, &self.mass, self.ratio, tables,
        )?))
    }
}

#[derive(clap::Args)]
pub struct Arguments {
    /// File to write; it must not exist yet. Without it the text goes to the standard output. With
    /// --fuel the formula of the wanted powder.
    file: Option<PathBuf>,
    #[command(flatten)]
    start: Start,
    /// Write a table with one substance of your own instead of a batch.
    #[arg(long, value_name = "NAME", conflicts_with = "fuel")]
    substance: Option<String>,
}

/// `output` is the file of --output: what is new replaces nothing.
pub fn run(
    arguments: &Arguments,
    output: Option<&Path>,
    tables: impl FnOnce() -> Result<&'static Tables, CliError>,
) -> Result<Answer, CliError> {
    let mut next = "emberpot burn";
    let (text, path) = match (&arguments.start.fuel, &arguments.file) {
        (None, path) => match &arguments.substance {
            None => (STARTER.to_owned(), path.as_deref().or(output)),
            Some(name) => {
                next = "put in its numbers:";
                // as a quoted string of TOML, whatever stands in it
                let name = toml::Value::from(name.as_str()).to_string();
                (
                    SUBSTANCE.replace("{name}", &name),
                    path.as_deref().or(output),
                )
            }
        },
        (Some(_), None) => {
            let missing = "name the wanted powder, such as: emberpot new ZnAl2O4 --fuel urea";
            return Err(CliError::Argument(missing.to_owned()));
        }
        (Some(_), Some(target)) => {
            let text = arguments.start.file(target, tables()?)?;
            (text.unwrap_or_default(), output)
        }
    };
    match path {
        Some(path) => {
            write_new(path, &text)?;
            let path = path.display();
            tell(&format!("wrote {path}; next: {next} {path}"));
            Ok(Answer::nothing())
        }
        None => Ok(text.into()),
    }
}
