//! Mistakes in a batch file: what, where, and what to do, all of a file at once.

use crate::visible::visible;
use std::fmt;
use std::ops::Range;
use thiserror::Error;

/// Most mistakes that are shown of one file.
const MOST_SHOWN: usize = 40;
/// Longest message, in characters: more is a name that somebody did not mean to write.
const LONGEST: usize = 1000;
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
    pub(super) fn new(text: &Lines<'_>, span: Range<usize>, message: &str) -> Self {
        let start = floor_to_char(text.text, span.start.min(text.text.len()));
        let (line, line_start) = text.line_of(start);
        let rest = &text.text[line_start..];
        let line_text = rest.split('\n').next().unwrap_or("").trim_end_matches('\r');
        // A mistake may start at the line break itself, behind the text of the line.
        let text_end = (line_start + line_text.len()).max(start);
        let end = floor_to_char(text.text, span.end.clamp(start, text_end));
        let column = text.text[line_start..start].chars().count() + 1;
        let width = text.text[start..end].chars().count().max(1);
        let skipped = column.saturating_sub(WIDEST / 2);
        // One character for one, or the caret would stand elsewhere.
        let shown: String = line_text
            .chars()
            .skip(skipped)
            .take(WIDEST)
            .map(|c| {
                let mut mark = [0; 4];
                let mark = visible(c.encode_utf8(&mut mark)).into_owned();
                let mut marks = mark.chars();
                match (marks.next(), marks.next()) {
                    (Some(only), None) if c != '\t' => only,
                    _ => ' ',
                }
            })
            .collect();
        let from = column - 1 - skipped;
        let caret = from..(from + width).min(shown.chars().count().max(from + 1));
        Self {
            line,
            column,
            message: shortened(&visible(message)),
            shown,
            caret,
        }
    }
}

/// The text of a file, and where its lines begin.
pub(super) struct Lines<'a> {
    text: &'a str,
    starts: Vec<usize>,
}

impl<'a> Lines<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        let breaks = text.match_indices('\n').map(|(at, _)| at + 1);
        Self {
            text,
            starts: std::iter::once(0).chain(breaks).collect(),
        }
    }

    /// Number of the line that holds a byte, from 1, and the byte where that line begins.
    fn line_of(&self, at: usize) -> (usize, usize) {
        let line = self.starts.partition_point(|start| *start <= at);
        (line, self.starts[line - 1])
    }
}

/// A message with its middle left out if it is longer than a screen.
fn shortened(message: &str) -> String {
    let length = message.chars().count();
    if length <= LONGEST {
        return message.to_owned();
    }
    let head = message.chars().take(LONGEST / 2);
    let tail = message.chars().skip(length - LONGEST / 2);
    head.chain(" … ".chars()).chain(tail).collect()
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
    /// The mistakes; at least one. Of a file with very many, the first that were found.
    pub mistakes: Vec<Mistake>,
    /// Mistakes that were counted only.
    pub further: usize,
}

impl BatchError {
    /// A mistake of the file as a whole.
    pub(super) fn whole_file(origin: &str, message: &str) -> Self {
        Self {
            origin: visible(origin).into_owned(),
            mistakes: vec![Mistake::new(&Lines::new(""), 0..0, message)],
            further: 0,
        }
    }

    /// A file that cannot be read at all.
    pub(super) fn unreadable(origin: &str, error: &std::io::Error) -> Self {
        Self::whole_file(origin, &format!("cannot be read: {error}"))
    }
}

impl fmt::Display for BatchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let count = self.mistakes.len() + self.further;
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
            mistakes: vec![Mistake::new(&Lines::new(text), at..at + 6, "no mass")],
            further: 0,
        };
        assert_eq!(
            error.to_string(),
            "1 mistake in batch.toml\n\nbatch.toml:2:8: no mass\n  2 | mass = \"3 mL\"\n    |        ^^^^^^"
        );
    }

    #[test]
    fn a_very_long_line_is_cut_around_the_caret() {
        let text = format!("{}X{}", "é".repeat(500), "y".repeat(500));
        let mistake = Mistake::new(&Lines::new(&text), 1000..1001, "here");
        assert_eq!(mistake.column, 501);
        assert_eq!(mistake.shown.chars().count(), WIDEST);
        assert_eq!(mistake.shown.chars().nth(mistake.caret.start), Some('X'));
    }

    #[test]
    fn a_span_past_the_end_is_no_panic() {
        let mistake = Mistake::new(&Lines::new(""), 5..9, "nothing there");
        assert_eq!((mistake.line, mistake.column), (1, 1));
    }

    #[test]
    fn every_span_of_every_line_ending_is_no_panic() {
        for text in [
            "a = \"\r\nb = 1\r\n",
            "a = \"\rb\r",
            "é\r\r\n\r",
            "\n\n",
            "\u{202e}\t\u{1b}",
        ] {
            let lines = Lines::new(text);
            for start in 0..text.len() + 2 {
                for end in 0..text.len() + 2 {
                    let mistake = Mistake::new(&lines, start..end, "here");
                    assert!(!mistake.caret.is_empty());
                    assert!(!mistake.shown.contains(char::is_control));
                }
            }
        }
    }

    #[test]
    fn a_message_holds_no_escape_and_no_novel() {
        let message = format!("\u{1b}[2J{}end", "x".repeat(5000));
        let mistake = Mistake::new(&Lines::new(""), 0..0, &message);
        assert!(mistake.message.starts_with("␛[2J") && mistake.message.ends_with("end"));
        assert!(mistake.message.chars().count() < LONGEST + 10);
    }
}
