//! Why there is no flame temperature.

use crate::enthalpy::EnthalpyError;
use thiserror::Error;

/// Why there is no flame temperature.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum FlameError {
    /// The balance keeps its sign up to the highest temperature of the tables.
    #[error(
        "no flame temperature between {low_k:.0} K and {high_k:.0} K: the products' enthalpy stays {excess_j:+.0} J away from the reactants'"
    )]
    NotBracketed {
        /// Lower end of the search.
        low_k: f64,
        /// Upper end of the search.
        high_k: f64,
        /// Reactants' enthalpy less products' at the upper end.
        excess_j: f64,
    },
    /// A product that the balance needs is not in the tables.
    #[error("the tables hold no data for the product {species}")]
    MissingSpecies {
        /// Its id.
        species: String,
    },
    /// The batch holds too little oxygen even for its oxides.
    #[error(
        "the batch brings {brought_mol:.4} mol oxygen, its oxides need {needed_mol:.4} mol: choose lower oxidation states or add oxidiser"
    )]
    TooLittleOxygen {
        /// Oxygen in the ingredients.
        brought_mol: f64,
        /// Oxygen in the expected powder.
        needed_mol: f64,
    },
    /// The root search did not settle.
    #[error(
        "the search for the flame temperature did not settle between {low_k:.1} K and {high_k:.1} K"
    )]
    NotConverged {
        /// Lower end of the search.
        low_k: f64,
        /// Upper end of the search.
        high_k: f64,
    },
    /// The enthalpy of the reactants cannot be formed.
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
