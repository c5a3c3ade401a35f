//! `emberpot calcine`: the crystal water of a bottle from two weighings.

use super::answer::{Answer, Format};
use super::error::CliError;
use super::input::bench_mass;
use super::output::page_width;
use emberpot::batch::Balance;
use emberpot::internal::report::{CalcineInput, calcine_document, calcine_json};
use emberpot::internal::weigh::Calcination;
use emberpot::internal::weigh::standard_uncertainty;
use emberpot::quantity::Mass;
use emberpot::{Formula, Tables};

#[derive(clap::Args)]
pub struct Arguments {
    /// The salt, such as "Y(NO3)3·xH2O" or "Y(NO3)3".
    salt: String,
    /// Mass of the sample, if weighed.
    #[arg(long, value_name = "MASS", value_parser = bench_mass, requires = "residue")]
    sample: Option<Mass>,
    /// Mass of the residue, if weighed.
    #[arg(long, value_name = "MASS", value_parser = bench_mass, requires = "sample")]
    residue: Option<Mass>,
    /// Readability of the balance.
    #[arg(long, value_name = "MASS", default_value = "0.1 mg", value_parser = bench_mass)]
    readability: Mass,
    /// Molecules of water to be expected.
    #[arg(long, value_name = "X", default_value_t = 6.0, value_parser = water)]
    expected: f64,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// Standard uncertainty of x for which the sample is planned: half a percent of φ.
const WANTED: f64 = 0.02;

fn water(text: &str) -> Result<f64, String> {
    text.parse::<f64>()
        .ok()
        .filter(|x| (0.0..=24.0).contains(x))
        .ok_or_else(|| "should be a number from 0 to 24".to_owned())
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let salt = Formula::parse_with_water(&arguments.salt, 0.0)
        .map_err(|error| CliError::Argument(error.to_string()))?;
    let calcination = Calcination::of(&salt, &tables.bench_oxides)
        .map_err(|error| CliError::Argument(error.to_string()))?;
    let balance = Balance {
        name: "balance".to_owned(),
        readability: arguments.readability,
        capacity: None,
        repeatability: None,
        linearity: None,
        minimum_weight: None,
    };
    let u = standard_uncertainty(&balance, &tables.weighing_rules);
    let input = CalcineInput {
        expected: arguments.expected,
        mass_uncertainty: u,
        wanted: WANTED,
        masses: arguments.sample.zip(arguments.residue),
    };
    let found = input
        .masses
        .map(|(sample, residue)| calcination.water((sample, u), (residue, u)))
        .transpose()
        .map_err(|error| CliError::Argument(error.to_string()))?;
    let found = found.as_ref();
    let text = arguments.format.write(
        || calcine_document(&calcination, &input, found).text(page_width()),
        || calcine_json(&calcination, &input, found),
    );
    Ok(text.into())
}
