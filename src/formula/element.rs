//! The chemical elements and their standard atomic weights.

use serde::de::Error;
use serde::{Deserialize, Deserializer};
use std::fmt;
use std::sync::OnceLock;

/// A chemical element, ordered by atomic number.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Element(u8);

#[derive(Deserialize)]
struct Table {
    element: Vec<Row>,
}

#[derive(Deserialize)]
struct Row {
    symbol: String,
    name: String,
    weight: Option<f64>,
    uncertainty: Option<f64>,
}

fn rows() -> &'static [Row] {
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    ROWS.get_or_init(|| {
        let prepared = include_str!(concat!(env!("OUT_DIR"), "/tables/elements.json"));
        serde_json::from_str::<Table>(prepared)
            .expect("the embedded table of elements is checked by the tests")
            .element
    })
}

impl Element {
    /// Hydrogen.
    pub const HYDROGEN: Self = Self(1);
    /// Carbon.
    pub const CARBON: Self = Self(6);
    /// Nitrogen.
    pub const NITROGEN: Self = Self(7);
    /// Oxygen.
    pub const OXYGEN: Self = Self(8);

    /// The element with this symbol, written with its capital.
    pub fn from_symbol(symbol: &str) -> Option<Self> {
        // By the first letter and the second, if there is one.
        static BY_LETTERS: OnceLock<[[u8; 27]; 26]> = OnceLock::new();
        let by_letters = BY_LETTERS.get_or_init(|| {
            let mut table = [[0; 27]; 26];
            for (row, z) in rows().iter().zip(1..) {
                let (first, second) = letters(&row.symbol).expect("a symbol is one or two letters");
                table[first][second] = z;
            }
            table
        });
        let (first, second) = letters(symbol)?;
        Some(by_letters[first][second]).filter(|z| *z > 0).map(Self)
    }

    /// Whether `word` is the English name of an element, IUPAC spelling, lower case.
    pub fn is_name(word: &str) -> bool {
        rows().iter().any(|row| row.name.to_lowercase() == word)
    }

    fn row(self) -> &'static Row {
        &rows()[usize::from(self.0) - 1]
    }

    /// Symbol, such as `Al`.
    pub fn symbol(self) -> &'static str {
        &self.row().symbol
    }

    /// Name in English, IUPAC spelling.
    pub fn name(self) -> &'static str {
        &self.row().name
    }

    /// Whether IUPAC gives a standard atomic weight (an element without one has no stable isotope).
    pub fn has_atomic_weight(self) -> bool {
        self.row().weight.is_some()
    }

    /// Standard atomic weight in g/mol, IUPAC 2021 abridged.
    pub(crate) fn atomic_weight(self) -> f64 {
        self.row()
            .weight
            .expect("a formula holds only elements with an atomic weight")
    }

    /// Uncertainty of the abridged standard atomic weight in g/mol.
    pub(crate) fn atomic_weight_uncertainty(self) -> f64 {
        self.row()
            .uncertainty
            .expect("a formula holds only elements with an atomic weight")
    }

    /// Whether the element is none of the non-metals that fuels and acids are made of
    /// (H, B, C, N, O, F, Si, P, S, Cl, Se, Br, I) and no noble gas.
    pub fn is_metal(self) -> bool {
        !matches!(self.0, 1 | 2 | 5..=10 | 14..=18 | 34..=36 | 53 | 54)
    }
}

/// Places of a capital, from 0, and of the small letter behind it, from 1: 0 if there is none.
fn letters(symbol: &str) -> Option<(usize, usize)> {
    let place = |c: u8, of: u8| usize::from(c - of);
    match symbol.as_bytes() {
        [first @ b'A'..=b'Z'] => Some((place(*first, b'A'), 0)),
        [first @ b'A'..=b'Z', second @ b'a'..=b'z'] => {
            Some((place(*first, b'A'), 1 + place(*second, b'a')))
        }
        _ => None,
    }
}

impl<'de> Deserialize<'de> for Element {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let symbol = String::deserialize(deserializer)?;
        Self::from_symbol(&symbol)
            .ok_or_else(|| D::Error::custom(format!("`{symbol}` is no element")))
    }
}

impl fmt::Display for Element {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.symbol())
    }
}

impl fmt::Debug for Element {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_named_elements_are_the_ones_they_say() {
        for (element, symbol) in [
            (Element::HYDROGEN, "H"),
            (Element::CARBON, "C"),
            (Element::NITROGEN, "N"),
            (Element::OXYGEN, "O"),
        ] {
            assert_eq!(element.symbol(), symbol);
        }
    }

    #[test]
    fn all_118_elements_are_there_and_heavier_ones_weigh_more() {
        assert_eq!(rows().len(), 118);
        assert_eq!(Element::from_symbol("Og"), Some(Element(118)));
        let mut falls = Vec::new();
        let mut before = 0.0;
        for row in rows() {
            if let Some(weight) = row.weight {
                if weight < before {
                    falls.push(row.symbol.as_str());
                }
                before = weight;
            }
        }
        // The four classic inversions of the periodic table (Ar–K, Co–Ni, Te–I, Th–Pa).
        assert_eq!(falls, ["K", "Ni", "I", "Pa"]);
    }

    #[test]
    fn the_column_of_weights_adds_up() {
        // Against a slipped digit: the sum of the unabridged weights of the same 84 elements in
        // the open data set of the Python package mendeleev. Rounding to five digits moves each
        // by up to 0.005, evenly spread, so the sum by 0.027 (one standard deviation); two of
        // them are allowed.
        let sum: f64 = rows().iter().filter_map(|row| row.weight).sum();
        assert_relative_eq!(sum, 8750.5938, epsilon = 0.053);
    }
}
