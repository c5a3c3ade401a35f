//! A table for a spreadsheet.

use super::parts::{Cell, Table};
use crate::report::number::cell_text;
use crate::visible::spreadsheet_cell;

/// A cell in quotes if it needs them (RFC 4180), and no formula to a spreadsheet.
pub(in crate::report) fn quoted(text: &str) -> String {
    let text = spreadsheet_cell(text);
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.into_owned()
    }
}

impl Table {
    /// The table as comma-separated values, numbers to ten significant digits.
    pub fn csv(&self) -> String {
        let mut text = String::new();
        let mut line = |cells: Vec<String>| {
            text.push_str(&cells.join(","));
            text.push('\n');
        };
        line(self.head.iter().map(|head| quoted(head)).collect());
        for row in &self.rows {
            let cells = row.iter().map(|cell| match cell {
                Cell::Absent => String::new(),
                Cell::Words(words) => quoted(words),
                Cell::Number { value, .. } => cell_text(*value),
            });
            line(cells.collect());
        }
        text
    }
}

/// A table of comma-separated values with semicolons between its fields and decimal commas in its
/// numbers.
pub fn decimal_comma(csv: &str) -> String {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(csv.as_bytes());
    let mut writer = csv::WriterBuilder::new()
        .delimiter(b';')
        .from_writer(Vec::new());
    let well_formed = "a table written here is well-formed";
    for record in reader.records() {
        let record = record.expect(well_formed);
        let cells = record.iter().map(|cell| match cell.parse::<f64>() {
            Ok(_) => cell.replace('.', ","),
            Err(_) => cell.to_owned(),
        });
        writer.write_record(cells).expect(well_formed);
    }
    let bytes = writer.into_inner().expect(well_formed);
    String::from_utf8(bytes).expect(well_formed)
}

#[cfg(test)]
mod tests {
    use super::quoted;

    #[test]
    fn cells_with_commas_or_quotes_are_quoted() {
        assert_eq!(quoted("a"), "a");
        assert_eq!(quoted("a, \"b\""), "\"a, \"\"b\"\"\"");
    }
}
