//! What a document is made of.

use crate::quantity::ThermodynamicTemperature;
use crate::quantity::units::kelvin;
use crate::report::number::{celsius_text, log_text, significant, whole};
use crate::report::svg::Picture;

/// Column at which the words behind a label start.
pub(in crate::report) const LABELS: usize = 11;

/// A whole result, or the parts of it that were asked for.
#[derive(Debug, Clone, Default)]
pub struct Document {
    /// Title.
    pub title: String,
    /// Sections in the order of reading.
    pub sections: Vec<Section>,
}

/// Parts under one heading; without a title they follow the title of the document.
#[derive(Debug, Clone, Default)]
pub struct Section {
    /// Heading.
    pub title: String,
    /// What it says.
    pub parts: Vec<Part>,
}

/// One piece of a section.
#[derive(Debug, Clone)]
pub enum Part {
    /// A paragraph.
    Text(String),
    /// A paragraph that belongs to what stands above it.
    Item(String),
    /// A line that starts with its label.
    Fact {
        /// What the line is about, one word or two.
        label: String,
        /// What is said of it.
        value: String,
    },
    /// The heading of the parts that follow.
    Subtitle(String),
    /// Lines kept as they are, to be copied.
    Verbatim(String),
    Table(Table),
    /// A picture; text leaves it out.
    Figure(Box<Picture>),
}

/// Rows under a head.
#[derive(Debug, Clone, Default)]
pub struct Table {
    /// What it shows, for those who do not see it.
    pub name: String,
    /// Heads of the columns, the unit behind a slash.
    pub head: Vec<String>,
    /// The rows, each as long as the head.
    pub rows: Vec<Vec<Cell>>,
}

/// One entry of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing to say.
    Absent,
    Words(String),
    /// A number, by default with its significant digits and its unit if the head has none.
    Number {
        value: f64,
        /// As it is printed.
        shown: String,
    },
}

impl Cell {
    /// `value`, shown as these words.
    pub(in crate::report) fn new(value: f64, shown: impl Into<String>) -> Self {
        let shown = shown.into();
        Self::Number { value, shown }
    }

    /// `value` with `digits` significant digits.
    pub(in crate::report) fn number(value: f64, digits: i32) -> Self {
        Self::new(value, significant(value, digits))
    }

    /// `value` for other programs.
    pub(in crate::report) fn plain(value: f64) -> Self {
        Self::new(value, value.to_string())
    }

    /// `value` as a whole number.
    pub(in crate::report) fn whole(value: f64) -> Self {
        Self::new(value, whole(value))
    }

    /// A decimal logarithm.
    pub(in crate::report) fn log(value: f64) -> Self {
        Self::new(value, log_text(value))
    }

    /// `value` with its sign and two decimals; what rounds to nothing has no sign.
    pub(in crate::report) fn change(value: f64) -> Self {
        let text = if value.abs() < 0.005 {
            "0.00".to_owned()
        } else {
            format!("{value:+.2}")
        };
        Self::new(value, text.replace('-', "−"))
    }

    /// A temperature in K, shown in whole °C.
    pub(in crate::report) fn celsius(temperature: ThermodynamicTemperature) -> Self {
        Self::new(temperature.get::<kelvin>(), celsius_text(temperature))
    }

    /// As it is printed.
    pub(in crate::report) fn shown(&self) -> &str {
        match self {
            Self::Absent => "–",
            Self::Words(words) => words,
            Self::Number { shown, .. } => shown,
        }
    }

    pub(super) fn is_words(&self) -> bool {
        matches!(self, Self::Words(_))
    }
}

impl<T: Into<String>> From<T> for Cell {
    fn from(words: T) -> Self {
        Self::Words(words.into())
    }
}

impl Document {
    /// A document of these sections; an empty title is not shown.
    pub(in crate::report) fn new(title: impl Into<String>, sections: Vec<Section>) -> Self {
        let title = title.into();
        Self { title, sections }
    }
}

impl Section {
    /// A section without parts.
    pub(in crate::report) fn new(title: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            parts: Vec::new(),
        }
    }

    /// Adds a paragraph; an empty one is left out.
    pub(in crate::report) fn text(&mut self, text: impl Into<String>) {
        let text = text.into();
        if !text.is_empty() {
            self.parts.push(Part::Text(text));
        }
    }

    /// Adds a paragraph that belongs to what stands above it.
    pub(in crate::report) fn item(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Item(text.into()));
    }

    /// Adds a line with a label.
    pub(in crate::report) fn fact(&mut self, label: &str, value: impl Into<String>) {
        self.parts.push(Part::Fact {
            label: label.to_owned(),
            value: value.into(),
        });
    }

    /// Adds a heading within the section.
    pub(in crate::report) fn subtitle(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Subtitle(text.into()));
    }

    /// Adds text that is shown letter by letter.
    pub(in crate::report) fn verbatim(&mut self, text: impl Into<String>) {
        self.parts.push(Part::Verbatim(text.into()));
    }

    /// Adds a picture; text has none.
    pub(in crate::report) fn picture(&mut self, picture: Picture) {
        self.parts.push(Part::Figure(Box::new(picture)));
    }

    /// Adds a table; one without rows is left out.
    pub(in crate::report) fn table(&mut self, table: Table) {
        if !table.rows.is_empty() {
            self.parts.push(Part::Table(table));
        }
    }
}

impl Table {
    /// A table with its heads and no rows yet.
    pub(in crate::report) fn new<I>(name: &str, head: I) -> Self
    where
        I: IntoIterator,
        I::Item: Into<String>,
    {
        Self {
            name: name.to_owned(),
            head: head.into_iter().map(Into::into).collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub(in crate::report) fn row(&mut self, cells: impl IntoIterator<Item = Cell>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// The same with a column for each row, under the first of its cells, and a row for each column.
    pub(in crate::report) fn on_its_side(self) -> Self {
        let names = self.rows.iter().map(|row| row[0].shown().to_owned());
        let rows = self.head.iter().enumerate().skip(1).map(|(at, name)| {
            let cells = self.rows.iter().map(|row| row[at].clone());
            std::iter::once(Cell::from(name.clone()))
                .chain(cells)
                .collect()
        });
        Self {
            head: std::iter::once(String::new()).chain(names).collect(),
            rows: rows.collect(),
            name: self.name,
        }
    }
}
