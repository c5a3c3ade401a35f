//! The plan as text: the answer, then the reasons, then the sources. At most 100 columns.

mod heat;
mod layout;
mod products;
mod redox;

pub(super) use heat::{fate_words, flame_words};
pub(super) use layout::{heading, shortened, wrapped, wrapped_to};
pub(super) use redox::{signed, sum_words};

use super::advice::{cautions_text, dangers_text, safety_text};
use super::cooling::cooling_text;
use super::expected::{expected_line, expected_text};
use super::heated::heated_text;
use super::number::{mass_text, significant, volume_text};
use super::outcome::outcome_text;
use crate::batch::Ingredient;
use crate::enthalpy::WaterStateName;
use crate::plan::Plan;
use crate::product::ProductModel;
use crate::tables::Tables;
use heat::{fates, flame_text, flames, ledgers};
use layout::WIDTH;
use products::{equilibria, gases};
use redox::{equation, valences};
use std::fmt::{self, Write};
use uom::si::amount_of_substance::millimole;
use uom::si::molar_mass::gram_per_mole;
use uom::si::ratio::{percent, ratio};
use uom::si::specific_volume::cubic_meter_per_kilogram;

/// Writes the whole report of a plan.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub fn plan_text(plan: &Plan, tables: &Tables, out: &mut impl Write) -> fmt::Result {
    answer(plan, out)?;
    dangers_text(&plan.advice, out)?;
    outcome_text(plan, out)?;
    ingredients(plan, out)?;
    valences(plan, out)?;
    equation(plan, out)?;
    expected_text(&plan.expected, out)?;
    flames(plan, tables, out)?;
    fates(plan, out)?;
    if let Some(heated) = &plan.heated {
        heated_text(heated, out)?;
    }
    failures_text(plan, out)?;
    ledgers(plan, out)?;
    gases(plan, out)?;
    equilibria(plan, out)?;
    cooling_text(plan, tables, out)?;
    safety_text(&plan.advice, out)?;
    cautions_text(&plan.advice, out)?;
    sources(plan, tables, out)
}

/// Parts of the estimate that could not be worked out.
pub(super) fn failures_text(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    if plan.failures.is_empty() {
        return Ok(());
    }
    heading(out, "Not worked out")?;
    for failure in &plan.failures {
        wrapped(out, 0, failure)?;
    }
    Ok(())
}

fn answer(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    let batch = &plan.batch;
    writeln!(out, "{}", batch.name)?;
    writeln!(out, "{}", "═".repeat(batch.name.chars().count().min(WIDTH)))?;
    let phi = plan.redox.equivalence_ratio.get::<ratio>();
    writeln!(
        out,
        "Mixture   {}: φ = {} (fuel over oxidiser, by valence; above 1 is fuel-rich)",
        plan.redox.mixture,
        significant(phi, 3)
    )?;
    let model = match plan.product.model {
        ProductModel::Tabulated => "",
        ProductModel::EndMembers => ", taken as a mixture of tabulated phases",
        ProductModel::SimpleOxides => ", simple oxides (the file names no target)",
    };
    writeln!(
        out,
        "Powder    {} of {}{model}",
        mass_text(plan.product.mass),
        plan.product.name
    )?;
    writeln!(out, "Peak      {}", expected_line(&plan.expected))?;
    for result in &plan.states {
        let label = if result.state.name == WaterStateName::AsMixed {
            "Limits"
        } else {
            ""
        };
        let name = format!("{}:", result.state.name);
        writeln!(out, "{label:<9} {name:<13} {}", flame_text(result))?;
    }
    if let Some(result) = plan.state(WaterStateName::BoiledDown) {
        let gas = &result.gas;
        let hot = gas
            .volume_flame
            .map_or(String::new(), |v| format!(", {} hot", volume_text(v)));
        writeln!(
            out,
            "Gas       {} at 25 °C{hot}; {} L per g of powder (boiled down)",
            volume_text(gas.volume_25c),
            significant(gas.per_product.get::<cubic_meter_per_kilogram>(), 3)
        )?;
    }
    wrapped(
        out,
        0,
        "Peak: expected. Limits: without losses, for the water that is still there when it ignites.",
    )
}

fn ingredients(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    heading(out, "What goes in")?;
    writeln!(
        out,
        "{:<44} {:>12} {:>14} {:>10}",
        "substance", "amount/mmol", "mass", "g/mol"
    )?;
    for ingredient in &plan.batch.ingredients {
        let reactant = &ingredient.reactant;
        let label = format!("{} ({})", reactant.name, reactant.formula);
        writeln!(
            out,
            "{:<44} {:>12} {:>14} {:>10.3}",
            shortened(&label, 44),
            significant(ingredient.amount.get::<millimole>(), 5),
            mass_text(ingredient.mass),
            reactant.formula.molar_mass().get::<gram_per_mole>(),
        )?;
        note_ingredient(ingredient, out)?;
    }
    let batch = &plan.batch;
    wrapped(
        out,
        0,
        &format!(
            "Without the added water {}; water added {} mmol, in crystals {} mmol.",
            mass_text(batch.weighed_mass()),
            significant(batch.solvent_water().get::<millimole>(), 4),
            significant(batch.crystal_water().get::<millimole>(), 4),
        ),
    )
}

fn note_ingredient(ingredient: &Ingredient, out: &mut impl Write) -> fmt::Result {
    let mut notes = Vec::new();
    if ingredient.assay.get::<ratio>() < 1.0 {
        notes.push(format!(
            "assay {} %",
            significant(ingredient.assay.get::<percent>(), 4)
        ));
    }
    if let Some(stock) = ingredient.stock {
        notes.push(format!(
            "as {} of stock solution",
            volume_text(stock.volume)
        ));
    } else if let Some(volume) = ingredient.volume {
        notes.push(format!("measured as {}", volume_text(volume)));
    }
    if notes.is_empty() {
        Ok(())
    } else {
        writeln!(out, "    {}", notes.join("; "))
    }
}

fn sources(plan: &Plan, tables: &Tables, out: &mut impl Write) -> fmt::Result {
    heading(out, "Sources of the numbers used")?;
    for used in &plan.sources {
        let title = tables
            .sources
            .get(&used.id)
            .map_or("(not listed)", |s| s.title.as_str());
        wrapped(out, 0, &format!("[{}; {}] {title}", used.id, used.seen))?;
        wrapped(out, 4, &used.used_for.join(", "))?;
    }
    Ok(())
}
