//! The report as one HTML file that needs no network, and can be read without scripts, and the page
//! for a class.

mod bench;
mod class;
mod view;

use super::material::Material;
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
        answers: Answers::of(material.plan),
    };
    html.render().expect("the templates write into a String")
}

#[derive(Template)]
#[template(path = "report.html", config = "src/report/askama.toml")]
struct ReportTemplate<'a> {
    page: &'a Page<'a>,
}

#[derive(Template)]
#[template(path = "class.html", config = "src/report/askama.toml")]
struct ClassTemplate<'a> {
    page: &'a Page<'a>,
    part: ClassPart,
    answers: Answers,
}
