//! The plan as JSON, schema version 1. Units are in the names; amounts are for the whole batch.
//!
//! Fields are described in `schema.json`. A value that does not exist is `null`, never left out, so
//! that readers can rely on the keys.

use super::advice::{safety_json, warnings_json};
use super::heated::heated_json;
use super::measured::measured_json;
use crate::batch::Dissolution;
use crate::equilibrium::{AdiabaticEquilibrium, Equilibrium};
use crate::flame::{CompleteCombustion, Flame, ProductAmount};
use crate::plan::{Plan, Refused, StateResult, SurplusFuel};
use crate::product::ProductModel;
use crate::quantity::Ratio;
use crate::tables::Tables;
use serde_json::{Map, Value, json};
use uom::si::amount_of_substance::mole;
use uom::si::energy::joule;
use uom::si::heat_capacity::joule_per_kelvin;
use uom::si::mass::gram;
use uom::si::molar_mass::gram_per_mole;
use uom::si::ratio::ratio;
use uom::si::specific_volume::cubic_meter_per_kilogram;
use uom::si::temperature_interval::kelvin as kelvins;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::volume::liter;

/// Version of the JSON fields; it rises when a field changes its meaning or goes away.
pub const SCHEMA_VERSION: u32 = 1;
/// Amounts fainter than this share of all are left out of `amounts_mol`.
const FAINT: f64 = 1e-15;

/// The plan as a JSON value.
#[must_use]
pub fn plan_json(plan: &Plan, tables: &Tables) -> Value {
    let definitions = &plan.redox.definitions;
    let states: Vec<Value> = plan
        .states
        .iter()
        .map(|state| state_json(plan, state))
        .collect();
    json!({
        "schema_version": SCHEMA_VERSION,
        "name": plan.batch.name,
        "refused": false,
        "equivalence_ratio": plan.redox.equivalence_ratio.get::<ratio>(),
        "mixture": plan.redox.mixture.to_string(),
        "ratio_definitions": {
            "equivalence_ratio": definitions.equivalence_ratio.get::<ratio>(),
            "oxidiser_to_fuel": definitions.oxidiser_to_fuel.get::<ratio>(),
            "lambda": definitions.oxidiser_to_fuel.get::<ratio>(),
            "fuel_per_nitrate": optional(definitions.fuel_per_nitrate),
            "fuel_per_metal": optional(definitions.fuel_per_metal),
            "percent_of_stoichiometric": definitions.percent_of_stoichiometric,
        },
        "reducing_valence_mol": plan.redox.reducing.get::<mole>(),
        "oxidising_valence_mol": plan.redox.oxidising.get::<mole>(),
        "ingredients": ingredients(plan),
        "dissolution": plan.batch.dissolution().map(|found| dissolution_json(&found)),
        "valence_sum": valence_sum(plan),
        "balanced_equation": plan.equation.to_string(),
        "product": {
            "name": plan.product.name,
            "model": match plan.product.model {
                ProductModel::Tabulated => "tabulated",
                ProductModel::EndMembers => "end members",
                ProductModel::SimpleOxides => "simple oxides",
            },
            "mass_g": plan.product.mass.get::<gram>(),
            "phases_mol": plan.product.phases.iter()
                .map(|p| (p.formula.to_string(), json!(p.amount.get::<mole>())))
                .collect::<Map<_, _>>(),
        },
        "expected": super::expected::expected_json(&plan.expected),
        "water_states": states,
        "ledger": ledger(plan),
        "cooling": super::cooling::cooling_json(plan, tables),
        "heated": plan.heated.as_ref().map(|heated| heated_json(&plan.batch, heated)),
        "failures": plan.failures,
        "run": measured_json(plan),
        "looks": super::burn::looks_json(plan, tables),
        "purity": super::burn::purity_json(plan.purity.as_ref()),
        "warnings": warnings_json(&plan.advice.warnings),
        "safety": safety_json(&plan.advice),
        "sources": sources(plan, tables),
    })
}

/// What the nitric acid of the batch makes of its sources.
fn dissolution_json(found: &Dissolution) -> Value {
    let salts: Vec<Value> = found
        .salts
        .iter()
        .map(|(source, salt, amount)| {
            json!({
                "of": source.to_string(),
                "formula": salt.to_string(),
                "amount_mol": amount.get::<mole>(),
            })
        })
        .collect();
    json!({
        "acid_mol": found.acid.get::<mole>(),
        "acid_used_mol": found.needed.get::<mole>(),
        "acid_left_mol": found.left_over().get::<mole>(),
        "carbon_dioxide_mol": found.carbon_dioxide.get::<mole>(),
        "salts": salts,
    })
}

