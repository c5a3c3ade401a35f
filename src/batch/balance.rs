//! `[[balance]]`: the balances at hand.

use super::section::{Section, value};
use crate::quantity::units::gram;
use crate::quantity::{Mass, parse};

/// A balance at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Balance {
    /// What it is called in the lab.
    pub name: String,
    /// Scale interval (readability) d.
    pub readability: Mass,
    /// Greatest load, vessel included.
    pub capacity: Option<Mass>,
    /// Repeatability (standard deviation) as stated or measured.
    pub repeatability: Option<Mass>,
    /// Half width of the linearity band as stated.
    pub linearity: Option<Mass>,
    /// Least mass to be weighed, if the lab has fixed one.
    pub minimum_weight: Option<Mass>,
}

/// Reads one `[[balance]]`; mistakes are noted in the section.
pub(super) fn read(section: Section) -> Option<Balance> {
    let name = section.required_text("name", "\"top-pan balance\"");
    if !section.has("readability") {
        section.missing("readability", "\"0.01 g\"");
    }
    let range = "0.1 µg and 1000 kg";
    let readability = section.quantity_within("readability", parse::mass, range);
    let optional = |key| value(section.quantity_within(key, parse::mass, range));
    let capacity = optional("capacity");
    let repeatability = optional("repeatability");
    let linearity = optional("linearity");
    let minimum_weight = optional("minimum_weight");
    let balance = readability.zip(name).map(|(readability, name)| Balance {
        name: name.value.trim().to_owned(),
        readability: readability.value,
        capacity,
        repeatability,
        linearity,
        minimum_weight,
    });
    if let Some(balance) = &balance {
        if balance
            .capacity
            .is_some_and(|most| most <= balance.readability)
        {
            section.mistake(
                section.span.clone(),
                format!(
                    "the capacity of {} is not above its readability of {} g",
                    balance.name,
                    balance.readability.get::<gram>()
                ),
            );
        }
    }
    section.finish();
    balance
}
