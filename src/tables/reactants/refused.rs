//! Substances that this program does not plan with, recognized by name and by formula.

use crate::formula::{Element, Formula};
use crate::tables::TableError;
use crate::tables::read::TableFile;
use serde::Deserialize;

/// A class of refused substances.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Refusal {
    /// The class, such as "chlorates".
    pub class: String,
    /// Why it is refused.
    pub reason: String,
    /// Words or beginnings of words that give it away in a name, lower case.
    #[serde(default)]
    names: Vec<String>,
    /// Names that hold such a word and are harmless in this sense.
    #[serde(default)]
    not_names: Vec<String>,
    /// Whole names, lower case.
    #[serde(default)]
    whole_names: Vec<String>,
    /// Groups that give it away in a formula as written.
    #[serde(default)]
    groups: Vec<String>,
    /// Whole formulas.
    #[serde(default)]
    formulas: Vec<String>,
    /// Every formula of one element that is a metal, or boron, silicon or phosphorus.
    #[serde(default)]
    elemental: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RefusedFile {
    refused: Vec<Refusal>,
}

pub(super) fn built_in() -> Result<Vec<Refusal>, TableError> {
    let file = TableFile::built_in("refused.toml");
    Ok(file.parse::<RefusedFile>()?.refused)
}

/// The reason for the first class that `text` belongs to.
pub(super) fn reason(refusals: &[Refusal], text: &str) -> Option<String> {
    let found = refusals.iter().find(|class| class.matches(text))?;
    Some(format!("{} ({})", found.reason, found.class))
}

impl Refusal {
    fn matches(&self, text: &str) -> bool {
        self.matches_name(text) || self.matches_formula(text)
    }

    fn matches_name(&self, text: &str) -> bool {
        let name = super::lookup::normalized(text);
        if self.not_names.iter().any(|ok| name.contains(ok.as_str())) {
            return false;
        }
        self.names.iter().any(|word| name.contains(word.as_str()))
            || self.whole_names.contains(&name)
    }

    fn matches_formula(&self, text: &str) -> bool {
        let Ok(formula) = Formula::parse_with_water(text.trim(), 1.0) else {
            return false;
        };
        let written = plain(text);
        if self.groups.iter().any(|group| has_group(&written, group)) {
            return true;
        }
        if self.formulas.iter().any(|f| is_same(f, &formula)) {
            return true;
        }
        self.elemental && is_bare_metal(&formula)
    }
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

fn is_same(text: &str, formula: &Formula) -> bool {
    Formula::parse(text).is_ok_and(|f| f.anhydrous().amounts() == formula.anhydrous().amounts())
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
