//! The bench sheet as a document: one A4 page of 80 columns for a batch of usual length.

mod water;

use super::burn::DEFERENCE;
use super::document::{Document, Section, Table};
use super::number::{drawn_text, mass_text, plain, significant, volume_text, with_band};
use crate::quantity::units::{gram, milligram, milliliter, millimole, percent, ratio};
use crate::quantity::{Mass, Ratio, Volume};
use crate::tables::glassware::GlasswareKind;
use crate::weigh::balance::{Weighing, decimals};
use crate::weigh::bands::ErrorBand;
use crate::weigh::dilution::{Aliquot, Choice, DopantPlan, StockPlan};
use crate::weigh::line::Line;
use crate::weigh::measure::{Drawn, Measure};
use crate::weigh::neighbours::Split;
use crate::weigh::sheet::Sheet;
use std::fmt::Write;

/// The bench sheet.
pub fn sheet_document(sheet: &Sheet) -> Document {
    Document::new(
        format!("Bench sheet: {}", sheet.batch.name),
        vec![head(sheet), holds(sheet), water::water(sheet), watch(sheet)],
    )
}

/// What stands on the sheet besides its table: stock solutions, what the pot holds, water.
pub(super) fn sheet_rest(sheet: &Sheet) -> Vec<Section> {
    let mut solutions = Section::new("Stock solutions");
    stocks(sheet, &mut solutions);
    [solutions, holds(sheet), water::water(sheet)]
        .into_iter()
        .filter(|section| !section.parts.is_empty())
        .collect()
}

fn head(sheet: &Sheet) -> Section {
    let mut section = Section::default();
    let phi = band_text(&sheet.bands.equivalence_ratio, |r| r.get::<ratio>());
    section.text(match &sheet.batch.target {
        Some(target) => format!(
            "Target {}, {}; φ = {phi}",
            target.formula,
            mass_text(target.amount * target.formula.molar_mass())
        ),
        None => format!("As weighed; φ = {phi}"),
    });
    if sheet.pots > 1 {
        section.text(format!(
            "One of {} equal pots: weigh and burn each on its own",
            sheet.pots
        ));
    }
    section.text("Date ______________ weighed by ______________ checked by ______________");
    section.table(lines(sheet));
    stocks(sheet, &mut section);
    section
}

/// A value and its half width with the decimals that the half width calls for.
fn band_text<Q: Copy>(band: &ErrorBand<Q>, number: impl Fn(Q) -> f64) -> String {
    with_band(number(band.value), number(band.half_width), 9)
}

fn lines(sheet: &Sheet) -> Table {
    let head = [
        "",
        "in the order of addition",
        "take",
        "with",
        "± %",
        "in pot",
    ];
    let mut table = Table::new("What to weigh", head);
    for line in &sheet.lines {
        let ingredient = &line.ingredient;
        let (take, with) = take(line);
        let low = match &line.measure {
            Measure::Weigh(weighing) if weighing.is_below_minimum() => "!",
            Measure::Stock(plan) if plan.stock.is_none() => "!",
            _ => "",
        };
        let assay = match ingredient.assay.get::<percent>() {
            a if a >= 100.0 - 1e-9 => String::new(),
            a => format!(", assay {} %", plain(a, 4)),
        };
        let amount = significant(ingredient.amount.get::<millimole>(), 4);
        let reactant = &ingredient.reactant;
        table.row([
            format!("[ ] {}", line.step).into(),
            format!(
                "{}, {}{assay}, {amount} mmol",
                reactant.name, reactant.formula
            )
            .into(),
            take.into(),
            with.into(),
            format!("{}{low}", error_text(line.relative_error)).into(),
            pot_text(line.running_total).into(),
        ]);
    }
    table
}

pub(super) fn take(line: &Line) -> (String, String) {
    let straight = |weighing: &Weighing| (weighed(weighing), balance(weighing).to_owned());
    match &line.measure {
        Measure::Weigh(weighing) => straight(weighing),
        Measure::Draw(drawn) => (
            drawn_text(drawn.volume, drawn.standard_uncertainty),
            drawn_with(drawn),
        ),
        Measure::Stock(plan) => match (&plan.stock, line.stock) {
            (Some(plan), Some(letter)) => (
                volume_text(plan.carried_volume()),
                format!("stock {letter}"),
            ),
            _ => straight(&plan.direct),
        },
    }
}

