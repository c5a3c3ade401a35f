//! A sweep as a document; as CSV and JSON in [`data`]. A row that failed tells why.

mod data;

pub(super) use data::BurnPoint;
#[cfg(not(target_family = "wasm"))]
pub(super) use data::Swept;
use data::fraction_of;
pub use data::{main_gases, sweep_csv, sweep_json};

use super::burn::DEFERENCE;
use super::document::{Cell, Document, Section, Table, percent_text};
use super::number::{ends, plain, significant, with_band};
use super::shown::{Shown, more};
use crate::quantity::units::{
    cubic_meter_per_kilogram, degree_celsius, gram, kelvins, millimole, percent, ratio,
};
use crate::quantity::{AmountOfSubstance, Band};
use crate::vary::{Axis, Factor, Point, Row, Sweep};

/// Most columns of gases in the text table.
const MOST_GASES: usize = 7;
/// Widest map that is drawn in text, in levels of the second axis.
const WIDEST_MAP: usize = 10;
/// Digits of a temperature in °C: whole degrees.
const TEMPERATURE_DIGITS: i32 = 3;
/// Shares too small to mean anything on the bench are shown as smaller than this.
const FAINT: f64 = 1e-3;

/// A level in up to four digits, without zeros at its end.
fn level_digits(level: f64) -> String {
    plain(level, 4)
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
    !sweep
        .axes
        .iter()
        .any(|axis| axis.factor == Factor::FuelRatio)
}

/// A level with its unit.
fn level_text(factor: &Factor, level: f64) -> String {
    let unit = factor.unit();
    let number = level_digits(level);
    if unit.is_empty() {
        number
    } else {
        format!("{number} {unit}")
    }
}

fn axis_title(axis: &Axis) -> String {
    let unit = axis.factor.unit();
    if unit.is_empty() {
        axis.factor.to_string()
    } else {
        format!("{} / {unit}", axis.factor)
    }
}

/// Sections behind the answer, by name.
pub const VARY_SECTIONS: [&str; 4] = ["rows", "gases", "violence", "phases"];

/// The sweep as a document: its answer, and the sections that are asked for.
pub fn sweep_document(sweep: &Sweep, shown: &Shown) -> Document {
    let mut sections = Vec::new();
    let map = map_of(sweep);
    let has_map = map.is_some();
    if shown.answer() {
        sections.push(answer(sweep, map));
    }
    let mut all = Section::new("Row by row");
    if has_map || !shown.answer() {
        all.table(table(sweep));
    }
    let mut gas = Section::new("Main gases in equilibrium, % of the gas");
    gas.table(gases(sweep));
    let mut fumes = Section::new("Violence, and what may come off");
    fumes.table(dangers(sweep));
    sections.extend(shown.pick([
        ("rows", all),
        ("gases", gas),
        ("violence", fumes),
        ("phases", powders(sweep)),
    ]));
    let mut closing = Section::default();
    closing.text(
        "Temperatures are adiabatic bounds; ± is the band from the data. NOx and CO are those of \
         the equilibrium at the flame; what may come off is the bracket that `burn` gives.",
    );
    closing.fact("Rules", DEFERENCE);
    if *shown == Shown::Answer {
        closing.fact("More", more(&VARY_SECTIONS));
    }
    sections.push(closing);
    Document::new(sweep.name.clone(), sections)
}

/// The map of two factors, unless it is too wide.
fn map_of(sweep: &Sweep) -> Option<Table> {
    match &sweep.axes[..] {
        [first, second] if second.levels.len() <= WIDEST_MAP => Some(map(sweep, first, second)),
        _ => None,
    }
}

/// What was varied, with the map or the rows, and the rows that failed.
fn answer(sweep: &Sweep, map: Option<Table>) -> Section {
    let mut first = Section::default();
    let what: Vec<String> = sweep.axes.iter().map(axis_title).collect();
    first.text(format!(
        "Varied: {}. Water: {}. Everything else as in the file.",
        what.join(" and "),
        sweep.state
    ));
    first.table(map.unwrap_or_else(|| table(sweep)));
    if sweep.heated && sweep.axes.iter().any(|axis| axis.factor == Factor::Start) {
        first.text(
            "The burn starts at the temperature that the heating of the file gives it, whatever the \
             heating began with: what a warmer start does by itself shows with --water-state dried.",
        );
    }
    failures(sweep, &mut first);
    first
}

