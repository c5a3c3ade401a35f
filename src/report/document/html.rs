//! A section as a part of a page.

use super::parts::{Cell, Part, Section, Table};
use crate::report::number::formulas;
use crate::report::svg::Picture;
use askama::Template;
use std::fmt::Write;

impl Section {
    /// The parts of the section as HTML, without its heading; `level` is that of subtitles.
    pub fn html(&self, level: u8) -> String {
        let mut page = String::new();
        let mut open = "";
        for part in &self.parts {
            let list = match part {
                Part::Item(_) => "ul",
                Part::Fact { .. } => "dl",
                _ => "",
            };
            if list != open {
                close(&mut page, open);
                match list {
                    "ul" => page.push_str("<ul>\n"),
                    "dl" => page.push_str("<dl class=\"lines\">\n"),
                    _ => {}
                }
                open = list;
            }
            page.push_str(&part_html(part, level));
        }
        close(&mut page, open);
        page
    }
}

fn close(page: &mut String, list: &str) {
    if !list.is_empty() {
        let _ = writeln!(page, "</{list}>");
    }
}

fn part_html(part: &Part, level: u8) -> String {
    match part {
        Part::Text(text) => format!("<p>{}</p>\n", prose(text)),
        Part::Item(text) => format!("<li>{}</li>\n", prose(text)),
        Part::Fact { label, value } => format!(
            "<div><dt>{}</dt><dd>{}</dd></div>\n",
            prose(label),
            prose(value)
        ),
        Part::Subtitle(text) => format!("<h{level}>{}</h{level}>\n", prose(text)),
        Part::Verbatim(text) => format!("<pre>{}</pre>\n", escaped(text)),
        Part::Table(table) => table.html(),
        Part::Figure(picture) => figure(picture),
    }
}

impl Table {
    /// The table as HTML that scrolls by itself where it is wider than the screen.
    pub fn html(&self) -> String {
        if self.rows.is_empty() {
            return String::new();
        }
        let wide = if self.head.len() > 4 {
            " class=\"wide\""
        } else {
            ""
        };
        // A column of numbers is set to the right with its head and what stands for a number in it.
        let number = |at: usize| {
            let is_number = |row: &Vec<Cell>| matches!(row.get(at), Some(Cell::Number { .. }));
            at > 0 && self.rows.iter().any(is_number)
        };
        let numbers: Vec<&str> = (0..self.head.len())
            .map(|at| if number(at) { " class=\"number\"" } else { "" })
            .collect();
        let heads: String = self
            .head
            .iter()
            .zip(&numbers)
            .map(|(head, class)| format!("<th scope=\"col\"{class}>{}</th>", prose(head)))
            .collect();
        let rows: String = self
            .rows
            .iter()
            .map(|row| row_html(row, &numbers))
            .collect();
        format!(
            "<section class=\"scroll\" tabindex=\"0\" aria-label=\"{}\">\n<table{wide}>\n<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n</section>\n",
            escaped(&self.name)
        )
    }
}

fn row_html(row: &[Cell], numbers: &[&str]) -> String {
    let cells: String = row
        .iter()
        .enumerate()
        .map(|(at, cell)| {
            let text = kept(&prose(cell.shown()));
            let class = numbers.get(at).copied().unwrap_or_default();
            match at {
                0 => format!("<th scope=\"row\">{text}</th>"),
                _ => format!("<td{class}>{text}</td>"),
            }
        })
        .collect();
    format!("<tr>{cells}</tr>\n")
}

/// Longest unit, with a comma or stop behind it, that is kept beside its number: "kJ/mol,".
const LONGEST_UNIT: usize = 7;

/// A short cell with its words kept on one line; a longer one may be broken.
fn kept(text: &str) -> String {
    if text.chars().count() <= 14 {
        text.replace(' ', "\u{a0}")
    } else {
        text.to_owned()
    }
}

/// Words as HTML: counts of formulas lowered, a number and what follows it on one line, what stands
/// between backticks as code.
pub(in crate::report) fn prose(text: &str) -> String {
    let text = powers(&escaped(&joined(&formulas(text))));
    let parts: Vec<&str> = text.split('`').collect();
    if parts.len() % 2 == 0 {
        return text;
    }
    let marked = parts.iter().enumerate().map(|(at, part)| match at % 2 {
        0 => (*part).to_owned(),
        _ => format!("<code>{part}</code>"),
    });
    marked.collect()
}

/// Powers of ten raised: `10^-17.5`.
fn powers(text: &str) -> String {
    let mut parts = text.split("10^");
    let mut raised = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let sign = part.starts_with('-');
        let digits = &part[usize::from(sign)..];
        let end = digits.find(|c: char| !(c.is_ascii_digit() || c == '.'));
        let (power, rest) = digits.split_at(end.unwrap_or(digits.len()));
        let (power, stop) = match power.strip_suffix('.') {
            Some(power) => (power, "."),
            None => (power, ""),
        };
        let minus = if sign { "−" } else { "" };
        raised += &format!("10<sup>{minus}{power}</sup>{stop}{rest}");
    }
    raised
}

/// The text with the space between a number and a short word behind it, which is mostly its unit, kept
/// from breaking, and that on both sides of ±.
fn joined(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let mut joined = String::with_capacity(text.len() + 8);
    for (at, word) in words.iter().enumerate() {
        joined.push_str(word);
        let Some(next) = words.get(at + 1) else { break };
        let number = word.ends_with(|c: char| c.is_ascii_digit());
        let unit = next.starts_with(|c: char| c.is_alphabetic() || "%°µ±".contains(c));
        let short = next.chars().count() <= LONGEST_UNIT;
        let keep = (number && unit && short) || *word == "±" || matches!(*word, "φ" | "φ =");
        joined.push(if keep { '\u{a0}' } else { ' ' });
    }
    joined
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// A picture as a figure with its title, its words and its numbers.
pub(in crate::report) fn figure(picture: &Picture) -> String {
    let html = FigureTemplate { picture };
    html.render().expect("the templates write into a String")
}

#[derive(Template)]
#[template(path = "figure.html", config = "src/report/askama.toml")]
struct FigureTemplate<'a> {
    picture: &'a Picture,
}