/// What is written of a batch that is refused: why, and no estimate.
#[must_use]
pub fn refusal_json(refused: &Refused) -> Value {
    json!({
        "schema_version": SCHEMA_VERSION,
        "name": refused.name,
        "refused": true,
        "warnings": warnings_json(&refused.warnings),
    })
}

fn optional(value: Option<Ratio>) -> Value {
    value.map_or(Value::Null, |value| json!(value.get::<ratio>()))
}

fn ingredients(plan: &Plan) -> Vec<Value> {
    plan.batch
        .weighed
        .iter()
        .map(|i| {
            json!({
                "name": i.reactant.name,
                "formula": i.reactant.formula.to_string(),
                "role": i.reactant.role.to_string(),
                "amount_mol": i.amount.get::<mole>(),
                "mass_g": i.mass.get::<gram>(),
                "assay": i.assay.get::<ratio>(),
                "molar_mass_g_per_mol": i.reactant.formula.molar_mass().get::<gram_per_mole>(),
                "solvent_water_mol": i.solvent_water().get::<mole>(),
                "worked_out": i.worked_out,
            })
        })
        .collect()
}

fn valence_sum(plan: &Plan) -> Vec<Value> {
    plan.redox
        .lines
        .iter()
        .map(|line| {
            let terms: Vec<Value> = line
                .terms
                .iter()
                .map(|term| {
                    json!({
                        "element": term.element.symbol(),
                        "count": term.count,
                        "oxidation_state": term.oxidation_state,
                    })
                })
                .collect();
            json!({
                "formula": line.formula.to_string(),
                "terms": terms,
                "per_formula": line.per_formula,
                "amount_mol": line.amount.get::<mole>(),
                "total_mol": line.total.get::<mole>(),
            })
        })
        .collect()
}

fn species_map(list: &[ProductAmount]) -> Map<String, Value> {
    list.iter()
        .map(|p| (p.id.clone(), json!(p.amount.get::<mole>())))
        .collect()
}

fn state_json(plan: &Plan, result: &StateResult) -> Value {
    let gas = &result.gas;
    let largest: Vec<Value> = result
        .spread
        .contributions
        .iter()
        .take(3)
        .map(|c| json!({ "what": c.what, "temperature_k": c.temperature.get::<kelvins>() }))
        .collect();
    let fates: Vec<Value> = result
        .fates
        .iter()
        .map(|fate| {
            let (name, air) = match fate.fate {
                SurplusFuel::Leaves => ("leaves", Value::Null),
                SurplusFuel::OwnGas => ("own gas", json!(0.0)),
                SurplusFuel::Air(share) => ("air", json!(share.get::<ratio>())),
            };
            json!({
                "fate": name,
                "air_share": air,
                "complete_combustion_temperature_k": fate.complete.map(|t| t.get::<kelvin>()),
                "equilibrium_temperature_k":
                    fate.equilibrium_temperature().map(|t| t.get::<kelvin>()),
                "log10_oxygen_pressure_bar":
                    fate.equilibrium.as_ref().ok()
                        .and_then(|burnt| burnt.equilibrium.log10_oxygen_pressure),
            })
        })
        .collect();
    let product = plan.product.mass.get::<gram>();
    json!({
        "name": result.state.name.to_string(),
        "solvent_mol": result.state.solvent.get::<mole>(),
        "crystal_water_mol": result.state.crystal_water(&plan.batch).get::<mole>(),
        "water_left_fraction": result.state.share_left(&plan.batch).get::<ratio>(),
        "start_temperature_k": result.reactants.start.get::<kelvin>(),
        "reactant_enthalpy_j": result.reactants.total().get::<joule>(),
        "complete_combustion": complete(&result.complete),
        "temperature_half_width_k": result.spread.half_width.get::<kelvins>(),
        "largest_uncertainties": largest,
        "gas": {
            "amount_mol": gas.amount.get::<mole>(),
            "by_species_mol": species_map(&gas.by_species),
            "volume_25c_l": gas.volume_25c.get::<liter>(),
            "volume_25c_dry_l": gas.volume_25c_dry.get::<liter>(),
            "volume_flame_l": gas.volume_flame.map(|v| v.get::<liter>()),
            "volume_flame_half_width_l": flame_volume_half_width(result),
            "expansion": optional(gas.expansion),
            "steam_before_mol": gas.steam_before.get::<mole>(),
            "mol_per_g": if product > 0.0 { json!(gas.amount.get::<mole>() / product) } else { Value::Null },
        },
        "gas_per_product_l_per_g": gas.per_product.get::<cubic_meter_per_kilogram>(),
        "equilibrium": result.equilibrium.as_ref().ok().map(adiabatic_json),
        "equilibrium_other_species_set": {
            "temperature_k": result.other_set_temperature().map(|t| t.get::<kelvin>()),
        },
        "surplus_fuel_fates": fates,
    })
}

