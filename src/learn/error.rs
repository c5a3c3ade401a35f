//! Why nothing can be learned.

use super::page::Unused;
use crate::expected::ExpectedError;
use crate::prepared::PrepareError;
use thiserror::Error;

/// Why nothing can be learned.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum LearnError {
    #[error("no file holds a [[run]]: note one with `emberpot note FILE`")]
    NoRuns,
    #[error("none of the runs can be learned from:{}", list(.unused))]
    NothingRead { unused: Vec<Unused> },
    #[error("{file}: {error}")]
    Prepare { file: String, error: PrepareError },
    #[error("{file}: {error}")]
    Expected { file: String, error: ExpectedError },
    #[error(
        "{file}, run {run}: `masses` names `{name}`, which is none of the ingredients, or several: \
         name it as the batch does"
    )]
    Mass {
        file: String,
        run: usize,
        name: String,
    },
}

fn list(unused: &[Unused]) -> String {
    unused
        .iter()
        .map(|unused| format!("\n  {}: {}", unused.run, unused.reason))
        .collect()
}
