//! Lines of text: headings, line breaks, shortened names. At most 100 columns.

use std::fmt::{self, Write};

/// Widest line of a report.
pub(in crate::report) const WIDTH: usize = 100;

pub(in crate::report) fn heading(out: &mut impl Write, title: &str) -> fmt::Result {
    writeln!(out, "\n{title}\n{}", "─".repeat(title.chars().count()))
}

/// Text broken into lines of at most [`WIDTH`] columns, each indented by `indent`.
pub(in crate::report) fn wrapped(out: &mut impl Write, indent: usize, text: &str) -> fmt::Result {
    wrapped_to(out, WIDTH, indent, text)
}

/// Text broken into lines of at most `width` columns, each indented by `indent`.
pub(in crate::report) fn wrapped_to(
    out: &mut impl Write,
    width: usize,
    indent: usize,
    text: &str,
) -> fmt::Result {
    let margin = " ".repeat(indent);
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && indent + line.chars().count() + 1 + word.chars().count() > width {
            writeln!(out, "{margin}{line}")?;
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if line.is_empty() {
        Ok(())
    } else {
        writeln!(out, "{margin}{line}")
    }
}

pub(in crate::report) fn shortened(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    let kept: String = text.chars().take(width - 1).collect();
    format!("{kept}…")
}