fn axis_heads(sweep: &Sweep) -> Vec<String> {
    let heads = sweep.axes.iter().map(|axis| {
        let unit = axis.factor.unit();
        match &axis.factor {
            Factor::FuelRatio => "φ".to_owned(),
            Factor::Dopant { dopant, .. } => format!("{dopant} / {unit}"),
            Factor::FuelShare(_) => format!("fuel / {unit}"),
            Factor::Flux(_) => format!("flux / {unit}"),
            Factor::Water => format!("water / {unit}"),
            Factor::WaterLeft => format!("left / {unit}"),
            Factor::Loss => format!("loss / {unit}"),
            Factor::Start => format!("start / {unit}"),
            Factor::Size => format!("size / {unit}"),
            Factor::Air => format!("air / {unit}"),
        }
    });
    heads.collect()
}

fn levels(row: &Row) -> Vec<Cell> {
    let level = |level: &f64| Cell::new(*level, level_digits(*level));
    row.levels.iter().map(level).collect()
}

/// A table that starts with the levels.
fn by_level(sweep: &Sweep, name: &str, heads: &[&str]) -> Table {
    let heads = heads.iter().map(|&head| head.to_owned());
    Table::new(name, axis_heads(sweep).into_iter().chain(heads))
}

fn rows(sweep: &Sweep) -> impl Iterator<Item = (&Row, &Point)> {
    sweep
        .rows
        .iter()
        .filter_map(|row| Some((row, row.outcome.as_ref().ok()?)))
}

fn table(sweep: &Sweep) -> Table {
    let mut heads = Vec::new();
    if shows_ratio(sweep) {
        heads.push("φ");
    }
    heads.extend([
        "fixed products / °C",
        "equilibrium / °C",
        "L/g",
        "lg pO2",
        "molten",
        "NOx / ppm",
        "CO / %",
    ]);
    let mut table = by_level(sweep, "Sweep", &heads);
    for (row, point) in rows(sweep) {
        let mut cells = levels(row);
        if shows_ratio(sweep) {
            cells.push(Cell::number(point.equivalence_ratio.get::<ratio>(), 3));
        }
        cells.extend(point_cells(point));
        table.row(cells);
    }
    table
}

fn point_cells(point: &Point) -> [Cell; 7] {
    let band = |t: f64, half: f64| Cell::new(t, with_band(t, half, TEMPERATURE_DIGITS));
    let small = |value: f64| Cell::new(value, trace(value));
    [
        point.complete.map_or_else(
            || "no flame".into(),
            |t| band(t.get::<degree_celsius>(), point.half_width.get::<kelvins>()),
        ),
        band(
            point.equilibrium.get::<degree_celsius>(),
            point.equilibrium_half_width.get::<kelvins>(),
        ),
        Cell::number(point.gas_per_product.get::<cubic_meter_per_kilogram>(), 3),
        point.log10_oxygen_pressure.map_or(Cell::Absent, Cell::log),
        point.molten.map_or(Cell::Absent, |molten| {
            Cell::new(molten.get::<percent>(), percent_text(molten))
        }),
        small(1e6 * point.nitrogen_oxides.get::<ratio>()),
        small(point.carbon_monoxide.get::<percent>()),
    ]
}

fn gases(sweep: &Sweep) -> Table {
    let mut gases = main_gases(sweep);
    gases.truncate(MOST_GASES);
    let heads: Vec<&str> = gases.iter().map(String::as_str).collect();
    let mut table = by_level(sweep, "Main gases", &heads);
    for (row, point) in rows(sweep) {
        let mut cells = levels(row);
        cells.extend(
            gases
                .iter()
                .map(|gas| Cell::number(100.0 * fraction_of(point, gas), 3)),
        );
        table.row(cells);
    }
    table
}

