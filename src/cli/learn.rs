//! `emberpot learn`: what the runs of some batches teach.

use super::answer::{Answer, Format};
use super::error::CliError;
use super::input::read_batch;
use super::output::{page_width, read_text, write_new, write_over};
use emberpot::Tables;
use emberpot::internal::learn::{LearnError, Page, learn};
use emberpot::internal::learned::Learned;
use emberpot::internal::report::{lesson_document, lesson_json, lesson_picture, taking_in};
use std::path::{Path, PathBuf};

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch files with runs, or folders of them.
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// Where what was learned is written; a file that is there already is left alone.
    #[arg(long, value_name = "FILE", default_value = "learned.toml")]
    learned: PathBuf,
    /// Replace what an earlier `learn` wrote there.
    #[arg(long)]
    replace: bool,
    /// Write no file.
    #[arg(long, conflicts_with_all = ["learned", "replace"])]
    show_only: bool,
    /// Also draw what was read and predicted, as an SVG file.
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    if !arguments.show_only {
        check_learned(&arguments.learned, arguments.replace)?;
    }
    let drawing = arguments.picture.as_ref();
    if drawing.is_some_and(|path| path.extension().is_none_or(|ending| ending != "svg")) {
        let message = "--picture writes a file whose name ends in .svg";
        return Err(CliError::Argument(message.to_owned()));
    }
    let pages = pages(&arguments.files, tables)?;
    let lesson = learn(&pages, tables)?;
    let mut text = arguments.format.write(
        || lesson_document(&lesson).text(page_width()),
        || lesson_json(&lesson),
    );
    if let (Some(path), Some(picture)) = (drawing, lesson_picture(&lesson)) {
        write_over(path, &picture.file(), &arguments.files)?;
    }
    if arguments.show_only || lesson.pots.is_empty() {
        return Ok(text.into());
    }
    let file = &arguments.learned;
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    let learned = lesson.learned(&name).text();
    if file.exists() {
        write_over(file, &learned, &arguments.files)?;
    } else {
        write_new(file, &learned)?;
    }
    if arguments.format == Format::Text {
        text += &format!("\n{}", taking_in(&file.display().to_string()));
    }
    Ok(text.into())
}

/// Only what an earlier `learn` wrote is replaced, and only when asked.
fn check_learned(path: &Path, replace: bool) -> Result<(), CliError> {
    if !path.exists() {
        return Ok(());
    }
    let file = path.display();
    if !replace {
        return Err(CliError::Argument(format!(
            "{file} is there already: --replace replaces it, --learned writes another file, \
             --show-only none"
        )));
    }
    Learned::parse(&read_text(path)?, &file.to_string())
        .map(|_| ())
        .map_err(|error| CliError::Argument(format!("not replaced: {error}")))
}

/// The batches of `files`, a folder standing for the batch files in it; named by what their paths
/// do not share.
pub fn pages(files: &[PathBuf], tables: &Tables) -> Result<Vec<Page>, CliError> {
    let mut paths = Vec::new();
    for file in files {
        if file.is_dir() {
            paths.extend(batch_files(file)?);
        } else {
            paths.push(file.clone());
        }
    }
    let shared = paths.iter().filter_map(|path| path.parent());
    let shared = shared.map(Path::to_owned).reduce(|shared, folder| {
        let both = shared.ancestors().find(|part| folder.starts_with(part));
        both.unwrap_or(Path::new("")).to_owned()
    });
    let shared = shared.unwrap_or_default();
    let page = |path: &PathBuf| {
        let name = path.strip_prefix(&shared).unwrap_or(path);
        Ok(Page {
            file: name.display().to_string(),
            batch: read_batch(path, tables)?,
        })
    };
    paths.iter().map(page).collect()
}

/// The `.toml` files of a folder in the order of their names, but those that `learn` wrote.
fn batch_files(folder: &Path) -> Result<Vec<PathBuf>, CliError> {
    let failed = |error| CliError::Io {
        what: folder.display().to_string(),
        error,
    };
    let mut paths = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(failed)? {
        let path = entry.map_err(failed)?.path();
        if path.extension().is_some_and(|ending| ending == "toml")
            && Learned::parse(&read_text(&path)?, "").is_err()
        {
            paths.push(path);
        }
    }
    paths.sort();
    if paths.is_empty() {
        return Err(LearnError::NoRuns.into());
    }
    Ok(paths)
}
