//! The size of a pot: a warning above the bench scale, and the number of pots below it.

use super::notice::Notice;
use crate::batch::Batch;
use crate::quantity::Mass;
use crate::quantity::units::{gram, kilogram, ratio};
use crate::tables::cautions::{Condition, Measure, Severity};
use crate::tables::{Role, Tables};

/// Dry mass of oxidiser, fuel and additives, crystal water left out.
pub fn dry_mass(batch: &Batch) -> Mass {
    batch
        .ingredients
        .iter()
        .filter(|ingredient| ingredient.reactant.role != Role::Solvent)
        .map(|ingredient| ingredient.amount * ingredient.reactant.formula.anhydrous().molar_mass())
        .fold(Mass::new::<kilogram>(0.0), |sum, mass| sum + mass)
}

/// Dry mass from which the cautions speak of danger; the least of several rules.
pub fn limit(tables: &Tables) -> Option<Mass> {
    tables
        .safety
        .rules
        .iter()
        .filter(|rule| rule.severity <= Severity::Danger)
        .flat_map(|rule| &rule.when)
        .filter_map(|condition| match condition {
            Condition::Above(Measure::DryMass, grams) => Some(*grams),
            _ => None,
        })
        .min_by(f64::total_cmp)
        .map(Mass::new::<gram>)
}

/// The notice, with the number of equal pots that stay below the limit.
pub(super) fn notice(batch: &Batch, tables: &Tables) -> Option<Notice> {
    let (dry, limit) = (dry_mass(batch), limit(tables)?);
    if dry <= limit {
        return None;
    }
    let pots: crate::quantity::Ratio = dry / limit;
    let pots = pots.get::<ratio>().ceil();
    // A batch file holds kilograms at most: far below the range of u32.
    Some(Notice::TooLarge {
        dry,
        limit,
        pots: pots as u32,
    })
}
