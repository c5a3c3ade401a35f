//! Substances that this program does not plan with, recognized by name and by formula.

mod law;

use crate::formula::{Element, Formula};
use crate::tables::error::TableError;
use crate::tables::read::TableFile;
use law::{Highest, Law};
use serde::Deserialize;

/// A class of refused substances.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Refusal {
    /// The class, such as "chlorates".
    pub class: String,
    /// Why it is refused.
    pub reason: String,
    /// Pieces of a name that give it away, lower case.
    #[serde(default)]
    names: Vec<String>,
    /// Pieces that hold such a piece and are harmless in this sense; they are taken out first.
    #[serde(default)]
    not_names: Vec<String>,
    /// Words that give it away, lower case.
    #[serde(default)]
    words: Vec<String>,
    /// Whole names, lower case.
    #[serde(default)]
    whole_names: Vec<String>,
    /// Forms of an element, lower case: its name or symbol with nothing but these gives it away.
    #[serde(default)]
    forms: Vec<String>,
    /// Endings of what stands before the word "nitrate": the nitrate of an organic base, or ester.
    #[serde(default)]
    nitrate_of: Vec<String>,
    /// Groups that give it away in a formula as written.
    #[serde(default)]
    groups: Vec<String>,
    /// Whole formulas, by composition.
    #[serde(default)]
    formulas: Vec<String>,
    /// CAS registry numbers.
    #[serde(default)]
    registry: Vec<String>,
    /// Every substance that holds one of these elements.
    #[serde(default)]
    elements: Vec<String>,
    /// A rule on the composition.
    law: Option<Law>,
    /// Every formula of one element that is a metal, or boron, silicon or phosphorus.
    #[serde(default)]
    elemental: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RefusedFile {
    highest: Highest,
    refused: Vec<Refusal>,
}

/// What is refused, and what the rules on compositions need.
#[derive(Debug, Clone, Default)]
pub(super) struct Refused {
    highest: Highest,
    classes: Vec<Refusal>,
}

impl Refused {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file: RefusedFile = TableFile::built_in("refused.toml").parse()?;
        Ok(Self {
            highest: file.highest,
            classes: file.refused,
        })
    }

    /// The reason for the first class that `text`, a name, formula or registry number, belongs to.
    pub(super) fn reason(&self, text: &str) -> Option<String> {
        let name = super::spelling::normalized(text).replace('-', " ");
        let formula = Formula::parse_with_water(text.trim(), 1.0).ok();
        let written = plain(text);
        let found = self.classes.iter().find(|class| {
            class.registry.iter().any(|number| number == text.trim())
                || class.matches_name(&name)
                || class.names_an_element(&written)
                || formula
                    .as_ref()
                    .is_some_and(|f| class.matches_formula(f, &written, &self.highest))
        })?;
        Some(format!("{} ({})", found.reason, found.class))
    }
}

impl Refusal {
    fn matches_name(&self, name: &str) -> bool {
        let mut left = name.to_owned();
        for harmless in &self.not_names {
            left = left.replace(harmless.as_str(), " ");
        }
        let words = || {
            left.split(|c: char| !c.is_alphanumeric())
                .filter(|w| !w.is_empty())
        };
        self.names.iter().any(|piece| left.contains(piece.as_str()))
            || words().any(|word| self.words.iter().any(|w| w == word))
            || self.whole_names.iter().any(|whole| whole == name)
            || self.is_organic_nitrate(&words().collect::<Vec<_>>())
            || (!self.forms.is_empty() && self.is_element_in_a_form(words()))
    }

