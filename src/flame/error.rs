//! Why there is no flame temperature.

use crate::enthalpy::EnthalpyError;
use thiserror::Error;

/// Why there is no flame temperature.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum FlameError {
    #[error(
        "no flame temperature between {low_k:.0} K and {high_k:.0} K: the products' enthalpy stays {excess_j:+.0} J away from the reactants'"
    )]
    NotBracketed {
        low_k: f64,
        high_k: f64,
        excess_j: f64,
    },
    #[error("the tables hold no data for the product {species}")]
    MissingSpecies { species: String },
    #[error(
        "the batch brings {brought_mol:.4} mol oxygen, its oxides need {needed_mol:.4} mol: choose lower oxidation states or add oxidiser"
    )]
    TooLittleOxygen { brought_mol: f64, needed_mol: f64 },
    #[error(
        "the search for the flame temperature did not settle between {low_k:.1} K and {high_k:.1} K"
    )]
    NotConverged { low_k: f64, high_k: f64 },
    #[error(transparent)]
    Enthalpy(#[from] EnthalpyError),
}

impl FlameError {
    pub(super) fn missing(species: impl Into<String>) -> Self {
        Self::MissingSpecies {
            species: species.into(),
        }
    }
}
