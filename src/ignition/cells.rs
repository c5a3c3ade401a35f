//! How the dry mass of the layer is shared out among its cells.

use std::f64::consts::TAU;

/// Shares of the dry mass by cell, bottom first; they add up to 1.
///
/// Heat comes and goes through the faces, and most layers light beside one: cells are thin there
/// and thick in the middle. The share s of the cells holds the share s − g sin(2πs)/2π of the mass,
/// so a cell holds 1 − `grading` of the mean at a face and 1 + `grading` of it in the middle.
pub(super) fn shares(count: usize, grading: f64) -> Vec<f64> {
    let below = |cells: usize| {
        let share = cells as f64 / count as f64;
        share - grading * (TAU * share).sin() / TAU
    };
    (0..count).map(|i| below(i + 1) - below(i)).collect()
}

/// Mean over the mass of the layer of what each cell has.
pub(super) fn mean(shares: &[f64], by_cell: impl Iterator<Item = f64>) -> f64 {
    shares
        .iter()
        .zip(by_cell)
        .map(|(share, value)| share * value)
        .sum()
}

/// Share of the mass below the middle of a cell.
pub(super) fn middle(shares: &[f64], cell: usize) -> f64 {
    shares[..cell].iter().sum::<f64>() + 0.5 * shares[cell]
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn cells_are_the_same_from_both_faces_thin_there_and_hold_all_of_the_mass() {
        for count in [1, 2, 7, 40] {
            let graded = shares(count, 0.8);
            assert_relative_eq!(graded.iter().sum::<f64>(), 1.0, max_relative = 1e-12);
            for (below, above) in graded.iter().zip(graded.iter().rev()) {
                assert_relative_eq!(below, above, max_relative = 1e-9);
            }
            let half = &graded[..count.div_ceil(2)];
            assert!(half.windows(2).all(|pair| pair[0] < pair[1]), "{graded:?}");
            assert_relative_eq!(
                middle(&graded, count / 2),
                0.5,
                epsilon = 0.5 * graded[count / 2]
            );
        }
        for share in shares(5, 0.0) {
            assert_relative_eq!(share, 0.2, max_relative = 1e-12);
        }
    }

    #[test]
    fn a_mean_counts_each_cell_by_its_mass() {
        assert_relative_eq!(mean(&[0.25, 0.5, 0.25], [4.0, 1.0, 8.0].into_iter()), 3.5);
    }
}
