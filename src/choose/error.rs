//! Why no choice can be made.

use crate::redox::RedoxError;
use crate::vary::VaryError;
use thiserror::Error;

/// Why no choice can be made.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum ChooseError {
    #[error("{}", nothing_wanted(.target.as_deref()))]
    NothingWanted { target: Option<String> },
    #[error(
        "the file has no fuel that reduces: add one, such as urea; others are tried in its place"
    )]
    NoFuel,
    #[error("the batch burns at no fuel ratio of the search: {reason}")]
    NoBurn { reason: String },
    #[error(transparent)]
    Redox(#[from] RedoxError),
    #[error(transparent)]
    Expected(#[from] crate::expected::ExpectedError),
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
