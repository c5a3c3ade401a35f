//! Names: the close match of a mistyped one, and one that begins a sentence.

use strsim::osa_distance;

/// Most letters of a name that is compared; nothing that long is a slip of the pen.
const LONGEST: usize = 200;

/// The candidate nearest to `name` by edit distance, if it is near enough to be meant: at most a
/// third of the name's letters, and at most three, may differ. Case does not count.
pub(crate) fn closest<'a>(
    name: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let allowed = (name.chars().take(LONGEST).count() / 3).clamp(1, 3);
    let wanted = name.to_lowercase();
    candidates
        .into_iter()
        .filter_map(|candidate| {
            let distance = distance_within(&wanted, &candidate.to_lowercase(), allowed)?;
            Some((distance, candidate))
        })
        .min()
        .map(|(_, candidate)| candidate)
}

/// The text with its first letter in upper case.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// Least number of letters to insert, delete, replace or swap with a neighbour to turn `a` into
/// `b`, if it is at most `most`.
pub(crate) fn distance_within(a: &str, b: &str, most: usize) -> Option<usize> {
    // Each change alters the number of letters by one at most.
    let length = |text: &str| text.chars().take(LONGEST + 1).count();
    let (a_length, b_length) = (length(a), length(b));
    if a_length.abs_diff(b_length) > most || a_length > LONGEST {
        return None;
    }
    Some(osa_distance(a, b)).filter(|distance| *distance <= most)
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
        assert_eq!(distance_within("", "abc", 3), Some(3));
        assert_eq!(distance_within("kitten", "sitting", 3), Some(3));
        assert_eq!(distance_within("ab", "ba", 1), Some(1));
        assert_eq!(distance_within("kitten", "sitting", 2), None);
    }

    #[test]
    fn a_name_of_a_million_letters_is_not_compared() {
        let long = "a".repeat(1_000_000);
        assert_eq!(distance_within(&long, &long, 3), None);
        assert_eq!(closest(&long, ["mass"]), None);
    }
}
