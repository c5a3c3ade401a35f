//! Mistakes in a batch file: what, where, and what to do, all of a file at once.

use std::fmt;
use std::ops::Range;
use thiserror::Error;

/// Most mistakes that are shown of one file.
const MOST_SHOWN: usize = 40;
/// Widest piece of the user's line that is shown, in characters.
const WIDEST: usize = 80;

/// One mistake in a batch file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mistake {
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong and what to do about it.
    pub message: String,
    shown: String,
    caret: Range<usize>,
}

impl Mistake {
    /// A mistake at the byte range `span` of `text`.
    pub(super) fn new(text: &str, span: Range<usize>, message: String) -> Self {
        let start = floor_to_char(text, span.start.min(text.len()));
        let line_start = text[..start].rfind('\n').map_or(0, |at| at + 1);
        let line = text[..start].matches('\n').count() + 1;
        let rest = &text[line_start..];
        let line_text = rest.split('\n').next().unwrap_or("").trim_end_matches('\r');
        let column = text[line_start..start].chars().count() + 1;
        let end = floor_to_char(
            text,
            span.end
                .clamp(start, line_start + line_text.len())
                .max(start),
        );
        let width = text[start..end].chars().count().max(1);
        let skipped = column.saturating_sub(WIDEST / 2);
        let shown: String = line_text
            .chars()
            .skip(skipped)
            .take(WIDEST)
            .map(|c| if c.is_control() { ' ' } else { c })
            .collect();
        let from = column - 1 - skipped;
        let caret = from..(from + width).min(shown.chars().count().max(from + 1));
        Self {
            line,
            column,
            message,
            shown,
            caret,
        }
    }
}

fn floor_to_char(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Why a batch file cannot be used: every mistake in it, in the order of the lines.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub struct BatchError {
    /// Name of the file, or `-` for the standard input.
    pub origin: String,
    /// The mistakes; at least one.
    pub mistakes: Vec<Mistake>,
}

impl BatchError {
    /// A mistake of the file as a whole.
    pub(super) fn whole_file(origin: &str, message: String) -> Self {
        let origin = origin.to_owned();
        Self {
            origin,
            mistakes: vec![Mistake::new("", 0..0, message)],
        }
    }
}

impl fmt::Display for BatchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let count = self.mistakes.len();
        let noun = if count == 1 { "mistake" } else { "mistakes" };
        write!(f, "{count} {noun} in {}", self.origin)?;
        for mistake in self.mistakes.iter().take(MOST_SHOWN) {
            let Mistake {
                line,
                column,
                message,
                shown,
                caret,
            } = mistake;
            write!(f, "\n\n{}:{line}:{column}: {message}", self.origin)?;
            if !shown.trim().is_empty() {
                let margin = " ".repeat(line.to_string().len());
                write!(f, "\n  {line} | {shown}")?;
                let indent = " ".repeat(caret.start);
                write!(f, "\n  {margin} | {indent}{}", "^".repeat(caret.len()))?;
            }
        }
        if count > MOST_SHOWN {
            write!(f, "\n\n… and {} more; mend these first", count - MOST_SHOWN)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_caret_stands_under_the_value() {
        let text = "a = 1\nmass = \"3 mL\"\n";
        let at = text.find("\"3 mL\"").unwrap();
        let error = BatchError {
            origin: "batch.toml".into(),
            mistakes: vec![Mistake::new(text, at..at + 6, "no mass".into())],
        };
        assert_eq!(
            error.to_string(),
            "1 mistake in batch.toml\n\nbatch.toml:2:8: no mass\n  2 | mass = \"3 mL\"\n    |        ^^^^^^"
        );
    }

    #[test]
    fn a_very_long_line_is_cut_around_the_caret() {
        let text = format!("{}X{}", "é".repeat(500), "y".repeat(500));
        let mistake = Mistake::new(&text, 1000..1001, "here".into());
        assert_eq!(mistake.column, 501);
        assert_eq!(mistake.shown.chars().count(), WIDEST);
        assert_eq!(mistake.shown.chars().nth(mistake.caret.start), Some('X'));
    }

    #[test]
    fn a_span_past_the_end_is_no_panic() {
        let mistake = Mistake::new("", 5..9, "nothing there".into());
        assert_eq!((mistake.line, mistake.column), (1, 1));
    }
}
