//! Notices about nitric acid: enough of it for the carbonates and oxides, and what is left over.

use super::conversion::{Conversion, ConversionError, Kind, check_nitrate_exists, kind};
use super::notice::Notice;
use crate::batch::{Batch, Ingredient};
use crate::formula::Element;
use crate::quantity::AmountOfSubstance;
use crate::redox::OxidationStates;
use crate::tables::bench_oxides::AcidResponse;
use crate::tables::{Role, Tables};
use std::collections::BTreeMap;
use uom::si::amount_of_substance::mole;

/// Charges of the metals of an ingredient in solution: as tabulated for the substance, else the
/// usual ones.
fn states_in_solution(ingredient: &Ingredient) -> OxidationStates {
    let chosen: BTreeMap<_, _> = ingredient
        .reactant
        .metal
        .iter()
        .map(|metal| (metal.element, f64::from(metal.oxidation_state)))
        .collect();
    OxidationStates::with_choice(&chosen)
}

fn has_acid(batch: &Batch) -> bool {
    batch
        .ingredients
        .iter()
        .any(|i| i.reactant.role == Role::Acid)
}

/// Metals whose phosphates drop out of water that is not acid. Common practice.
const SPARING_PHOSPHATES: [&str; 12] = [
    "Mg", "Ca", "Sr", "Ba", "Al", "Fe", "Zn", "Mn", "Y", "La", "Ce", "Gd",
];

/// Phosphate beside such a metal, without acid.
fn phosphate_notice(batch: &Batch) -> Option<Notice> {
    let elements = batch.dry_elements();
    let has = |symbol: &str| {
        Element::from_symbol(symbol).is_some_and(|element| elements.contains_key(&element))
    };
    let metals: Vec<String> = SPARING_PHOSPHATES
        .into_iter()
        .filter(|symbol| has(symbol))
        .map(str::to_owned)
        .collect();
    let drops = has("P") && !metals.is_empty() && !has_acid(batch);
    drops.then_some(Notice::PhosphateDrops { metals })
}

/// Adds the notices.
pub(super) fn notices(notices: &mut Vec<Notice>, batch: &Batch, tables: &Tables) {
    let zero = AmountOfSubstance::new::<mole>(0.0);
    let mut needed = zero;
    for ingredient in batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role == Role::MetalSource)
    {
        let formula = &ingredient.reactant.formula;
        let states = states_in_solution(ingredient);
        if let Err(error) = check_nitrate_exists(formula, &tables.bench_oxides) {
            if has_acid(batch) {
                notices.push(Notice::NoAcidBase {
                    reason: error.to_string(),
                });
            }
            continue;
        }
        if !matches!(kind(formula, &states), Ok(Kind::Carbonate | Kind::Oxide)) {
            continue;
        }
        match Conversion::of(formula, &states) {
            Ok(conversion) => {
                needed += conversion.acid * ingredient.amount;
                let slow = conversion
                    .response(&tables.bench_oxides)
                    .filter(|oxide| oxide.in_nitric_acid != AcidResponse::Readily);
                if let Some(oxide) = slow {
                    notices.push(Notice::SlowOxide {
                        formula: formula.clone(),
                        how: oxide.in_nitric_acid.to_string(),
                        caution: oxide.caution.clone(),
                    });
                }
            }
            Err(ConversionError::AlreadyNitrate { .. }) => {}
            Err(error) => notices.push(Notice::NoAcidBase {
                reason: error.to_string(),
            }),
        }
    }
    notices.extend(phosphate_notice(batch));
    let acid = batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role == Role::Acid)
        .fold(zero, |sum, i| sum + i.amount);
    // A thousandth: rounding of the amounts is no shortage.
    if acid < 0.999 * needed {
        notices.push(Notice::AcidShort {
            present: acid,
            needed,
        });
    } else if acid > 1.001 * needed && acid > zero {
        notices.push(Notice::AcidExcess {
            excess: acid - needed,
        });
    }
}
