//! Why no water can be worked out.

use thiserror::Error;

/// Why no water can be worked out.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum WaterError {
    #[error("the tables lack H2O as gas or liquid; they are needed for the heat of boiling")]
    NoWater,
    #[error("a power of {watt:.3} W boils nothing off; give one above 0")]
    NoPower { watt: f64 },
}
