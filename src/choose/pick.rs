//! Which of the fuel ratios that reach the goal is suggested.

use super::choice::RatioReason;
use super::goal::{Goal, Verdict};
use super::purity::{OtherPhases, other_phases};
use super::reach::Scanned;
use crate::batch::Atmosphere;
use crate::expected::{Draw, Expectation};
use crate::product::ExpectedProduct;
use crate::quantity::ThermodynamicTemperature;
use crate::quantity::units::kelvin;
use crate::tables::Tables;

/// Least φ that counts as fuel-rich enough to reduce.
const RICH: f64 = 1.05;
/// A burn does the job with margin if it is expected this much above the temperature that does, K.
const MARGIN: f64 = 50.0;

/// What was picked.
pub(super) struct Picked {
    pub phi: f64,
    pub why: RatioReason,
    pub draw: Draw,
    pub other_phases: OtherPhases,
}

/// How well a temperature does: 3 with margin, 2 by the time model, 1 perhaps, 0 not.
fn class(goal: &Goal, t: f64) -> u8 {
    let temperature = ThermodynamicTemperature::new::<kelvin>(t);
    match goal.verdict_at(temperature) {
        Verdict::Forms if t >= goal.safe.get::<kelvin>() + MARGIN => 3,
        Verdict::Forms => 2,
        Verdict::MayForm => 1,
        _ => 0,
    }
}

/// Picks a ratio of the scan: one that leaves the wanted phases, on the side of the wanted gas, as
/// surely hot enough as there is; of those the middle of that side, or without a wanted gas the
/// nearest to φ = 1.
pub(super) fn pick(
    expectation: &mut Expectation<'_>,
    scan: &[Scanned],
    goal: &Goal,
    product: &ExpectedProduct,
    tables: &Tables,
) -> Picked {
    let mut looked: Vec<Option<(Draw, OtherPhases)>> = vec![None; scan.len()];
    let mut look = |at: usize| {
        let entry = looked[at].get_or_insert_with(|| {
            let fuel = expectation.fuel_for(scan[at].phi);
            let draw = expectation.middle(fuel);
            let others = other_phases(expectation, fuel, &draw, product, tables);
            (draw, others)
        });
        entry.clone()
    };
    let mut fallback = None;
    for (order, why) in orders(scan, goal) {
        for at in order {
            let (draw, other_phases) = look(at);
            let picked = Picked {
                phi: scan[at].phi,
                why,
                draw,
                other_phases,
            };
            if !picked.other_phases.counts() {
                return picked;
            }
            // If no ratio leaves the wanted phases, the one with most of them.
            let better = fallback
                .as_ref()
                .is_none_or(|best: &Picked| picked.other_phases.share < best.other_phases.share);
            if better {
                fallback = Some(picked);
            }
        }
    }
    // Every point of the scan is in one of the orders, and a scan has points.
    fallback.unwrap_or_else(|| {
        let (draw, other_phases) = look(0);
        Picked {
            phi: scan[0].phi,
            why: RatioReason::NearestToGoal,
            draw,
            other_phases,
        }
    })
}

/// Points of the scan in the order in which they are tried, with the reason that each list gives.
fn orders(scan: &[Scanned], goal: &Goal) -> Vec<(Vec<usize>, RatioReason)> {
    let on_side = |at: &usize| match goal.atmosphere {
        Some(Atmosphere::Oxidising) => scan[*at].phi <= 1.0,
        Some(Atmosphere::Reducing) => scan[*at].phi >= RICH,
        Some(Atmosphere::Neutral) | None => true,
    };
    let of_class = |wanted: u8| -> Vec<usize> {
        let all = 0..scan.len();
        all.filter(|at| class(goal, scan[*at].t) == wanted)
            .collect()
    };
    let near = |list: &mut Vec<usize>, middle: f64| {
        let distance = |at: &usize| (scan[*at].phi / middle).ln().abs();
        list.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
    };
    let mut orders = Vec::new();
    for wanted in [3, 2, 1] {
        let mut list: Vec<usize> = of_class(wanted).into_iter().filter(on_side).collect();
        let (Some(first), Some(last)) = (list.first(), list.last()) else {
            continue;
        };
        let middle = (scan[*first].phi * scan[*last].phi).sqrt();
        let (middle, why) = match goal.atmosphere {
            Some(Atmosphere::Oxidising) => (middle, RatioReason::MiddleOfLean),
            Some(Atmosphere::Reducing) => (middle, RatioReason::MiddleOfRich),
            Some(Atmosphere::Neutral) | None => (1.0, RatioReason::NearestToOne),
        };
        near(&mut list, middle);
        orders.push((list, why));
    }
    for wanted in [3, 2, 1] {
        let mut list = of_class(wanted);
        if goal.atmosphere == Some(Atmosphere::Reducing) {
            list.reverse();
        }
        orders.push((list, RatioReason::NearestToWantedGas));
    }
    let mut cold = of_class(0);
    // Too hot counts as too cold here: the nearest to the goal first.
    let goal_t = goal.safe.get::<kelvin>();
    let miss = |at: &usize| (scan[*at].t - goal_t).abs();
    cold.sort_by(|a, b| miss(a).total_cmp(&miss(b)));
    orders.push((cold, RatioReason::NearestToGoal));
    orders
}
