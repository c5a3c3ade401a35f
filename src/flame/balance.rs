//! The temperature at which the products hold the heat that is there; it may end on a transition.
//!
//! Kernel in coherent SI: t in K, h in J, amounts in mol.

use super::condensed::HOTTEST;
use super::error::FlameError;
use super::products::Products;
use roots::{Convergency, find_root_brent};

/// No burn ends colder, K: the boiling point of water at 1 atm. Below it the steam of the products
/// would be water, and nothing glows.
pub(crate) const COLDEST: f64 = 373.15;

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
    let cold = products.enthalpy(COLDEST);
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
        .filter(|(t, _)| *t > COLDEST)
        .collect();
    jumps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut low = COLDEST;
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
            low_k: COLDEST,
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
