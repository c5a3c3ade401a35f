//! `emberpot dope`: how much dopant, in mol % of a site, by mass, as oxide.

use super::answer::{Answer, Format};
use super::error::CliError;
use super::output::page_width;
use clap::ArgGroup;
use emberpot::internal::dope::{Counted, doped};
use emberpot::internal::report::{doped_document, doped_json};
use emberpot::quantity::{Ratio, parse};
use emberpot::{Element, Tables};

#[derive(clap::Args)]
#[command(group(ArgGroup::new("level").required(true)))]
pub struct Arguments {
    /// Formula of the host without the dopant, such as ZnAl2O4.
    host: String,
    /// The dopant.
    #[arg(long, value_name = "ELEMENT", value_parser = element)]
    with: Element,
    /// The element that it replaces.
    #[arg(long, value_name = "ELEMENT", value_parser = element)]
    on: Element,
    /// Level as share of the site, such as 2%.
    #[arg(long, value_name = "SHARE", group = "level", value_parser = share)]
    site: Option<Ratio>,
    /// Level by mass of the powder, such as 500ppm.
    #[arg(long, value_name = "SHARE", group = "level", value_parser = share)]
    mass: Option<Ratio>,
    /// Level as oxide by mass of the powder, such as 1.5%.
    #[arg(long, value_name = "SHARE", group = "level", value_parser = share)]
    oxide: Option<Ratio>,
    /// Formula of the oxide, such as Co3O4; by default that of the tables.
    #[arg(long, value_name = "FORMULA")]
    counted_as: Option<String>,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

fn element(text: &str) -> Result<Element, String> {
    Element::from_symbol(text).ok_or_else(|| format!("no element has the symbol {text}"))
}

fn share(text: &str) -> Result<Ratio, String> {
    if text.trim().parse::<f64>().is_ok() {
        return Err("a level needs its unit: 2% or 500ppm".to_owned());
    }
    parse::ratio(text).map_err(|error| error.to_string())
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let counted = match (arguments.site, arguments.mass, arguments.oxide) {
        (Some(site), ..) => Counted::OfSite(site),
        (_, Some(mass), _) => Counted::Mass(mass),
        (_, _, Some(oxide)) => Counted::Oxide(oxide),
        // clap asks for one of them.
        _ => unreachable!("one level is required"),
    };
    let oxide = arguments.counted_as.as_deref();
    let found = doped(
        &arguments.host,
        arguments.with,
        arguments.on,
        counted,
        oxide,
        tables,
    )?;
    let text = arguments.format.write(
        || doped_document(&found).text(page_width()),
        || doped_json(&found),
    );
    Ok(text.into())
}
