//! What the label of a bottle says of its purity: a grade, or the content of single elements.

use super::section::{Section, value};
use crate::formula::Element;
use crate::quantity::units::ratio;
use crate::quantity::{Band, Ratio, parse};
use crate::tables::purity::Grade;
use crate::tables::{Reactant, Role};
use std::collections::BTreeMap;

/// Most of one element that a label may state.
const MOST: f64 = 0.2;

/// What a label says; empty if the file says nothing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Label {
    /// The grade.
    pub grade: Option<Grade>,
    /// Mass fraction of single elements in what is weighed; from 0 where only a maximum is stated.
    pub impurities: BTreeMap<Element, Band<Ratio>>,
}

/// Reads `grade` and `impurities` of an ingredient; mistakes are noted in the section.
pub(super) fn read(section: &Section<'_>, reactant: Option<&Reactant>) -> Label {
    let every = [Grade::OF_BOTTLES.as_slice(), Grade::OF_WATER.as_slice()].concat();
    let fitting = reactant.map_or(every.as_slice(), |reactant| match reactant.role {
        Role::Solvent => Grade::OF_WATER.as_slice(),
        _ => Grade::OF_BOTTLES.as_slice(),
    });
    let words: Vec<_> = fitting.iter().map(|grade| (grade.name(), *grade)).collect();
    let grade = value(section.choice("grade", &words));
    let impurities = section.section("impurities");
    Label {
        grade,
        impurities: impurities.map_or_else(BTreeMap::new, |list| contents(&list, reactant)),
    }
}

fn contents(list: &Section<'_>, reactant: Option<&Reactant>) -> BTreeMap<Element, Band<Ratio>> {
    let mut found = BTreeMap::new();
    for (key, value) in list.free_keys() {
        let Some(element) = Element::from_symbol(key.value) else {
            list.mistake(key.span, format!("`{}` is no element symbol", key.value));
            continue;
        };
        if reactant.is_some_and(|r| r.formula.amount_of(element) > 0.0) {
            let message = format!("{element} is part of the substance itself, no impurity of it");
            list.mistake(key.span, message);
            continue;
        }
        match value.get_ref().as_str().map(content) {
            Some(Ok(content)) => {
                found.insert(element, content);
            }
            Some(Err(message)) => list.mistake(value.span(), format!("`{element}`: {message}")),
            None => {
                let message =
                    format!("`{element}` should be text such as \"5 ppm\" or \"< 2 ppm\"");
                list.mistake(value.span(), message);
            }
        }
    }
    found
}

/// Reads `"5 ppm"`, or a maximum such as `"< 5 ppm"`.
fn content(text: &str) -> Result<Band<Ratio>, String> {
    let number = text.trim().trim_start_matches(['<', '≤', '=']);
    let value = parse::ratio(number).map_err(|error| error.to_string())?;
    if number.trim().parse::<f64>().is_ok() {
        return Err("a content needs its unit, such as \"5 ppm\" or \"0.002 %\"".to_owned());
    }
    if !(0.0..=MOST).contains(&value.get::<ratio>()) {
        return Err("a content should be from 0 to 20 %".to_owned());
    }
    let is_maximum = number.len() < text.trim().len();
    Ok(Band {
        low: if is_maximum {
            Ratio::new::<ratio>(0.0)
        } else {
            value
        },
        high: value,
    })
}
