//! A sweep as text; as CSV and JSON in [`data`]. A row that failed keeps its place and tells why.

mod data;

pub(super) use data::{csv_cell, point_json};
pub use data::{sweep_csv, sweep_json};

use super::number::{significant, whole};
use super::text::wrapped;
use crate::quantity::{AmountOfSubstance, Band};
use crate::vary::{Axis, Lever, Point, Row, Sweep};
use std::collections::BTreeMap;
use std::fmt::{self, Write};
use uom::si::amount_of_substance::millimole;
use uom::si::mass::gram;
use uom::si::ratio::{percent, ratio};
use uom::si::specific_volume::cubic_meter_per_kilogram;
use uom::si::temperature_interval::kelvin as kelvins;
use uom::si::thermodynamic_temperature::degree_celsius;

/// Gases are given a column of their own if they reach this share in any row.
const WORTH_A_COLUMN: f64 = 0.01;
/// Most columns of gases in the text table.
const MOST_GASES: usize = 7;
/// Widest map that is drawn in text, in levels of the second axis.
const WIDEST_MAP: usize = 10;
/// Shares too small to mean anything on the bench are shown as smaller than this.
const FAINT: f64 = 1e-3;

/// Names of the gases of a sweep that are a hundredth of the gas anywhere, most abundant first.
#[must_use]
pub fn main_gases(sweep: &Sweep) -> Vec<String> {
    let mut most: BTreeMap<&str, f64> = BTreeMap::new();
    for point in points(sweep) {
        for (id, fraction) in &point.main_gases {
            let best = most.entry(id).or_insert(0.0);
            *best = best.max(fraction.get::<ratio>());
        }
    }
    let mut list: Vec<(&str, f64)> = most
        .into_iter()
        .filter(|(_, share)| *share >= WORTH_A_COLUMN)
        .collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(b.0)));
    list.into_iter().map(|(id, _)| id.to_owned()).collect()
}

fn points(sweep: &Sweep) -> impl Iterator<Item = &Point> {
    sweep
        .rows
        .iter()
        .filter_map(|row| row.outcome.as_ref().ok())
}

fn fraction_of(point: &Point, id: &str) -> f64 {
    point
        .main_gases
        .iter()
        .find(|(gas, _)| gas == id)
        .map_or(0.0, |(_, fraction)| fraction.get::<ratio>())
}

/// A level in up to five digits, without zeros at its end.
fn plain(level: f64) -> String {
    let text = significant(level, 5);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A share in a small unit, two digits.
fn trace(value: f64) -> String {
    if value > 0.0 && value < FAINT {
        format!("<{FAINT}")
    } else {
        significant(value, 2)
    }
}

/// Whether φ needs a column of its own.
fn shows_ratio(sweep: &Sweep) -> bool {
    !sweep.axes.iter().any(|axis| axis.lever == Lever::FuelRatio)
}

/// A level with its unit.
fn level_text(lever: &Lever, level: f64) -> String {
    let unit = lever.unit();
    let number = plain(level);
    if unit.is_empty() {
        number
    } else {
        format!("{number} {unit}")
    }
}

fn axis_title(axis: &Axis) -> String {
    let unit = axis.lever.unit();
    if unit.is_empty() {
        axis.lever.to_string()
    } else {
        format!("{} / {unit}", axis.lever)
    }
}

/// Writes the sweep as text.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub fn sweep_text(sweep: &Sweep, out: &mut impl Write) -> fmt::Result {
    writeln!(out, "{}", sweep.name)?;
    writeln!(out, "{}", "═".repeat(sweep.name.chars().count().min(100)))?;
    let what: Vec<String> = sweep.axes.iter().map(axis_title).collect();
    wrapped(
        out,
        0,
        &format!(
            "Varied: {}. Water: {}. Everything else as in the file.",
            what.join(" and "),
            sweep.state
        ),
    )?;
    table(sweep, out)?;
    gases(sweep, out)?;
    dangers(sweep, out)?;
    powders(sweep, out)?;
    if let [first, second] = &sweep.axes[..] {
        if second.levels.len() <= WIDEST_MAP {
            map(sweep, first, second, out)?;
        }
    }
    failures(sweep, out)?;
    writeln!(out)?;
    wrapped(
        out,
        0,
        "Temperatures are adiabatic bounds; ± is the band from the data. NOx (NO + NO2) and CO in \
         the first table are those of the equilibrium at the flame; what may come off is the \
         bracket that `burn` gives, here for this one state of the water, as the violence is.",
    )
}

