//! `emberpot convert`: nitric acid for a carbonate, an oxide, a hydroxide, a basic salt or a metal.

use super::answer::{Answer, Format};
use super::error::CliError;
use super::input::bench_mass;
use super::output::page_width;
use emberpot::internal::dissolution::{ConvertInput, acid_plan};
use emberpot::internal::redox::OxidationStates;
use emberpot::internal::report::{convert_document, convert_json};
use emberpot::quantity::units::{mole, ratio};
use emberpot::quantity::{AmountOfSubstance, Mass, Ratio, parse};
use emberpot::{Element, Formula, Tables};
use std::collections::BTreeMap;

#[derive(clap::Args)]
pub struct Arguments {
    /// Formula of the substance, such as SrCO3, Y2O3, "4MgCO3·Mg(OH)2·5H2O" or Cu (turnings, wire).
    substance: String,
    /// Mass of the substance.
    #[arg(long, value_name = "MASS", value_parser = bench_mass, conflicts_with = "amount", required_unless_present = "amount")]
    mass: Option<Mass>,
    /// Amount of the substance.
    #[arg(long, value_name = "AMOUNT", value_parser = amount)]
    amount: Option<AmountOfSubstance>,
    /// Mass fraction of the nitric acid.
    #[arg(long, value_name = "SHARE", default_value = "65 %", value_parser = strength)]
    acid: Ratio,
    /// Acid beyond what the reaction uses up.
    #[arg(long, value_name = "SHARE", default_value = "5 %", value_parser = excess)]
    excess: Ratio,
    /// Charge of a metal in solution where it is not the usual one, such as Co=2; may be repeated.
    #[arg(long, value_name = "METAL=CHARGE", value_parser = charge)]
    charge: Vec<(Element, f64)>,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

fn amount(text: &str) -> Result<AmountOfSubstance, String> {
    let amount = parse::amount(text).map_err(|error| error.to_string())?;
    match amount.get::<mole>() {
        n if n > 0.0 && n <= 100.0 => Ok(amount),
        _ => Err("the amount should be above 0 and up to 100 mol".to_owned()),
    }
}

fn share(text: &str, (low, high): (f64, f64), range: &str) -> Result<Ratio, String> {
    let share = parse::ratio(text).map_err(|error| error.to_string())?;
    if (low..=high).contains(&share.get::<ratio>()) {
        Ok(share)
    } else {
        Err(format!("should be {range}"))
    }
}

fn strength(text: &str) -> Result<Ratio, String> {
    share(
        text,
        (0.01, 0.70),
        "from 1 % to 70 %: stronger acid fumes and is no bench reagent",
    )
}

fn excess(text: &str) -> Result<Ratio, String> {
    share(text, (0.0, 1.0), "from 0 to 100 %")
}

fn charge(text: &str) -> Result<(Element, f64), String> {
    let parts = text.split_once('=').and_then(|(symbol, charge)| {
        let element = Element::from_symbol(symbol.trim())?;
        let charge = charge.trim().parse::<f64>().ok()?;
        (charge > 0.0 && charge <= 6.0).then_some((element, charge))
    });
    parts.ok_or_else(|| "should read like Co=2".to_owned())
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let wrong = |error: String| CliError::Argument(error);
    let formula = Formula::parse(&arguments.substance).map_err(|error| wrong(error.to_string()))?;
    let amount = match (arguments.amount, arguments.mass) {
        (Some(amount), _) => amount,
        (None, Some(mass)) => mass / formula.molar_mass(),
        (None, None) => return Err(wrong("give --mass or --amount".to_owned())),
    };
    // The charge as tabulated for the substance, unless one is given.
    let tabulated = tables
        .find_reactant(&arguments.substance)
        .ok()
        .and_then(|r| r.metal.clone());
    let chosen: BTreeMap<Element, f64> = tabulated
        .map(|metal| (metal.element, f64::from(metal.oxidation_state)))
        .into_iter()
        .chain(arguments.charge.iter().copied())
        .collect();
    let states = OxidationStates::with_choice(&chosen);
    let Some(acid) = tables.reactants.nitric_acid() else {
        return Err(wrong("the tables hold no nitric acid".to_owned()));
    };
    let input = ConvertInput {
        amount,
        strength: arguments.acid,
        excess: arguments.excess,
    };
    let plan = acid_plan(&formula, &input, &states, acid, &tables.bench_oxides)
        .map_err(|error| wrong(error.to_string()))?;
    let text = arguments.format.write(
        || convert_document(&plan, &input).text(page_width()),
        || convert_json(&plan, &input),
    );
    Ok(text.into())
}
