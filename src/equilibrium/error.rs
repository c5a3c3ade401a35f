//! Why there is no equilibrium to report.

use super::adiabatic::Unbalanced;
use super::gibbs::Failure;
use crate::formula::Element;
use thiserror::Error;

/// Why a system has no answer. An iteration that stopped short is an error with its evidence.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum EquilibriumError {
    /// No element has an amount above zero.
    #[error("nothing to equilibrate: no element has an amount above zero")]
    Empty,
    /// An amount that is negative or not a number.
    #[error("the amount of {element} is {amount_mol} mol; give a finite amount, zero or more")]
    Amount {
        /// The element.
        element: Element,
        /// Its amount in mol.
        amount_mol: f64,
    },
    /// An amount of an element that the system was not made for.
    #[error(
        "{element} has an amount but is no element of this system; name it when the system is made"
    )]
    ForeignElement {
        /// The element.
        element: Element,
    },
    /// A temperature outside the range of the data.
    #[error("{temperature_k:.1} K lies outside 200 to 6000 K, the range of the species' data")]
    Temperature {
        /// Temperature asked for, in K.
        temperature_k: f64,
    },
    /// A pressure outside the range of the ideal-gas assumption.
    #[error(
        "{pressure_bar} bar lies outside 1e-6 to 1000 bar, the range in which the gas is taken as ideal"
    )]
    Pressure {
        /// Pressure asked for, in bar.
        pressure_bar: f64,
    },
    /// An enthalpy that is not a number.
    #[error("the enthalpy is {enthalpy_j} J; give a finite value")]
    Enthalpy {
        /// Enthalpy asked for, in J.
        enthalpy_j: f64,
    },
    /// The species cannot hold the elements.
    #[error(
        "{amount_mol:.3e} mol of {element} finds no place: no species of the set takes it up at \
         {temperature_k:.1} K with the other elements given; use the full species set or add a species"
    )]
    Infeasible {
        /// The element that is left over.
        element: Element,
        /// How much of it, in mol.
        amount_mol: f64,
        /// Temperature in K.
        temperature_k: f64,
    },
    /// The minimisation did not settle.
    #[error(
        "the equilibrium at {temperature_k:.3} K did not converge: {iterations} iterations, \
         {phase_changes} changes of the phases, largest residual {residual:.1e}"
    )]
    NoConvergence {
        /// Temperature in K.
        temperature_k: f64,
        /// Newton iterations spent.
        iterations: usize,
        /// Changes of the set of phases.
        phase_changes: usize,
        /// Largest residual of the balances at the end.
        residual: f64,
    },
    /// The heat does not even suffice for products at the cold end of the range.
    #[error(
        "no flame: even at {temperature_k:.0} K the products hold {short_j:.4e} J more than the \
         reactants bring; too much water, or so little oxidiser or fuel that the rest takes up \
         more than the burn gives"
    )]
    NoFlame {
        /// The cold end of the range, in K.
        temperature_k: f64,
        /// Heat that is lacking there, in J.
        short_j: f64,
    },
    /// The products in equilibrium are colder than any burn.
    #[error(
        "no flame: in equilibrium the products would end at {temperature_k:.0} K, below the 373 K at \
         which water boils"
    )]
    Cold {
        /// Where they would end, in K.
        temperature_k: f64,
    },
    /// Products at the hot end of the range hold less heat than there is.
    #[error(
        "hotter than {temperature_k:.0} K, the end of the species' data: {excess_j:.4e} J are left \
         over there; check the amounts and the formation enthalpies of the reactants"
    )]
    TooHot {
        /// The hot end of the range, in K.
        temperature_k: f64,
        /// Heat that is left over there, in J.
        excess_j: f64,
    },
    /// The bracket around the temperature did not close.
    #[error(
        "the temperature stays between {low_k:.4} and {high_k:.4} K: the enthalpy balance did not close"
    )]
    NotClosed {
        /// Lower end in K.
        low_k: f64,
        /// Upper end in K.
        high_k: f64,
    },
    /// Constant volume was asked for.
    #[error(
        "equilibrium at constant volume is not offered: it describes a burn in a closed vessel, which \
         must never be lit; an open vessel burns at constant pressure"
    )]
    ConstantVolume,
}

impl EquilibriumError {
    /// Whether the burn has no flame, which is an answer and no failure.
    #[must_use]
    pub fn is_no_flame(&self) -> bool {
        matches!(self, Self::NoFlame { .. } | Self::Cold { .. })
    }

    pub(super) fn of(failure: Failure, t: f64, element: impl Fn(usize) -> Element) -> Self {
        match failure {
            Failure::Infeasible { element: i, amount } => Self::Infeasible {
                element: element(i),
                amount_mol: amount,
                temperature_k: t,
            },
            Failure::NoConvergence {
                iterations,
                changes,
                residual,
            } => Self::NoConvergence {
                temperature_k: t,
                iterations,
                phase_changes: changes,
                residual,
            },
        }
    }

    pub(super) fn unbalanced(error: Unbalanced, element: impl Fn(usize) -> Element) -> Self {
        match error {
            Unbalanced::At { t, failure } => Self::of(failure, t, element),
            Unbalanced::OutOfRange { t, excess } if excess > 0.0 => Self::NoFlame {
                temperature_k: t,
                short_j: excess,
            },
            Unbalanced::OutOfRange { t, excess } => Self::TooHot {
                temperature_k: t,
                excess_j: -excess,
            },
            Unbalanced::Open { low, high } => Self::NotClosed {
                low_k: low,
                high_k: high,
            },
        }
    }
}
