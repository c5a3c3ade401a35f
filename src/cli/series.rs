//! `emberpot series`: batches in which one thing changes, or two.

use super::answer::{Answer, Format};
use super::error::CliError;
use super::output::{page_width, read_text, write_new};
use emberpot::internal::learned::Learned;
use emberpot::internal::report::{series_document, series_json};
use emberpot::internal::series::{Factor, LEARNED, NAMES, Order, Series, series};
use emberpot::{Batch, Tables};
use std::path::{Path, PathBuf};

#[derive(clap::Args)]
#[command(after_help = help())]
pub struct Arguments {
    /// The batch file that the series starts from.
    file: PathBuf,
    /// What changes, with its levels parted by commas: fuel-ratio=0.9,1,1.1.
    #[arg(long, value_name = "FACTOR=LEVELS", value_parser = levels)]
    over: (String, Vec<String>),
    /// A second thing that changes, at every level of the first.
    #[arg(long, value_name = "FACTOR=LEVELS", value_parser = levels)]
    and: Option<(String, Vec<String>)>,
    /// Runs of the reference, which tell the scatter.
    #[arg(long, default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..=6))]
    repeat: u8,
    /// Seed of the random order and of the labels.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Labels that do not tell what is in the vessel; the key stands at the end.
    #[arg(long)]
    blind: bool,
    /// Write each member as a batch file into this folder, which is made if need be.
    #[arg(long, value_name = "DIR")]
    write: Option<PathBuf>,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

fn help() -> String {
    let lines = NAMES.map(|(name, what)| format!("  {name:<13}{what}"));
    format!("What can change:\n{}", lines.join("\n"))
}

fn levels(text: &str) -> Result<(String, Vec<String>), String> {
    let (factor, levels) = text
        .split_once('=')
        .ok_or("should be FACTOR=LEVELS, such as fuel-ratio=0.9,1,1.1")?;
    let levels: Vec<String> = levels
        .split(',')
        .map(|level| level.trim().to_owned())
        .collect();
    if levels.iter().any(String::is_empty) {
        return Err("a level between two commas is empty".to_owned());
    }
    Ok((factor.trim().to_owned(), levels))
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let text = read_text(&arguments.file)?;
    // What is wrong with the file is told first, as by every other command.
    Batch::parse(&text, &arguments.file.display().to_string(), tables)?;
    let asked = std::iter::once(&arguments.over).chain(&arguments.and);
    let factors = asked
        .map(|(name, levels)| Ok((Factor::read(name, &text, tables)?, levels.clone())))
        .collect::<Result<Vec<_>, CliError>>()?;
    let order = Order {
        factors,
        repeats: usize::from(arguments.repeat),
        seed: arguments.seed,
        blind: arguments.blind,
    };
    let planned = series(&text, &arguments.file.display().to_string(), &order, tables)?;
    if let Some(folder) = &arguments.write {
        write(folder, &planned)?;
    }
    let text = arguments.format.write(
        || series_document(&planned).text(page_width()),
        || series_json(&planned),
    );
    let dangers = !planned.dangers.is_empty() || !planned.together.stops.is_empty();
    Ok(Answer::from(text).with(u8::from(dangers)))
}

/// Writes the members and what they were learned from, all or none; a file that is there is left alone.
fn write(folder: &Path, planned: &Series<'_>) -> Result<(), CliError> {
    let members = planned.members.iter();
    let mut files: Vec<(PathBuf, String)> = members
        .map(|member| {
            (
                folder.join(format!("{}.toml", member.label)),
                member.text.clone(),
            )
        })
        .collect();
    if let Some(learned) = &planned.learned {
        let beside = Learned {
            file: LEARNED.to_owned(),
            ..Learned::clone(learned)
        };
        files.push((folder.join(LEARNED), beside.text()));
    }
    if let Some((there, _)) = files.iter().find(|(path, _)| path.exists()) {
        return Err(CliError::Argument(format!(
            "{} is there already: name another folder",
            there.display()
        )));
    }
    std::fs::create_dir_all(folder).map_err(|error| CliError::Io {
        what: folder.display().to_string(),
        error,
    })?;
    for (at, (path, text)) in files.iter().enumerate() {
        if let Err(error) = write_new(path, text) {
            for (written, _) in &files[..at] {
                // What is left of the attempt is of no use; the first error is the one to tell.
                let _ = std::fs::remove_file(written);
            }
            return Err(error);
        }
    }
    Ok(())
}
