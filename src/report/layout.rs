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

/// `text` cut to `width` columns.
pub(in crate::report) fn shortened(text: &str, width: usize) -> String {
    if columns(text) <= width {
        return text.to_owned();
    }
    let kept: String = text.chars().take(width - 1).collect();
    format!("{kept}…")
}
