//! The mistakes of a batch file as JSON, for editors and the offline page.

use super::view::{json_of, list, view};
use crate::batch::{BatchError, Mistake};
use serde_json::Value;

/// The mistakes of a batch file; none if it can be used.
pub fn mistakes_json(error: Option<&BatchError>) -> Value {
    json_of(Checked::from(error))
}

view! {
    /// What `check` writes.
    result Checked(error: Option<&BatchError>) {
        /// Mistakes of the file.
        mistakes: Vec<MistakeAt> = list(error.iter().flat_map(|error| &error.mistakes)),
        /// Mistakes that were counted only.
        further: usize = error.map_or(0, |error| error.further),
    }
}

view! {
    /// A mistake.
    MistakeAt(mistake: &Mistake) {
        /// Line, from 1.
        line: usize = mistake.line,
        /// Column in characters, from 1.
        column: usize = mistake.column,
        /// What is wrong and what to do.
        message: String = mistake.message.clone(),
    }
}
