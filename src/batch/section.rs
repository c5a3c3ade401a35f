//! Reading one table of a batch file key by key, noting every mistake and going on.

use super::mistake::{BatchError, Lines, Mistake};
use crate::quantity::Ratio;
use crate::quantity::parse::{self, QuantityError};
use crate::quantity::units::ratio;
use crate::visible::visible;
use std::cell::{Cell, RefCell};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value and the byte range of the file where it was written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Written<T> {
    pub value: T,
    pub span: Range<usize>,
}

/// Most mistakes that are kept of one file; more are counted only.
const MOST_KEPT: usize = 200;
/// Most tables or values that are read of one list.
const LONGEST_LIST: usize = 100;
/// Most characters of a text, a note left out.
const LONGEST_TEXT: usize = 300;

/// The mistakes found so far in one file.
pub(crate) struct Mistakes<'a> {
    lines: Lines<'a>,
    found: RefCell<Vec<Mistake>>,
    further: Cell<usize>,
}

impl<'a> Mistakes<'a> {
    pub fn new(text: &'a str) -> Self {
        Self {
            lines: Lines::new(text),
            found: RefCell::new(Vec::new()),
            further: Cell::new(0),
        }
    }

    /// Notes a mistake at `span`.
    pub fn add(&self, span: Range<usize>, message: impl Into<String>) {
        if self.are_many() {
            self.further.set(self.further.get() + 1);
            return;
        }
        let mistake = Mistake::new(&self.lines, span, &message.into());
        self.found.borrow_mut().push(mistake);
    }

    /// Whether further mistakes are counted only.
    fn are_many(&self) -> bool {
        self.found.borrow().len() >= MOST_KEPT
    }

    pub fn is_empty(&self) -> bool {
        self.found.borrow().is_empty()
    }

    /// All mistakes in the order of the lines, as the error of the file named `origin`.
    pub fn into_error(self, origin: &str) -> BatchError {
        let mut mistakes = self.found.into_inner();
        mistakes.sort_by_key(|mistake| (mistake.line, mistake.column));
        mistakes.dedup();
        BatchError {
            origin: visible(origin).into_owned(),
            mistakes,
            further: self.further.get(),
        }
    }
}

/// One table of the file. Keys that nobody asked for are mistakes, found by [`Section::finish`].
pub(crate) struct Section<'a> {
    table: &'a DeTable<'a>,
    /// Where the table stands.
    pub span: Range<usize>,
    name: String,
    mistakes: &'a Mistakes<'a>,
    asked: RefCell<Vec<&'static str>>,
}

impl<'a> Section<'a> {
    pub fn new(
        table: &'a DeTable<'a>,
        span: Range<usize>,
        name: impl Into<String>,
        mistakes: &'a Mistakes<'a>,
    ) -> Self {
        Self {
            table,
            span,
            name: name.into(),
            mistakes,
            asked: RefCell::new(Vec::new()),
        }
    }

    /// Notes a mistake at `span`.
    pub fn mistake(&self, span: Range<usize>, message: impl Into<String>) {
        self.mistakes.add(span, message);
    }

    fn entry(&self, key: &'static str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.asked.borrow_mut().push(key);
        self.table.get(key)
    }

    /// Whether the key is written at all.
    pub fn has(&self, key: &'static str) -> bool {
        self.entry(key).is_some()
    }

    fn wrong_type(&self, key: &str, value: &Spanned<DeValue<'_>>, wanted: &str) {
        let found = value.get_ref().type_str();
        self.mistake(
            value.span(),
            format!("`{key}` is {}, but should be {wanted}", article(found)),
        );
    }

