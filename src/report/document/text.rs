//! A document as text of a given width.

use super::parts::{Cell, Document, LABELS, Part, Section, Table};
use crate::report::layout::{broken, columns, words};

/// Narrowest width that lines are broken to.
const NARROWEST: usize = 30;
/// Room between two columns of a table.
const GAP: usize = 2;
/// Words up to this length may stand in a column of numbers.
const SHORT: usize = 10;
/// Narrowest column of words.
const NARROW_COLUMN: usize = 11;

impl Document {
    /// The document as text of at most `width` columns; only a word that is longer passes it.
    pub fn text(&self, width: usize) -> String {
        let mut page = Writer {
            width: width.max(NARROWEST),
            lines: Vec::new(),
        };
        if !self.title.is_empty() {
            page.heading(&self.title, '═');
        }
        for section in &self.sections {
            page.section(section);
        }
        let mut text = page.lines.join("\n");
        text.push('\n');
        text
    }
}

struct Writer {
    width: usize,
    lines: Vec<String>,
}

impl Writer {
    fn heading(&mut self, title: &str, rule: char) {
        let lines = broken(title, self.width);
        let longest = lines.iter().map(|line| columns(line)).max().unwrap_or(0);
        self.lines.extend(lines);
        self.lines.push(rule.to_string().repeat(longest));
    }

    fn section(&mut self, section: &Section) {
        if !section.title.is_empty() {
            if !self.lines.is_empty() {
                self.lines.push(String::new());
            }
            self.heading(&section.title, '─');
        }
        let mut first = true;
        for part in &section.parts {
            match part {
                Part::Text(text) => self.paragraph("", "", text),
                Part::Item(text) => self.paragraph("  ", "    ", text),
                Part::Fact { label, value } => {
                    let label = format!("{label:<width$}", width = LABELS - 1);
                    self.paragraph(&format!("{label} "), &" ".repeat(LABELS), value);
                }
                Part::Subtitle(text) => {
                    if !first {
                        self.lines.push(String::new());
                    }
                    self.paragraph("", "", text);
                }
                Part::Verbatim(text) => {
                    self.lines
                        .extend(text.lines().map(|line| format!("    {line}")));
                }
                Part::Table(table) => self.table(table),
                Part::Figure(_) => {}
            }
            first = false;
        }
    }

    fn paragraph(&mut self, first: &str, rest: &str, text: &str) {
        let room = self.width.saturating_sub(columns(rest)).max(NARROW_COLUMN);
        let lines = broken(text, room);
        for (at, line) in lines.iter().enumerate() {
            let margin = if at == 0 { first } else { rest };
            self.lines.push(format!("{margin}{line}"));
        }
    }

    fn table(&mut self, table: &Table) {
        match column_widths(table, self.width) {
            Some(widths) => self.aligned(table, &widths),
            None => self.records(table),
        }
    }

    fn aligned(&mut self, table: &Table, widths: &[usize]) {
        let words: Vec<bool> = (0..widths.len()).map(|at| is_words(table, at)).collect();
        let heads: Vec<&str> = table.head.iter().map(String::as_str).collect();
        self.cells(&heads, widths, &words, true);
        for row in &table.rows {
            let cells: Vec<&str> = row.iter().map(Cell::shown).collect();
            self.cells(&cells, widths, &words, false);
        }
    }

    /// One row, over several lines where words are broken; heads stand on its last line.
    fn cells(&mut self, cells: &[&str], widths: &[usize], words: &[bool], head: bool) {
        let broken: Vec<Vec<String>> = cells
            .iter()
            .zip(widths)
            .map(|(cell, width)| broken(cell, *width))
            .collect();
        let height = broken.iter().map(Vec::len).max().unwrap_or(0);
        for at in 0..height {
            let mut line = String::new();
            for ((lines, width), words) in broken.iter().zip(widths).zip(words) {
                let skipped = if head { height - lines.len() } else { 0 };
                let text = at.checked_sub(skipped).and_then(|at| lines.get(at));
                let text = text.map_or("", String::as_str);
                if !line.is_empty() {
                    line.push_str(&" ".repeat(GAP));
                }
                if *words {
                    line.push_str(&format!("{text:<width$}"));
                } else {
                    line.push_str(&format!("{text:>width$}"));
                }
            }
            self.lines.push(line.trim_end().to_owned());
        }
    }

