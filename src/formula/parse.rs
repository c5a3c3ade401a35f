//! Recursive-descent reader of formulas.

use super::element::Element;
use std::collections::BTreeMap;
use thiserror::Error;

/// Greatest water number that is accepted for an x-hydrate.
const MOST_WATER: f64 = 24.0;
/// Longest formula that is read, in characters.
const LONGEST: usize = 200;
/// Deepest nesting of brackets that is read.
const DEEPEST: usize = 16;
/// Largest subscript or coefficient that is read.
const LARGEST_NUMBER: f64 = 1.0e4;

/// Why a text is no chemical formula. Positions count characters from 1.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum FormulaError {
    #[error("the formula is empty; write one such as `Al(NO3)3·9H2O`")]
    Empty,
    #[error("the formula has {characters} characters; at most {LONGEST} are read")]
    TooLong { characters: usize },
    #[error("brackets in `{text}` are nested more than {DEEPEST} deep")]
    TooDeep { text: String },
    #[error("`{symbol}` at position {position} of `{text}` is no element")]
    UnknownElement {
        text: String,
        symbol: String,
        position: usize,
    },
    #[error(
        "`{symbol}` at position {position} of `{text}` has no standard atomic weight (no stable isotope)"
    )]
    NoAtomicWeight {
        text: String,
        symbol: String,
        position: usize,
    },
    #[error("`{found}` at position {position} of `{text}` does not belong in a formula there")]
    Unexpected {
        text: String,
        found: char,
        position: usize,
    },
    #[error("the bracket `{bracket}` at position {position} of `{text}` is not closed")]
    Unclosed {
        text: String,
        bracket: char,
        position: usize,
    },
    #[error("`{text}` ends where an element is still due")]
    Incomplete { text: String },
    #[error(
        "the number `{number}` at position {position} of `{text}` is not a subscript above 0 and up to {LARGEST_NUMBER}"
    )]
    BadNumber {
        text: String,
        number: String,
        position: usize,
    },
    #[error(
        "`{number}` at position {position} of `{text}` begins with the digit 0; the letter O stands for oxygen"
    )]
    DigitForLetter {
        text: String,
        number: String,
        position: usize,
    },
    #[error("the water number of `{text}` is unknown; say how many, for example `hydrate_x = 6`")]
    WaterUnknown { text: String },
    #[error("{water} molecules of crystal water is not between 0 and {MOST_WATER}")]
    WaterOutOfRange { water: f64 },
}

/// A number as short as it can be written, at most six decimals.
pub(super) fn number_text(value: f64) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The text of a formula, atoms per formula unit, and molecules of crystal water.
pub(super) type Parts = (String, BTreeMap<Element, f64>, f64);

/// Reads a whole formula; `water` stands for an unknown water number.
pub(super) fn formula(text: &str, water: Option<f64>) -> Result<Parts, FormulaError> {
    let plain = plain_text(text);
    let count = plain.chars().count();
    if count == 0 {
        return Err(FormulaError::Empty);
    }
    if count > LONGEST {
        return Err(FormulaError::TooLong { characters: count });
    }
    if let Some(x) = water {
        if !(0.0..=MOST_WATER).contains(&x) {
            return Err(FormulaError::WaterOutOfRange { water: x });
        }
    }
    let mut amounts = BTreeMap::new();
    let mut crystal_water = 0.0;
    let mut written = Vec::new();
    let mut offset = 0;
    for part in plain.split('·') {
        let mut reader = Reader {
            whole: &plain,
            offset,
            chars: part.chars().collect(),
            at: 0,
            depth: 0,
        };
        let (part_amounts, coefficient, part_text) = reader.part(water)?;
        if coefficient > 0.0 {
            let is_water = part_text == "H2O" && !written.is_empty();
            if is_water {
                crystal_water += coefficient;
            }
            for (element, n) in part_amounts {
                *amounts.entry(element).or_insert(0.0) += coefficient * n;
            }
            written.push(if (coefficient - 1.0).abs() < 1e-12 {
                part_text
            } else {
                format!("{}{part_text}", number_text(coefficient))
            });
        }
        offset += part.chars().count() + 1;
    }
    Ok((written.join("·"), amounts, crystal_water))
}

