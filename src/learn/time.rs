//! The time scale of heating: how long a pot takes to ignition over what the model says.

use super::weight::{quantiles, student, weights};
use crate::quantity::{Band, Ratio};
use crate::tables::observations::Observations;
use uom::si::ratio::ratio;

/// Grid of the logarithm of the factor, to both sides.
const STEPS: i32 = 300;
/// Its ends, in standard deviations of the factor before any run.
const REACH: f64 = 4.0;

/// Time to ignition over that of the heating model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimeLesson {
    /// Runs with a time.
    pub runs: usize,
    /// Median before any run is 1; after them.
    pub middle: Ratio,
    /// 8 of 10 before.
    pub before: Band<Ratio>,
    /// 8 of 10 after.
    pub after: Band<Ratio>,
}

/// The lesson of times to ignition over those of the model; `None` without any.
pub fn time_lesson(factors: &[f64], tables: &Observations) -> Option<TimeLesson> {
    if factors.is_empty() {
        return None;
    }
    let deviation = tables.weight.time_factor.si().ln();
    let (freedom, scatter) = (tables.weight.freedom.si(), tables.scatter.time.si());
    let step = REACH * deviation / f64::from(STEPS);
    let grid: Vec<f64> = (-STEPS..=STEPS).map(|at| f64::from(at) * step).collect();
    let prior = |x: &f64| -0.5 * (x / deviation).powi(2);
    let after = |x: &f64| {
        let runs = factors
            .iter()
            .map(|f| student((f.ln() - x) / scatter, freedom));
        prior(x) + runs.sum::<f64>()
    };
    let band = |logarithms: Vec<f64>| {
        let ends = quantiles(&grid, &weights(&logarithms), [0.1, 0.5, 0.9]);
        ends.map(|x| Ratio::new::<ratio>(x.exp()))
    };
    let [before_low, _, before_high] = band(grid.iter().map(prior).collect());
    let [low, middle, high] = band(grid.iter().map(after).collect());
    Some(TimeLesson {
        runs: factors.len(),
        middle,
        before: Band::between(before_low, before_high),
        after: Band::between(low, high),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::Tables;

    #[test]
    fn a_slow_plate_is_learned_and_one_slip_forgiven() {
        let tables = Tables::built_in().unwrap().observations;
        let learned = time_lesson(&[1.45, 1.5, 1.55, 1.5, 0.2], &tables).unwrap();
        let (low, high) = (
            learned.after.low.get::<ratio>(),
            learned.after.high.get::<ratio>(),
        );
        assert!(low < 1.5 && 1.5 < high, "{low} to {high}");
        assert!(high / low < 1.4, "{low} to {high}");
        assert!(learned.before.high.get::<ratio>() > 2.0);
        assert!(time_lesson(&[], &tables).is_none());
    }
}
