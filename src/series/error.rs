//! Why there is no series.

use super::factor::NAMES;
use super::members::MOST_MEMBERS;
use crate::learn::LearnError;
use crate::weigh::balance::WeighingError;
use crate::weigh::glassware::GlasswareError;
use crate::weigh::sheet::SheetError;
use thiserror::Error;

/// Why there is no series.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SeriesError {
    /// The file is no TOML.
    #[error("{message}")]
    Syntax {
        /// What the reader says, with the line.
        message: String,
    },
    /// No such thing to change.
    #[error(
        "a series cannot change `{name}`{}",
        match close {
            Some(near) => format!("; did you mean `{near}`?"),
            None => format!("; it can change {}", NAMES.map(|(name, _)| name).join(", ")),
        }
    )]
    Factor {
        /// As given.
        name: String,
        /// A near name.
        close: Option<String>,
    },
    /// The file does not have what the factor moves.
    #[error("`{factor}` needs {lacks} in the batch file")]
    Lacks {
        /// The factor.
        factor: String,
        /// What is not there.
        lacks: String,
    },
    /// A level that does not fit.
    #[error("`{factor}` cannot be set to \"{level}\"")]
    Level {
        /// The factor.
        factor: String,
        /// As given.
        level: String,
    },
    /// A member cannot be read, is refused or cannot be burnt.
    #[error("member {member}: {message}")]
    Member {
        /// The member.
        member: String,
        /// Why.
        message: String,
    },
    /// Too few or too many.
    #[error("the series has {count} members; it may have 2 to {MOST_MEMBERS}")]
    Count {
        /// Members asked for.
        count: usize,
    },
    /// The runs of the file.
    #[error(transparent)]
    Learn(#[from] LearnError),
    /// The bench sheet of a member.
    #[error(transparent)]
    Sheet(#[from] SheetError),
    /// A piece of glassware that the tables do not know.
    #[error(transparent)]
    Glassware(#[from] GlasswareError),
    /// A mass that no balance weighs.
    #[error(transparent)]
    Weighing(#[from] WeighingError),
    /// Two levels that make the same batch.
    #[error("{first} and {second} are the same batch: leave one out")]
    Twice {
        /// One.
        first: String,
        /// The other.
        second: String,
    },
}
