//! A sweep as CSV and JSON: quantities in the units that the heads name.

use super::{fraction_of, main_gases};
use crate::quantity::{AmountOfSubstance, Band};
use crate::report::document::quoted;
use crate::report::number::cell_text;
use crate::vary::{Point, Row, Sweep};
use serde_json::{Map, Value, json};
use uom::si::amount_of_substance::mole;
use uom::si::mass::gram;
use uom::si::ratio::ratio;
use uom::si::specific_volume::cubic_meter_per_kilogram;
use uom::si::temperature_interval::kelvin as kelvins;
use uom::si::thermodynamic_temperature::kelvin;

/// The sweep as CSV: one line a row, units in the heads, an empty cell where there is no value,
/// and the reason of a failed row in the last column.
#[must_use]
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

/// The sweep as a JSON value, fields as in `schema.json`; `error` is `null` for a row with a result.
#[must_use]
pub fn sweep_json(sweep: &Sweep) -> Value {
    let axes: Vec<Value> = sweep
        .axes
        .iter()
        .map(|axis| {
            json!({
                "name": axis.factor.to_string(),
                "key": axis.factor.key(),
                "unit": axis.factor.unit(),
                "levels": axis.levels,
            })
        })
        .collect();
    let rows: Vec<Value> = sweep.rows.iter().map(|row| json_row(sweep, row)).collect();
    json!({
        "schema_version": crate::report::json::SCHEMA_VERSION,
        "name": sweep.name,
        "water_state": sweep.state.to_string(),
        "axes": axes,
        "rows": rows,
    })
}

fn json_row(sweep: &Sweep, row: &Row) -> Value {
    let levels: Map<String, Value> = sweep
        .axes
        .iter()
        .zip(&row.levels)
        .map(|(axis, level)| (axis.factor.key().to_owned(), json!(level)))
        .collect();
    match &row.outcome {
        Err(error) => json!({ "levels": levels, "error": error.to_string(), "result": null }),
        Ok(point) => json!({ "levels": levels, "error": null, "result": point_json(point) }),
    }
}

/// One burn as a JSON value, fields as in `schema.json`.
pub(in crate::report) fn point_json(point: &Point) -> Value {
    let fractions: Map<String, Value> = point
        .main_gases
        .iter()
        .map(|(id, fraction)| (id.clone(), json!(fraction.get::<ratio>())))
        .collect();
    let condensed: Map<String, Value> = point
        .condensed
        .iter()
        .map(|(id, n)| (id.clone(), json!(n.get::<mole>())))
        .collect();
    json!({
        "equivalence_ratio": point.equivalence_ratio.get::<ratio>(),
        "water_left_fraction": point.water_left.get::<ratio>(),
        "product_mass_g": point.product_mass.get::<gram>(),
        "complete_combustion_temperature_k": point.complete.map(|t| t.get::<kelvin>()),
        "temperature_half_width_k": point.half_width.get::<kelvins>(),
        "on_transition": point.on_transition,
        "equilibrium_temperature_k": point.equilibrium.get::<kelvin>(),
        "equilibrium_half_width_k": point.equilibrium_half_width.get::<kelvins>(),
        "gas_mol": point.gas.get::<mole>(),
        "gas_per_product_l_per_g": point.gas_per_product.get::<cubic_meter_per_kilogram>(),
        "log10_oxygen_pressure_bar": point.log10_oxygen_pressure,
        "amount_fractions": fractions,
        "condensed_mol": condensed,
        "evaporated_fractions": point.evaporated.iter()
            .map(|(element, share)| (element.symbol().to_owned(), json!(share.get::<ratio>())))
            .collect::<Map<_, _>>(),
        "molten_fraction": point.molten.map(|m| m.get::<ratio>()),
        "nitrogen_oxides_fraction": point.nitrogen_oxides.get::<ratio>(),
        "carbon_monoxide_fraction": point.carbon_monoxide.get::<ratio>(),
        "nitrogen_oxides_released_mol": released_json(point.nitrogen_oxides_released),
        "carbon_monoxide_released_mol": released_json(point.carbon_monoxide_released),
        "violence": {
            "index_l_per_g_s": {
                "low": point.violence.index_l_per_g_s.low,
                "high": point.violence.index_l_per_g_s.high,
            },
            "level": {
                "low": point.violence.level.low.to_string(),
                "high": point.violence.level.high.to_string(),
            },
        },
    })
}

fn released_json(band: Band<AmountOfSubstance>) -> Value {
    json!({ "low": band.low.get::<mole>(), "high": band.high.get::<mole>() })
}
