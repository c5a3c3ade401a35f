//! What stops a command.

use emberpot::settle::SettleError;
use emberpot::{BatchError, IgnitionError, PlanError, PrepareError, TableError};
use thiserror::Error;

/// What stops a command.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CliError {
    #[error("{0}")]
    Batch(#[from] BatchError),
    #[error("tables: {0}")]
    Tables(#[from] TableError),
    #[error("{0}")]
    Prepare(#[from] PrepareError),
    #[error("{0}")]
    Plan(#[from] PlanError),
    #[error("{0}")]
    Ignition(#[from] IgnitionError),
    #[error("{0}")]
    Start(#[from] emberpot::batch::StartError),
    #[error("{0}")]
    Vary(#[from] emberpot::vary::VaryError),
    #[error("{0}")]
    Choose(#[from] emberpot::ChooseError),
    #[error("{0}")]
    Learn(#[from] emberpot::internal::learn::LearnError),
    #[error("{0}")]
    Series(#[from] emberpot::internal::series::SeriesError),
    #[error("{0}")]
    Next(#[from] emberpot::internal::next::NextError),
    #[error("{0}")]
    Compare(#[from] emberpot::CompareError),
    #[error("{0}")]
    Argument(String),
    #[error("{file} is read by this command: choose another name for the result")]
    OverInput { file: String },
    #[error("{0}")]
    Sheet(#[from] emberpot::SheetError),
    #[error("{0}")]
    Dope(#[from] emberpot::internal::dope::DopeError),
    #[error("{0}")]
    Wish(#[from] emberpot::internal::wish::WishError),
    #[error("{0}")]
    Recrystallise(#[from] emberpot::internal::recrystallise::RecrystalliseError),
    #[error("{0}")]
    Settle(#[from] SettleError),
    #[error("{what}: {error}")]
    Io { what: String, error: std::io::Error },
}
