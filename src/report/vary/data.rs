//! A sweep as CSV and JSON: quantities in the units that the heads name.

use crate::advice::Violence;
use crate::quantity::units::{cubic_meter_per_kilogram, gram, kelvin, kelvins, mole, ratio};
use crate::quantity::{AmountOfSubstance, Band};
use crate::report::advice::levels;
use crate::report::document::quoted;
use crate::report::number::cell_text;
use crate::report::view::{Ends, Named, WordEnds, ends, json_of, list, view};
use crate::vary::{Axis, Point, Row, Sweep};
use serde_json::Value;
use std::collections::BTreeMap;

/// Gases are given a column of their own if they reach this share in any row.
const WORTH_A_COLUMN: f64 = 0.01;

/// The sweep as CSV: one line a row, units in the heads, an empty cell where there is no value,
/// and the reason of a failed row in the last column.
pub fn sweep_csv(sweep: &Sweep) -> String {
    let gases = main_gases(sweep);
    let mut lines = vec![csv_head(sweep, &gases)];
    lines.extend(sweep.rows.iter().map(|row| csv_row(row, &gases)));
    lines
        .iter()
        .map(|cells| {
            let quoted: Vec<String> = cells.iter().map(|cell| quoted(cell)).collect();
            quoted.join(",") + "\n"
        })
        .collect()
}

/// Heads of the columns between the levels and the gases.
const CSV_COLUMNS: [&str; 23] = [
    "phi",
    "water_left_fraction",
    "product_mass_g",
    "complete_combustion_temperature_k",
    "temperature_half_width_k",
    "equilibrium_temperature_k",
    "equilibrium_half_width_k",
    "gas_mol",
    "gas_per_product_l_per_g",
    "log10_oxygen_pressure_bar",
    "molten_fraction",
    "nitrogen_oxides_fraction",
    "carbon_monoxide_fraction",
    "on_transition",
    "violence_index_low_l_per_g_s",
    "violence_index_high_l_per_g_s",
    "violence_low",
    "violence_high",
    "nitrogen_oxides_low_mol",
    "nitrogen_oxides_high_mol",
    "carbon_monoxide_low_mol",
    "carbon_monoxide_high_mol",
    "condensed_mol",
];

fn csv_head(sweep: &Sweep, gases: &[String]) -> Vec<String> {
    let axes = sweep.axes.iter().map(|axis| axis.factor.key().to_owned());
    let own = CSV_COLUMNS.iter().map(|name| (*name).to_owned());
    let gases = gases.iter().map(|gas| format!("fraction_{gas}"));
    let mut head: Vec<String> = axes.chain(own).chain(gases).collect();
    head.push("reason".to_owned());
    head
}

fn amount_cell(n: AmountOfSubstance) -> String {
    cell_text(n.get::<mole>())
}

fn csv_row(row: &Row, gases: &[String]) -> Vec<String> {
    let mut cells: Vec<String> = row.levels.iter().map(|level| cell_text(*level)).collect();
    match &row.outcome {
        Ok(point) => {
            let optional = |value: Option<f64>| value.map_or(String::new(), cell_text);
            let condensed: Vec<String> = point
                .condensed
                .iter()
                .map(|(id, n)| format!("{id}={}", amount_cell(*n)))
                .collect();
            cells.extend([
                cell_text(point.equivalence_ratio.get::<ratio>()),
                cell_text(point.water_left.get::<ratio>()),
                cell_text(point.product_mass.get::<gram>()),
                optional(point.complete.map(|t| t.get::<kelvin>())),
                cell_text(point.half_width.get::<kelvins>()),
                cell_text(point.equilibrium.get::<kelvin>()),
                cell_text(point.equilibrium_half_width.get::<kelvins>()),
                cell_text(point.gas.get::<mole>()),
                cell_text(point.gas_per_product.get::<cubic_meter_per_kilogram>()),
                optional(point.log10_oxygen_pressure),
                optional(point.molten.map(|m| m.get::<ratio>())),
                cell_text(point.nitrogen_oxides.get::<ratio>()),
                cell_text(point.carbon_monoxide.get::<ratio>()),
                point.on_transition.to_string(),
                cell_text(point.violence.index_l_per_g_s.low),
                cell_text(point.violence.index_l_per_g_s.high),
                point.violence.level.low.to_string(),
                point.violence.level.high.to_string(),
                amount_cell(point.nitrogen_oxides_released.low),
                amount_cell(point.nitrogen_oxides_released.high),
                amount_cell(point.carbon_monoxide_released.low),
                amount_cell(point.carbon_monoxide_released.high),
                condensed.join("; "),
            ]);
            let fractions = gases.iter().map(|gas| cell_text(fraction_of(point, gas)));
            cells.extend(fractions);
            cells.push(String::new());
        }
        Err(error) => {
            cells.extend((0..CSV_COLUMNS.len() + gases.len()).map(|_| String::new()));
            cells.push(error.to_string());
        }
    }
    cells
}

/// The sweep as a JSON value.
pub fn sweep_json(sweep: &Sweep) -> Value {
    json_of(Swept::from(sweep))
}