/// Violence index and brackets of fumes.
fn dangers(sweep: &Sweep) -> Table {
    let heads = [
        "violence / (L/(g s))",
        "burns as",
        "NO + NO2 / (mmol/g)",
        "CO / (mmol/g)",
    ];
    let mut table = by_level(sweep, "Violence and fumes", &heads);
    for (row, point) in rows(sweep) {
        let violence = &point.violence;
        let mut cells = levels(row);
        cells.extend([
            span(violence.index_l_per_g_s),
            violence.words().into(),
            per_gram(point, point.nitrogen_oxides_released),
            per_gram(point, point.carbon_monoxide_released),
        ]);
        table.row(cells);
    }
    table
}

fn span(band: Band<f64>) -> Cell {
    let shown = if band.high <= band.low {
        trace(band.low)
    } else {
        let (low, high) = ends(band.low, band.high, 2);
        match (band.low < FAINT, band.high < FAINT) {
            (_, true) => trace(band.high),
            (true, false) => format!("up to {high}"),
            (false, false) => format!("{low} to {high}"),
        }
    };
    Cell::new(band.high, shown)
}

/// Amount for each gram of powder, mmol.
fn per_gram(point: &Point, band: Band<AmountOfSubstance>) -> Cell {
    let grams = point.product_mass.get::<gram>();
    span(band.map(|n| n.get::<millimole>() / grams))
}

/// Condensed phases, one line for every stretch of rows that have the same ones.
fn powders(sweep: &Sweep) -> Section {
    let mut section = Section::new("Condensed phases in equilibrium at the flame");
    let mut stretches: Vec<(String, &Row, &Row)> = Vec::new();
    for (row, point) in rows(sweep) {
        let mut ids: Vec<&str> = point.condensed.iter().map(|(id, _)| id.as_str()).collect();
        ids.sort_unstable();
        let phases = ids.join(" + ");
        match stretches.last_mut() {
            Some((same, _, end)) if *same == phases && sweep.axes.len() == 1 => *end = row,
            _ => stretches.push((phases, row, row)),
        }
    }
    for (phases, first, last) in stretches {
        let span = if first.levels == last.levels {
            place(sweep, first)
        } else {
            format!("{} to {}", place(sweep, first), place(sweep, last))
        };
        let phases = if phases.is_empty() { "none" } else { &phases };
        section.item(format!("{span}: {phases}"));
    }
    section
}

/// The levels of a row with their units.
fn place(sweep: &Sweep, row: &Row) -> String {
    let levels = sweep.axes.iter().zip(&row.levels);
    let parts = levels.map(|(axis, level)| level_text(&axis.factor, *level));
    parts.collect::<Vec<_>>().join(", ")
}

fn map(sweep: &Sweep, first: &Axis, second: &Axis) -> Table {
    let corner = format!("{} ↓ {} →", axis_title(first), axis_title(second));
    let across = second.levels.iter().map(|level| level_digits(*level));
    let mut table = Table::new(
        "Equilibrium temperature / °C",
        std::iter::once(corner).chain(across),
    );
    let down = first
        .levels
        .iter()
        .zip(sweep.rows.chunks(second.levels.len()));
    for (level, rows) in down {
        let mut cells = vec![Cell::from(level_digits(*level))];
        cells.extend(rows.iter().map(|row| match &row.outcome {
            Ok(point) => Cell::whole(point.equilibrium.get::<degree_celsius>()),
            Err(_) => Cell::Absent,
        }));
        table.row(cells);
    }
    table
}

fn failures(sweep: &Sweep, section: &mut Section) {
    let names: Vec<String> = sweep
        .axes
        .iter()
        .map(|axis| axis.factor.to_string())
        .collect();
    // Each reason once, with the places that it holds for.
    let mut reasons: Vec<(String, Vec<String>)> = Vec::new();
    for row in &sweep.rows {
        let Err(error) = &row.outcome else { continue };
        let reason = error.to_string();
        match reasons.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, places)) => places.push(place(sweep, row)),
            None => reasons.push((reason, vec![place(sweep, row)])),
        }
    }
    for (reason, places) in reasons {
        let (names, places) = (names.join(" and "), places.join("; "));
        section.text(format!("No result at {names} {places}: {reason}."));
    }
}
