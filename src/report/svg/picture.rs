//! A finished picture: a drawing with its words and its numbers.

use super::canvas::{Canvas, escaped, short};
use super::style::{Palette, stylesheet};

/// Width of every picture in user units, a quarter of a millimetre each: 8.5 cm.
pub(super) const WIDTH: f64 = 340.0;
/// Width of a picture that carries a page: 18 cm, the width of a sheet less its margins.
pub(super) const PAGE_WIDTH: f64 = 720.0;
/// User units in a millimetre.
const UNITS_PER_MILLIMETRE: f64 = 4.0;

/// The numbers behind a picture, for those who cannot see it or want to check it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Numbers {
    /// Names of the columns, with units.
    pub head: Vec<String>,
    /// The rows, as long as the head.
    pub rows: Vec<Vec<String>>,
}

/// A picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Short name, also of the file: lower case and hyphens.
    pub name: String,
    /// Title.
    pub title: String,
    /// What it shows, in words.
    pub description: String,
    /// The numbers behind it.
    pub numbers: Numbers,
    width: f64,
    height: f64,
    body: String,
    /// The same at the width of a page, for where there is room.
    wide: Option<Box<Picture>>,
}

impl Picture {
    pub(super) fn new(
        name: impl Into<String>,
        title: impl Into<String>,
        description: impl Into<String>,
        canvas: Canvas,
        height: f64,
    ) -> Self {
        Self {
            name: name.into(),
            title: title.into(),
            description: description.into(),
            numbers: Numbers::default(),
            width: WIDTH,
            height,
            body: canvas.into_body(),
            wide: None,
        }
    }

    /// With the same picture drawn at [`PAGE_WIDTH`].
    pub(super) fn with_wide(mut self, mut wide: Self) -> Self {
        wide.width = PAGE_WIDTH;
        wide.name.push_str("-wide");
        self.wide = Some(Box::new(wide));
        self
    }

    pub(super) fn with_numbers(mut self, head: &[&str], rows: Vec<Vec<String>>) -> Self {
        self.numbers = Numbers {
            head: head.iter().map(|&text| text.to_owned()).collect(),
            rows,
        };
        self
    }

    /// The picture as part of a page that holds [`stylesheet`] once.
    pub fn inline(&self) -> String {
        match &self.wide {
            None => self.element("", "picture", ""),
            Some(wide) => {
                self.element("", "picture narrow", "") + &wide.element("", "picture wide", "")
            }
        }
    }

    /// Whether it has a form that carries a page.
    pub(in crate::report) fn is_wide(&self) -> bool {
        self.wide.is_some()
    }

    /// The picture as a file of its own, for paper: light, on white.
    pub fn file(&self) -> String {
        let size = format!(
            " xmlns=\"http://www.w3.org/2000/svg\" width=\"{}mm\" height=\"{}mm\"",
            short(self.width / UNITS_PER_MILLIMETRE),
            short(self.height / UNITS_PER_MILLIMETRE)
        );
        let inner = format!(
            "<style>{}</style>\n<rect class=\"paper\" width=\"{}\" height=\"{}\"/>\n",
            stylesheet(&Palette::LIGHT),
            short(self.width),
            short(self.height)
        );
        format!(
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}",
            self.element(&size, "picture", &inner)
        )
    }

    fn element(&self, attributes: &str, class: &str, before: &str) -> String {
        let name = &self.name;
        format!(
            "<svg{attributes} class=\"{class}\" viewBox=\"0 0 {} {}\" role=\"img\" \
             aria-labelledby=\"{name}-title {name}-desc\">\n<title id=\"{name}-title\">{}</title>\n\
             <desc id=\"{name}-desc\">{}</desc>\n{before}{}</svg>\n",
            short(self.width),
            short(self.height),
            escaped(&self.title),
            escaped(&self.description),
            self.body
        )
    }
}
