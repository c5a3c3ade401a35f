//! What a command gives back, and how it is written: in one way for all commands.

use super::error::CliError;
use super::output::{print, write_over};
use clap::ValueEnum;
use emberpot::internal::advice::worst;
use emberpot::internal::report::{decimal_comma, json_text};
use emberpot::internal::visible::visible_lines;
use emberpot::{Severity, Warning};
use serde_json::Value;
use std::borrow::Cow;
use std::path::{Path, PathBuf};

/// How a result is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// Aligned text for people.
    Text,
    /// JSON; `emberpot schema` describes it.
    Json,
}

/// How a result that is a table is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TableFormat {
    /// Aligned text for people.
    Text,
    /// Comma-separated values, one line a row, decimal points.
    Csv,
    /// Semicolons between the fields and decimal commas, as spreadsheets of many countries read it.
    CsvDecimalComma,
    /// JSON; `emberpot schema` describes it.
    Json,
}

impl Format {
    /// The result in this format.
    pub fn write(self, text: impl FnOnce() -> String, json: impl FnOnce() -> Value) -> String {
        match self {
            Self::Text => text(),
            Self::Json => json_text(&json()),
        }
    }
}

impl TableFormat {
    /// The result in this format.
    pub fn write(
        self,
        text: impl FnOnce() -> String,
        csv: impl FnOnce() -> String,
        json: impl FnOnce() -> Value,
    ) -> String {
        match self {
            Self::Text => text(),
            Self::Csv => csv(),
            Self::CsvDecimalComma => decimal_comma(&csv()),
            Self::Json => json_text(&json()),
        }
    }
}

/// What a command gives back.
pub struct Answer {
    text: Option<String>,
    code: u8,
    is_script: bool,
}

impl From<String> for Answer {
    /// A result, all done.
    fn from(text: String) -> Self {
        Self {
            text: Some(text),
            code: 0,
            is_script: false,
        }
    }
}

impl Answer {
    /// Nothing to print: the command has written its files.
    pub fn nothing() -> Self {
        Self {
            text: None,
            code: 0,
            is_script: false,
        }
    }

    /// A text for another program, which stays as it is to the byte.
    #[cfg(not(target_family = "wasm"))]
    pub fn script(text: String) -> Self {
        Self {
            is_script: true,
            ..text.into()
        }
    }

    /// The same, with another exit code.
    pub fn with(self, code: u8) -> Self {
        Self { code, ..self }
    }

    /// Writes the result into `output`, but not over one of the `inputs`, or to the standard output.
    pub fn deliver(self, output: Option<&Path>, inputs: &[PathBuf]) -> Result<u8, CliError> {
        if let Some(text) = &self.text {
            let text = match self.is_script {
                true => Cow::Borrowed(text.as_str()),
                false => visible_lines(text),
            };
            match output {
                Some(path) => write_over(path, &text, inputs)?,
                None => print(&text)?,
            }
        }
        Ok(self.code)
    }
}

/// 1 with a warning of the danger class, else 0.
pub fn exit_code(warnings: &[Warning]) -> u8 {
    match worst(warnings) {
        Some(Severity::Stop | Severity::Danger) => 1,
        _ => 0,
    }
}
