//! The stock solutions of the bench sheet, step by step.

use super::{WIDTH, error_text, heading, next, weighed, wrapped_behind};
use crate::quantity::Ratio;
use crate::report::layout::wrapped_to;
use crate::report::number::{mass_text, significant, volume_text};
use crate::tables::glassware::GlasswareKind;
use crate::weigh::dilution::{Aliquot, Choice, DopantPlan, StockPlan};
use crate::weigh::line::Line;
use crate::weigh::measure::Measure;
use crate::weigh::sheet::Sheet;
use std::fmt::{self, Write};
use uom::si::ratio::{percent, ratio};

/// Writes a block for every ingredient that goes in as a stock solution.
pub(super) fn stocks(sheet: &Sheet, out: &mut impl Write) -> fmt::Result {
    let mut label = 'A';
    for line in &sheet.lines {
        let Measure::Stock(plan) = &line.measure else {
            continue;
        };
        writeln!(out)?;
        match &plan.stock {
            Some(stock) => {
                stock_steps(line, stock, label, out)?;
                label = next(label);
            }
            None => wrapped_to(
                out,
                WIDTH,
                0,
                &format!(
                    "{}: weighed straight, below the minimum weight.",
                    line.ingredient.reactant.name
                ),
            )?,
        }
        wrapped_to(out, WIDTH, 4, &reason(plan, line, sheet))?;
    }
    Ok(())
}

fn stock_steps(line: &Line, stock: &StockPlan, label: char, out: &mut impl Write) -> fmt::Result {
    heading(
        out,
        &format!("Stock {label}: {}", line.ingredient.reactant.name),
    )?;
    let mut from = format!(
        "weigh {} ({}, ±{} %)",
        weighed(&stock.weighing),
        stock.weighing.balance,
        error_text(stock.weighing.relative_error())
    );
    for (at, dilution) in stock.dilutions.iter().enumerate() {
        let flask = volume_text(dilution.flask);
        wrapped_behind(
            out,
            "[ ] ",
            &format!("{from} into the {flask} flask, fill up, mix"),
        )?;
        from = format!("draw {}", aliquot_text(&dilution.aliquot));
        if at + 1 == stock.dilutions.len() {
            let salt = mass_text(line.ingredient.mass);
            wrapped_behind(
                out,
                "[ ] ",
                &format!("{from} into the pot ({salt} of salt)"),
            )?;
        }
    }
    Ok(())
}

fn aliquot_text(aliquot: &Aliquot) -> String {
    let kind = match aliquot.kind {
        GlasswareKind::Piston => "piston pipette",
        _ => "pipette",
    };
    let nominal: Ratio = aliquot.filling / aliquot.nominal;
    let set = if nominal.get::<ratio>() < 1.0 - 1e-9 {
        format!(" set to {}", volume_text(aliquot.filling))
    } else {
        String::new()
    };
    let times = match aliquot.fillings {
        1 => String::new(),
        n => format!(", {n} fillings"),
    };
    format!(
        "{} with the {} {kind}{set}{times}",
        volume_text(aliquot.volume()),
        volume_text(aliquot.nominal)
    )
}

/// Why this plan, in words.
fn reason(plan: &DopantPlan, line: &Line, sheet: &Sheet) -> String {
    let share: f64 = line
        .ingredient
        .reactant
        .formula
        .amounts()
        .keys()
        .filter_map(|element| sheet.spread.metal_shares.get(element))
        .map(|band| band.value.get::<percent>())
        .sum();
    let error = line.relative_error.get::<ratio>();
    let mut text = format!(
        "Error {} %: {} ± {} mol % of the metal. Weighed straight: ±{} %.",
        error_text(line.relative_error),
        significant(share, 4),
        significant(share * error, 2),
        error_text(plan.direct.relative_error()),
    );
    let other = |plan: &Option<StockPlan>| plan.as_ref().map(|p| error_text(p.relative_error));
    match (plan.choice, other(&plan.best_single)) {
        (Choice::Direct, Some(error)) => {
            let _ = write!(text, " The best stock solution here would be ±{error} %.");
        }
        (Choice::Direct, None) => {}
        (Choice::OneStock, ..) => text.push_str(" Good enough with the least work."),
        (Choice::Serial, Some(error)) => {
            let _ = write!(
                text,
                " Diluted twice, as one stock would be ±{error} % at best."
            );
        }
        (Choice::Serial, None) => {
            text.push_str(
                " Diluted twice, as one stock would take too much salt or too little of it.",
            );
        }
        (Choice::LeastError, ..) => text.push_str(" The least error that this glassware gives."),
    }
    text
}
