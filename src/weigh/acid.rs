//! Notices about nitric acid: enough of it for the carbonates and oxides, and what is left over.

use super::notice::Notice;
use crate::batch::{Batch, Dissolution, states_in_solution};
use crate::dissolution::{Conversion, ConversionError, Kind, check_nitrate_exists, kind};
use crate::formula::Element;
use crate::quantity::AmountOfSubstance;
use crate::quantity::units::mole;
use crate::tables::bench_oxides::AcidResponse;
use crate::tables::{Role, Tables};

fn has_acid(batch: &Batch) -> bool {
    batch.weighed.iter().any(|i| i.reactant.role == Role::Acid)
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
    for ingredient in batch
        .weighed
        .iter()
        .filter(|i| i.reactant.role == Role::MetalSource)
    {
        let formula = &ingredient.reactant.formula;
        let states = states_in_solution(&ingredient.reactant);
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
                let slow = conversion
                    .response(&tables.bench_oxides)
                    .filter(|oxide| oxide.in_nitric_acid != AcidResponse::Readily);
                if let Some(oxide) = slow {
                    notices.push(Notice::SlowOxide {
                        formula: formula.clone(),
                        how: oxide.in_nitric_acid.to_string(),
                        caution: oxide.caution.clone(),
                        stays: ingredient.dissolves.is_none(),
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
    notices.extend(amount_notice(batch));
}

/// Acid that is missing, or left over.
fn amount_notice(batch: &Batch) -> Option<Notice> {
    let dissolution = Dissolution::of(&batch.weighed);
    if let Some(found) = dissolution.as_ref().filter(|d| d.missing().is_some()) {
        return Some(Notice::AcidShort {
            present: found.acid,
            needed: found.needed,
        });
    }
    let zero = AmountOfSubstance::new::<mole>(0.0);
    let excess = dissolution.map_or_else(
        || {
            let acids = batch.weighed.iter();
            let acids = acids.filter(|i| i.reactant.role == Role::Acid);
            acids.fold(zero, |sum, i| sum + i.amount)
        },
        |found| found.left_over(),
    );
    (excess > zero).then_some(Notice::AcidExcess { excess })
}
