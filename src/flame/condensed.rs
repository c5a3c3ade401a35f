//! The powder's phases over temperature, and the balance that may end on a transition.
//!
//! Kernel in coherent SI: t in K, h and g in J/mol, amounts in mol.

use super::FlameError;
use super::products::Products;
use crate::formula::Formula;
use crate::quantity::REFERENCE_TEMPERATURE;
use crate::tables::{Species, Tables};
use roots::{Convergency, find_root_brent};

/// Highest temperature of the search, K: the end of the gas tables.
const HOTTEST: f64 = 6000.0;
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
    transitions: Vec<f64>,
}

impl<'a> PhaseStack<'a> {
    pub fn new(formula: &Formula, amount: f64, tables: &'a Tables) -> Result<Self, FlameError> {
        let phases: Vec<&Species> = tables
            .phases_of(formula)
            .into_iter()
            .filter(|s| s.phase.is_condensed())
            .collect();
        if !phases.iter().any(|s| s.is_usable(REFERENCE_TEMPERATURE)) {
            return Err(FlameError::MissingSpecies {
                species: formula.to_string(),
            });
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
        let mut low = REFERENCE_TEMPERATURE;
        while low < HOTTEST {
            let high = (low + SCAN).min(HOTTEST);
            let before = self.stable_index(low);
            if self.stable_index(high) != before {
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
            low = high;
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

/// Where the balance ends.
pub(super) enum Balance {
    At { t: f64 },
    OnTransition { t: f64, phase: usize, fraction: f64 },
    Short { by: f64 },
}

impl Products<'_> {
    /// Ids of the phases below and above the transition of stack `at` at `t`.
    pub fn transition(&self, at: usize, t: f64) -> (String, String) {
        let stack = &self.stacks()[at];
        (stack.below(t).id.clone(), stack.above(t).id.clone())
    }

    /// Powder phases at the end of the balance.
    pub fn condensed_at(&self, balance: &Balance, t: f64) -> Vec<(String, f64)> {
        let mut list = Vec::new();
        for (at, stack) in self.stacks().iter().enumerate() {
            match balance {
                Balance::OnTransition {
                    phase, fraction, ..
                } if *phase == at => {
                    list.push((stack.below(t).id.clone(), stack.amount * (1.0 - fraction)));
                    list.push((stack.above(t).id.clone(), stack.amount * fraction));
                }
                _ => list.push((stack.stable(t).id.clone(), stack.amount)),
            }
        }
        list
    }
}

/// Temperature at which the products hold the enthalpy `available`, in J.
pub(super) fn temperature_of(
    products: &Products<'_>,
    available: f64,
) -> Result<Balance, FlameError> {
    let cold = products.enthalpy(REFERENCE_TEMPERATURE);
    if available < cold {
        return Ok(Balance::Short {
            by: cold - available,
        });
    }
    let mut jumps: Vec<(f64, usize)> = products
        .stacks()
        .iter()
        .enumerate()
        .flat_map(|(at, stack)| stack.transitions.iter().map(move |&t| (t, at)))
        .collect();
    jumps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut low = REFERENCE_TEMPERATURE;
    for &(t, phase) in &jumps {
        // Just below the jump every phase but the jumping one is unambiguous.
        let stack = &products.stacks()[phase];
        let at = products.enthalpy(t) - stack.enthalpy(t);
        let before = at + stack.amount * stack.below(t).h(t);
        let after = at + stack.amount * stack.above(t).h(t);
        if available < before {
            return root(products, available, low, t);
        }
        if available <= after && after > before {
            let fraction = (available - before) / (after - before);
            return Ok(Balance::OnTransition { t, phase, fraction });
        }
        low = t;
    }
    if available > products.enthalpy(HOTTEST) {
        return Err(FlameError::NotBracketed {
            low_k: REFERENCE_TEMPERATURE,
            high_k: HOTTEST,
            excess_j: available - products.enthalpy(HOTTEST),
        });
    }
    root(products, available, low, HOTTEST)
}

/// Root of the balance on a piece without transitions inside.
fn root(
    products: &Products<'_>,
    available: f64,
    low: f64,
    high: f64,
) -> Result<Balance, FlameError> {
    // The ends lie on transitions, where the phase is ambiguous: step inside by one part in 1e12.
    let (a, b) = (low * (1.0 + 1e-12), high * (1.0 - 1e-12));
    let excess = |t: f64| products.enthalpy(t) - available;
    // Between an end and its step inside: the end is the answer.
    if excess(a) >= 0.0 {
        return Ok(Balance::At { t: low });
    }
    if excess(b) <= 0.0 {
        return Ok(Balance::At { t: high });
    }
    find_root_brent(a, b, excess, &mut Closed)
        .map(|t| Balance::At { t })
        .map_err(|_| FlameError::NotConverged {
            low_k: low,
            high_k: high,
        })
}

/// When the search for the temperature ends: 1e-9 K, or four spacings of doubles where those are
/// wider. The heat itself sets no end, for a batch may be as small as a milligram.
struct Closed;

impl Convergency<f64> for Closed {
    fn is_root_found(&mut self, heat: f64) -> bool {
        heat.abs() <= 0.0
    }

    fn is_converged(&mut self, a: f64, b: f64) -> bool {
        (a - b).abs() <= (4.0 * f64::EPSILON * a.abs().max(b.abs())).max(1e-9)
    }

    fn is_iteration_limit_reached(&mut self, steps: usize) -> bool {
        steps >= 200
    }
}
