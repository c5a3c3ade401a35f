//! Why no choice can be made.

use crate::redox::RedoxError;
use crate::vary::VaryError;
use thiserror::Error;

/// Why no choice can be made.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ChooseError {
    /// No temperature to aim at.
    #[error("{}", nothing_wanted(.target.as_deref()))]
    NothingWanted {
        /// The target, if there is one.
        target: Option<String>,
    },
    /// The batch has no fuel to choose in place of.
    #[error(
        "the file has no fuel that reduces: add one, such as urea; others are tried in its place"
    )]
    NoFuel,
    /// Nothing burns.
    #[error("the batch burns at no fuel ratio of the search: {reason}")]
    NoBurn {
        /// The first reason.
        reason: String,
    },
    /// The redox sum fails.
    #[error(transparent)]
    Redox(#[from] RedoxError),
    /// Nothing can be expected of the file's own batch.
    #[error(transparent)]
    Expected(#[from] crate::expected::ExpectedError),
    /// A burn of the file's own batch fails.
    #[error(transparent)]
    Burn(#[from] VaryError),
}

fn nothing_wanted(target: Option<&str>) -> String {
    let what = match target {
        Some(target) => format!("the tables know no temperature at which {target} forms"),
        None => "the file names no target".to_owned(),
    };
    format!(
        "{what}; say what is wanted: add [wanted] with a line such as `temperature = \"900 °C\"`"
    )
}
