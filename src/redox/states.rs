//! Oxidation states in the products: defaults, the user's choice, and what a target asks for.

use super::error::RedoxError;
use crate::formula::{Element, Formula};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// Where an oxidation state comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StateOrigin {
    /// The table of defaults.
    Default,
    /// The batch file.
    Chosen,
    /// The oxygen content of the target.
    Target,
}

/// Oxidation state of one element in the products.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ElementState {
    /// The state; a mean value may be fractional.
    pub state: f64,
    /// Where it comes from.
    pub origin: StateOrigin,
}

/// Oxidation states in the products, by element.
#[derive(Debug, Clone, PartialEq)]
pub struct OxidationStates {
    states: BTreeMap<Element, ElementState>,
}

#[derive(Deserialize)]
struct Table {
    element: Vec<Row>,
}

#[derive(Deserialize)]
struct Row {
    symbol: String,
    default: f64,
    from: Option<f64>,
    to: Option<f64>,
}

/// Default and allowed range of every tabulated element.
fn table() -> &'static BTreeMap<Element, (f64, f64, f64)> {
    static TABLE: OnceLock<BTreeMap<Element, (f64, f64, f64)>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let prepared = include_str!(concat!(env!("OUT_DIR"), "/tables/oxidation_states.json"));
        serde_json::from_str::<Table>(prepared)
            .expect("the embedded table of oxidation states is checked by the tests")
            .element
            .into_iter()
            .filter_map(|row| {
                let element = Element::from_symbol(&row.symbol)?;
                let range = (
                    row.from.unwrap_or(row.default),
                    row.to.unwrap_or(row.default),
                );
                Some((element, (row.default, range.0, range.1)))
            })
            .collect()
    })
}

impl OxidationStates {
    /// The defaults of `tables/oxidation_states.toml`.
    pub fn conventional() -> Self {
        let origin = StateOrigin::Default;
        let states = table()
            .iter()
            .map(|(&element, &(state, ..))| (element, ElementState { state, origin }))
            .collect();
        Self { states }
    }

    /// The defaults with the user's `chosen` states in place of some.
    #[must_use]
    pub fn with_choice(chosen: &BTreeMap<Element, f64>) -> Self {
        let mut states = Self::conventional();
        for (&element, &state) in chosen {
            states.set(element, state, StateOrigin::Chosen);
        }
        states
    }

    /// Range of states that `element` may be given, least and most; `None` if not tabulated.
    pub fn allowed(element: Element) -> Option<(f64, f64)> {
        table().get(&element).map(|&(_, from, to)| (from, to))
    }

    fn set(&mut self, element: Element, state: f64, origin: StateOrigin) {
        self.states.insert(element, ElementState { state, origin });
    }

    /// Oxidation state of `element` in the products.
    ///
    /// # Errors
    /// [`RedoxError::UnknownState`] if the element is neither tabulated nor chosen.
    pub fn of(&self, element: Element) -> Result<f64, RedoxError> {
        Ok(self
            .entry(element)
            .ok_or(RedoxError::UnknownState { element })?
            .state)
    }

    /// The state of `element` with its origin.
    pub fn entry(&self, element: Element) -> Option<ElementState> {
        self.states.get(&element).copied()
    }

    /// Fits the states of the elements with a choice (no user's choice among them) to the oxygen
    /// of `target`, changing all of them by the same amount as far as their ranges go.
    ///
    /// Returns the oxygen per formula unit that is left over: positive if the target holds more
    /// than the states can bind, 0 if the charges balance.
    ///
    /// # Errors
    /// [`RedoxError::UnknownState`] if an element of the target has no state.
    pub fn fit_to(&mut self, target: &Formula) -> Result<f64, RedoxError> {
        let mut missing = 2.0 * target.amount_of(Element::OXYGEN);
        let mut movable = Vec::new();
        for (&element, &n) in target.amounts() {
            if element == Element::OXYGEN {
                continue;
            }
            let entry = self
                .entry(element)
                .ok_or(RedoxError::UnknownState { element })?;
            missing -= n * entry.state;
            let range = Self::allowed(element).filter(|(from, to)| from < to);
            if let (Some(range), false) = (range, entry.origin == StateOrigin::Chosen) {
                movable.push((element, n, entry.state, range));
            }
        }
        // Each round moves every element that still can by the same step or to its limit.
        while missing.abs() > 1e-9 {
            movable.retain(|&(_, _, state, (from, to))| {
                if missing > 0.0 {
                    state < to
                } else {
                    state > from
                }
            });
            let atoms: f64 = movable.iter().map(|&(_, n, ..)| n).sum();
            if movable.is_empty() || atoms <= 0.0 {
                break;
            }
            let step = missing / atoms;
            for (element, n, state, (from, to)) in &mut movable {
                let moved = (*state + step).clamp(*from, *to);
                missing -= *n * (moved - *state);
                *state = moved;
                self.set(*element, moved, StateOrigin::Target);
            }
        }
        Ok(if missing.abs() < 1e-6 {
            0.0
        } else {
            missing / 2.0
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn fitted(target: &str, element: &str) -> (f64, f64) {
        let mut states = OxidationStates::conventional();
        let left = states.fit_to(&Formula::parse(target).unwrap()).unwrap();
        (
            states.of(Element::from_symbol(element).unwrap()).unwrap(),
            left,
        )
    }

    #[test]
    fn every_row_of_the_table_is_an_element_with_a_sound_range() {
        let raw =
            toml::from_str::<Table>(include_str!("../../tables/oxidation_states.toml")).unwrap();
        assert_eq!(raw.element.len(), table().len());
        for (element, &(default, from, to)) in table() {
            assert!(from <= default && default <= to, "{element}");
        }
    }

    #[test]
    fn the_oxygen_of_the_target_sets_the_mixed_valence() {
        assert_relative_eq!(fitted("LaCoO3", "Co").0, 3.0, epsilon = 1e-9);
        assert_relative_eq!(fitted("La0.8Sr0.2MnO3", "Mn").0, 3.2, epsilon = 1e-9);
        assert_relative_eq!(fitted("Mn3O4", "Mn").0, 8.0 / 3.0, epsilon = 1e-9);
        assert_relative_eq!(fitted("Ce0.8Gd0.2O1.9", "Ce").0, 4.0, epsilon = 1e-9);
        assert_relative_eq!(fitted("NiFe2O4", "Fe").0, 3.0, epsilon = 1e-9);
        assert_relative_eq!(fitted("Pr6O11", "Pr").0, 11.0 / 3.0, epsilon = 1e-9);
    }

    #[test]
    fn oxygen_that_cannot_be_bound_is_given_back() {
        let (_, left) = fitted("ZnO2", "Zn");
        assert_relative_eq!(left, 1.0, epsilon = 1e-9);
        // Eu(II) at its limit, Dy(III) left over: 0.005 of oxygen too little in the formula.
        let (europium, left) = fitted("Sr0.97Eu0.02Dy0.01Al2O4", "Eu");
        assert_relative_eq!(europium, 2.0, epsilon = 1e-9);
        assert_relative_eq!(left, -0.005, epsilon = 1e-9);
    }

    #[test]
    fn a_metal_as_product_has_no_valence() {
        assert_relative_eq!(fitted("Ni", "Ni").0, 0.0, epsilon = 1e-9);
        assert_relative_eq!(fitted("Cu2O", "Cu").0, 1.0, epsilon = 1e-9);
    }
}