/// The balance as it is called at the bench: "analytical".
fn balance(weighing: &Weighing) -> &str {
    let name = &weighing.balance;
    name.strip_suffix(" balance").unwrap_or(name)
}

/// A mass with the decimals that its balance shows; in mg below 0.1 g.
fn weighed(weighing: &Weighing) -> String {
    let places = decimals(weighing.readability);
    if weighing.mass < Mass::new::<gram>(0.1) && places >= 3 {
        let places = places - 3;
        format!("{:.places$} mg", weighing.mass.get::<milligram>())
    } else {
        format!("{:.places$} g", weighing.mass.get::<gram>())
    }
}

fn drawn_with(drawn: &Drawn) -> String {
    let times = if drawn.fillings > 1 {
        format!("{} × ", drawn.fillings)
    } else {
        String::new()
    };
    let kind = match drawn.kind {
        GlasswareKind::Cylinder => "cyl.",
        GlasswareKind::Piston => "piston",
        GlasswareKind::Pipette => "pip.",
        GlasswareKind::Flask => "flask",
    };
    let nominal = drawn.nominal.get::<milliliter>();
    format!("{times}{} mL {kind}", (nominal * 1e3).round() / 1e3)
}

pub(super) fn error_text(error: Ratio) -> String {
    match error.get::<percent>() {
        small if small < 0.01 => "<0.01".to_owned(),
        error => significant(error, 2),
    }
}

pub(super) fn pot_text(total: Mass) -> String {
    format!("{} g", significant(total.get::<gram>(), 4))
}

fn holds(sheet: &Sheet) -> Section {
    let bands = &sheet.bands;
    let mut section = Section::new("What the pot holds, with 95 % bands");
    let phi = &bands.equivalence_ratio;
    let causes: Vec<String> = phi
        .causes
        .iter()
        .take(2)
        .map(|(cause, share)| format!("{cause} {:.0} %", share.get::<percent>()))
        .collect();
    let from = match causes.as_slice() {
        [] => String::new(),
        causes => format!("; from {}", causes.join(", ")),
    };
    section.fact(
        "φ",
        format!(
            "{}, sampled {:.3} to {:.3} ({} samples, seed {}){from}",
            band_text(phi, |r| r.get::<ratio>()),
            phi.sampled.0.get::<ratio>(),
            phi.sampled.1.get::<ratio>(),
            bands.samples.0,
            bands.samples.1,
        ),
    );
    let mass = band_text(&bands.product_mass, |m| m.get::<gram>());
    section.fact("product", format!("{mass} g as oxide"));
    if let Some(line) = super::burn::purity_line(sheet.purity.as_ref()) {
        section.fact("purity", line);
    }
    for wanted in &sheet.metals {
        let Some(band) = bands.metal_shares.get(&wanted.metal) else {
            continue;
        };
        let aim = wanted.wanted.map_or(String::new(), |share| {
            format!(" (wanted {})", plain(share.get::<percent>(), 4))
        });
        let share = band_text(band, |r| r.get::<percent>());
        section.fact(
            wanted.metal.symbol(),
            format!("{share} mol % of the metal{aim}"),
        );
    }
    if let Some(check) = &sheet.neighbours {
        let [low, high] = check.ends.each_ref().map(split_text);
        let nominal = split_text(&check.nominal);
        section.fact(
            "phases",
            format!("by cation ratio {nominal}; at the ends of the band {low} and {high}"),
        );
    }
    section
}

fn split_text(split: &Split) -> String {
    let parts: Vec<String> = split
        .parts
        .iter()
        .filter(|(_, part)| part.get::<percent>() >= 0.05)
        .map(|(name, part)| {
            let share = format!("{:.1}", part.get::<percent>());
            format!("{} % {name}", share.trim_end_matches(".0"))
        })
        .collect();
    parts.join(" + ")
}

fn watch(sheet: &Sheet) -> Section {
    let mut section = Section::new("Watch");
    for notice in &sheet.notices {
        section.item(notice.to_string());
    }
    section.item(
        "keep nitrates and fuel apart until both go into the water, never grind or store them dry \
         together; the labels of the bottles count",
    );
    section.text(DEFERENCE);
    section
}

/// Volume in mL for tables of data.
pub(super) fn millilitres(volume: Volume) -> f64 {
    volume.get::<milliliter>()
}

/// Adds what to do for every ingredient that goes in as a stock solution.
fn stocks(sheet: &Sheet, section: &mut Section) {
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
