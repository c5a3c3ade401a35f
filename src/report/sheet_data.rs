//! The bench sheet as JSON and CSV. Units are in the names; amounts are for one pot.

use super::document::{Cell, Table};
use super::json::SCHEMA_VERSION;
use super::sheet::millilitres;
use crate::weigh::balance::Weighing;
use crate::weigh::bands::ErrorBand;
use crate::weigh::dilution::{DopantPlan, StockPlan};
use crate::weigh::line::Line;
use crate::weigh::measure::Measure;
use crate::weigh::neighbours::Split;
use crate::weigh::sheet::Sheet;
use crate::weigh::water::{WaterAdvice, WaterNeed};
use crate::weigh::water_sheet::BoilingModel;
use serde_json::{Map, Value, json};
use uom::si::amount_of_substance::mole;
use uom::si::energy::joule;
use uom::si::mass::gram;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;

/// The bench sheet as a JSON value.
#[must_use]
pub fn sheet_json(sheet: &Sheet) -> Value {
    let bands = &sheet.bands;
    let number = |r: crate::quantity::Ratio| r.get::<ratio>();
    json!({
        "schema_version": SCHEMA_VERSION,
        "name": sheet.batch.name,
        "target": sheet.batch.target.as_ref().map(|target| json!({
            "formula": target.formula.to_string(),
            "amount_mol": target.amount.get::<mole>(),
        })),
        "pots": sheet.pots,
        "lines": sheet.lines.iter().map(line_json).collect::<Vec<_>>(),
        "equivalence_ratio": band_json(&bands.equivalence_ratio, number),
        "product_mass_g": band_json(&bands.product_mass, |m| m.get::<gram>()),
        "metal_shares": sheet.metals.iter().map(|wanted| {
            let band = bands.metal_shares.get(&wanted.metal);
            (wanted.metal.symbol().to_owned(), json!({
                "wanted": wanted.wanted.map(number),
                "in_pot": band.map(|band| band_json(band, number)),
            }))
        }).collect::<Map<_, _>>(),
        "samples": bands.samples.0,
        "seed": bands.samples.1,
        "neighbours": sheet.neighbours.as_ref().map(|check| json!({
            "system": check.system,
            "first_share": band_json(&check.band, number),
            "nominal": split_json(&check.nominal),
            "low_end": split_json(&check.ends[0]),
            "high_end": split_json(&check.ends[1]),
            "inside_band": check.inside,
        })),
        "purity": super::burn::purity_json(sheet.purity.as_ref()),
        "water": {
            "solvent_g": sheet.water.solvent.get::<gram>(),
            "crystal_g": sheet.water.crystal.get::<gram>(),
            "carried_by_stock_ml": millilitres(sheet.water.carried),
            "room": need_json(&sheet.water.room),
            "warm": need_json(&sheet.water.warm),
            "advice": advice_json(&sheet.water.advice),
            "melting_in_own_water": sheet.water.melting.iter().map(|(name, t)| json!({
                "name": name,
                "temperature_k": t.get::<kelvin>(),
            })).collect::<Vec<_>>(),
            "boiling_k": sheet.water.boiling.map(|(t, _)| t.get::<kelvin>()),
            "boiling_model": sheet.water.boiling.map(|(_, model)| match model {
                BoilingModel::Sorption => "sorption",
                BoilingModel::Ideal => "ideal",
            }),
            "boil_off_energy_j": sheet.water.cost.energy.get::<joule>(),
            "heating": sheet.water.time.as_ref().map(|time| json!({
                "way": time.way,
                "heat_up_s": time.heat_up.get::<second>(),
                "boil_off_s": time.boil_off.get::<second>(),
            })),
        },
        "notices": sheet.notices.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}

fn band_json<Q: Copy>(band: &ErrorBand<Q>, number: impl Fn(Q) -> f64) -> Value {
    json!({
        "value": number(band.value),
        "half_width": number(band.half_width),
        "sampled_low": number(band.sampled.0),
        "sampled_high": number(band.sampled.1),
        "bands_agree": band.agrees,
        "causes": band.causes.iter().map(|(cause, share)| json!({
            "cause": cause.to_string(),
            "variance_share": share.get::<ratio>(),
        })).collect::<Vec<_>>(),
    })
}

fn split_json(split: &Split) -> Value {
    split
        .parts
        .iter()
        .map(|(name, part)| (name.clone(), json!(part.get::<ratio>())))
        .collect::<Map<_, _>>()
        .into()
}

fn need_json(need: &WaterNeed) -> Value {
    json!({
        "temperature_k": need.temperature.get::<kelvin>(),
        "least_solvent_g": need.least.get::<gram>(),
        "least_solvent_shared_g": need.least_shared.get::<gram>(),
        "saturation": need.saturation.map(|share| share.get::<ratio>()),
        "nearest": need.nearest.as_ref().map(|(name, share)| json!({
            "name": name,
            "saturation": share.get::<ratio>(),
        })),
        "unknown": need.unknown.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}

fn advice_json(advice: &WaterAdvice) -> Value {
    match advice {
        WaterAdvice::DissolvesCold => json!({ "kind": "dissolves cold" }),
        WaterAdvice::WarmAndGoOn { enough, first } => json!({
            "kind": "warm and go on",
            "enough_solvent_g": enough.get::<gram>(),
            "crystallises_first": first,
        }),
        WaterAdvice::AddWater { enough } => json!({
            "kind": "add water",
            "enough_solvent_g": enough.get::<gram>(),
        }),
    }
}

fn weighing_json(weighing: &Weighing) -> Value {
    json!({
        "mass_g": weighing.mass.get::<gram>(),
        "balance": weighing.balance,
        "readability_g": weighing.readability.get::<gram>(),
        "standard_uncertainty_g": weighing.standard_uncertainty.get::<gram>(),
        "minimum_weight_g": weighing.minimum_weight.get::<gram>(),
        "below_minimum": weighing.is_below_minimum(),
    })
}

fn stock_json(stock: &StockPlan) -> Value {
    json!({
        "weighing": weighing_json(&stock.weighing),
        "dilutions": stock.dilutions.iter().map(|dilution| json!({
            "flask_ml": millilitres(dilution.flask),
            "aliquot_ml": millilitres(dilution.aliquot.volume()),
            "with": dilution.aliquot.kind.to_string(),
            "nominal_ml": millilitres(dilution.aliquot.nominal),
            "fillings": dilution.aliquot.fillings,
        })).collect::<Vec<_>>(),
        "relative_error": stock.relative_error.get::<ratio>(),
        "operations": stock.operations(),
        "carried_ml": millilitres(stock.carried_volume()),
    })
}

fn plan_json(plan: &DopantPlan) -> Value {
    json!({
        "direct": weighing_json(&plan.direct),
        "stock": plan.stock.as_ref().map(stock_json),
        "best_single": plan.best_single.as_ref().map(stock_json),
        "best_serial": plan.best_serial.as_ref().map(stock_json),
    })
}

fn line_json(line: &Line) -> Value {
    let ingredient = &line.ingredient;
    let measure = match &line.measure {
        Measure::Weigh(weighing) => json!({ "weigh": weighing_json(weighing) }),
        Measure::Draw(drawn) => json!({ "draw": {
            "volume_ml": millilitres(drawn.volume),
            "with": drawn.kind.to_string(),
            "nominal_ml": millilitres(drawn.nominal),
            "fillings": drawn.fillings,
            "standard_uncertainty_ml": millilitres(drawn.standard_uncertainty),
            "assumed": drawn.assumed,
        }}),
        Measure::Stock(plan) => json!({ "stock_solution": plan_json(plan) }),
    };
    json!({
        "step": line.step,
        "name": ingredient.reactant.name,
        "formula": ingredient.reactant.formula.to_string(),
        "role": ingredient.reactant.role.to_string(),
        "is_dopant": line.is_dopant,
        "assay": ingredient.assay.get::<ratio>(),
        "amount_mol": ingredient.amount.get::<mole>(),
        "mass_g": ingredient.mass.get::<gram>(),
        "measure": measure,
        "relative_error": line.relative_error.get::<ratio>(),
        "running_total_g": line.running_total.get::<gram>(),
    })
}

/// Heads of the sheet's CSV.
const CSV_HEAD: [&str; 13] = [
    "step",
    "name",
    "formula",
    "role",
    "assay",
    "amount_mol",
    "mass_g",
    "take",
    "with",
    "volume_ml",
    "relative_error",
    "below_minimum",
    "running_total_g",
];

/// The lines of the sheet as CSV, with a line of heads.
#[must_use]
pub fn sheet_csv(sheet: &Sheet) -> String {
    let mut table = Table::new("Bench sheet", CSV_HEAD);
    for line in &sheet.lines {
        table.row(csv_row(line));
    }
    table.csv()
}

fn csv_row(line: &Line) -> [Cell; 13] {
    let ingredient = &line.ingredient;
    let volume = |volume| Cell::plain(millilitres(volume));
    let (take, with, volume, below) = match &line.measure {
        Measure::Weigh(weighing) => (
            "weigh",
            weighing.balance.clone(),
            Cell::Absent,
            weighing.is_below_minimum(),
        ),
        Measure::Draw(drawn) => ("draw", drawn.kind.to_string(), volume(drawn.volume), false),
        Measure::Stock(plan) => match &plan.stock {
            Some(stock) => (
                "stock solution",
                stock.weighing.balance.clone(),
                volume(stock.carried_volume()),
                false,
            ),
            None => ("weigh", plan.direct.balance.clone(), Cell::Absent, true),
        },
    };
    [
        line.step.to_string().into(),
        ingredient.reactant.name.clone().into(),
        ingredient.reactant.formula.to_string().into(),
        ingredient.reactant.role.to_string().into(),
        Cell::plain(ingredient.assay.get::<ratio>()),
        Cell::plain(ingredient.amount.get::<mole>()),
        Cell::plain(ingredient.mass.get::<gram>()),
        take.into(),
        with.into(),
        volume,
        Cell::plain(line.relative_error.get::<ratio>()),
        below.to_string().into(),
        Cell::plain(line.running_total.get::<gram>()),
    ]
}
