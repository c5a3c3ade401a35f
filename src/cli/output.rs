//! Writing a result in one piece; a closed pipe is success.

use super::CliError;
use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::Path;

/// Writes `text` to the standard output.
pub fn print(text: &str) -> Result<(), CliError> {
    let mut out = std::io::stdout().lock();
    let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    match written {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(CliError::Io {
            what: "standard output".to_owned(),
            error,
        }),
        _ => Ok(()),
    }
}

/// A JSON value, indented, with a final line break.
pub fn json_text(value: &serde_json::Value) -> String {
    format!("{value:#}\n")
}

/// Writes a file that must not exist yet.
pub fn write_new(path: &Path, text: &str) -> Result<(), CliError> {
    OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(path)
        .and_then(|mut file| file.write_all(text.as_bytes()))
        .map_err(|error| CliError::Io {
            what: path.display().to_string(),
            error,
        })
}

/// Writes a file in one piece: into a new file beside it, which then takes its place. `input` is
/// the batch file, which is never written over.
pub fn write_over(path: &Path, text: &str, input: &Path) -> Result<(), CliError> {
    let io = |error| CliError::Io {
        what: path.display().to_string(),
        error,
    };
    let same = match (path.canonicalize(), input.canonicalize()) {
        (Ok(path), Ok(input)) => path == input,
        _ => false,
    };
    if same {
        return Err(CliError::OverInput {
            file: path.display().to_string(),
        });
    }
    let name = path
        .file_name()
        .ok_or_else(|| io(ErrorKind::InvalidInput.into()))?;
    let mut beside = name.to_os_string();
    beside.push(format!(".{}.part", std::process::id()));
    let beside = path.with_file_name(beside);
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&beside)
        .and_then(|mut file| {
            file.write_all(text.as_bytes())?;
            file.sync_all()
        })
        .and_then(|()| std::fs::rename(&beside, path));
    written.map_err(|error| {
        // What is left of the attempt is of no use; the first error is the one to tell.
        let _ = std::fs::remove_file(&beside);
        io(error)
    })
}
