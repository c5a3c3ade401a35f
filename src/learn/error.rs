//! Why nothing can be learned.

use super::page::Unused;
use crate::expected::ExpectedError;
use crate::prepared::PrepareError;
use thiserror::Error;

/// Why nothing can be learned.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LearnError {
    /// No file holds a run.
    #[error("no file holds a [[run]]: note one with `emberpot note FILE`")]
    NoRuns,
    /// No run tells anything.
    #[error("none of the runs can be learned from:{}", list(.unused))]
    NothingRead {
        /// Each run with the reason.
        unused: Vec<Unused>,
    },
    /// A batch cannot be made ready.
    #[error("{file}: {error}")]
    Prepare {
        /// The file.
        file: String,
        /// Why.
        error: PrepareError,
    },
    /// A batch cannot be burnt.
    #[error("{file}: {error}")]
    Expected {
        /// The file.
        file: String,
        /// Why.
        error: ExpectedError,
    },
    /// A mass as weighed is of nothing in the batch.
    #[error(
        "{file}, run {run}: `masses` names `{name}`, which is none of the ingredients, or several: \
         name it as the batch does"
    )]
    Mass {
        /// The file.
        file: String,
        /// The run, from 1.
        run: usize,
        /// The name.
        name: String,
    },
}

fn list(unused: &[Unused]) -> String {
    unused
        .iter()
        .map(|unused| format!("\n  {}: {}", unused.run, unused.reason))
        .collect()
}
