//! One minimisation: the species, the elements and the mixtures, in plain numbers (symbols: [`super::gibbs`]).

use crate::quantity::REFERENCE_TEMPERATURE;

/// First guess, K. Any will do.
const FIRST: f64 = 1500.0;
/// Newton's step below which the temperature counts as found, relative.
const FOUND: f64 = 1e-10;

/// Where a species lives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A phase of its own.
    Pure,
    /// Member of ideal mixture k; mixture 0 is the gas.
    Mixture(usize),
}

/// One minimisation, in plain numbers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Problem<'a> {
    pub a: &'a [f64],
    pub b: &'a [f64],
    pub g: &'a [f64],
    pub kind: &'a [Kind],
    /// False for a species that does not exist at this temperature.
    pub allowed: &'a [bool],
    /// Number of mixtures, gas included.
    pub mixtures: usize,
}

/// Inert bubble, as a share of all atoms.
pub const BUBBLE: f64 = 1e-12;
/// Relative element balance that an answer must meet.
pub const BALANCE: f64 = 1e-9;

/// Why no answer is given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Failure {
    /// No combination of the species holds the given elements; the row of one that is left over.
    Infeasible { element: usize, amount: f64 },
    /// The iteration did not settle.
    NoConvergence {
        iterations: usize,
        changes: usize,
        residual: f64,
    },
}

/// The heat that the products are to hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Heat {
    /// Enthalpy that is there, J.
    pub h: f64,
    /// Of that leaves while the products get hot, by radiation, J/K⁴: × (T⁴ − T_ref⁴).
    pub radiation: f64,
    /// And in proportion to their temperature, J/K: × (T − T_ref). May be negative.
    pub linear: f64,
    /// First guess of the temperature, K, where no answer stands to start from. Any will do.
    pub first: f64,
    /// Newton's step below which the temperature counts as found, relative.
    pub found: f64,
}

impl Heat {
    /// `h` without losses.
    pub fn kept(h: f64) -> Self {
        Self {
            h,
            radiation: 0.0,
            linear: 0.0,
            first: FIRST,
            found: FOUND,
        }
    }

    /// What the products hold at `t`, and its slope: `h` less what has left.
    pub fn left(&self, t: f64) -> (f64, f64) {
        let t0 = REFERENCE_TEMPERATURE;
        let lost = self.radiation * (t.powi(4) - t0.powi(4)) + self.linear * (t - t0);
        (
            self.h - lost,
            -4.0 * self.radiation * t.powi(3) - self.linear,
        )
    }
}