/// The volume at the flame is as uncertain as its temperature: ΔV = V ΔT/T.
fn flame_volume_half_width(result: &StateResult) -> Option<f64> {
    let hot = result.complete.flame.temperature()?.get::<kelvin>();
    let volume = result.gas.volume_flame?.get::<liter>();
    Some(volume * result.spread.half_width.get::<kelvins>() / hot)
}

fn complete(burn: &CompleteCombustion) -> Value {
    let (transition, short_by) = match &burn.flame {
        Flame::At(_) => (Value::Null, Value::Null),
        Flame::OnTransition {
            from, to, fraction, ..
        } => (
            json!({ "from": from, "to": to, "fraction": fraction.get::<ratio>() }),
            Value::Null,
        ),
        Flame::TooWet { short_by } => (Value::Null, json!(short_by.get::<joule>())),
    };
    json!({
        "temperature_k": burn.flame.temperature().map(|t| t.get::<kelvin>()),
        "transition": transition,
        "short_by_j": short_by,
        "heat_released_j": burn.heat_released.get::<joule>(),
        "heat_capacity_j_per_k": burn.heat_capacity.get::<joule_per_kelvin>(),
        "condensed_mol": species_map(&burn.condensed),
        "water_gas_shift": burn.shifted,
        "air_oxygen_mol": burn.air_oxygen.get::<mole>(),
    })
}

/// An adiabatic equilibrium as JSON.
#[must_use]
pub fn adiabatic_json(adiabatic: &AdiabaticEquilibrium) -> Value {
    let mut value = equilibrium_json(&adiabatic.equilibrium);
    value["iterations"] = json!(adiabatic.iterations);
    value["minimisations"] = json!(adiabatic.solves);
    value["transition_share"] = adiabatic
        .transition
        .as_ref()
        .map_or(Value::Null, |t| json!(t.share.get::<ratio>()));
    value
}

/// An equilibrium as JSON.
#[must_use]
pub fn equilibrium_json(equilibrium: &Equilibrium) -> Value {
    let all: f64 = equilibrium
        .amounts
        .iter()
        .map(|s| s.amount.get::<mole>())
        .sum();
    let amounts: Map<String, Value> = equilibrium
        .amounts
        .iter()
        .filter(|s| s.amount.get::<mole>() > FAINT * all)
        .map(|s| (s.id.clone(), json!(s.amount.get::<mole>())))
        .collect();
    let fractions: Map<String, Value> = equilibrium
        .gases()
        .filter(|s| s.amount.get::<mole>() > FAINT * all)
        .map(|s| (s.id.clone(), optional(s.amount_fraction)))
        .collect();
    let condensed: Vec<Value> = equilibrium
        .condensed()
        .map(|s| {
            json!({ "id": s.id, "phase": s.phase.to_string(), "amount_mol": s.amount.get::<mole>() })
        })
        .collect();
    let evidence = &equilibrium.evidence;
    json!({
        "temperature_k": equilibrium.temperature.get::<kelvin>(),
        "pressure_bar": equilibrium.pressure.get::<uom::si::pressure::bar>(),
        "log10_oxygen_pressure_bar": equilibrium.log10_oxygen_pressure,
        "amounts_mol": amounts,
        "amount_fractions": fractions,
        "condensed": condensed,
        "molten_fraction": optional(equilibrium.molten_fraction),
        "carbon_monoxide_to_dioxide": optional(equilibrium.carbon_monoxide_ratio),
        "hydrogen_to_steam": optional(equilibrium.hydrogen_ratio),
        "carbon_activity": optional(equilibrium.carbon_activity),
        "enthalpy_j": equilibrium.enthalpy.get::<joule>(),
        "extrapolated": equilibrium.extrapolated,
        "iterations": evidence.iterations,
        "residual": evidence.balance_residual.get::<ratio>(),
        "potential_residual": evidence.potential_residual.get::<ratio>(),
    })
}

fn ledger(plan: &Plan) -> Vec<Value> {
    plan.states
        .iter()
        .flat_map(|result| {
            result.complete.ledger.entries.iter().map(|entry| {
                json!({
                    "water_state": result.state.name.to_string(),
                    "item": entry.item.code(),
                    "text": entry.item.to_string(),
                    "energy_j": entry.energy.get::<joule>(),
                })
            })
        })
        .collect()
}

fn sources(plan: &Plan, tables: &Tables) -> Vec<Value> {
    plan.sources
        .iter()
        .map(|used| {
            let source = tables.sources.get(&used.id);
            json!({
                "key": used.id.to_string(),
                "title": source.map(|s| s.title.clone()),
                "address": source.map(|s| s.address.clone()),
                "seen": used.seen.to_string(),
                "used_for": used.used_for,
            })
        })
        .collect()
}
