//! Lines broken at spaces, never between a number and its unit.

/// Units that follow a number after a space.
const UNITS: [&str; 33] = [
    "%", "ppm", "ppb", "°C", "K", "kg", "g", "mg", "µg", "L", "mL", "µL", "mmol", "mol", "µmol",
    "s", "min", "h", "m", "cm", "mm", "µm", "nm", "m²", "cm²", "m³", "cm³", "W", "kW", "kJ", "J",
    "bar", "×",
];

/// `text` broken into lines of at most `width` columns; a longer word gets a line of its own.
pub(in crate::report) fn broken(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words(text) {
        match lines.last_mut() {
            Some(line) if columns(line) + 1 + columns(&word) <= width => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

/// Each line of `text` broken to `width` columns with its indent kept; a line that quotes a file, such as
/// `  18 | mass = …`, stays as it is.
pub fn wrapped(text: &str, width: usize) -> String {
    let mut lines = Vec::new();
    for line in text.split('\n') {
        let words = line.trim_start();
        let quotes = words
            .trim_start_matches(|c: char| c.is_ascii_digit())
            .trim_start()
            .starts_with('|');
        if quotes || columns(line) <= width {
            lines.push(line.to_owned());
            continue;
        }
        let indent = &line[..line.len() - words.len()];
        let room = width.saturating_sub(columns(indent));
        lines.extend(
            broken(words, room)
                .iter()
                .map(|piece| format!("{indent}{piece}")),
        );
    }
    lines.join("\n")
}

/// The pieces of `text` that stand on one line: words, a number with its unit, a name with its sign.
pub(in crate::report) fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in text.split_ascii_whitespace() {
        match words.last_mut() {
            Some(last) if keeps_together(last, word) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Whether `next` may not begin a line after `last`.
fn keeps_together(last: &str, next: &str) -> bool {
    let unit = next.trim_matches(|c: char| ",.;:()".contains(c));
    // A unit by itself, or one over another, such as `mg/m³`.
    let first = unit.split('/').next().unwrap_or(unit);
    let number = last.ends_with(|c: char| c.is_ascii_digit());
    let unit = number && UNITS.contains(&first) || last.ends_with(" mol") && first == "%";
    unit || ["≈", "±"].contains(&next) || last.ends_with('±') || last == "/"
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_wrapped_with_their_indent_and_quoted_ones_stay() {
        let quoted =
            "  18 | name = \"a long line of the file\"\n     |        ^^^^^^^^^^^^^^^^^^^^";
        let text = format!("error: 1 mistake\n\n{quoted}\n  help: take a shorter name for it");
        assert_eq!(wrapped(&text, 80), text);
        let narrow = wrapped(&text, 20);
        assert!(narrow.contains(quoted), "{narrow}");
        assert!(
            narrow.ends_with("  help: take a\n  shorter name for\n  it"),
            "{narrow}"
        );
    }

    #[test]
    fn a_number_keeps_its_unit() {
        for text in [
            "urea 25 % + beta-alanine 75 %",
            "from 1181 °C (or 12.5 mg/m³), then",
            "flame, complete combustion / °C ≈",
            "a band of 1155 ± 6 K",
        ] {
            for width in 1..40 {
                let lines = broken(text, width);
                assert_eq!(lines.join(" "), text);
                for line in &lines {
                    let start = line.split(' ').next().unwrap();
                    assert!(
                        !["%", "≈", "K", "°C", "mg/m³),"].contains(&start),
                        "{lines:?}"
                    );
                    assert!(!line.ends_with(" /") && !line.ends_with('±'), "{lines:?}");
                }
            }
        }
    }
}