    /// A table too wide for the page: each row as lines with the heads as labels.
    fn records(&mut self, table: &Table) {
        for row in &table.rows {
            for (at, (head, cell)) in table.head.iter().zip(row).enumerate() {
                let indent = if at == 0 { "" } else { "  " };
                let label = if head.is_empty() {
                    String::new()
                } else {
                    format!("{head}: ")
                };
                self.paragraph(indent, "    ", &format!("{label}{}", cell.shown()));
            }
        }
    }
}

/// Whether the column at `at` holds words: then it is set to the left and may be broken. A short
/// word in a column of numbers, such as "no flame", leaves it one.
fn is_words(table: &Table, at: usize) -> bool {
    let words = |cell: &Cell| cell.is_words() && columns(cell.shown()) > SHORT;
    at == 0 || table.rows.iter().any(|row| row.get(at).is_some_and(words))
}

/// The widths of the columns of `table` on a page of `page` columns; none if they do not fit.
fn column_widths(table: &Table, page: usize) -> Option<Vec<usize>> {
    let mut widths: Vec<usize> = (0..table.head.len())
        .map(|at| {
            let cells = table.rows.iter().filter_map(|row| row.get(at));
            let widest = cells.map(|cell| columns(cell.shown())).max().unwrap_or(0);
            widest.max(longest_word(&table.head[at]))
        })
        .collect();
    let gaps = GAP * widths.len().saturating_sub(1);
    loop {
        let all = widths.iter().sum::<usize>() + gaps;
        if all <= page {
            return Some(widths);
        }
        // The widest column of words that can still give way.
        let (at, width) = widths
            .iter()
            .copied()
            .enumerate()
            .filter(|(at, width)| is_words(table, *at) && *width > least_width(table, *at))
            .max_by_key(|(_, width)| *width)?;
        let narrower = width.saturating_sub(all - page);
        widths[at] = narrower.max(least_width(table, at));
    }
}

fn least_width(table: &Table, at: usize) -> usize {
    let cells = table.rows.iter().filter_map(|row| row.get(at));
    cells
        .map(|cell| longest_word(cell.shown()))
        .chain([longest_word(&table.head[at]), NARROW_COLUMN])
        .max()
        .unwrap_or(NARROW_COLUMN)
}

fn longest_word(text: &str) -> usize {
    words(text)
        .iter()
        .map(|word| columns(word))
        .max()
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> Document {
        let mut table = Table::new("Gas", ["species", "amount / mmol", "what it does"]);
        table.row([
            "CO2".into(),
            Cell::number(40.0, 3),
            "leaves with the steam and carries the finest of the powder out of the pot".into(),
        ]);
        table.row(["N2".into(), Cell::number(1234.5, 3), Cell::Absent]);
        let mut section = Section::new("What comes out");
        section.fact(
            "Gas",
            "seven litres for each gram of powder, most of it steam",
        );
        section.table(table);
        section.item("one remark that is long enough to need more than one line of a page");
        Document::new("A burn".to_owned(), vec![section])
    }

    #[test]
    fn no_line_is_wider_than_the_page() {
        for width in [30, 40, 56, 80, 100] {
            let text = sample().text(width);
            for line in text.lines() {
                assert!(columns(line) <= width, "{width}: {line:?}");
            }
            assert!(text.contains("1230"), "{text}");
        }
    }

    #[test]
    fn numbers_stand_under_each_other() {
        let text = sample().text(80);
        let ends: Vec<usize> = ["40.0", "1230"]
            .iter()
            .map(|number| {
                let line = text.lines().find(|line| line.contains(number)).unwrap();
                columns(line.split(number).next().unwrap()) + columns(number)
            })
            .collect();
        assert_eq!(ends[0], ends[1], "{text}");
    }
}
