//! The bench sheet as text: 80 columns, one A4 page for a batch of usual length.

mod stock;
mod water;

use super::layout::wrapped_to;
use super::number::{mass_text, significant, volume_text};
use crate::quantity::{Mass, Ratio, Volume};
use crate::tables::glassware::GlasswareKind;
use crate::weigh::balance::{Weighing, decimals};
use crate::weigh::line::Line;
use crate::weigh::measure::{Drawn, Measure};
use crate::weigh::neighbours::Split;
use crate::weigh::sheet::Sheet;
use crate::weigh::spread::Band;
use std::fmt::{self, Write};
use uom::si::amount_of_substance::millimole;
use uom::si::mass::{gram, milligram};
use uom::si::ratio::{percent, ratio};
use uom::si::volume::milliliter;

/// Widest line: A4 in a fixed pitch of ten to the inch.
const WIDTH: usize = 80;
/// Width of the name column.
const NAME: usize = 35;

/// Writes the bench sheet.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub fn sheet_text(sheet: &Sheet, out: &mut impl Write) -> fmt::Result {
    head(sheet, out)?;
    table(sheet, out)?;
    stock::stocks(sheet, out)?;
    holds(sheet, out)?;
    water::water(sheet, out)?;
    notices(sheet, out)
}

/// Writes what stands on the sheet besides its table: stock solutions, what the pot holds, water.
pub(super) fn sheet_rest(sheet: &Sheet, out: &mut impl Write) -> fmt::Result {
    stock::stocks(sheet, out)?;
    holds(sheet, out)?;
    water::water(sheet, out)
}

fn heading(out: &mut impl Write, title: &str) -> fmt::Result {
    let rule = "─".repeat(WIDTH.saturating_sub(title.chars().count() + 1));
    writeln!(out, "{title} {rule}")
}

fn head(sheet: &Sheet, out: &mut impl Write) -> fmt::Result {
    let batch = &sheet.batch;
    wrapped_to(out, WIDTH, 0, &format!("Bench sheet: {}", batch.name))?;
    writeln!(out, "{}", "═".repeat(WIDTH))?;
    let phi = band_text(&sheet.spread.equivalence_ratio, |r| r.get::<ratio>());
    match &batch.target {
        Some(target) => writeln!(
            out,
            "Target {}, {}; φ = {phi}",
            target.formula,
            mass_text(target.amount * target.formula.molar_mass())
        )?,
        None => writeln!(out, "As weighed; φ = {phi}")?,
    }
    if sheet.pots > 1 {
        writeln!(
            out,
            "One of {} equal pots: weigh and burn each on its own",
            sheet.pots
        )?;
    }
    writeln!(
        out,
        "Date ______________  weighed by ______________  checked by ______________"
    )
}

/// A value and its half width with the decimals that the half width calls for.
fn band_text<Q: Copy>(band: &Band<Q>, number: impl Fn(Q) -> f64) -> String {
    let (value, half) = (number(band.value), number(band.half_width));
    if half <= 0.0 {
        return significant(value, 4);
    }
    // Two digits of the half width.
    let places = (1.0 - half.log10().floor()).clamp(0.0, 9.0) as usize;
    format!("{value:.places$} ± {half:.places$}")
}

fn table(sheet: &Sheet, out: &mut impl Write) -> fmt::Result {
    writeln!(
        out,
        "\n{:<7}{:<NAME$}{:>10}  {:<11}{:>6}{:>9}",
        "", "in the order of addition", "take", "with", "± %", "in pot"
    )?;
    writeln!(out, "{}", "─".repeat(WIDTH))?;
    let mut stock = 'A';
    for line in &sheet.lines {
        let ingredient = &line.ingredient;
        let name = &ingredient.reactant.name;
        let (take, with) = take(line, &mut stock);
        let with: String = with.chars().take(11).collect();
        let low = match &line.measure {
            Measure::Weigh(weighing) if weighing.is_below_minimum() => "!",
            Measure::Stock(plan) if plan.stock.is_none() => "!",
            _ => " ",
        };
        let values = format!(
            "{take:>10}  {with:<11}{:>5}{low}{:>9}",
            error_text(line.relative_error),
            pot_text(line.running_total)
        );
        let tick = format!("[ ] {:>2} ", line.step);
        let assay = match ingredient.assay.get::<percent>() {
            a if a >= 100.0 - 1e-9 => String::new(),
            a => format!(", assay {} %", significant(a, 4)),
        };
        let amount = significant(ingredient.amount.get::<millimole>(), 4);
        let detail = format!("{}{assay}, {amount} mmol", ingredient.reactant.formula);
        let margin = " ".repeat(7);
        // A name too long for its column goes on in the second line.
        let (name, rest) = split_name(name);
        let rest = if rest.is_empty() {
            String::new()
        } else {
            format!("{rest}, ")
        };
        writeln!(out, "{tick}{name:<NAME$}{values}\n{margin}{rest}{detail}")?;
    }
    Ok(())
}