fn axis_heads(sweep: &Sweep) -> String {
    let heads = sweep.axes.iter().map(|axis| {
        let unit = axis.lever.unit();
        let head = match &axis.lever {
            Lever::FuelRatio => "φ".to_owned(),
            Lever::Dopant { dopant, .. } => format!("{dopant}/{unit}"),
            Lever::FuelShare(_) => format!("fuel/{unit}"),
            Lever::Flux(_) => format!("flux/{unit}"),
            Lever::Water => format!("water/{unit}"),
            Lever::WaterLeft => format!("left/{unit}"),
            Lever::Loss => format!("loss/{unit}"),
            Lever::Start => format!("start/{unit}"),
            Lever::Size => format!("size/{unit}"),
            Lever::Air => format!("air/{unit}"),
        };
        format!("{head:>9}")
    });
    heads.collect()
}

fn levels(row: &Row) -> String {
    row.levels
        .iter()
        .map(|level| format!("{:>9}", plain(*level)))
        .collect()
}

fn table(sweep: &Sweep, out: &mut impl Write) -> fmt::Result {
    writeln!(
        out,
        "\n{}{}{:>16}{:>16}{:>7}{:>8}{:>8}{:>10}{:>8}",
        axis_heads(sweep),
        if shows_ratio(sweep) {
            format!("{:>7}", "φ")
        } else {
            String::new()
        },
        "fixed prod./°C",
        "equilibrium/°C",
        "L/g",
        "lg pO2",
        "molten",
        "NOx/ppm",
        "CO/%",
    )?;
    for row in &sweep.rows {
        write!(out, "{}", levels(row))?;
        match &row.outcome {
            Ok(point) => {
                if shows_ratio(sweep) {
                    let phi = point.equivalence_ratio.get::<ratio>();
                    write!(out, "{:>7}", significant(phi, 3))?;
                }
                writeln!(out, "{}", cells(point))?;
            }
            Err(_) => writeln!(out, "  no result, see below")?,
        }
    }
    Ok(())
}

fn cells(point: &Point) -> String {
    let band = |t: f64, half: f64| format!("{} ± {}", whole(t), significant(half, 2));
    let complete = point.complete.map_or("no flame".to_owned(), |t| {
        band(t.get::<degree_celsius>(), point.half_width.get::<kelvins>())
    });
    format!(
        "{:>16}{:>16}{:>7}{:>8}{:>8}{:>10}{:>8}",
        complete,
        band(
            point.equilibrium.get::<degree_celsius>(),
            point.equilibrium_half_width.get::<kelvins>()
        ),
        significant(point.gas_per_product.get::<cubic_meter_per_kilogram>(), 3),
        point
            .log10_oxygen_pressure
            .map_or("–".to_owned(), |log| significant(log, 3)),
        point.molten.map_or("–".to_owned(), |m| format!(
            "{} %",
            whole(m.get::<percent>())
        )),
        trace(1e6 * point.nitrogen_oxides.get::<ratio>()),
        trace(point.carbon_monoxide.get::<percent>()),
    )
}

fn gases(sweep: &Sweep, out: &mut impl Write) -> fmt::Result {
    let mut gases = main_gases(sweep);
    gases.truncate(MOST_GASES);
    if gases.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nMain gases in equilibrium, % of the gas")?;
    write!(out, "{}", axis_heads(sweep))?;
    for gas in &gases {
        write!(out, "{gas:>9}")?;
    }
    writeln!(out)?;
    for row in &sweep.rows {
        let Ok(point) = &row.outcome else { continue };
        write!(out, "{}", levels(row))?;
        for gas in &gases {
            write!(
                out,
                "{:>9}",
                significant(100.0 * fraction_of(point, gas), 3)
            )?;
        }
        writeln!(out)?;
    }
    Ok(())
}

