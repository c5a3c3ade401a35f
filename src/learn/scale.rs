//! What a pot does over what is predicted: the scale of the time to ignition, of froth.

use super::weight::{quantiles, student, weights};
use crate::quantity::units::ratio;
use crate::quantity::{Band, Ratio};

/// Grid of the logarithm of the factor, to both sides.
const STEPS: i32 = 300;
/// Its ends, in standard deviations of the factor before any run.
const REACH: f64 = 4.0;

/// What was read over what was predicted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScaleLesson {
    /// Runs with a reading.
    pub runs: usize,
    /// Median before any run is 1; after them.
    pub middle: Ratio,
    pub before: Band<Ratio>,
    pub after: Band<Ratio>,
}

/// How far factors may be off.
#[derive(Debug, Clone, Copy)]
pub struct ScalePrior {
    /// Standard deviation of the factor's logarithm before any run.
    pub before: f64,
    /// Of one reading and of runs together.
    pub scatter: f64,
    /// Degrees of freedom of Student's t.
    pub freedom: f64,
}

/// The lesson of readings over what was predicted; `None` without any.
pub fn scale_lesson(factors: &[f64], spread: ScalePrior) -> Option<ScaleLesson> {
    if factors.is_empty() {
        return None;
    }
    let ScalePrior {
        before: deviation,
        scatter,
        freedom,
    } = spread;
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
    Some(ScaleLesson {
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
        let spread = ScalePrior {
            before: tables.weight.time_factor.si().ln(),
            scatter: tables.scatter.time.si(),
            freedom: tables.weight.freedom.si(),
        };
        let learned = scale_lesson(&[1.45, 1.5, 1.55, 1.5, 0.2], spread).unwrap();
        let (low, high) = (
            learned.after.low.get::<ratio>(),
            learned.after.high.get::<ratio>(),
        );
        assert!(low < 1.5 && 1.5 < high, "{low} to {high}");
        assert!(high / low < 1.4, "{low} to {high}");
        assert!(learned.before.high.get::<ratio>() > 2.0);
        assert!(scale_lesson(&[], spread).is_none());
    }
}