view! {
    /// What `vary` writes.
    result Swept(sweep: &Sweep) {
        /// Name of the batch.
        name: String = sweep.name.clone(),
        /// State of the water: "as mixed", "boiled down", "dried" or "at ignition".
        water_state: String = sweep.state.to_string(),
        /// What is varied.
        axes: Vec<SweptAxis> = list(&sweep.axes),
        /// The rows, the last axis running fastest.
        rows: Vec<SweptRow> = sweep.rows.iter().map(|row| SweptRow::from((sweep, row))).collect(),
    }
}

view! {
    /// One thing that is varied.
    SweptAxis(axis: &Axis) {
        /// Name.
        name: String = axis.factor.to_string(),
        /// Key of its levels in the rows.
        key: &'static str = axis.factor.key(),
        /// Unit; empty for plain numbers.
        unit: &'static str = axis.factor.unit(),
        /// Levels.
        levels: Vec<f64> = axis.levels.clone(),
    }
}

view! {
    /// One burn of the sweep.
    SweptRow((sweep, row): (&Sweep, &Row)) {
        /// Levels by the key of what is varied.
        levels: Named<f64> = sweep.axes.iter().zip(&row.levels)
            .map(|(axis, level)| (axis.factor.key().to_owned(), *level))
            .collect(),
        /// Why there is no result; null if there is one.
        error: Option<String> = row.outcome.as_ref().err().map(ToString::to_string),
        /// The burn; null if it failed.
        result: Option<BurnPoint> = row.outcome.as_ref().ok().map(BurnPoint::from),
    }
}

view! {
    /// A burn in short.
    BurnPoint(point: &Point) {
        /// Fuel ratio φ: total reducing valence over total oxidising valence.
        equivalence_ratio: f64 = point.equivalence_ratio.get::<ratio>(),
        /// Share of all water that is left.
        water_left_fraction: f64 = point.water_left.get::<ratio>(),
        /// Mass of powder.
        product_mass_g: f64 = point.product_mass.get::<gram>(),
        /// Temperature with fixed products; null without flame.
        complete_combustion_temperature_k: Option<f64> = point.complete.map(|t| t.get::<kelvin>()),
        /// About two standard deviations of the temperature from the tabulated data.
        temperature_half_width_k: f64 = point.half_width.get::<kelvins>(),
        /// True if the balance ends on a transition.
        on_transition: bool = point.on_transition,
        /// Temperature in equilibrium.
        equilibrium_temperature_k: f64 = point.equilibrium.get::<kelvin>(),
        /// About two standard deviations of the equilibrium temperature.
        equilibrium_half_width_k: f64 = point.equilibrium_half_width.get::<kelvins>(),
        /// Amount of gas.
        gas_mol: f64 = point.gas.get::<mole>(),
        /// Gas at 25 °C per gram of powder.
        gas_per_product_l_per_g: f64 = point.gas_per_product.get::<cubic_meter_per_kilogram>(),
        /// Logarithm of the oxygen pressure over 1 bar; null without gas.
        log10_oxygen_pressure_bar: Option<f64> = point.log10_oxygen_pressure,
        /// Amount fractions of the main gases.
        amount_fractions: Named<f64> = point.main_gases.iter()
            .map(|(id, fraction)| (id.clone(), fraction.get::<ratio>()))
            .collect(),
        /// Condensed products.
        condensed_mol: Named<f64> = point.condensed.iter()
            .map(|(id, n)| (id.clone(), n.get::<mole>()))
            .collect(),
        /// Share of each metal in the gas.
        evaporated_fractions: Named<f64> = point.evaporated.iter()
            .map(|(element, share)| (element.symbol().to_owned(), share.get::<ratio>()))
            .collect(),
        /// Share of the condensed matter that is molten; null without any.
        molten_fraction: Option<f64> = point.molten.map(|m| m.get::<ratio>()),
        /// NO and NO2 in the gas in equilibrium.
        nitrogen_oxides_fraction: f64 = point.nitrogen_oxides.get::<ratio>(),
        /// CO in the gas in equilibrium.
        carbon_monoxide_fraction: f64 = point.carbon_monoxide.get::<ratio>(),
        /// NO and NO2 that leave, by bracket.
        nitrogen_oxides_released_mol: Ends = moles(point.nitrogen_oxides_released),
        /// CO that leaves, by bracket.
        carbon_monoxide_released_mol: Ends = moles(point.carbon_monoxide_released),
        /// How violent the burn is.
        violence: PointViolence = PointViolence::from(&point.violence),
    }
}

fn moles(band: Band<AmountOfSubstance>) -> Ends {
    ends(band, |n| n.get::<mole>())
}

view! {
    /// How violent a burn is.
    PointViolence(violence: &Violence) {
        /// Hot gas per gram of dry batch and second at the peak.
        index_l_per_g_s: Ends = ends(violence.index_l_per_g_s, |v| v),
        /// Band of levels.
        level: WordEnds = levels(violence),
    }
}

/// Names of the gases of a sweep that are a hundredth of the gas anywhere, most abundant first.
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

pub(super) fn fraction_of(point: &Point, id: &str) -> f64 {
    point
        .main_gases
        .iter()
        .find(|(gas, _)| gas == id)
        .map_or(0.0, |(_, fraction)| fraction.get::<ratio>())
}

fn points(sweep: &Sweep) -> impl Iterator<Item = &Point> {
    sweep
        .rows
        .iter()
        .filter_map(|row| row.outcome.as_ref().ok())
}
