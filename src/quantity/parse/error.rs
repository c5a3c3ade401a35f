//! Why a text is not the quantity that was asked for.

use thiserror::Error;

/// Why a text is not the quantity that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum QuantityError {
    /// The text does not start with a number.
    #[error(
        "`{text}` does not start with a number; write a number and a unit, such as `{example}`"
    )]
    NotANumber {
        /// What was written.
        text: String,
        /// A text that would have been accepted.
        example: &'static str,
    },
    /// A comma stands where a decimal point belongs.
    #[error("`{text}` has a comma; write a decimal point, such as `{example}`")]
    Comma {
        /// What was written.
        text: String,
        /// A text that would have been accepted.
        example: &'static str,
    },
    /// The number is infinite or not a number.
    #[error("`{text}` is not a finite number; write a plain number, such as `{example}`")]
    NotFinite {
        /// What was written.
        text: String,
        /// A text that would have been accepted.
        example: &'static str,
    },
    /// The number is larger than any unit can take.
    #[error("`{text}` is too large a number; write a plain number, such as `{example}`")]
    TooLarge {
        /// What was written.
        text: String,
        /// A text that would have been accepted.
        example: &'static str,
    },
    /// A number without a unit.
    #[error("`{text}` has no unit; use one of {accepted}")]
    MissingUnit {
        /// What was written.
        text: String,
        /// The units that fit.
        accepted: &'static str,
    },
    /// A unit that is unknown or does not measure this quantity.
    #[error("`{unit}` is not a unit of {quantity}; use one of {accepted}")]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// The quantity that was asked for.
        quantity: &'static str,
        /// The units that fit.
        accepted: &'static str,
    },
    /// A temperature at or below absolute zero.
    #[error("`{text}` is at or below absolute zero (−273.15 °C)")]
    BelowAbsoluteZero {
        /// What was written.
        text: String,
    },
}
