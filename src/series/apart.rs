//! What neighbours of a series are expected to differ by.

use super::members::{Member, Purpose};
use crate::quantity::units::{kelvin, kelvins};
use crate::quantity::{Band, TemperatureInterval};
use crate::tables::Tables;

/// Two neighbours.
#[derive(Debug, Clone, PartialEq)]
pub struct Apart {
    /// Label of the one.
    pub first: String,
    /// Label of the other.
    pub second: String,
    /// Median by which the peak of the second is hotter, in the same pot.
    pub peak: TemperatureInterval,
    /// 8 of 10 of the draws.
    pub band: Band<TemperatureInterval>,
    /// Runs of each with a thermocouple that tell them apart (two standard deviations of the
    /// difference of the means); `None` if more than are worth their while.
    pub runs_needed: Option<u32>,
}

/// Neighbours by level; with two factors, those that differ in the last only.
pub fn neighbours(members: &[Member<'_>], factors: usize, tables: &Tables) -> Vec<Apart> {
    let at_levels: Vec<&Member<'_>> = members
        .iter()
        .filter(|m| m.levels.len() == factors)
        .collect();
    at_levels
        .windows(2)
        .filter(|pair| {
            let shared = factors.saturating_sub(1);
            pair[0].purpose == Purpose::Blank
                || pair[0].levels[..shared] == pair[1].levels[..shared]
        })
        .map(|pair| apart(pair[0], pair[1], tables))
        .collect()
}

fn apart(first: &Member<'_>, second: &Member<'_>, tables: &Tables) -> Apart {
    let draws = |member: &Member<'_>| -> Vec<f64> {
        let draws = member.prepared.expected.draws.iter();
        draws
            .map(|d| d.peak.unwrap_or(d.start).get::<kelvin>())
            .collect()
    };
    let mut off: Vec<f64> = draws(second)
        .iter()
        .zip(draws(first))
        .map(|(second, first)| second - first)
        .collect();
    off.sort_by(f64::total_cmp);
    let at = |share: f64| {
        let place = (share * (off.len() - 1) as f64).round() as usize;
        TemperatureInterval::new::<kelvins>(off[place])
    };
    let observations = &tables.observations;
    let deviation = observations
        .error
        .thermocouple
        .si()
        .hypot(observations.scatter.peak.si());
    // The means of n runs differ by chance by √(2/n) deviations; twice that is seen.
    let needed = 8.0 * (deviation / at(0.5).get::<kelvins>()).powi(2);
    Apart {
        first: first.label.clone(),
        second: second.label.clone(),
        peak: at(0.5),
        band: Band::between(at(0.1), at(0.9)),
        runs_needed: (needed <= observations.series.most_runs.si())
            .then(|| needed.ceil().max(1.0) as u32),
    }
}
