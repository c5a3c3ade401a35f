//! `emberpot settle`: equilibrium of anything in the tables.

use super::answer::{Answer, Format};
use super::error::CliError;
use super::output::page_width;
use clap::ArgGroup;
use emberpot::Tables;
use emberpot::equilibrium::{EquilibriumError, SpeciesSet};
use emberpot::internal::report::{settled_document, settled_json};
use emberpot::quantity::parse::{self, QuantityError};
use emberpot::quantity::{Pressure, ThermodynamicTemperature};
use emberpot::settle::{Condition, portion, settle};

#[derive(clap::Args)]
#[command(group(ArgGroup::new("condition")))]
pub struct Arguments {
    /// Substances with their amounts: "CH4=1" (mol), "urea=3 g", "MgO(cr)=0.5". A formula
    /// without phase is the phase stable at the start; "H2O(g)" is steam.
    #[arg(required = true, value_name = "NAME=AMOUNT")]
    substances: Vec<String>,
    /// Equilibrium at this temperature, such as 1500K or 900C.
    #[arg(
        long,
        group = "condition",
        required_unless_present_any = ["adiabatic_from", "constant_volume"],
        value_parser = parse::temperature
    )]
    temperature: Option<ThermodynamicTemperature>,
    /// Equilibrium without heat exchange, the substances starting at this temperature.
    #[arg(long, group = "condition", value_name = "TEMPERATURE", value_parser = parse::temperature)]
    adiabatic_from: Option<ThermodynamicTemperature>,
    /// Refused: a closed vessel must not be lit.
    #[arg(long, conflicts_with = "condition", hide = true)]
    constant_volume: bool,
    /// Pressure.
    #[arg(long, default_value = "1 bar", value_parser = pressure)]
    pressure: Pressure,
    /// Which species may form: all, or none of the slow ones (methane, ammonia, carbon,
    /// hydroxides).
    #[arg(long, value_enum, default_value_t = Set::Full)]
    species: Set,
    /// Let the solid solutions of the tables form, taken as ideal.
    #[arg(long)]
    solutions: bool,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Set {
    Full,
    Fast,
}

fn pressure(text: &str) -> Result<Pressure, QuantityError> {
    parse::pressure(text)
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let condition = match (arguments.temperature, arguments.adiabatic_from) {
        (Some(temperature), _) => Condition::Temperature(temperature),
        (None, Some(start)) => Condition::AdiabaticFrom(start),
        (None, None) => return Err(CliError::Settle(EquilibriumError::ConstantVolume.into())),
    };
    let portions = arguments
        .substances
        .iter()
        .map(|text| portion(text, condition.start(), tables))
        .collect::<Result<Vec<_>, _>>()?;
    let set = match arguments.species {
        Set::Full => SpeciesSet::Full,
        Set::Fast => SpeciesSet::Fast,
    };
    let settled = settle(
        portions,
        condition,
        arguments.pressure,
        set,
        arguments.solutions,
        tables,
    )?;
    let text = arguments.format.write(
        || settled_document(&settled).text(page_width()),
        || settled_json(&settled),
    );
    Ok(text.into())
}
