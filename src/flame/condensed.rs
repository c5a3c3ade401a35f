//! The powder's phases over temperature.
//!
//! Kernel in coherent SI: t in K, h and g in J/mol, amounts in mol.

use super::error::FlameError;
use crate::formula::Formula;
use crate::quantity::REFERENCE_TEMPERATURE;
use crate::tables::{Species, Tables};

/// Highest temperature of the search, K: the end of the gas tables.
pub(super) const HOTTEST: f64 = 6000.0;
/// Spacing of the scan for transitions, K; two transitions of one compound lie further apart in
/// every tabulated family.
const SCAN: f64 = 10.0;
/// Bisections of a scan step: 10 K / 2^50 is below the spacing of doubles at 6000 K.
const BISECTIONS: usize = 50;
/// Half a kelvin to either side of a transition, one phase is surely the stable one.
const ASIDE: f64 = 0.5;

/// All condensed phases of one compound, with its amount.
pub(super) struct PhaseStack<'a> {
    pub amount: f64,
    phases: Vec<&'a Species>,
    /// Temperatures at which the stable phase changes, rising.
    pub transitions: Vec<f64>,
}

impl<'a> PhaseStack<'a> {
    pub fn new(formula: &Formula, amount: f64, tables: &'a Tables) -> Result<Self, FlameError> {
        let phases: Vec<&Species> = tables
            .phases_of(formula)
            .into_iter()
            .filter(|s| s.phase.is_condensed())
            .collect();
        if !phases.iter().any(|s| s.is_usable(REFERENCE_TEMPERATURE)) {
            return Err(FlameError::missing(formula.to_string()));
        }
        let mut stack = Self {
            amount,
            phases,
            transitions: Vec::new(),
        };
        stack.transitions = stack.find_transitions();
        Ok(stack)
    }

    fn stable_index(&self, t: f64) -> usize {
        let usable = |at: &usize| self.phases[*at].is_usable(t);
        (0..self.phases.len())
            .filter(usable)
            .min_by(|&a, &b| self.phases[a].g(t).total_cmp(&self.phases[b].g(t)))
            .unwrap_or(0)
    }

    fn find_transitions(&self) -> Vec<f64> {
        let mut found = Vec::new();
        if self.phases.len() == 1 {
            return found;
        }
        let mut low = REFERENCE_TEMPERATURE;
        let mut before = self.stable_index(low);
        while low < HOTTEST {
            let high = (low + SCAN).min(HOTTEST);
            let after = self.stable_index(high);
            if after != before {
                let (mut a, mut b) = (low, high);
                for _ in 0..BISECTIONS {
                    let middle = f64::midpoint(a, b);
                    if self.stable_index(middle) == before {
                        a = middle
                    } else {
                        b = middle
                    }
                }
                found.push(b);
            }
            (low, before) = (high, after);
        }
        found
    }

    /// The stable phase at `t`.
    pub fn stable(&self, t: f64) -> &'a Species {
        self.phases[self.stable_index(t)]
    }

    /// The stable phase just below a transition at `t`.
    pub fn below(&self, t: f64) -> &'a Species {
        self.stable(t - ASIDE)
    }

    /// The stable phase just above a transition at `t`.
    pub fn above(&self, t: f64) -> &'a Species {
        self.stable(t + ASIDE)
    }

    /// Enthalpy at `t`, in J.
    pub fn enthalpy(&self, t: f64) -> f64 {
        self.amount * self.stable(t).h(t)
    }

    /// Heat capacity at `t` in J/K, transitions left out.
    pub fn heat_capacity(&self, t: f64) -> f64 {
        self.amount * self.stable(t).cp(t)
    }

    /// Heat of the transitions between 298.15 K and `t`, in J, those at `t` itself left out.
    pub fn transition_heat_below(&self, t: f64) -> f64 {
        let passed = self.transitions.iter().filter(|at| **at < t);
        passed
            .map(|&at| self.amount * (self.above(at).h(at) - self.below(at).h(at)))
            .sum()
    }
}
