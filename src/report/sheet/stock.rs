//! The stock solutions of the bench sheet, step by step.

use super::{balance, error_text, weighed};
use crate::quantity::Ratio;
use crate::report::document::Section;
use crate::report::number::{mass_text, significant, volume_text};
use crate::tables::glassware::GlasswareKind;
use crate::weigh::dilution::{Aliquot, Choice, DopantPlan, StockPlan};
use crate::weigh::line::Line;
use crate::weigh::measure::Measure;
use crate::weigh::sheet::Sheet;
use std::fmt::Write;
use uom::si::ratio::{percent, ratio};

/// Adds what to do for every ingredient that goes in as a stock solution.
pub(super) fn stocks(sheet: &Sheet, section: &mut Section) {
    for line in &sheet.lines {
        let Measure::Stock(plan) = &line.measure else {
            continue;
        };
        let name = &line.ingredient.reactant.name;
        match (&plan.stock, line.stock) {
            (Some(stock), Some(letter)) => {
                section.subtitle(format!("Stock {letter}: {name}"));
                stock_steps(line, stock, section);
            }
            _ => section.subtitle(format!(
                "{name}: weighed straight, below the minimum weight"
            )),
        }
        section.item(reason(plan, line, sheet));
    }
}

fn stock_steps(line: &Line, stock: &StockPlan, section: &mut Section) {
    let mut from = format!(
        "weigh {} ({}, ±{} %)",
        weighed(&stock.weighing),
        balance(&stock.weighing),
        error_text(stock.weighing.relative_error())
    );
    for dilution in &stock.dilutions {
        let flask = volume_text(dilution.flask);
        section.text(format!("[ ] {from} into the {flask} flask, fill up, mix"));
        from = format!("draw {}", aliquot_text(&dilution.aliquot));
    }
    let salt = mass_text(line.ingredient.mass);
    section.text(format!("[ ] {from} into the pot ({salt} of salt)"));
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
        .filter_map(|element| sheet.bands.metal_shares.get(element))
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
