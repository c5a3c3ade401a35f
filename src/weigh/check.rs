//! Notices about bands, assays and crystal water.

use super::neighbours::NeighbourCheck;
use super::notice::Notice;
use super::sheet::label;
use super::spread::Spread;
use crate::batch::{Batch, Ingredient};
use crate::quantity::Ratio;
use crate::tables::Role;
use crate::tables::reactants::AssayBasis;
use uom::si::ratio::{percent, ratio};

/// Share of the metal in a neighbour compound from which it is worth a notice.
const WORTH_A_NOTICE: f64 = 0.01;

/// Usual assay of an ingredient, lowest and highest, 0 to 1; `None` where none is tabulated by mass.
pub(super) fn usual_assay(ingredient: &Ingredient) -> Option<(f64, f64)> {
    let usual = ingredient.reactant.assay.as_ref()?;
    let solid = !matches!(ingredient.reactant.role, Role::Solvent | Role::Acid);
    (usual.basis == AssayBasis::Mass && solid)
        .then(|| (usual.from.get::<ratio>(), usual.to.get::<ratio>().min(1.0)))
}

/// Whether the assay is 100 % and no band is stated.
pub(super) fn is_taken_pure(ingredient: &Ingredient) -> bool {
    ingredient.assay_band.is_none() && ingredient.assay >= Ratio::new::<percent>(100.0)
}

/// Adds the notices.
pub(super) fn notices(
    notices: &mut Vec<Notice>,
    batch: &Batch,
    spread: &Spread,
    neighbours: Option<&NeighbourCheck>,
) {
    let phi = &spread.equivalence_ratio;
    if phi.holds(Ratio::new::<ratio>(1.0)) {
        notices.push(Notice::BalancedInBand {
            value: phi.value,
            half_width: phi.half_width,
        });
    }
    if let Some(check) = neighbours {
        for compound in &check.inside {
            notices.push(Notice::NeighbourInBand {
                compound: compound.clone(),
                system: check.system.clone(),
            });
        }
        if let Some((compound, share)) = check.worst() {
            if share.get::<ratio>() >= WORTH_A_NOTICE && check.inside.is_empty() {
                notices.push(Notice::NeighbourShare {
                    compound: compound.to_owned(),
                    share,
                });
            }
        }
    }
    let salts = || {
        batch
            .weighed
            .iter()
            .filter(|i| i.reactant.role != Role::Solvent)
    };
    let taken: Vec<(String, String)> = salts()
        .filter_map(|i| Some((i.hydrate_open.clone()?, i.reactant.formula.to_string())))
        .collect();
    if !taken.is_empty() {
        notices.push(Notice::HydrateTaken { taken });
    }
    let usual: Vec<(String, f64, f64)> = salts()
        .filter(|i| is_taken_pure(i) && i.stock.is_none())
        .filter_map(|i| {
            let (from, to) = usual_assay(i)?;
            // Assays of a whole percent or a tenth: no more digits than the table has.
            let tidy = |share: f64| (share * 1e4).round() / 1e2;
            (from < 1.0).then(|| (label(i), tidy(from), tidy(to)))
        })
        .collect();
    if !usual.is_empty() {
        notices.push(Notice::AssayTakenPure { usual });
    }
    let hydrates: Vec<(String, String)> = salts()
        .filter(|i| i.hydrate_range.is_none() && i.stock.is_none())
        .filter_map(|i| {
            let range = i.reactant.water_range.as_ref()?;
            let note = match range.limits {
                Some((low, high)) => format!("{low}–{high}"),
                None => return None,
            };
            Some((label(i), note))
        })
        .collect();
    if !hydrates.is_empty() {
        notices.push(Notice::WaterTakenExact { hydrates });
    }
    let mut results: Vec<String> = Vec::new();
    if !phi.agrees {
        results.push("φ".to_owned());
    }
    if !spread.product_mass.agrees {
        results.push("the product mass".to_owned());
    }
    results.extend(
        spread
            .metal_shares
            .iter()
            .filter(|(_, band)| !band.agrees)
            .map(|(metal, _)| format!("the share of {metal}")),
    );
    if !results.is_empty() {
        notices.push(Notice::BandsDiffer { results });
    }
    for ingredient in salts() {
        let name = || label(ingredient);
        if ingredient.reactant.role == Role::FuelLikeSalt {
            notices.push(Notice::CountsAsFuel { name: name() });
        }
        let words = ingredient
            .reactant
            .solubility
            .as_ref()
            .map_or("", |s| s.note.as_str());
        if words.contains("hydrolys") {
            notices.push(Notice::Hydrolyses { name: name() });
        }
    }
}
