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
