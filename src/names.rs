//! Close matches for a mistyped name.

/// The candidate nearest to `name` by edit distance, if it is near enough to be meant: at most a
/// third of the name's letters, and at most three, may differ. Case does not count.
pub(crate) fn closest<'a>(
    name: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let wanted = name.to_lowercase();
    let allowed = (wanted.chars().count() / 3).clamp(1, 3);
    candidates
        .into_iter()
        .map(|candidate| (edit_distance(&wanted, &candidate.to_lowercase()), candidate))
        .filter(|(distance, _)| *distance <= allowed)
        .min()
        .map(|(_, candidate)| candidate)
}

/// Least number of letters to insert, delete, replace or swap with a neighbour to turn `a` into
/// `b` (optimal string alignment).
pub(crate) fn edit_distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let replaced = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = replaced.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(before_last[j - 2] + 1);
            }
            row.push(least);
        }
        before_last = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_slip_is_forgiven() {
        let names = ["mass", "volume", "substance"];
        assert_eq!(closest("mas", names), Some("mass"));
        assert_eq!(closest("volmue", names), Some("volume"));
        assert_eq!(closest("Substance", names), Some("substance"));
        assert_eq!(closest("colour", names), None);
    }

    #[test]
    fn the_distance_counts_single_changes() {
        assert_eq!(edit_distance("", "abc"), 3);
        assert_eq!(edit_distance("kitten", "sitting"), 3);
        assert_eq!(edit_distance("ab", "ba"), 1);
    }
}