    /// "Al powder", "titanium sponge 99.7", but not "zinc oxide powder".
    fn is_element_in_a_form<'a>(&self, words: impl Iterator<Item = &'a str>) -> bool {
        let (mut elements, mut forms) = (0, 0);
        for word in words {
            if self.forms.iter().any(|form| form == word) {
                forms += 1;
            } else if is_element(word) {
                elements += 1;
            } else if !word.chars().all(|c| c.is_ascii_digit()) {
                return false;
            }
        }
        elements > 0 && forms > 0
    }

    /// "methylammonium nitrate", "sorbitol hexanitrate", but not "ammonium nitrate" or
    /// "tin nitrate".
    fn is_organic_nitrate(&self, words: &[&str]) -> bool {
        let Some(at) = words.iter().position(|word| word.ends_with("nitrate")) else {
            return false;
        };
        let inorganic = |word: &str| {
            let metal_words = [
                "ammonium",
                "zirconyl",
                "hafnyl",
                "titanyl",
                "vanadyl",
                "bismuthyl",
            ];
            metal_words.contains(&word) || Element::is_name(word)
        };
        words[..at].iter().any(|word| {
            !inorganic(word)
                && self
                    .nitrate_of
                    .iter()
                    .any(|end| word.ends_with(end.as_str()))
        })
    }

    /// One of the elements stands in what looks like a formula. An element without an atomic weight
    /// keeps the formula from being read.
    fn names_an_element(&self, written: &str) -> bool {
        let like_a_formula = written
            .chars()
            .all(|c| c.is_alphanumeric() || "()·.*/".contains(c));
        like_a_formula
            && self.elements.iter().any(|symbol| {
                written.match_indices(symbol.as_str()).any(|(at, _)| {
                    let next = written[at + symbol.len()..].chars().next();
                    !next.is_some_and(|c| c.is_ascii_lowercase())
                })
            })
    }

    fn matches_formula(&self, formula: &Formula, written: &str, highest: &Highest) -> bool {
        let held = |symbol: &String| {
            Element::from_symbol(symbol).is_some_and(|element| formula.amount_of(element) > 0.0)
        };
        self.groups.iter().any(|group| has_group(written, group))
            || self.formulas.iter().any(|f| is_same(f, formula))
            || self.elements.iter().any(held)
            || self
                .law
                .is_some_and(|law| law.breaks(formula, written, highest))
            || (self.elemental && is_bare_metal(formula))
    }
}

/// Whether `word`, lower case, is the name or the symbol of an element.
fn is_element(word: &str) -> bool {
    let mut letters = word.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    let symbol: String = first.into_iter().chain(letters).collect();
    Element::is_name(word) || Element::from_symbol(&symbol).is_some()
}

/// The formula as ASCII: subscript digits made plain, square brackets round.
fn plain(text: &str) -> String {
    text.trim()
        .chars()
        .map(|c| match c {
            '₀'..='₉' => char::from_digit(c as u32 - '₀' as u32, 10).unwrap_or(c),
            '[' | '{' => '(',
            ']' | '}' => ')',
            c => c,
        })
        .filter(|c| !c.is_whitespace())
        .collect()
}

/// `group` stands in `written` and ends there: ClO3 is not in ClO35, nor CN in CNi.
fn has_group(written: &str, group: &str) -> bool {
    written.match_indices(group).any(|(at, _)| {
        let last = group.chars().next_back();
        let next = written[at + group.len()..].chars().next();
        let digits_go_on = last.is_some_and(|c| c.is_ascii_digit())
            && next.is_some_and(|c| c.is_ascii_digit() || c == '.');
        let letters_go_on =
            last.is_some_and(char::is_alphabetic) && next.is_some_and(|c| c.is_ascii_lowercase());
        !digits_go_on && !letters_go_on
    })
}

/// Same composition, crystal water left out.
fn is_same(text: &str, formula: &Formula) -> bool {
    let Ok(wanted) = Formula::parse(text) else {
        return false;
    };
    wanted.anhydrous().same_composition(&formula.anhydrous())
}

/// One element, or an alloy of metals.
fn is_bare_metal(formula: &Formula) -> bool {
    let elements: Vec<Element> = formula.amounts().keys().copied().collect();
    let single = ["B", "Si", "P", "S"];
    match elements[..] {
        [] => false,
        [one] => one.is_metal() || single.contains(&one.symbol()),
        _ => elements.iter().all(|e| e.is_metal()),
    }
}

#[cfg(test)]
mod tests {
    use crate::tables::Tables;
    use crate::tables::reactants::spelling::normalized;

    #[test]
    fn nothing_of_the_tables_is_refused_by_any_of_its_names() {
        let tables = Tables::built_in().unwrap();
        let mut wrong = Vec::new();
        for row in tables.reactants.iter() {
            let formula = row.formula.to_string();
            let names = row.aliases.iter().chain([&row.name, &row.id, &formula]);
            for name in names.chain(&row.cas) {
                let words = normalized(name).replace('-', " ");
                let mut classes = tables.reactants.refused.classes.iter();
                if let Some(class) = classes.find(|class| {
                    class.registry.iter().any(|number| number == name) || class.matches_name(&words)
                }) {
                    wrong.push(format!("{}: {name}: {}", row.id, class.class));
                }
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
