//! Why a text is not the quantity that was asked for.

use thiserror::Error;

/// Why a text is not the quantity that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum QuantityError {
    #[error(
        "`{text}` does not start with a number; write a number and a unit, such as `{example}`"
    )]
    NotANumber { text: String, example: &'static str },
    #[error("`{text}` has a comma; write a decimal point, such as `{example}`")]
    Comma { text: String, example: &'static str },
    #[error("`{text}` is not a finite number; write a plain number, such as `{example}`")]
    NotFinite { text: String, example: &'static str },
    #[error("`{text}` is too large a number; write a plain number, such as `{example}`")]
    TooLarge { text: String, example: &'static str },
    #[error("`{text}` has no unit; use one of {accepted}")]
    MissingUnit {
        text: String,
        accepted: &'static str,
    },
    #[error("`{unit}` is not a unit of {quantity}; use one of {accepted}")]
    UnknownUnit {
        unit: String,
        quantity: &'static str,
        accepted: &'static str,
    },
    #[error("`{text}` is at or below absolute zero (−273.15 °C)")]
    BelowAbsoluteZero { text: String },
}
