//! Why there is no course of heating.

use super::slab::SlabError;
use crate::enthalpy::EnthalpyError;
use crate::flame::FlameError;
use crate::product::ProductError;
use crate::redox::RedoxError;
use thiserror::Error;

/// Why there is no course of heating.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum IgnitionError {
    /// Neither the file nor the caller says how to heat.
    #[error(
        "the batch file does not say how it is heated: add [heating] with way = \"…\", one of {known}, or compare all ways"
    )]
    NoWayStated {
        /// The known ways.
        known: String,
    },
    /// The heating way is not in the tables.
    #[error("no heating way `{name}` is in the tables; there are {known}")]
    UnknownWay {
        /// As written.
        name: String,
        /// The known ways.
        known: String,
    },
    /// The floor is not in the tables.
    #[error("no floor of `{name}`, or no material of its name, is in the tables")]
    UnknownFloor {
        /// As written.
        name: String,
    },
    /// A metal vessel in a microwave oven.
    #[error(
        "{floor} does not go into a microwave oven: sparks, and no heat inside; use glass or ceramic"
    )]
    MetalInMicrowave {
        /// The material.
        floor: String,
    },
    /// No kinetic row, not even one for any fuel.
    #[error("the tables hold no kinetics for {fuel} and no row for any fuel")]
    NoKinetics {
        /// The fuel.
        fuel: String,
    },
    /// Nothing to boil off.
    #[error(
        "the batch holds no water and no salt to heat: the heating model starts from a solution"
    )]
    NoWater,
    /// The plate of the boil test was not hotter than the water.
    #[error("the boil test does not fit a plate at {:.0} °C: state the plate's temperature under [heating]", super::words::in_celsius(*plate_k))]
    PlateTooCold {
        /// Temperature of the plate.
        plate_k: f64,
    },
    /// The test with a small load makes no sense.
    #[error(
        "the load test gives {factor} of the tabulated power: check mass, temperatures and time"
    )]
    LoadTest {
        /// Measured over tabulated power.
        factor: f64,
    },
    /// The layer model stopped.
    #[error(transparent)]
    Slab(#[from] SlabError),
    /// The heat of the burn cannot be formed.
    #[error(transparent)]
    Flame(#[from] FlameError),
    /// The enthalpy of the reactants cannot be formed.
    #[error(transparent)]
    Enthalpy(#[from] EnthalpyError),
    /// The powder is not known.
    #[error(transparent)]
    Product(#[from] ProductError),
    /// The redox sum fails.
    #[error(transparent)]
    Redox(#[from] RedoxError),
}
