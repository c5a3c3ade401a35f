//! Why there is no expectation.

use crate::burn::BurnError;
use crate::ignition::IgnitionError;
use crate::redox::RedoxError;
use thiserror::Error;

/// Why there is no expectation.
#[derive(Debug, Clone, Error)]
#[non_exhaustive]
pub enum ExpectedError {
    #[error(transparent)]
    Burn(#[from] BurnError),
    #[error(transparent)]
    Ignition(#[from] IgnitionError),
    #[error(transparent)]
    Redox(#[from] RedoxError),
}
