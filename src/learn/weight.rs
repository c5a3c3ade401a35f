//! Weights of draws: plain numbers.

/// Logarithm of Student's t density over its peak, `z` standard deviations off.
pub fn student(z: f64, freedom: f64) -> f64 {
    -0.5 * (freedom + 1.0) * (z * z / freedom).ln_1p()
}

/// Weights that add up to 1 from their logarithms.
pub fn weights(logarithms: &[f64]) -> Vec<f64> {
    let most = logarithms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logarithms.iter().map(|log| (log - most).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.iter().map(|weight| weight / sum).collect()
}

/// Effective number of draws, 1/Σw² (L. Kish, Survey Sampling, 1965, from memory).
pub fn effective(weights: &[f64]) -> f64 {
    1.0 / weights.iter().map(|weight| weight * weight).sum::<f64>()
}

/// The values below which the shares `shares` of the weight lie.
pub fn quantiles<const N: usize>(values: &[f64], weights: &[f64], shares: [f64; N]) -> [f64; N] {
    let mut sorted: Vec<(f64, f64)> = values
        .iter()
        .copied()
        .zip(weights.iter().copied())
        .collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let sum: f64 = sorted.iter().map(|(_, weight)| weight).sum();
    shares.map(|share| {
        let mut passed = 0.0;
        let mut before = sorted[0].0;
        for &(value, weight) in &sorted {
            // Half of a draw's weight lies below its value.
            let middle = passed + 0.5 * weight;
            if middle >= share * sum {
                let part = (share * sum - (passed - 0.5 * weight).max(0.0)) / weight;
                return before + part.clamp(0.0, 1.0) * (value - before);
            }
            passed += weight;
            before = value;
        }
        before
    })
}

/// `count` draws in proportion to the weights: systematic, so that a draw of weight w comes up
/// w × count times, rounded up or down.
pub fn resampled(weights: &[f64], count: usize) -> Vec<usize> {
    let mut chosen = Vec::with_capacity(count);
    let mut passed = 0.0;
    for (at, weight) in weights.iter().enumerate() {
        passed += weight;
        while chosen.len() < count && (chosen.len() as f64 + 0.5) / count as f64 <= passed {
            chosen.push(at);
        }
    }
    // Rounding may leave the last one out.
    while chosen.len() < count {
        chosen.push(weights.len() - 1);
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn equal_weights_count_all_draws_and_one_weight_counts_one() {
        assert_relative_eq!(effective(&weights(&[-3.0; 50])), 50.0, max_relative = 1e-12);
        let one = weights(&[-900.0, 0.0, -900.0]);
        assert_relative_eq!(effective(&one), 1.0, max_relative = 1e-12);
    }

    #[test]
    fn quantiles_follow_the_weight() {
        let values: Vec<f64> = (0..1000).map(f64::from).collect();
        let [low, middle] = quantiles(&values, &[1e-3; 1000], [0.1, 0.5]);
        assert_relative_eq!(low, 99.5, epsilon = 0.6);
        assert_relative_eq!(middle, 499.5, epsilon = 0.6);
        let weights: Vec<f64> = values
            .iter()
            .map(|x| if *x < 500.0 { 0.0 } else { 2e-3 })
            .collect();
        let [middle] = quantiles(&values, &weights, [0.5]);
        assert_relative_eq!(middle, 749.5, epsilon = 0.6);
    }

    #[test]
    fn draws_come_up_by_their_weight() {
        let chosen = resampled(&[0.25, 0.0, 0.5, 0.25], 8);
        assert_eq!(chosen, [0, 0, 2, 2, 2, 2, 3, 3]);
        assert_eq!(resampled(&[0.1; 10], 5).len(), 5);
    }

    #[test]
    fn the_tail_of_student_forgives() {
        // Ten deviations off costs a normal law 50, Student's t with 4 degrees 8.1.
        assert_relative_eq!(
            student(10.0, 4.0),
            -2.5 * 26.0_f64.ln(),
            max_relative = 1e-12
        );
        assert_relative_eq!(student(0.0, 4.0), 0.0);
    }
}