/// Violence index and brackets of fumes.
fn dangers(sweep: &Sweep, out: &mut impl Write) -> fmt::Result {
    writeln!(
        out,
        "\nViolence (L hot gas per g of dry batch and s) and what may come off, mmol per g of powder"
    )?;
    writeln!(
        out,
        "{}{:>17}  {:<28}{:>17}{:>17}",
        axis_heads(sweep),
        "violence index",
        "burns as",
        "NO + NO2",
        "CO"
    )?;
    for row in &sweep.rows {
        let Ok(point) = &row.outcome else { continue };
        let violence = &point.violence;
        let word = violence.words();
        let index = violence.index_l_per_g_s;
        writeln!(
            out,
            "{}{:>17}  {:<28}{:>17}{:>17}",
            levels(row),
            span(index.low, index.high),
            word,
            per_gram(point, point.nitrogen_oxides_released),
            per_gram(point, point.carbon_monoxide_released),
        )?;
    }
    Ok(())
}

fn span(low: f64, high: f64) -> String {
    if high <= low {
        trace(low)
    } else {
        format!("{} to {}", trace(low), trace(high))
    }
}

fn per_gram(point: &Point, band: Band<AmountOfSubstance>) -> String {
    let grams = point.product_mass.get::<gram>();
    let own = |n: AmountOfSubstance| n.get::<millimole>() / grams;
    span(own(band.low), own(band.high))
}

/// Condensed phases, one line for every stretch of rows that have the same ones.
fn powders(sweep: &Sweep, out: &mut impl Write) -> fmt::Result {
    writeln!(out, "\nCondensed phases in equilibrium at the flame")?;
    let mut stretches: Vec<(String, &Row, &Row)> = Vec::new();
    for row in &sweep.rows {
        let Ok(point) = &row.outcome else { continue };
        let mut ids: Vec<&str> = point.condensed.iter().map(|(id, _)| id.as_str()).collect();
        ids.sort_unstable();
        let phases = ids.join(" + ");
        match stretches.last_mut() {
            Some((same, _, end)) if *same == phases && sweep.axes.len() == 1 => *end = row,
            _ => stretches.push((phases, row, row)),
        }
    }
    for (phases, first, last) in stretches {
        let place = |row: &Row| {
            let parts: Vec<String> = sweep
                .axes
                .iter()
                .zip(&row.levels)
                .map(|(axis, level)| level_text(&axis.lever, *level))
                .collect();
            parts.join(", ")
        };
        let span = if first.levels == last.levels {
            place(first)
        } else {
            format!("{} to {}", place(first), place(last))
        };
        let phases = if phases.is_empty() { "none" } else { &phases };
        wrapped(out, 2, &format!("{span}: {phases}"))?;
    }
    Ok(())
}

fn map(sweep: &Sweep, first: &Axis, second: &Axis, out: &mut impl Write) -> fmt::Result {
    writeln!(
        out,
        "\nEquilibrium temperature/°C: down {}, across {}",
        axis_title(first),
        axis_title(second)
    )?;
    write!(out, "{:>9}", "")?;
    for level in &second.levels {
        write!(out, "{:>9}", plain(*level))?;
    }
    writeln!(out)?;
    for (level, rows) in first
        .levels
        .iter()
        .zip(sweep.rows.chunks(second.levels.len()))
    {
        write!(out, "{:>9}", plain(*level))?;
        for row in rows {
            let cell = match &row.outcome {
                Ok(point) => whole(point.equilibrium.get::<degree_celsius>()),
                Err(_) => "–".to_owned(),
            };
            write!(out, "{cell:>9}")?;
        }
        writeln!(out)?;
    }
    Ok(())
}

fn failures(sweep: &Sweep, out: &mut impl Write) -> fmt::Result {
    for row in &sweep.rows {
        let Err(error) = &row.outcome else { continue };
        let place: Vec<String> = sweep
            .axes
            .iter()
            .zip(&row.levels)
            .map(|(axis, level)| format!("{} {}", axis.lever, level_text(&axis.lever, *level)))
            .collect();
        wrapped(
            out,
            0,
            &format!("No result at {}: {error}.", place.join(", ")),
        )?;
    }
    Ok(())
}
