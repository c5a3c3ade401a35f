//! The valence sum, the fuel ratio by every definition, and the equation.

use super::layout::{heading, shortened, wrapped};
use crate::batch::Batch;
use crate::plan::Plan;
use crate::product::ProductModel;
use crate::redox::{StateOrigin, ValenceLine};
use crate::report::number::significant;
use std::fmt::{self, Write};
use uom::si::amount_of_substance::millimole;
use uom::si::ratio::ratio;

pub(in crate::report) fn valences(plan: &Plan, out: &mut impl Write) -> fmt::Result {
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
pub(in crate::report) fn sum_words(line: &ValenceLine) -> String {
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
pub(in crate::report) fn plain(value: f64, digits: i32) -> String {
    let text = significant(value, digits);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// An oxidation state or a valence with its sign.
pub(in crate::report) fn signed(value: f64) -> String {
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
    if let Some((metals, other)) = batch.ratio_counted_as_salt() {
        let metals: Vec<String> = metals
            .iter()
            .map(|(element, charge)| format!("{element} (0, not {})", signed(*charge)))
            .collect();
        let text = format!(
            "Convention of φ: a metal that the powder holds as metal counts 0: {}. Counted with the \
             charge of its salt, as many papers do, this batch has φ = {}.",
            metals.join(", "),
            significant(other.equivalence_ratio.get::<ratio>(), 4)
        );
        wrapped(out, 0, &text)?;
    }
    if batch.unbound_oxygen.abs() > 0.0 {
        let side = if batch.unbound_oxygen > 0.0 {
            "more"
        } else {
            "less"
        };
        let text = format!(
            "The target's formula holds {} oxygen per formula unit {side} than its metals bind; the \
             balance uses what they bind.",
            significant(batch.unbound_oxygen.abs(), 2)
        );
        wrapped(out, 0, &text)?;
    }
    Ok(())
}

pub(in crate::report) fn equation(plan: &Plan, out: &mut impl Write) -> fmt::Result {
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
