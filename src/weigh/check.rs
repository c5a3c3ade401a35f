//! Notices about bands, assays and crystal water.

use super::bands::ErrorBands;
use super::line::{is_taken_pure, label, usual_assay};
use super::neighbours::NeighbourCheck;
use super::notice::Notice;
use crate::batch::{Batch, Ingredient};
use crate::quantity::Ratio;
use crate::quantity::units::ratio;
use crate::tables::Role;

/// Share of the metal in a neighbour compound from which it is worth a notice.
const WORTH_A_NOTICE: f64 = 0.01;

/// Adds the notices.
pub(super) fn notices(
    notices: &mut Vec<Notice>,
    batch: &Batch,
    bands: &ErrorBands,
    neighbours: Option<&NeighbourCheck>,
) {
    let salts: Vec<&Ingredient> = batch
        .weighed
        .iter()
        .filter(|i| i.reactant.role != Role::Solvent)
        .collect();
    notices.extend(balanced(bands));
    notices.extend(neighbours.into_iter().flat_map(beside));
    notices.extend(of_labels(&salts));
    notices.extend(differing(bands));
    notices.extend(salts.iter().flat_map(|salt| of_salt(salt)));
}

/// φ = 1 within its band.
fn balanced(bands: &ErrorBands) -> Option<Notice> {
    let phi = &bands.equivalence_ratio;
    phi.holds(Ratio::new::<ratio>(1.0))
        .then_some(Notice::BalancedInBand {
            value: phi.value,
            half_width: phi.half_width,
        })
}

/// Compounds beside the wanted one within the band of the cation ratio.
fn beside(check: &NeighbourCheck) -> Vec<Notice> {
    let inside = check.inside.iter().map(|compound| Notice::NeighbourInBand {
        compound: compound.clone(),
        system: check.system.clone(),
    });
    let share = check
        .worst()
        .filter(|(_, share)| share.get::<ratio>() >= WORTH_A_NOTICE && check.inside.is_empty())
        .map(|(compound, share)| Notice::NeighbourShare {
            compound: compound.to_owned(),
            share,
        });
    inside.chain(share).collect()
}

/// What the labels of the bottles leave open: hydrate, assay, crystal water.
fn of_labels(salts: &[&Ingredient]) -> Vec<Notice> {
    let taken: Vec<(String, String)> = salts
        .iter()
        .filter_map(|i| Some((i.hydrate_open.clone()?, i.reactant.formula.to_string())))
        .collect();
    let bottled = || salts.iter().filter(|i| i.stock.is_none());
    let usual: Vec<(String, f64, f64)> = bottled()
        .filter(|i| is_taken_pure(i))
        .filter_map(|i| {
            let (from, to) = usual_assay(i)?;
            // Assays of a whole percent or a tenth: no more digits than the table has.
            let tidy = |share: f64| (share * 1e4).round() / 1e2;
            (from < 1.0).then(|| (label(i), tidy(from), tidy(to)))
        })
        .collect();
    let hydrates: Vec<(String, String)> = bottled()
        .filter(|i| i.hydrate_range.is_none())
        .filter_map(|i| {
            let (low, high) = i.reactant.water_range.as_ref()?.limits?;
            Some((label(i), format!("{low}–{high}")))
        })
        .collect();
    let mut notices = Vec::new();
    if !taken.is_empty() {
        notices.push(Notice::HydrateTaken { taken });
    }
    if !usual.is_empty() {
        notices.push(Notice::AssayTakenPure { usual });
    }
    if !hydrates.is_empty() {
        notices.push(Notice::WaterTakenExact { hydrates });
    }
    notices
}

/// Results whose linear and sampled bands differ.
fn differing(bands: &ErrorBands) -> Option<Notice> {
    let phi = (!bands.equivalence_ratio.agrees).then(|| "φ".to_owned());
    let mass = (!bands.product_mass.agrees).then(|| "the product mass".to_owned());
    let shares = bands
        .metal_shares
        .iter()
        .filter(|(_, band)| !band.agrees)
        .map(|(metal, _)| format!("the share of {metal}"));
    let results: Vec<String> = phi.into_iter().chain(mass).chain(shares).collect();
    (!results.is_empty()).then_some(Notice::BandsDiffer { results })
}

/// What to know of one salt.
fn of_salt(salt: &Ingredient) -> Vec<Notice> {
    let fuel = (salt.reactant.role == Role::FuelLikeSalt)
        .then(|| Notice::CountsAsFuel { name: label(salt) });
    let solubility = salt.reactant.solubility.as_ref();
    let hydrolyses = solubility
        .is_some_and(|s| s.note.contains("hydrolys"))
        .then(|| Notice::Hydrolyses { name: label(salt) });
    fuel.into_iter().chain(hydrolyses).collect()
}
