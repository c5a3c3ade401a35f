//! Shares counted by hand, such as flakes that glow.

use crate::quantity::units::ratio;
use crate::quantity::{Band, Ratio};

/// Quantile of the normal distribution for a two-sided interval of 95 %.
const Z: f64 = 1.959_964;

/// A counted share with its interval of 95 % after E. B. Wilson, J. Am. Stat. Assoc. 22 (1927)
/// 209: it stays within 0 and 1 and holds for small counts.
pub fn share(hits: u32, all: u32) -> Option<(Ratio, Band<Ratio>)> {
    if all == 0 || hits > all {
        return None;
    }
    let (n, p) = (f64::from(all), f64::from(hits) / f64::from(all));
    let z2 = Z * Z;
    let middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    let ends = [(middle - half).max(0.0), (middle + half).min(1.0)];
    let [low, high] = ends.map(Ratio::new::<ratio>);
    Some((Ratio::new::<ratio>(p), Band::between(low, high)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_ends_solve_the_score_equation() {
        // An end p0 of the interval is where |p − p0| = z √(p0 (1 − p0)/n).
        let (p, band) = share(41, 44).unwrap();
        let p = p.get::<ratio>();
        for end in [band.low.get::<ratio>(), band.high.get::<ratio>()] {
            let score = (p - end).abs() / (end * (1.0 - end) / 44.0).sqrt();
            assert_relative_eq!(score, Z, max_relative = 1e-9);
        }
    }

    #[test]
    fn none_of_ten_is_not_surely_none() {
        let (p, band) = share(0, 10).unwrap();
        assert_relative_eq!(p.get::<ratio>(), 0.0);
        assert_relative_eq!(band.low.get::<ratio>(), 0.0);
        // z²/(n + z²) at p = 0.
        assert_relative_eq!(
            band.high.get::<ratio>(),
            Z * Z / (10.0 + Z * Z),
            max_relative = 1e-9
        );
    }

    #[test]
    fn nothing_counted_has_no_share() {
        assert!(share(0, 0).is_none());
        assert!(share(3, 2).is_none());
    }
}
