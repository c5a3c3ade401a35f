//! Why there is no expectation.

use crate::burn::BurnError;
use crate::ignition::IgnitionError;
use crate::redox::RedoxError;
use thiserror::Error;

/// Why there is no expectation.
#[derive(Debug, Clone, Error)]
#[non_exhaustive]
pub enum ExpectedError {
    #[error("{0}")]
    Burn(String),
    #[error(transparent)]
    Ignition(#[from] IgnitionError),
    #[error(transparent)]
    Redox(#[from] RedoxError),
}

impl From<BurnError> for ExpectedError {
    fn from(error: BurnError) -> Self {
        Self::Burn(error.to_string())
    }
}
