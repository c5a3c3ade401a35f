//! The page for a class: which part of it is written, and its answers in words, each chosen from
//! the numbers of this batch.

use crate::batch::Batch;
use crate::burn::{Burner, StateResult};
use crate::enthalpy::{WaterStateName, water_states};
use crate::flame::ProductAmount;
use crate::names::capital;
use crate::plan::Plan;
use crate::quantity::units::{cubic_meter_per_kilogram, joule, mole, ratio};
use crate::quantity::{EquivalenceRatio, Ratio};
use crate::report::document::percent_text;
use crate::report::number::{celsius_text, significant, subscripts};

/// What of the page for a class is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClassPart {
    /// Questions, and the answers on a sheet of their own.
    Whole,
    /// The questions with their cautions, to print and hand out.
    Questions,
    /// The answers alone.
    Answers,
}

impl ClassPart {
    pub(super) fn asks(self) -> bool {
        self != Self::Answers
    }

    pub(super) fn answers(self) -> bool {
        self != Self::Questions
    }
}

/// Answers in words; empty where the numbers for them are missing.
pub(super) struct Answers {
    pub(super) gas: String,
    pub(super) heat: String,
    pub(super) more_fuel: String,
}

impl Answers {
    pub(super) fn all(&self) -> [&str; 3] {
        [&self.gas, &self.heat, &self.more_fuel]
    }

    pub(super) fn of(plan: &Plan) -> Self {
        let state = plan.main_state();
        Self {
            gas: state.map(gas).unwrap_or_default(),
            heat: state.and_then(heat).unwrap_or_default(),
            more_fuel: state
                .and_then(|state| more_fuel(plan, state))
                .unwrap_or_default(),
        }
    }
}

/// Litres of gas (25 °C) per gram of powder; a cubic metre per kilogram is one.
fn litres(state: &StateResult) -> String {
    let volume = state.gas.per_product.get::<cubic_meter_per_kilogram>();
    significant(volume, 3)
}

fn gas(state: &StateResult) -> String {
    let mut species: Vec<_> = state.gas.by_species.iter().collect();
    species.sort_by(|a, b| {
        let amount = |s: &ProductAmount| s.amount.get::<mole>();
        amount(b).total_cmp(&amount(a))
    });
    let most: Vec<String> = species
        .into_iter()
        .take(2)
        .map(|gas| {
            let share = percent_text(gas.amount / state.gas.amount);
            format!("{} ({share})", subscripts(&gas.id))
        })
        .collect();
    format!(
        "{}: {} L of gas at 25 °C per gram of powder, its water as vapour; most of it is {}.",
        capital(&state.state.name.to_string()),
        litres(state),
        most.join(" and ")
    )
}

fn heat(state: &StateResult) -> Option<String> {
    let mut taken: Vec<_> = state
        .complete
        .ledger
        .entries
        .iter()
        .filter(|entry| entry.energy.get::<joule>() < 0.0)
        .collect();
    taken.sort_by(|a, b| a.energy.get::<joule>().total_cmp(&b.energy.get::<joule>()));
    let all: f64 = taken.iter().map(|entry| entry.energy.get::<joule>()).sum();
    let part = |at: usize| {
        let entry = taken.get(at)?;
        let share = Ratio::new::<ratio>(entry.energy.get::<joule>() / all);
        Some(format!("{} ({} of it)", entry.item, percent_text(share)))
    };
    let second = part(1).map_or(String::new(), |second| format!(", second {second}"));
    Some(format!("Most heat goes into {}{second}.", part(0)?))
}

/// The batch as weighed and with half as much fuel again, from cold, in the state of the water that
/// matters most or, where one of the two does not burn in it, dried.
fn more_fuel(plan: &Plan, main: &StateResult) -> Option<String> {
    let phi = plan.redox.equivalence_ratio.get::<ratio>();
    let more = EquivalenceRatio::new::<ratio>(1.5 * phi);
    let richer = plan.batch.with_equivalence_ratio(more).ok()?;
    let share = main.state.share_left(&plan.batch);
    let burn = |batch: &Batch, name| {
        let states = water_states(batch, Some(share));
        let state = states.iter().find(|s| s.name == name)?;
        let burnt = Burner::new(batch, plan.tables).ok()?.burn(state).ok()?;
        Some((burnt.equilibrium_temperature()?, burnt))
    };
    let both = |name| Some((burn(&plan.batch, name)?, burn(&richer, name)?));
    let found = both(main.state.name).or_else(|| both(WaterStateName::Dried))?;
    let ((now_t, now), (then_t, then)) = found;
    let gas = |s: &StateResult| s.gas.per_product.get::<cubic_meter_per_kilogram>();
    let temperature = if then_t > now_t { "hotter" } else { "colder" };
    let amount = if gas(&then) > gas(&now) {
        "more"
    } else {
        "less"
    };
    Some(format!(
        "{}, from cold: at φ = {} it burns {temperature}, in equilibrium at {} instead of {}, with \
         {amount} gas, {} instead of {} L/g.{}",
        capital(&now.state.name.to_string()),
        significant(more.get::<ratio>(), 3),
        celsius_text(then_t),
        celsius_text(now_t),
        litres(&then),
        litres(&now),
        why_hotter(phi, then_t > now_t),
    ))
}

/// Why half as much fuel again on a batch of `phi` makes it hotter or colder.
fn why_hotter(phi: f64, hotter: bool) -> &'static str {
    match (phi >= 1.0, 1.5 * phi > 1.0, hotter) {
        (_, false, true) => {
            " There is oxygen left for it: it burns and warms more than its gases take up."
        }
        (false, true, true) => {
            " Up to φ = 1 there is oxygen left for it; what that part gives is more than the rest, \
             which finds none, takes up."
        }
        (_, true, false) => {
            " From φ = 1 on it finds no oxygen in the pot: the surplus is warmed and broken up, \
             which takes heat, and leaves as CO, H₂ and the like."
        }
        _ => "",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_reason_fits_the_side_of_the_balance_and_the_direction() {
        assert!(why_hotter(0.5, true).contains("oxygen left"));
        assert!(why_hotter(0.8, true).contains("Up to φ = 1"));
        assert!(why_hotter(1.0, false).contains("no oxygen"));
        // No reason is made up for what does not follow from the balance.
        assert!(why_hotter(1.2, true).is_empty() && why_hotter(0.5, false).is_empty());
    }
}
