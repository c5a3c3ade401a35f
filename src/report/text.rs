//! The plan as text: the answer, then the reasons, then the sources. At most 100 columns.

use super::advice::{cautions_text, dangers_text, safety_text};
use super::cooling::cooling_text;
use super::heated::heated_text;
use super::number::{celsius_text, interval_text, mass_text, significant, volume_text, whole};
use super::outcome::outcome_text;
use super::temperature_text;
use crate::batch::{Batch, Ingredient};
use crate::enthalpy::WaterStateName;
use crate::flame::{CompleteCombustion, Flame};
use crate::plan::{Plan, StateResult, SurplusFate};
use crate::product::ProductModel;
use crate::redox::{StateOrigin, ValenceLine};
use crate::tables::Tables;
use std::fmt::{self, Write};
use uom::si::amount_of_substance::{millimole, mole};
use uom::si::energy::kilojoule;
use uom::si::molar_mass::gram_per_mole;
use uom::si::pressure::bar;
use uom::si::ratio::{percent, ratio};
use uom::si::specific_volume::cubic_meter_per_kilogram;

/// Widest line.
const WIDTH: usize = 100;
/// Gas species below this share of the gas are trace.
const MAIN_SHARE: f64 = 1e-3;

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
    flames(plan, out)?;
    fates(plan, out)?;
    if let Some(heated) = &plan.heated {
        heated_text(heated, out)?;
    }
    ledgers(plan, out)?;
    gases(plan, out)?;
    equilibria(plan, out)?;
    cooling_text(plan, tables, out)?;
    safety_text(&plan.advice, out)?;
    cautions_text(&plan.advice, out)?;
    sources(plan, tables, out)
}

pub(super) fn heading(out: &mut impl Write, title: &str) -> fmt::Result {
    writeln!(out, "\n{title}\n{}", "─".repeat(title.chars().count()))
}

/// Text broken into lines of at most [`WIDTH`] columns, each indented by `indent`.
pub(super) fn wrapped(out: &mut impl Write, indent: usize, text: &str) -> fmt::Result {
    wrapped_to(out, WIDTH, indent, text)
}

