//! `emberpot judge`: what the powder of the runs says.

use super::answer::{Answer, Format};
use super::error::CliError;
use super::input::prepare;
use super::output::{page_width, read_text};
use emberpot::Tables;
use emberpot::batch::Run;
use emberpot::internal::judge::decay::{Afterglow, Decay};
use emberpot::internal::judge::{Expectation, judgement};
use emberpot::internal::report::{judged_document, judged_json};
use std::path::{Path, PathBuf};

#[derive(clap::Args)]
pub struct Arguments {
    /// The batch file with its runs.
    file: PathBuf,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let prepared = prepare(&arguments.file, tables)?;
    let batch = &prepared.batch;
    if batch.runs.is_empty() {
        let message = "the file has no [[run]]: note one with `emberpot note FILE`";
        return Err(CliError::Argument(message.to_owned()));
    }
    let expected = Expectation::of(&prepared);
    let judged = batch
        .runs
        .iter()
        .map(|run| {
            let decay = afterglow(run, &arguments.file)?;
            let found = judgement(batch, run, &expected, decay, &tables.findings);
            Ok((run, found))
        })
        .collect::<Result<Vec<_>, CliError>>()?;
    let text = arguments.format.write(
        || judged_document(&prepared, &judged).text(page_width()),
        || judged_json(&judged),
    );
    Ok(text.into())
}

/// The fit of the afterglow that the run names; the file is looked for beside the batch file.
fn afterglow(run: &Run, batch_file: &Path) -> Result<Option<Decay>, CliError> {
    let Some(name) = run
        .powder
        .as_ref()
        .and_then(|powder| powder.afterglow.as_ref())
    else {
        return Ok(None);
    };
    let path = batch_file.parent().unwrap_or(Path::new("")).join(name);
    let readings = Afterglow::parse(&read_text(&path)?, &path.display().to_string());
    let decay = readings.and_then(|readings| readings.decay());
    decay
        .map(Some)
        .map_err(|error| CliError::Argument(error.to_string()))
}
