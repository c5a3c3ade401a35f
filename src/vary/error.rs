//! Why a sweep, or one row of it, cannot be worked out.

use super::factor::NAMES;
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
pub enum VaryError {
    /// No such factor.
    #[error("nothing to vary is called `{name}`{}", hint(.close.as_deref()))]
    UnknownFactor {
        /// What was asked for.
        name: String,
        /// The nearest name.
        close: Option<String>,
    },
    /// A colon where none belongs.
    #[error("`{factor}` takes nothing behind a colon")]
    Qualifier {
        /// The factor.
        factor: String,
    },
    /// Not in the batch.
    #[error("the batch has no {kind} {what}: add it to the file")]
    NotInBatch {
        /// What was asked for.
        what: String,
        /// What it should be.
        kind: &'static str,
    },
    /// A share needs two fuels.
    #[error("the share of a fuel needs two fuels in the file")]
    OneFuel,
    /// No flux is named.
    #[error("the file has no flux: name one, such as `flux:boric acid`")]
    NoFlux,
    /// Dopant and host are not clear.
    #[error("name the dopant and the element it replaces, such as `dopant:Eu/Sr`")]
    DopantUnclear,
    /// A level that cannot be read.
    #[error("{factor}: {source}")]
    Level {
        /// The factor.
        factor: String,
        /// What is wrong.
        source: QuantityError,
    },
    /// A level out of range.
    #[error("{factor}: {level} {unit} is out of range, {low} to {high} {unit}")]
    OutOfRange {
        /// The factor.
        factor: String,
        /// The level.
        level: f64,
        /// Least level.
        low: f64,
        /// Largest level.
        high: f64,
        /// Unit of the three.
        unit: &'static str,
    },
    /// Steps that make no sweep.
    #[error(
        "{steps} steps: a sweep has 2 to {MOST_LEVELS} levels on an axis, or 1 if both ends are the same"
    )]
    Steps {
        /// Levels asked for.
        steps: usize,
    },
    /// Too many rows.
    #[error("{rows} rows are more than {MOST_ROWS}: take fewer steps")]
    Rows {
        /// Rows asked for.
        rows: usize,
    },
    /// The same factor twice.
    #[error("both axes vary the {factor}")]
    SameFactor {
        /// The factor.
        factor: String,
    },
    /// The water is to come from the course of heating, and that fails.
    #[error("water left \"from ignition\": {0}")]
    Ignition(#[from] IgnitionError),
    /// A member of the sweep that is refused as a batch by itself would be.
    #[error("refused: {}", .stops.iter().map(|stop| stop.text.as_str()).collect::<Vec<_>>().join(" "))]
    Refused {
        /// The reasons.
        stops: Vec<Warning>,
    },
    /// The heating does not light it.
    #[error(
        "with every input at its middle the heating of the file does not light it; `ignite` says how likely it is all the same, --water-state takes another state"
    )]
    NotLit,
    /// The batch has no such state of the water.
    #[error(
        "the file does not say how much water is left at ignition: add `left_at_ignition` under [water], or choose another state"
    )]
    NoIgnitionState,
    /// A substance is not found.
    #[error(transparent)]
    Lookup(#[from] LookupError),
    /// The batch cannot be changed that way.
    #[error(transparent)]
    Change(#[from] ChangeError),
    /// The redox sum fails.
    #[error(transparent)]
    Redox(#[from] RedoxError),
    /// No expected product.
    #[error(transparent)]
    Product(#[from] ProductError),
    /// The burn fails.
    #[error(transparent)]
    Burn(#[from] BurnError),
    /// The burn has no equilibrium.
    #[error("{0}")]
    Equilibrium(#[from] EquilibriumError),
}

fn hint(close: Option<&str>) -> String {
    let names: Vec<&str> = NAMES.iter().map(|(name, _)| *name).collect();
    match close {
        Some(close) => format!("; did you mean `{close}`?"),
        None => format!("; there are {}", names.join(", ")),
    }
}
