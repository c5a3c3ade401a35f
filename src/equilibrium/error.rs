//! Why there is no equilibrium to report.

use super::adiabatic::Unbalanced;
use super::problem::Failure;
use crate::formula::Element;
use thiserror::Error;

/// Why a system has no answer. An iteration that stopped short is an error with its evidence.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum EquilibriumError {
    #[error("nothing to equilibrate: no element has an amount above zero")]
    Empty,
    #[error("the amount of {element} is {amount_mol} mol; give a finite amount, zero or more")]
    Amount { element: Element, amount_mol: f64 },
    #[error(
        "{element} has an amount but is no element of this system; name it when the system is made"
    )]
    ForeignElement { element: Element },
    #[error("{temperature_k:.1} K lies outside 200 to 6000 K, the range of the species' data")]
    Temperature { temperature_k: f64 },
    #[error(
        "{pressure_bar} bar lies outside 1e-6 to 1000 bar, the range in which the gas is taken as ideal"
    )]
    Pressure { pressure_bar: f64 },
    #[error("the enthalpy is {enthalpy_j} J; give a finite value")]
    Enthalpy { enthalpy_j: f64 },
    #[error(
        "{amount_mol:.3e} mol of {element} finds no place: no species of the set takes it up at \
         {temperature_k:.1} K with the other elements given; use the full species set or add a species"
    )]
    Infeasible {
        element: Element,
        amount_mol: f64,
        temperature_k: f64,
    },
    #[error(
        "the equilibrium at {temperature_k:.3} K did not converge: {iterations} iterations, \
         {phase_changes} changes of the phases, largest residual {residual:.1e}"
    )]
    NoConvergence {
        temperature_k: f64,
        iterations: usize,
        phase_changes: usize,
        residual: f64,
    },
    #[error(
        "no flame: even at {temperature_k:.0} K the products hold {short_j:.4e} J more than the \
         reactants bring; too much water, or so little oxidiser or fuel that the rest takes up \
         more than the burn gives"
    )]
    NoFlame { temperature_k: f64, short_j: f64 },
    #[error(
        "no flame: in equilibrium the products would end at {temperature_k:.0} K, below the 373 K at \
         which water boils"
    )]
    Cold { temperature_k: f64 },
    #[error(
        "hotter than {temperature_k:.0} K, the end of the species' data: {excess_j:.4e} J are left \
         over there; check the amounts and the formation enthalpies of the reactants"
    )]
    TooHot { temperature_k: f64, excess_j: f64 },
    #[error(
        "the temperature stays between {low_k:.4} and {high_k:.4} K: the enthalpy balance did not close"
    )]
    NotClosed { low_k: f64, high_k: f64 },
    #[error(
        "equilibrium at constant volume is not offered: it describes a burn in a closed vessel, which \
         must never be lit; an open vessel burns at constant pressure"
    )]
    ConstantVolume,
}

impl EquilibriumError {
    /// Whether the burn has no flame, which is an answer and no failure.
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
