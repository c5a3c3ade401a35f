//! One minimisation: the species, the elements and the mixtures, in plain numbers (symbols: [`super::gibbs`]).

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