/// Text broken into lines of at most `width` columns, each indented by `indent`.
pub(super) fn wrapped_to(
    out: &mut impl Write,
    width: usize,
    indent: usize,
    text: &str,
) -> fmt::Result {
    let margin = " ".repeat(indent);
    let mut line = String::new();
    for word in text.split_whitespace() {
        if !line.is_empty() && indent + line.chars().count() + 1 + word.chars().count() > width {
            writeln!(out, "{margin}{line}")?;
            line.clear();
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if line.is_empty() {
        Ok(())
    } else {
        writeln!(out, "{margin}{line}")
    }
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
    for result in &plan.states {
        let label = if result.state.name == WaterStateName::AsMixed {
            "Flame"
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
        "These temperatures are bounds without losses; the water that is still there when it \
         ignites decides which one applies.",
    )
}

/// Where a burn ends, in words.
pub(super) fn flame_words(burn: &CompleteCombustion) -> String {
    match &burn.flame {
        Flame::At(t) => temperature_text(*t),
        Flame::OnTransition {
            temperature,
            from,
            to,
            fraction,
        } => format!(
            "{}, on {from} → {to}, {} % of it through",
            temperature_text(*temperature),
            whole(fraction.get::<percent>())
        ),
        Flame::TooWet { short_by } => format!(
            "no flame: its heat falls short by {} kJ",
            significant(short_by.get::<kilojoule>(), 3)
        ),
    }
}

fn flame_text(result: &StateResult) -> String {
    let mut text = flame_words(&result.complete);
    if result.complete.flame.temperature().is_some() {
        let _ = write!(text, " ± {}", interval_text(result.spread.half_width));
    }
    let equilibrium = result.equilibrium.equilibrium.temperature;
    let _ = write!(text, "; in equilibrium {}", celsius_text(equilibrium));
    text
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

pub(super) fn shortened(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    let kept: String = text.chars().take(width - 1).collect();
    format!("{kept}…")
}

fn valences(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    heading(out, "Valence sum: what reduces (+), what oxidises (−)")?;
    for line in &plan.redox.lines {
        writeln!(
            out,
            "{:<22} {:<32} = {:>7} × {:>8} mmol = {:>9} mmol",
            shortened(&line.formula.anhydrous().to_string(), 22),
            shortened(&sum_words(line), 32),
            signed(line.per_formula),
            significant(line.amount.get::<millimole>(), 4),
            significant(line.total.get::<millimole>(), 4),
        )?;
    }
    let redox = &plan.redox;
    writeln!(
        out,
        "reducing {} mmol / oxidising {} mmol = φ {}",
        significant(redox.reducing.get::<millimole>(), 5),
        significant(redox.oxidising.get::<millimole>(), 5),
        significant(redox.equivalence_ratio.get::<ratio>(), 4),
    )?;
    let definitions = &redox.definitions;
    let optional = |value: Option<crate::quantity::Ratio>| {
        value.map_or("–".to_owned(), |r| significant(r.get::<ratio>(), 4))
    };
    wrapped(
        out,
        0,
        &format!(
            "The same ratio as others state it: oxidiser/fuel (also λ) {}; mol fuel per mol nitrate \
             ion {}; mol fuel per mol metal {}; {} % of stoichiometric.",
            significant(definitions.oxidiser_to_fuel.get::<ratio>(), 4),
            optional(definitions.fuel_per_nitrate),
            optional(definitions.fuel_per_metal),
            significant(definitions.percent_of_stoichiometric, 4),
        ),
    )?;
    states_note(&plan.batch, out)
}

/// The terms of a valence sum, such as `Al +3, N 3×0, O 9×(−2)`.
pub(super) fn sum_words(line: &ValenceLine) -> String {
    let terms: Vec<String> = line
        .terms
        .iter()
        .map(|term| {
            let state = signed(term.oxidation_state);
            match plain(term.count, 4).as_str() {
                "1" => format!("{} {state}", term.element),
                count if term.oxidation_state < 0.0 => {
                    format!("{} {count}×({state})", term.element)
                }
                count => format!("{} {count}×{state}", term.element),
            }
        })
        .collect();
    terms.join(", ")
}

/// A number without trailing zeros.
pub(super) fn plain(value: f64, digits: i32) -> String {
    let text = significant(value, digits);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// An oxidation state or a valence with its sign.
pub(super) fn signed(value: f64) -> String {
    let sign = if value > 0.0 { "+" } else { "" };
    format!("{sign}{}", plain(value, 4))
}

fn states_note(batch: &Batch, out: &mut impl Write) -> fmt::Result {
    let mut chosen = Vec::new();
    for element in batch
        .dry_elements()
        .keys()
        .filter(|element| element.is_metal())
    {
        let Some(entry) = batch.states.entry(*element) else {
            continue;
        };
        let why = match entry.origin {
            StateOrigin::Default => continue,
            StateOrigin::Chosen => "as the file says",
            StateOrigin::Target => "from the target's oxygen",
        };
        chosen.push(format!("{element} {} ({why})", significant(entry.state, 4)));
    }
    if !chosen.is_empty() {
        wrapped(
            out,
            0,
            &format!("Oxidation states in the product: {}.", chosen.join(", ")),
        )?;
    }
    if batch.unbound_oxygen.abs() > 0.0 {
        let text = format!(
            "The target's formula holds {} oxygen per formula unit more than its metals bind; the \
             balance uses what they bind.",
            significant(batch.unbound_oxygen, 2)
        );
        wrapped(out, 0, &text)?;
    }
    Ok(())
}

fn equation(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    heading(out, "Overall equation (added water left out)")?;
    wrapped(out, 0, &plan.equation.to_string())?;
    if plan.product.model == ProductModel::EndMembers {
        let parts: Vec<String> = plan
            .product
            .phases
            .iter()
            .map(|p| {
                format!(
                    "{} mmol {}",
                    significant(p.amount.get::<millimole>(), 4),
                    p.formula
                )
            })
            .collect();
        let text = format!(
            "For its heat the powder is taken as {} (lowest enthalpy at 25 °C, ideal mixing).",
            parts.join(" + ")
        );
        wrapped(out, 0, &text)?;
    }
    Ok(())
}

fn flames(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    heading(
        out,
        "How hot (adiabatic: nothing lost but what the file states)",
    )?;
    writeln!(
        out,
        "{:<12} {:>10} {:>22} {:>10} {:>12} {:>12}",
        "water", "left/mmol", "complete combustion", "±", "equilibrium", "other set"
    )?;
    for result in &plan.states {
        let left = result.state.solvent + result.state.crystal_water(&plan.batch);
        let complete = result.complete.flame.temperature();
        writeln!(
            out,
            "{:<12} {:>10} {:>22} {:>10} {:>12} {:>12}",
            result.state.name.to_string(),
            significant(left.get::<millimole>(), 4),
            complete.map_or("no flame".to_owned(), temperature_text),
            complete.map_or("–".to_owned(), |_| interval_text(
                result.spread.half_width
            )),
            celsius_text(result.equilibrium.equilibrium.temperature),
            result
                .other_set
                .as_ref()
                .map_or("–".to_owned(), |other| celsius_text(
                    other.equilibrium.temperature
                )),
        )?;
    }
    let (chosen, other) = match plan.batch.conditions.species {
        crate::batch::SpeciesChoice::Full => ("every tabulated species", "without slow ones"),
        crate::batch::SpeciesChoice::Fast => ("without slow species", "every tabulated one"),
    };
    wrapped(
        out,
        0,
        &format!(
            "Equilibrium: {chosen}; other set: {other} (methane, ammonia, carbon and hydroxides form \
             too slowly below about 1000 K)."
        ),
    )?;
    let Some(result) = plan.state(WaterStateName::BoiledDown) else {
        return Ok(());
    };
    let largest: Vec<String> = result
        .spread
        .contributions
        .iter()
        .take(3)
        .map(|c| format!("{} ({})", c.what, interval_text(c.temperature)))
        .collect();
    if !largest.is_empty() {
        wrapped(
            out,
            0,
            &format!("The ± comes most from: {}.", largest.join("; ")),
        )?;
    }
    if !result.spread.without_band.is_empty() {
        let list = result.spread.without_band.join("; ");
        wrapped(
            out,
            0,
            &format!("Without a known band, so not in it: {list}."),
        )?;
    }
    Ok(())
}

fn fates(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    if plan.states.iter().all(|result| result.fates.is_empty()) {
        return Ok(());
    }
    heading(out, "Rich batch: what becomes of the surplus fuel decides")?;
    write!(out, "{:<44}", "flame in equilibrium")?;
    for result in &plan.states {
        write!(out, "{:>14}", result.state.name.to_string())?;
    }
    writeln!(out)?;
    let count = plan
        .states
        .iter()
        .map(|result| result.fates.len())
        .max()
        .unwrap_or(0);
    for at in 0..count {
        let words = plan.states.iter().find_map(|result| result.fates.get(at));
        let Some(words) = words.map(|fate| fate_words(fate.fate)) else {
            continue;
        };
        write!(out, "{words:<44}")?;
        for result in &plan.states {
            let text = result.fates.get(at).map_or("–".to_owned(), |fate| {
                celsius_text(fate.equilibrium.equilibrium.temperature)
            });
            write!(out, "{text:>14}")?;
        }
        writeln!(out)?;
    }
    Ok(())
}

pub(super) fn fate_words(fate: SurplusFate) -> String {
    match fate {
        SurplusFate::Leaves => "it leaves first, φ falls to 1".to_owned(),
        SurplusFate::OwnGas => "it cracks in its own gas".to_owned(),
        SurplusFate::Air(share) => {
            format!(
                "it burns with {} % of the air it needs",
                whole(share.get::<percent>())
            )
        }
    }
}

fn ledgers(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    heading(out, "Where the heat goes, kJ (complete combustion)")?;
    write!(out, "{:<40}", "")?;
    for result in &plan.states {
        write!(out, "{:>14}", result.state.name.to_string())?;
    }
    writeln!(out)?;
    let mut items: Vec<_> = plan
        .states
        .iter()
        .flat_map(|result| {
            result
                .complete
                .ledger
                .entries
                .iter()
                .map(|entry| entry.item)
        })
        .collect();
    items.sort_unstable();
    items.dedup();
    for item in items {
        write!(out, "{item:<40}")?;
        for result in &plan.states {
            let energy = result.complete.ledger.energy(item).get::<kilojoule>();
            let text = if energy.abs() > 0.0 {
                format!("{energy:+.2}").replace('-', "−")
            } else {
                "–".to_owned()
            };
            write!(out, "{text:>14}")?;
        }
        writeln!(out)?;
    }
    let left_out: Vec<&str> = plan
        .states
        .first()
        .map(|result| {
            result
                .reactants
                .solution_left_out
                .iter()
                .map(String::as_str)
                .collect()
        })
        .unwrap_or_default();
    if !left_out.is_empty() {
        let text = format!(
            "Enthalpy of solution unknown and left out for: {}.",
            left_out.join(", ")
        );
        wrapped(out, 0, &text)?;
    }
    Ok(())
}

fn gases(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    heading(out, "Gas (complete combustion)")?;
    writeln!(
        out,
        "{:<12} {:>10} {:>12} {:>12} {:>12} {:>16}",
        "water", "mmol", "at 25 °C", "25 °C, dry", "at the flame", "hot over liquid"
    )?;
    for result in &plan.states {
        let gas = &result.gas;
        writeln!(
            out,
            "{:<12} {:>10} {:>12} {:>12} {:>12} {:>16}",
            result.state.name.to_string(),
            significant(gas.amount.get::<millimole>(), 4),
            volume_text(gas.volume_25c),
            volume_text(gas.volume_25c_dry),
            gas.volume_flame.map_or("–".to_owned(), volume_text),
            gas.expansion.map_or("–".to_owned(), |e| format!(
                "{} ×",
                significant(e.get::<ratio>(), 2)
            )),
        )?;
    }
    for result in &plan.states {
        let species: Vec<String> = result
            .gas
            .by_species
            .iter()
            .map(|g| format!("{} {}", g.id, significant(g.amount.get::<millimole>(), 3)))
            .collect();
        wrapped(
            out,
            2,
            &format!("{}, mmol: {}", result.state.name, species.join(", ")),
        )?;
    }
    if plan.states.iter().any(|result| result.complete.shifted) {
        wrapped(
            out,
            0,
            "Rich: the surplus fuel's carbon and hydrogen settle among CO, CO2, H2 and H2O by the \
             water–gas equilibrium at the flame temperature.",
        )?;
    }
    Ok(())
}

fn equilibria(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    heading(out, "Equilibrium at the flame")?;
    for result in &plan.states {
        let equilibrium = &result.equilibrium.equilibrium;
        writeln!(
            out,
            "{}: {} at {} bar",
            result.state.name,
            temperature_text(equilibrium.temperature),
            significant(equilibrium.pressure.get::<bar>(), 3)
        )?;
        let gas = equilibrium.gas_amount.get::<mole>();
        let (mut main, mut trace) = (Vec::new(), Vec::new());
        for species in equilibrium.gases() {
            let share = species.amount.get::<mole>() / gas;
            if share >= MAIN_SHARE {
                main.push(format!(
                    "{} {} %",
                    species.id,
                    significant(100.0 * share, 3)
                ));
            } else if share >= 1e-7 && trace.len() < 8 {
                trace.push(format!(
                    "{} {} ppm",
                    species.id,
                    significant(1e6 * share, 2)
                ));
            }
        }
        wrapped(out, 2, &format!("gas: {}", main.join(", ")))?;
        if !trace.is_empty() {
            wrapped(out, 2, &format!("traces: {}", trace.join(", ")))?;
        }
        let condensed: Vec<String> = equilibrium
            .condensed()
            .map(|s| {
                format!(
                    "{} {} mmol",
                    s.id,
                    significant(s.amount.get::<millimole>(), 3)
                )
            })
            .collect();
        wrapped(out, 2, &format!("powder: {}", condensed.join(", ")))?;
        let mut facts = Vec::new();
        if let Some(molten) = equilibrium.molten_fraction {
            facts.push(format!("molten {} %", whole(molten.get::<percent>())));
        }
        if let Some(oxygen) = equilibrium.log10_oxygen_pressure {
            facts.push(format!("log10(pO2/bar) {}", significant(oxygen, 3)));
        }
        let mut add = |name: &str, value: Option<crate::quantity::Ratio>| {
            if let Some(value) = value {
                facts.push(format!("{name} {}", significant(value.get::<ratio>(), 2)));
            }
        };
        add("CO/CO2", equilibrium.carbon_monoxide_ratio);
        add("H2/H2O", equilibrium.hydrogen_ratio);
        add("carbon activity", equilibrium.carbon_activity);
        wrapped(out, 2, &facts.join("; "))?;
        if !equilibrium.extrapolated.is_empty() {
            let list = equilibrium.extrapolated.join(", ");
            wrapped(out, 2, &format!("beyond the range of its data: {list}"))?;
        }
    }
    Ok(())
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