/// The part of a name that fits its column, cut at a space, and the rest.
fn split_name(name: &str) -> (&str, &str) {
    if name.chars().count() <= NAME {
        return (name, "");
    }
    let fits = |at: &usize| name[..*at].chars().count() <= NAME;
    match name.match_indices(' ').map(|(at, _)| at).rfind(fits) {
        Some(at) => (&name[..at], &name[at + 1..]),
        None => (name, ""),
    }
}

/// What to take, and with what.
pub(super) fn take(line: &Line, stock: &mut char) -> (String, String) {
    match &line.measure {
        Measure::Weigh(weighing) => (weighed(weighing), weighing.balance.clone()),
        Measure::Draw(drawn) => (volume_text(drawn.volume), drawn_with(drawn)),
        Measure::Stock(plan) => match &plan.stock {
            Some(plan) => {
                let label = format!("stock {stock}");
                *stock = next(*stock);
                (volume_text(plan.carried_volume()), label)
            }
            None => (weighed(&plan.direct), plan.direct.balance.clone()),
        },
    }
}

fn next(letter: char) -> char {
    char::from_u32(u32::from(letter) + 1).unwrap_or('?')
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

fn holds(sheet: &Sheet, out: &mut impl Write) -> fmt::Result {
    let spread = &sheet.spread;
    writeln!(out)?;
    heading(out, "What the pot holds, with 95 % bands")?;
    let phi = &spread.equivalence_ratio;
    writeln!(
        out,
        "φ         {}, sampled {:.3} to {:.3} ({} samples, seed {})",
        band_text(phi, |r| r.get::<ratio>()),
        phi.sampled.0.get::<ratio>(),
        phi.sampled.1.get::<ratio>(),
        spread.samples.0,
        spread.samples.1
    )?;
    if !phi.causes.is_empty() {
        let causes: Vec<String> = phi
            .causes
            .iter()
            .take(2)
            .map(|(cause, share)| format!("{cause} {:.0} %", share.get::<percent>()))
            .collect();
        wrapped_to(out, WIDTH, 10, &format!("from {}", causes.join(", ")))?;
    }
    writeln!(
        out,
        "product   {} g as oxide",
        band_text(&spread.product_mass, |m| m.get::<gram>())
    )?;
    if let Some(line) = super::burn::purity_line(sheet.purity.as_ref()) {
        wrapped_behind(out, "purity    ", &line)?;
    }
    for wanted in &sheet.metals {
        let Some(band) = spread.metal_shares.get(&wanted.metal) else {
            continue;
        };
        let aim = wanted.wanted.map_or(String::new(), |share| {
            format!(" (wanted {})", significant(share.get::<percent>(), 5))
        });
        writeln!(
            out,
            "{:<9} {} mol % of the metal{aim}",
            wanted.metal,
            band_text(band, |r| r.get::<percent>())
        )?;
    }
    if let Some(check) = &sheet.neighbours {
        let ends: Vec<String> = check.ends.iter().map(split_text).collect();
        let text = format!(
            "by cation ratio {}; at the ends of the band {} and {}",
            split_text(&check.nominal),
            ends[0],
            ends[1]
        );
        wrapped_behind(out, "phases    ", &text)?;
    }
    Ok(())
}

fn split_text(split: &Split) -> String {
    let parts: Vec<String> = split
        .parts
        .iter()
        .filter(|(_, part)| part.get::<percent>() >= 0.05)
        .map(|(name, part)| format!("{} % {name}", significant(part.get::<percent>(), 3)))
        .collect();
    parts.join(" + ")
}

fn notices(sheet: &Sheet, out: &mut impl Write) -> fmt::Result {
    writeln!(out)?;
    heading(out, "Watch")?;
    for notice in &sheet.notices {
        wrapped_behind(out, "• ", &notice.to_string())?;
    }
    wrapped_behind(
        out,
        "• ",
        "keep nitrates and fuel apart until both go into the water, never grind or store them dry \
         together; labels, local rules and the safety officer decide",
    )
}

/// A paragraph that starts with `sign`; its further lines are indented to the text behind it.
fn wrapped_behind(out: &mut impl Write, sign: &str, text: &str) -> fmt::Result {
    let indent = sign.chars().count();
    let mut lines = String::new();
    wrapped_to(&mut lines, WIDTH, indent, text)?;
    let body = lines.strip_prefix(&" ".repeat(indent)).unwrap_or(&lines);
    write!(out, "{sign}{body}")
}

/// Volume in mL for tables of data.
pub(super) fn millilitres(volume: Volume) -> f64 {
    volume.get::<milliliter>()
}
