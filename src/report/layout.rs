//! Lines broken at spaces.

/// `text` broken into lines of at most `width` columns; a longer word gets a line of its own.
pub(in crate::report) fn broken(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text
        .split([' ', '\n', '\t'])
        .filter(|word| !word.is_empty())
    {
        match lines.last_mut() {
            Some(line) if columns(line) + 1 + columns(word) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Columns that `text` takes.
pub(in crate::report) fn columns(text: &str) -> usize {
    text.chars().count()
}

/// Writes `text` in lines of at most `width` columns, each indented by `indent`.
pub(in crate::report) fn wrapped_to(
    out: &mut impl std::fmt::Write,
    width: usize,
    indent: usize,
    text: &str,
) -> std::fmt::Result {
    let margin = " ".repeat(indent);
    for line in broken(text, width.saturating_sub(indent)) {
        writeln!(out, "{margin}{line}")?;
    }
    Ok(())
}

/// `text` cut to `width` columns.
pub(in crate::report) fn shortened(text: &str, width: usize) -> String {
    if columns(text) <= width {
        return text.to_owned();
    }
    let kept: String = text.chars().take(width - 1).collect();
    format!("{kept}…")
}

/// Widest line of the lists that are wider than a page of 80 columns.
pub(in crate::report) const WIDE: usize = 100;

/// Text broken into lines of at most [`WIDE`] columns, each indented by `indent`.
pub(in crate::report) fn wrapped(
    out: &mut impl std::fmt::Write,
    indent: usize,
    text: &str,
) -> std::fmt::Result {
    wrapped_to(out, WIDE, indent, text)
}
