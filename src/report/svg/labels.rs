//! Names at the ends of lines, moved apart where they would overlap.

/// Positions as near to `wanted` as possible, at least `distance` apart and within the bounds if
/// there is room. The order of the input is kept.
pub(super) fn apart(wanted: &[f64], distance: f64, low: f64, high: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]));
    let mut placed = vec![0.0; wanted.len()];
    let mut least = low;
    for &at in &order {
        placed[at] = wanted[at].max(least);
        least = placed[at] + distance;
    }
    let mut most = high;
    for &at in order.iter().rev() {
        placed[at] = placed[at].min(most);
        most = placed[at] - distance;
    }
    placed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_keep_their_distance_and_their_order() {
        let placed = apart(&[50.0, 10.0, 51.0, 99.0], 12.0, 0.0, 100.0);
        assert!(placed[1] < placed[0] && placed[0] < placed[2] && placed[2] < placed[3]);
        let mut sorted = placed.clone();
        sorted.sort_by(f64::total_cmp);
        assert!(
            sorted
                .windows(2)
                .all(|pair| pair[1] - pair[0] >= 12.0 - 1e-9)
        );
        assert!(placed.iter().all(|&at| (0.0..=100.0).contains(&at)));
    }
}