/// Spaces removed, subscripts made plain, every kind of hydrate dot made `·`.
fn plain_text(text: &str) -> String {
    let mut plain: String = text
        .chars()
        .filter(|c| !c.is_whitespace())
        .map(|c| match c {
            '₀'..='₉' => char::from_digit(u32::from(c) - u32::from('₀'), 10).unwrap_or(c),
            '*' | '•' | '⋅' | '∙' | '・' => '·',
            other => other,
        })
        .collect();
    if let Some(at) = hydrate_full_stop(&plain) {
        plain.replace_range(at..=at, "·");
    }
    plain
}

/// Where a full stop stands for the hydrate dot: only a number (or x, n) and `H2O` follow it.
fn hydrate_full_stop(plain: &str) -> Option<usize> {
    let stem = plain.strip_suffix("H2O")?;
    stem.char_indices()
        .filter(|(at, c)| *c == '.' && *at > 0)
        .map(|(at, _)| at)
        .filter(|at| !is_decimal_point(&stem[..*at]))
        .find(|at| {
            let number = &stem[at + 1..];
            number.is_empty() || number == "x" || number == "n" || number.parse::<f64>().is_ok()
        })
}

/// Whether a full stop after `before` belongs to a number: `·2` or `2` and then `.5H2O`.
fn is_decimal_point(before: &str) -> bool {
    let number = before.rsplit('·').next().unwrap_or(before);
    number.chars().all(|c| c.is_ascii_digit())
}

struct Reader<'a> {
    whole: &'a str,
    offset: usize,
    chars: Vec<char>,
    at: usize,
    depth: usize,
}

type Amounts = BTreeMap<Element, f64>;