    /// A text that is not empty and no longer than a name.
    pub fn text(&self, key: &'static str) -> Option<Written<&'a str>> {
        let written = self.note(key)?;
        if written.value.chars().take(LONGEST_TEXT + 1).count() > LONGEST_TEXT {
            let message = format!("`{key}` has more than {LONGEST_TEXT} characters; shorten it");
            self.mistake(written.span, message);
            return None;
        }
        Some(written)
    }

    /// A text of any length that is not empty.
    pub fn note(&self, key: &'static str) -> Option<Written<&'a str>> {
        let value = self.entry(key)?;
        match value.get_ref().as_str() {
            Some(text) if text.trim().is_empty() => {
                self.mistake(value.span(), format!("`{key}` is empty"));
                None
            }
            Some(text) => Some(Written {
                value: text,
                span: value.span(),
            }),
            None => {
                self.wrong_type(key, value, "text in quotes");
                None
            }
        }
    }

    /// A text that must be there.
    pub fn required_text(&self, key: &'static str, example: &str) -> Option<Written<&'a str>> {
        if !self.has(key) {
            self.missing(key, example);
        }
        self.text(key)
    }

    /// Notes that a key is missing.
    pub fn missing(&self, key: &str, example: &str) {
        let message = format!(
            "{} has no `{key}`; add a line such as `{key} = {example}`",
            self.name
        );
        self.mistake(self.span.clone(), message);
    }

    /// A quantity written as text with its unit, read by one of [`crate::quantity::parse`].
    pub fn quantity<Q>(
        &self,
        key: &'static str,
        parse: fn(&str) -> Result<Q, QuantityError>,
    ) -> Option<Written<Q>> {
        let value = self.entry(key)?;
        let Some(text) = value.get_ref().as_str() else {
            self.wrong_type(key, value, "text in quotes with a number and its unit");
            return None;
        };
        match parse(text) {
            Ok(quantity) => Some(Written {
                value: quantity,
                span: value.span(),
            }),
            Err(error) => {
                self.mistake(value.span(), format!("`{key}`: {error}"));
                None
            }
        }
    }

    /// As [`Section::quantity`], within a range such as `"10 W and 10 kW"`, both ends included; the
    /// reason for it may follow behind a colon.
    pub fn quantity_within<Q: PartialOrd>(
        &self,
        key: &'static str,
        parse: fn(&str) -> Result<Q, QuantityError>,
        range: &str,
    ) -> Option<Written<Q>> {
        let written = self.quantity(key, parse)?;
        if is_within(&written.value, parse, range) {
            return Some(written);
        }
        self.mistake(
            written.span,
            format!("`{key}` is out of range: it should be between {range}"),
        );
        None
    }

    /// A number or a ratio in text (`0.5`, `"50 %"`), within `low..=high`.
    pub fn number_within(&self, key: &'static str, range: (f64, f64)) -> Option<Written<f64>> {
        self.number_read(key, parse::ratio, range)
    }

    /// A number, or a text that `parse` reads, within `low..=high`.
    pub fn number_read(
        &self,
        key: &'static str,
        parse: fn(&str) -> Result<Ratio, QuantityError>,
        (low, high): (f64, f64),
    ) -> Option<Written<f64>> {
        let value = self.entry(key)?;
        let number = match value.get_ref() {
            DeValue::String(text) => match parse(text) {
                Ok(found) => found.get::<ratio>(),
                Err(error) => {
                    self.mistake(value.span(), format!("`{key}`: {error}"));
                    return None;
                }
            },
            bare => match number(bare) {
                Some(number) => number,
                None => {
                    self.wrong_type(key, value, "a number");
                    return None;
                }
            },
        };
        if !number.is_finite() || number < low || number > high {
            let percent = if high <= 1.0 {
                format!(", in percent {} % to {} %", 100.0 * low, 100.0 * high)
            } else {
                String::new()
            };
            let message = format!("`{key}` should be a number from {low} to {high}{percent}");
            self.mistake(value.span(), message);
            return None;
        }
        Some(Written {
            value: number,
            span: value.span(),
        })
    }

    /// A list of quantities written as texts with their units; mistakes are noted one by one.
    pub fn quantities<Q>(
        &self,
        key: &'static str,
        parse: fn(&str) -> Result<Q, QuantityError>,
    ) -> Vec<Written<Q>> {
        let Some(value) = self.entry(key) else {
            return Vec::new();
        };
        let Some(items) = value.get_ref().as_array() else {
            self.wrong_type(key, value, "a list such as [\"10 mL\", \"100 mL\"]");
            return Vec::new();
        };
        self.bounded(key, items.len(), &value.span());
        let mut quantities = Vec::new();
        for item in items.iter().take(LONGEST_LIST) {
            match item.get_ref().as_str().map(parse) {
                Some(Ok(quantity)) => quantities.push(Written {
                    value: quantity,
                    span: item.span(),
                }),
                Some(Err(error)) => self.mistake(item.span(), format!("`{key}`: {error}")),
                None => self.wrong_type(key, item, "text in quotes with a number and its unit"),
            }
        }
        quantities
    }

    /// Notes a list that is too long to be meant.
    fn bounded(&self, key: &str, length: usize, span: &Range<usize>) {
        if length > LONGEST_LIST {
            let message = format!("`{key}` is a list of {length}; at most {LONGEST_LIST} are read");
            self.mistake(span.clone(), message);
        }
    }

    /// `true` or `false`.
    pub fn flag(&self, key: &'static str) -> Option<Written<bool>> {
        let value = self.entry(key)?;
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            self.wrong_type(key, value, "true or false");
        }
        flag.map(|flag| Written {
            value: flag,
            span: value.span(),
        })
    }

    /// One of the words listed.
    pub fn choice<T: Copy>(&self, key: &'static str, words: &[(&str, T)]) -> Option<Written<T>> {
        let written = self.text(key)?;
        if let Some((_, value)) = words.iter().find(|(word, _)| *word == written.value) {
            return Some(Written {
                value: *value,
                span: written.span,
            });
        }
        let list: Vec<String> = words
            .iter()
            .map(|(word, _)| format!("\"{word}\""))
            .collect();
        let message = format!(
            "`{key}` is \"{}\", but should be one of {}",
            written.value,
            list.join(", ")
        );
        self.mistake(written.span, message);
        None
    }

    /// What `find` knows by the name under `key`, a `what`; else a mistake that lists the `names`.
    pub fn named<'n, T>(
        &self,
        (key, what): (&'static str, &str),
        find: impl FnOnce(&str) -> Option<T>,
        names: impl Iterator<Item = &'n str>,
    ) -> Option<T> {
        let asked = self.text(key)?;
        let found = find(asked.value);
        if found.is_none() {
            let message = format!(
                "no {what} `{}` is in the tables; there are {}",
                asked.value,
                names.collect::<Vec<_>>().join(", ")
            );
            self.mistake(asked.span, message);
        }
        found
    }

    /// A table inside this one.
    pub fn section(&self, key: &'static str) -> Option<Section<'a>> {
        let value = self.entry(key)?;
        match value.get_ref().as_table() {
            Some(table) => Some(Self::new(
                table,
                value.span(),
                format!("[{key}]"),
                self.mistakes,
            )),
            None => {
                self.wrong_type(key, value, &format!("a table, written [{key}]"));
                None
            }
        }
    }

    /// The tables of an array written `[[key]]`.
    pub fn sections(&self, key: &'static str) -> Vec<Section<'a>> {
        let Some(value) = self.entry(key) else {
            return Vec::new();
        };
        let wanted = format!("a list of tables, written [[{key}]]");
        let Some(items) = value.get_ref().as_array() else {
            self.wrong_type(key, value, &wanted);
            return Vec::new();
        };
        self.bounded(key, items.len(), &value.span());
        let mut sections = Vec::new();
        for item in items.iter().take(LONGEST_LIST) {
            match item.get_ref().as_table() {
                Some(table) => {
                    let name = format!("this [[{key}]]");
                    sections.push(Self::new(table, item.span(), name, self.mistakes));
                }
                None => self.wrong_type(key, item, &wanted),
            }
        }
        sections
    }

    /// The tables of `[key]`, written once, or of `[[key]]`, written as often as there are some.
    pub fn section_or_sections(&self, key: &'static str) -> Vec<Section<'a>> {
        match self.entry(key).map(|value| value.get_ref().as_table()) {
            Some(Some(_)) => self.section(key).into_iter().collect(),
            _ => self.sections(key),
        }
    }

    /// A list of texts.
    pub fn texts(&self, key: &'static str) -> Vec<String> {
        let Some(value) = self.entry(key) else {
            return Vec::new();
        };
        let texts = value.get_ref().as_array().and_then(|items| {
            let texts = items.iter().map(|item| item.get_ref().as_str());
            texts.map(|text| text.map(str::to_owned)).collect()
        });
        texts.unwrap_or_else(|| {
            self.wrong_type(key, value, "a list of texts in quotes");
            Vec::new()
        })
    }

    /// A list of numbers, each within `low..=high`.
    pub fn numbers(&self, key: &'static str, (low, high): (f64, f64)) -> Option<Written<Vec<f64>>> {
        let value = self.entry(key)?;
        let numbers = value.get_ref().as_array().and_then(|items| {
            let numbers = items.iter().map(|item| number(item.get_ref()));
            numbers.collect::<Option<Vec<f64>>>()
        });
        match numbers {
            Some(numbers) if numbers.iter().all(|x| (low..=high).contains(x)) => Some(Written {
                value: numbers,
                span: value.span(),
            }),
            _ => {
                let message = format!("`{key}` should be a list of numbers from {low} to {high}");
                self.mistake(value.span(), message);
                None
            }
        }
    }

    /// Every key of this table as a name with a quantity within `low..=high`.
    pub fn named_quantities<Q: PartialOrd>(
        self,
        parse: fn(&str) -> Result<Q, QuantityError>,
        range: &str,
    ) -> Vec<(String, Q)> {
        let mut quantities = Vec::new();
        for (name, value) in self.free_keys() {
            match value.get_ref().as_str().map(parse) {
                Some(Ok(quantity)) if is_within(&quantity, parse, range) => {
                    quantities.push((name.value.to_owned(), quantity));
                }
                Some(Ok(_)) => self.mistake(
                    value.span(),
                    format!(
                        "`{}` is out of range: it should be between {range}",
                        name.value
                    ),
                ),
                Some(Err(error)) => {
                    self.mistake(value.span(), format!("`{}`: {error}", name.value));
                }
                None => self.wrong_type(
                    name.value,
                    value,
                    "text in quotes with a number and its unit",
                ),
            }
        }
        quantities
    }

    /// Every key with its value, for tables whose keys are names (such as elements).
    pub fn free_keys(&self) -> Vec<(Written<&'a str>, &'a Spanned<DeValue<'a>>)> {
        self.table
            .iter()
            .map(|(key, value)| {
                (
                    Written {
                        value: key.get_ref().as_ref(),
                        span: key.span(),
                    },
                    value,
                )
            })
            .collect()
    }

    /// Notes every key that nobody asked for.
    pub fn finish(self) {
        let asked = self.asked.into_inner();
        for key in self.table.keys() {
            let name: &str = key.get_ref();
            if asked.contains(&name) {
                continue;
            }
            if self.mistakes.are_many() {
                self.mistakes.add(key.span(), "");
            } else {
                let hint = match crate::names::closest(name, asked.iter().copied()) {
                    Some(near) => format!("; did you mean `{near}`?"),
                    None => format!("; it knows {}", listed(&asked)),
                };
                self.mistakes
                    .add(key.span(), format!("{} knows no `{name}`{hint}", self.name));
            }
        }
    }
}

/// A bare number; `None` for any other kind of value, NaN for one that is out of range.
fn number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(number) => Some(
            i64::from_str_radix(number.as_str(), number.radix()).map_or(f64::NAN, |n| n as f64),
        ),
        DeValue::Float(number) => Some(number.as_str().parse().unwrap_or(f64::NAN)),
        _ => None,
    }
}

fn listed(names: &[&str]) -> String {
    let mut unique: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    unique.sort();
    unique.dedup();
    unique.join(", ")
}

fn article(kind: &str) -> String {
    let vowel = kind.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {kind}", if vowel { "an" } else { "a" })
}

/// The text under `key`.
pub(super) fn words(section: &Section<'_>, key: &'static str) -> Option<String> {
    section.text(key).map(|written| written.value.to_owned())
}

/// The value alone, without its place in the file.
pub(super) fn value<T>(written: Option<Written<T>>) -> Option<T> {
    written.map(|written| written.value)
}

/// Whether a quantity lies within a range such as `"10 W and 10 kW: why"`.
fn is_within<Q: PartialOrd>(
    quantity: &Q,
    parse: fn(&str) -> Result<Q, QuantityError>,
    range: &str,
) -> bool {
    let ends = range
        .split(':')
        .next()
        .and_then(|ends| ends.split_once(" and "));
    let ends = ends.and_then(|(low, high)| Some((parse(low).ok()?, parse(high).ok()?)));
    let (low, high) = ends.expect("a range is two quantities with `and` between");
    *quantity >= low && *quantity <= high
}
