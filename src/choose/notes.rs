//! What the tables say beside the flame: rivals of the phase, published dopants.

use super::goal::Goal;
use crate::batch::Batch;
use crate::formula::{Element, Formula};
use crate::tables::Tables;
use crate::tables::phases::{DopantNote, Rival};

/// Tests for the rivals that the elements of the batch can form.
pub(super) fn tests(goal: &Goal, batch: &Batch, tables: &Tables) -> Vec<Rival> {
    let Some(phase) = &goal.phase else {
        return Vec::new();
    };
    let here: Vec<Element> = batch.dry_elements().into_keys().collect();
    phase
        .rivals
        .iter()
        .filter_map(|name| tables.phases.rival(name))
        .filter(|rival| rival_elements(&rival.name).iter().all(|e| here.contains(e)))
        .cloned()
        .collect()
}

/// Metals in the name of a rival: "alpha-Fe2O3", "Eu3+"; none for "carbon" or "nitrate".
fn rival_elements(name: &str) -> Vec<Element> {
    let word = name.split(' ').next().unwrap_or(name);
    let word = word.rsplit('-').next().unwrap_or(word);
    let word = word.trim_end_matches('+');
    Formula::parse(word).map_or_else(
        |_| Vec::new(),
        |formula| {
            let elements = formula.amounts().keys().copied();
            elements.filter(|e| e.is_metal()).collect()
        },
    )
}

/// Published levels of dopants and fluxes of the batch in the host.
pub(super) fn dopants(goal: &Goal, batch: &Batch, tables: &Tables) -> Vec<DopantNote> {
    let Some(phase) = &goal.phase else {
        return Vec::new();
    };
    let elements = batch.dry_elements();
    let host = phase.formula.amounts();
    let extra: Vec<&str> = elements
        .keys()
        .filter(|e| e.is_metal() && !host.contains_key(e))
        .map(|e| e.symbol())
        .collect();
    tables
        .phases
        .dopants_of(&phase.name)
        .filter(|note| {
            let mut words = note.additive.split([' ', ',', '+', '(']);
            words.any(|word| extra.contains(&word))
        })
        .cloned()
        .collect()
}