impl Reader<'_> {
    fn peek(&self) -> Option<char> {
        self.chars.get(self.at).copied()
    }

    fn position(&self) -> usize {
        self.offset + self.at + 1
    }

    fn text(&self) -> String {
        self.whole.to_owned()
    }

    /// One part between hydrate dots: coefficient and groups.
    fn part(&mut self, water: Option<f64>) -> Result<(Amounts, f64, String), FormulaError> {
        let unknown = matches!(self.peek(), Some('x' | 'n')) && self.chars[1..] == ['H', '2', 'O'];
        let coefficient = if unknown {
            self.at += 1;
            water.ok_or_else(|| FormulaError::WaterUnknown { text: self.text() })?
        } else {
            self.number()?.unwrap_or(1.0)
        };
        let start = self.at;
        let amounts = self.groups(None)?;
        Ok((amounts, coefficient, self.chars[start..].iter().collect()))
    }

    /// Groups up to the end of the part or to the bracket that closes `open`.
    fn groups(&mut self, open: Option<(char, usize)>) -> Result<Amounts, FormulaError> {
        let mut sum = Amounts::new();
        while let Some(c) = self.peek() {
            match c {
                '(' | '[' | '{' => {
                    let group = self.bracket(c)?;
                    let subscript = self.number()?.unwrap_or(1.0);
                    for (element, n) in group {
                        *sum.entry(element).or_insert(0.0) += subscript * n;
                    }
                }
                ')' | ']' | '}' if open.is_some() => break,
                'A'..='Z' => {
                    let element = self.element()?;
                    *sum.entry(element).or_insert(0.0) += self.number()?.unwrap_or(1.0);
                }
                _ => {
                    let position = self.position();
                    return Err(FormulaError::Unexpected {
                        text: self.text(),
                        found: c,
                        position,
                    });
                }
            }
        }
        if sum.is_empty() {
            return Err(FormulaError::Incomplete { text: self.text() });
        }
        Ok(sum)
    }

    fn bracket(&mut self, open: char) -> Result<Amounts, FormulaError> {
        let position = self.position();
        self.at += 1;
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(FormulaError::TooDeep { text: self.text() });
        }
        let close = match open {
            '(' => ')',
            '[' => ']',
            _ => '}',
        };
        let inside = self.groups(Some((open, position)))?;
        if self.peek() != Some(close) {
            return Err(FormulaError::Unclosed {
                text: self.text(),
                bracket: open,
                position,
            });
        }
        self.at += 1;
        self.depth -= 1;
        Ok(inside)
    }

    fn element(&mut self) -> Result<Element, FormulaError> {
        let position = self.position();
        let first = self.at;
        self.at += 1;
        while matches!(self.peek(), Some('a'..='z')) {
            self.at += 1;
        }
        let symbol: String = self.chars[first..self.at].iter().collect();
        match Element::from_symbol(&symbol) {
            Some(element) if element.has_atomic_weight() => Ok(element),
            Some(_) => Err(FormulaError::NoAtomicWeight {
                text: self.text(),
                symbol,
                position,
            }),
            None => Err(FormulaError::UnknownElement {
                text: self.text(),
                symbol,
                position,
            }),
        }
    }

    fn number(&mut self) -> Result<Option<f64>, FormulaError> {
        let position = self.position();
        let first = self.at;
        while matches!(self.peek(), Some('0'..='9' | '.' | '/')) {
            self.at += 1;
        }
        if first == self.at {
            return Ok(None);
        }
        let number: String = self.chars[first..self.at].iter().collect();
        // "LiNi1/3Co1/3Mn1/3O2"
        let value = match number.split_once('/') {
            Some((part, of)) => part.parse().and_then(|a: f64| Ok(a / of.parse::<f64>()?)),
            None => number.parse(),
        };
        // `N03` and `H20` are the letter O mistyped; `0.5` is a number.
        let mistyped = number.len() > 1 && number.starts_with('0') && !number.starts_with("0.");
        match value {
            Ok(_) if mistyped => Err(FormulaError::DigitForLetter {
                text: self.text(),
                number,
                position,
            }),
            Ok(value) if value > 0.0 && value <= LARGEST_NUMBER => Ok(Some(value)),
            _ => Err(FormulaError::BadNumber {
                text: self.text(),
                number,
                position,
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formula::Formula;
    use approx::assert_relative_eq;

    fn count(text: &str, symbol: &str) -> f64 {
        let element = Element::from_symbol(symbol).unwrap();
        Formula::parse(text).unwrap().amount_of(element)
    }

    #[test]
    fn a_water_number_may_have_a_decimal_point() {
        for text in ["0.836H2O", ".836H2O"] {
            assert_relative_eq!(count(text, "H"), 1.672);
            let again = Formula::parse(text).unwrap().to_string();
            assert_relative_eq!(count(&again, "H"), 1.672);
        }
        for text in ["Cu(NO3)2·2.5H2O", "Cu(NO3)2*2.5H2O", "Cu(NO3)2.2.5H2O"] {
            assert_relative_eq!(Formula::parse(text).unwrap().crystal_water(), 2.5);
        }
    }

    #[test]
    fn a_count_may_be_a_fraction() {
        assert_relative_eq!(count("LiNi1/3Co1/3Mn1/3O2", "Ni"), 1.0 / 3.0);
        assert_relative_eq!(count("La2/3TiO3", "La"), 2.0 / 3.0);
        for wrong in ["Ni1/0O", "Ni1/O", "Ni/3O", "Ni1/2/3O"] {
            assert!(Formula::parse(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn brackets_multiply() {
        assert_relative_eq!(count("Al(NO3)3", "O"), 9.0);
        assert_relative_eq!(count("(NH4)6Mo7O24·4H2O", "H"), 32.0);
        assert_relative_eq!(count("[Co(NH3)6](NO3)3", "N"), 9.0);
        assert_relative_eq!(count("Ca10(PO4)6(OH)2", "O"), 26.0);
    }

    #[test]
    fn every_hydrate_dot_means_the_same() {
        for text in [
            "Mg(NO3)2·6H2O",
            "Mg(NO3)2.6H2O",
            "Mg(NO3)2*6H2O",
            "Mg(NO₃)₂ • 6 H₂O",
        ] {
            let formula = Formula::parse(text).unwrap();
            assert_relative_eq!(formula.crystal_water(), 6.0);
            assert_eq!(formula.to_string(), "Mg(NO3)2·6H2O");
        }
        assert_relative_eq!(Formula::parse("CaSO4.0.5H2O").unwrap().crystal_water(), 0.5);
        assert_relative_eq!(Formula::parse("Ba(OH)2·H2O").unwrap().crystal_water(), 1.0);
    }

    #[test]
    fn a_decimal_point_stays_one() {
        assert_relative_eq!(count("La0.8Sr0.2MnO3", "Sr"), 0.2);
        assert_relative_eq!(count("Ce0.8Gd0.2O1.9", "O"), 1.9);
    }

    #[test]
    fn water_itself_is_no_hydrate() {
        assert_relative_eq!(Formula::parse("H2O").unwrap().crystal_water(), 0.0);
    }

    #[test]
    fn an_x_hydrate_needs_its_x() {
        let text = "Y(NO3)3·xH2O";
        assert!(matches!(
            Formula::parse(text),
            Err(FormulaError::WaterUnknown { .. })
        ));
        let salt = Formula::parse_with_water(text, 5.5).unwrap();
        assert_eq!(salt.to_string(), "Y(NO3)3·5.5H2O");
        assert_relative_eq!(salt.amount_of(Element::HYDROGEN), 11.0);
        assert!(Formula::parse_with_water(text, -1.0).is_err());
        assert!(Formula::parse_with_water(text, f64::NAN).is_err());
    }

    #[test]
    fn taking_the_water_off_leaves_the_dry_salt() {
        let salt = Formula::parse("Al(NO3)3·9H2O").unwrap();
        assert_eq!(salt.anhydrous(), Formula::parse("Al(NO3)3").unwrap());
        assert_eq!(
            salt.with_crystal_water(6.0),
            Formula::parse("Al(NO3)3·6H2O").unwrap()
        );
        let acid = Formula::parse("C6H8O7·H2O").unwrap();
        assert_eq!(acid.anhydrous(), Formula::parse("C6H8O7").unwrap());
    }

    #[test]
    fn adducts_carry_their_coefficient() {
        assert_relative_eq!(count("4MgCO3·Mg(OH)2·5H2O", "Mg"), 5.0);
        assert_relative_eq!(count("2MgO·SiO2", "O"), 4.0);
    }

    #[test]
    fn mistakes_are_placed() {
        assert_eq!(
            Formula::parse("Al(NO3)3·9HzO").unwrap_err(),
            FormulaError::UnknownElement {
                text: "Al(NO3)3·9HzO".into(),
                symbol: "Hz".into(),
                position: 11
            }
        );
        assert!(matches!(
            Formula::parse("Al(NO3"),
            Err(FormulaError::Unclosed { position: 3, .. })
        ));
        assert!(matches!(
            Formula::parse("Al(NO3)3)"),
            Err(FormulaError::Unexpected { position: 9, .. })
        ));
        assert!(matches!(
            Formula::parse("Fe+3"),
            Err(FormulaError::Unexpected { found: '+', .. })
        ));
        assert!(matches!(
            Formula::parse("al2O3"),
            Err(FormulaError::Unexpected { .. })
        ));
        assert!(matches!(
            Formula::parse("Al0O3"),
            Err(FormulaError::BadNumber { .. })
        ));
        assert!(matches!(
            Formula::parse("Al2O3·"),
            Err(FormulaError::Incomplete { .. })
        ));
        assert!(matches!(
            Formula::parse("TcO2"),
            Err(FormulaError::NoAtomicWeight { .. })
        ));
        assert!(matches!(Formula::parse("  "), Err(FormulaError::Empty)));
        assert!(matches!(
            Formula::parse("()"),
            Err(FormulaError::Incomplete { .. })
        ));
        assert!(Formula::parse(&"(".repeat(150)).is_err());
        assert!(Formula::parse(&"H".repeat(5000)).is_err());
    }
}
