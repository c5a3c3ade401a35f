//! Warnings from rules and what was observed.

use super::observed::Observed;
use crate::source::{Seen, SourceId};
use crate::tables::cautions::{Condition, Moment, Rule, Severity};
use crate::tables::toxic::ToxicElement;
use std::collections::BTreeSet;
use std::fmt;

/// One caution that applies.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// How serious it is.
    pub severity: Severity,
    /// Code, stable from run to run: the id of the rule.
    pub code: String,
    /// When it matters.
    pub moment: Moment,
    /// Whether it holds for every batch.
    pub standing: bool,
    /// What it says.
    pub text: String,
    /// How the first screen says it, if not by the first sentence of the text.
    pub brief: Option<String>,
    /// Keys of the sources it rests on.
    pub sources: Vec<SourceId>,
    /// How the least certain of them was found.
    pub seen: Seen,
}

impl Warning {
    /// Whether it stands on the first screen of every batch: a standing rule with a line for it.
    pub fn is_fixed(&self) -> bool {
        self.standing && self.brief.is_some()
    }

    /// What it says in a line: its brief, or the first sentence of its text.
    pub fn brief(&self) -> &str {
        self.brief.as_deref().unwrap_or_else(|| {
            let end = self.text.find(". ").map_or(self.text.len(), |at| at + 1);
            &self.text[..end]
        })
    }
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.severity, self.text)
    }
}

/// The most serious severity of `warnings`; none if there are none.
pub fn worst(warnings: &[Warning]) -> Option<Severity> {
    warnings.iter().map(|warning| warning.severity).min()
}

/// The rules that hold, the most serious first, otherwise in the order of the table. Of a group
/// only the first of the most serious is kept, and no code comes twice.
pub fn warnings(observed: &Observed, rules: &[Rule], toxic: &[ToxicElement]) -> Vec<Warning> {
    let mut holding: Vec<&Rule> = rules
        .iter()
        .filter(|rule| {
            rule.when
                .iter()
                .all(|condition| observed.holds(condition, toxic))
        })
        .collect();
    holding.sort_by_key(|rule| rule.severity);
    let mut groups = BTreeSet::new();
    let mut codes = BTreeSet::new();
    holding.retain(|rule| {
        codes.insert(rule.id.as_str())
            && rule
                .group
                .as_deref()
                .is_none_or(|group| groups.insert(group))
    });
    holding
        .into_iter()
        .map(|rule| warning(rule, observed, toxic))
        .collect()
}

fn warning(rule: &Rule, observed: &Observed, toxic: &[ToxicElement]) -> Warning {
    let mut text = rule.text.clone();
    let mut found: Vec<String> = Vec::new();
    for condition in &rule.when {
        match condition {
            Condition::Above(measure, limit) | Condition::Below(measure, limit) => {
                if let Some(value) = observed.measures.get(measure) {
                    let written = observed.written.get(measure).cloned();
                    let written = written.unwrap_or_else(|| measure.show(*value));
                    text = text.replace("{value}", &written);
                    text = text.replace("{limit}", &measure.show(*limit));
                }
                if let Some(about) = observed.about.get(measure) {
                    text = text.replace("{about}", about);
                }
            }
            Condition::Flag(flag) => {
                if let Some(detail) = observed.flags.get(flag) {
                    text = text.replace("{detail}", detail);
                }
            }
            Condition::ProductHas(_)
            | Condition::Toxic(_)
            | Condition::Reactant(_)
            | Condition::HazardGroup(_) => {
                // the first condition that names something fills the place
                if found.is_empty() {
                    found = observed.found(condition, toxic);
                }
            }
            Condition::Always | Condition::HeatedBy(_) => {}
        }
    }
    Warning {
        severity: rule.severity,
        code: rule.id.clone(),
        moment: rule.moment,
        standing: rule.standing,
        brief: rule.brief.clone(),
        text: text.replace("{found}", &found.join("; ")),
        sources: rule.sources.clone(),
        seen: rule.seen,
    }
}
