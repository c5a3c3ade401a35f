//! Drawing a sample and reading it, for courses of heating and for burns: plain numbers.

use rand::rngs::StdRng;
use rand::seq::SliceRandom;
use rand::{Rng, SeedableRng};

/// Strata of a coordinate for its share of the variance.
const STRATA: usize = 10;

/// `count` points in the unit cube of `dimensions`: of each coordinate, one in every `count`-th of
/// its range, at a random place in it. The first coordinate rises from point to point, so that
/// neighbours in the list are alike in it; the others are shuffled.
pub fn latin_hypercube(count: usize, dimensions: usize, seed: u64) -> Vec<Vec<f64>> {
    let mut generator = StdRng::seed_from_u64(seed);
    let mut points = vec![Vec::with_capacity(dimensions); count];
    for dimension in 0..dimensions {
        let mut strata: Vec<usize> = (0..count).collect();
        if dimension > 0 {
            strata.shuffle(&mut generator);
        }
        for (point, stratum) in points.iter_mut().zip(strata) {
            let inside: f64 = generator.random();
            point.push((stratum as f64 + inside) / count as f64);
        }
    }
    points
}

/// The value of a symmetric triangular distribution about zero, of standard deviation `deviation`,
/// below which the share `u` lies. Bounded, unlike the normal one, at 2.45 deviations.
pub fn triangular(u: f64, deviation: f64) -> f64 {
    let half = 6.0_f64.sqrt() * deviation;
    if u < 0.5 {
        half * ((2.0 * u).sqrt() - 1.0)
    } else {
        half * (1.0 - (2.0 * (1.0 - u)).sqrt())
    }
}

/// The value below which the share `share` of `sorted` lies, linear between neighbours.
pub fn quantile(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else {
        return f64::NAN;
    };
    let place = share * last as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(last);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}

/// Sum of the squared distances from the mean.
pub fn spread(values: &[f64]) -> f64 {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    values.iter().map(|value| (value - mean).powi(2)).sum()
}

/// Share of the variance of `values` that goes with `coordinate` (each 0 to 1): the correlation
/// ratio over strata, less what chance alone would give; at least 0.
pub fn correlation_ratio(coordinate: &[f64], values: &[f64]) -> f64 {
    let all = spread(values);
    let count = values.len();
    if all <= 0.0 || count <= STRATA {
        return 0.0;
    }
    let mut strata: Vec<Vec<f64>> = vec![Vec::new(); STRATA];
    for (place, value) in coordinate.iter().zip(values) {
        let stratum = (place * STRATA as f64) as usize;
        strata[stratum.min(STRATA - 1)].push(*value);
    }
    let within: f64 = strata
        .iter()
        .filter(|members| !members.is_empty())
        .map(|members| spread(members))
        .sum();
    let filled = strata.iter().filter(|members| !members.is_empty()).count();
    let chance = (count - 1) as f64 / (count - filled) as f64;
    (1.0 - chance * within / all).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn every_stratum_of_every_coordinate_holds_one_point() {
        let points = latin_hypercube(50, 4, 1);
        for dimension in 0..4 {
            let mut strata: Vec<usize> = points
                .iter()
                .map(|point| (point[dimension] * 50.0) as usize)
                .collect();
            strata.sort_unstable();
            assert_eq!(strata, (0..50).collect::<Vec<_>>());
        }
        assert_eq!(points, latin_hypercube(50, 4, 1));
        assert_ne!(points, latin_hypercube(50, 4, 2));
    }

    #[test]
    fn the_triangle_has_the_deviation_asked_for() {
        // ∫ x² over the distribution, by its quantiles in 10 000 even steps.
        let n = 10_000;
        let squares: f64 = (0..n)
            .map(|i| triangular((f64::from(i) + 0.5) / f64::from(n), 3.0).powi(2))
            .sum();
        assert_relative_eq!((squares / f64::from(n)).sqrt(), 3.0, max_relative = 1e-3);
        assert_relative_eq!(triangular(0.2, 1.0), -triangular(0.8, 1.0), epsilon = 1e-12);
    }

    #[test]
    fn variance_goes_to_the_coordinate_that_makes_it() {
        let points = latin_hypercube(200, 3, 3);
        let column = |at: usize| points.iter().map(|point| point[at]).collect::<Vec<f64>>();
        let values: Vec<f64> = points.iter().map(|p| 3.0 * p[0] + p[1]).collect();
        // Variances 9/12 and 1/12 of even coordinates: shares 0.9 and 0.1.
        let shares = [0, 1, 2].map(|at| correlation_ratio(&column(at), &values));
        assert_relative_eq!(shares[0], 0.9, epsilon = 0.03);
        assert_relative_eq!(shares[1], 0.1, epsilon = 0.08);
        assert!(shares[2] < 0.08, "{shares:?}");
    }

    #[test]
    fn quantiles_lie_between_their_neighbours() {
        assert_relative_eq!(quantile(&[1.0, 2.0, 4.0], 0.5), 2.0);
        assert_relative_eq!(quantile(&[1.0, 2.0, 4.0], 0.75), 3.0);
        assert!(quantile(&[], 0.5).is_nan());
    }
}
