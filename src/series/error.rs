//! Why there is no series.

use crate::learn::LearnError;
use crate::weigh::balance::WeighingError;
use crate::weigh::glassware::GlasswareError;
use crate::weigh::sheet::SheetError;
use thiserror::Error;

/// Most members of a series: more are not one afternoon's work.
pub(super) const MOST_MEMBERS: usize = 12;

/// Why there is no series.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum SeriesError {
    #[error("{message}")]
    Syntax { message: String },
    #[error(
        "a series cannot change `{name}`{}",
        match close {
            Some(near) => format!("; did you mean `{near}`?"),
            None => format!("; it can change {known}"),
        }
    )]
    Factor {
        name: String,
        close: Option<String>,
        /// All names.
        known: String,
    },
    #[error("`{factor}` needs {lacks} in the batch file")]
    Lacks { factor: String, lacks: String },
    #[error("`{factor}` cannot be set to \"{level}\"")]
    Level { factor: String, level: String },
    #[error("member {member}: {message}")]
    Member { member: String, message: String },
    #[error("the series has {count} members; it may have 2 to {MOST_MEMBERS}")]
    Count { count: usize },
    #[error(transparent)]
    Learn(#[from] LearnError),
    #[error(transparent)]
    Sheet(#[from] SheetError),
    #[error(transparent)]
    Glassware(#[from] GlasswareError),
    #[error(transparent)]
    Weighing(#[from] WeighingError),
    #[error("{first} and {second} are the same batch: leave one out")]
    Twice { first: String, second: String },
}
