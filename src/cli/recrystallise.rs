//! `emberpot recrystallise`: a salt made purer from water.

use super::answer::{Answer, Format};
use super::error::CliError;
use super::input::bench_mass;
use super::output::page_width;
use emberpot::internal::recrystallise::{Request, recrystallise};
use emberpot::internal::report::{recrystallised_document, recrystallised_json};
use emberpot::quantity::units::ratio;
use emberpot::quantity::{Mass, Ratio, ThermodynamicTemperature, parse};
use emberpot::{Element, Tables};

#[derive(clap::Args)]
pub struct Arguments {
    /// The salt as on the bottle: name, formula or CAS number.
    salt: String,
    /// Mass of the salt.
    #[arg(long, value_name = "MASS", value_parser = bench_mass)]
    mass: Mass,
    /// Temperature of the hot solution; by default 90 °C, or as hot as the salt and the tables
    /// allow.
    #[arg(long, value_name = "T", value_parser = temperature)]
    hot: Option<ThermodynamicTemperature>,
    /// Temperature to which it is cooled.
    #[arg(long, value_name = "T", default_value = "5 °C", value_parser = temperature)]
    cold: ThermodynamicTemperature,
    /// Water to add, by mass; by default as much as serves.
    #[arg(long, value_name = "MASS", value_parser = bench_mass)]
    water: Option<Mass>,
    /// Content of a foreign element in the bottle, such as Fe=50ppm; may be repeated.
    #[arg(long, value_name = "ELEMENT=CONTENT", value_parser = impurity)]
    impurity: Vec<(Element, Ratio)>,
    /// Distribution coefficient of the foreign ions: their share in the crystal over that in the
    /// liquor, both against the salt.
    #[arg(long, value_name = "K")]
    distribution: Option<f64>,
    /// How many times in a row.
    #[arg(long, value_name = "N", default_value_t = 1)]
    times: u32,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

fn temperature(text: &str) -> Result<ThermodynamicTemperature, String> {
    parse::temperature(text).map_err(|error| error.to_string())
}

fn impurity(text: &str) -> Result<(Element, Ratio), String> {
    let written = "write it like Fe=50ppm or Fe=0.005%";
    let (symbol, content) = text.split_once('=').ok_or(written)?;
    let element = Element::from_symbol(symbol.trim())
        .ok_or_else(|| format!("no element has the symbol {symbol}; {written}"))?;
    if content.trim().parse::<f64>().is_ok() {
        return Err(format!("the content has no unit; {written}"));
    }
    let content = parse::ratio(content).map_err(|error| error.to_string())?;
    if (0.0..=0.2).contains(&content.get::<ratio>()) {
        Ok((element, content))
    } else {
        Err("a content should be from 0 to 20 %".to_owned())
    }
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let request = Request {
        mass: arguments.mass,
        hot: arguments.hot,
        cold: arguments.cold,
        water: arguments.water,
        impurities: arguments.impurity.clone(),
        distribution: arguments.distribution,
        times: arguments.times,
    };
    let found = recrystallise(&arguments.salt, &request, tables)?;
    let text = arguments.format.write(
        || recrystallised_document(&found).text(page_width()),
        || recrystallised_json(&found),
    );
    Ok(text.into())
}
