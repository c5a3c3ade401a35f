//! Text from people and files, made safe to show.
//!
//! A name may hold what a terminal, a browser or a reader would obey instead of show: escape
//! sequences, line breaks, marks that turn the direction of writing. [`visible`] is the gate that
//! every such text passes; [`spreadsheet_cell`] adds what spreadsheets obey.

use std::borrow::Cow;

/// `text` with each control character, line break, direction mark and mark of no width shown as
/// a mark of its own: `␛`, `␊`, `⟨U+202E⟩`.
pub fn visible(text: &str) -> Cow<'_, str> {
    shown(text, |_| false)
}

/// As [`visible`], for text of several lines: line breaks stay.
pub fn visible_lines(text: &str) -> Cow<'_, str> {
    shown(text, |c| c == '\n')
}

/// As [`visible`], for a cell of a spreadsheet: a text that would be taken for a formula gets an
/// apostrophe in front. Numbers stay as they are.
pub fn spreadsheet_cell(text: &str) -> Cow<'_, str> {
    let formula = text.trim_start().starts_with(['=', '+', '-', '@']);
    if formula && text.parse::<f64>().is_err() {
        return Cow::Owned(format!("'{}", visible(text)));
    }
    visible(text)
}

fn shown(text: &str, stays: fn(char) -> bool) -> Cow<'_, str> {
    let hidden = |c: char| is_hidden(c) && !stays(c);
    if !text.contains(hidden) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        match c {
            c if !hidden(c) => out.push(c),
            // The pictures of the control characters stand in their order from U+2400.
            '\0'..='\u{1f}' => out.extend(char::from_u32(0x2400 + u32::from(c))),
            '\u{7f}' => out.push('␡'),
            c => out.push_str(&format!("⟨U+{:04X}⟩", u32::from(c))),
        }
    }
    Cow::Owned(out)
}

/// Control characters (Unicode category Cc), direction marks, separators of lines and paragraphs
/// and marks without width.
fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
            | '\u{e0000}'..='\u{e007f}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_hidden_passes() {
        for c in (0..0x11_0000).filter_map(char::from_u32) {
            let text = format!("a{c}b");
            let through = visible(&text);
            assert!(
                !through.contains(char::is_control),
                "U+{:04X}",
                u32::from(c)
            );
            assert!(!through.contains(is_hidden));
            assert_eq!(is_hidden(c), through != text);
        }
        assert_eq!(visible_lines("a\nb\r"), "a\nb␍");
    }

    #[test]
    fn a_cell_is_no_formula() {
        assert_eq!(spreadsheet_cell("=1+2"), "'=1+2");
        assert_eq!(spreadsheet_cell(" @sum"), "' @sum");
        assert_eq!(spreadsheet_cell("-3.5e-7"), "-3.5e-7");
        assert_eq!(spreadsheet_cell("-inf"), "-inf");
        assert_eq!(spreadsheet_cell("+cmd|'/c'!A1"), "'+cmd|'/c'!A1");
        assert_eq!(spreadsheet_cell("urea"), "urea");
    }
}
