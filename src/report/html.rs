//! The report as one HTML file that needs no network, and can be read without scripts, and the page
//! for a class.

mod bench;
mod class;
mod view;

use super::burn::DEFERENCE;
use super::material::Material;
use super::svg::{Palette, stylesheet};
use askama::Template;
use class::Answers;
pub use class::ClassPart;
use view::Page;

/// Writes the report of a plan as a self-contained HTML page.
pub fn report_html(material: &Material<'_>) -> String {
    let page = Page::new(material);
    let html = ReportTemplate { page: &page };
    html.render().expect("the templates write into a String")
}

/// Writes the page for a class: first what to predict, without any result of the batch; on a page
/// of its own the answers; or one of the two alone.
pub fn class_html(material: &Material<'_>, part: ClassPart) -> String {
    let page = Page::new(material);
    let html = ClassTemplate {
        page: &page,
        part,
        answers: Answers::of(material.plan, material.tables),
    };
    html.render().expect("the templates write into a String")
}

#[derive(Template)]
#[template(path = "report.html", config = "src/report/askama.toml")]
struct ReportTemplate<'a> {
    page: &'a Page,
}

#[derive(Template)]
#[template(path = "class.html", config = "src/report/askama.toml")]
struct ClassTemplate<'a> {
    page: &'a Page,
    part: ClassPart,
    answers: Answers,
}

/// The style sheets of the pictures: light, dark on screens whose reader wants it, light on paper.
fn picture_styles() -> String {
    format!(
        "{}\n@media screen and (prefers-color-scheme: dark){{{}}}",
        stylesheet(&Palette::LIGHT),
        stylesheet(&Palette::DARK)
    )
}

/// Running head and foot of every sheet of paper but the first, which bears the title itself.
fn running_lines(name: &str) -> String {
    format!(
        "@page{{@top-left{{content:{};font:8pt sans-serif}}@bottom-left{{content:{};font:7pt sans-serif}}}}\n\
         @page:first{{@top-left{{content:none}}}}",
        css_string(name),
        css_string(&format!(
            "emberpot {}. Estimates with bands, no guarantee. {DEFERENCE}",
            env!("CARGO_PKG_VERSION")
        ))
    )
}

/// A text as a string of a style sheet; what is no letter or digit goes by its code point, so that
/// nothing ends the string or the style sheet.
fn css_string(text: &str) -> String {
    let mut string = String::from("\"");
    for c in text.chars() {
        if c.is_alphanumeric() {
            string.push(c);
        } else {
            string += &format!("\\{:x} ", u32::from(c));
        }
    }
    string + "\""
}
