//! Writing a result in one piece; a closed pipe is success.

use super::CliError;
use std::io::{ErrorKind, Write};

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
