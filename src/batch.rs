//! The batch file: what goes into the pot and how it is heated, read and checked.

mod mistake;
mod section;

pub use mistake::{BatchError, Mistake};
