//! Why a sweep, or one row of it, cannot be worked out.

use crate::advice::Warning;
use crate::batch::ChangeError;
use crate::burn::BurnError;
use crate::equilibrium::EquilibriumError;
use crate::ignition::IgnitionError;
use crate::product::ProductError;
use crate::quantity::parse::QuantityError;
use crate::redox::RedoxError;
use crate::tables::LookupError;
use thiserror::Error;

/// Most levels of one axis.
pub const MOST_LEVELS: usize = 10_000;
/// Most rows of a sweep.
pub const MOST_ROWS: usize = 250_000;

/// Why a sweep, or one row of it, cannot be worked out.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum VaryError {
    #[error("nothing to vary is called `{name}`{}", hint(.close.as_deref(), .known))]
    UnknownFactor {
        name: String,
        close: Option<String>,
        /// All names.
        known: String,
    },
    #[error("`{factor}` takes nothing behind a colon")]
    Qualifier { factor: String },
    #[error("the batch has no {kind} {what}: add it to the file")]
    NotInBatch { what: String, kind: &'static str },
    #[error("the share of a fuel needs two fuels in the file")]
    OneFuel,
    #[error("the file has no flux: name one, such as `flux:boric acid`")]
    NoFlux,
    #[error("name the dopant and the element it replaces, such as `dopant:Eu/Sr`")]
    DopantUnclear,
    #[error("{factor}: {source}")]
    Level {
        factor: String,
        source: QuantityError,
    },
    #[error("{factor}: {level} {unit} is out of range, {low} to {high} {unit}")]
    OutOfRange {
        factor: String,
        level: f64,
        low: f64,
        high: f64,
        unit: &'static str,
    },
    #[error(
        "{steps} steps: a sweep has 2 to {MOST_LEVELS} levels on an axis, or 1 if both ends are the same"
    )]
    Steps { steps: usize },
    #[error("{rows} rows are more than {MOST_ROWS}: take fewer steps")]
    Rows { rows: usize },
    #[error("both axes vary the {factor}")]
    SameFactor { factor: String },
    #[error("water left \"from ignition\": {0}")]
    Ignition(#[from] IgnitionError),
    #[error("refused: {}", .stops.iter().map(|stop| stop.text.as_str()).collect::<Vec<_>>().join(" "))]
    Refused { stops: Vec<Warning> },
    #[error(
        "with every input at its middle the heating of the file does not light it; `ignite` says how likely it is all the same, --water-state takes another state"
    )]
    NotLit,
    #[error(
        "the file does not say how much water is left at ignition: add `left_at_ignition` under [water], or choose another state"
    )]
    NoIgnitionState,
    #[error(transparent)]
    Lookup(#[from] LookupError),
    #[error(transparent)]
    Change(#[from] ChangeError),
    #[error(transparent)]
    Redox(#[from] RedoxError),
    #[error(transparent)]
    Product(#[from] ProductError),
    #[error(transparent)]
    Burn(#[from] BurnError),
    #[error("{0}")]
    Equilibrium(#[from] EquilibriumError),
}

fn hint(close: Option<&str>, known: &str) -> String {
    match close {
        Some(close) => format!("; did you mean `{close}`?"),
        None => format!("; there are {known}"),
    }
}
