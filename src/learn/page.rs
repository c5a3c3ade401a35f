//! The batches whose runs are read, and the runs that tell nothing.

use crate::batch::Batch;

/// A batch with the name of its file.
#[derive(Debug, Clone)]
pub struct Page {
    /// The file.
    pub file: String,
    /// The batch with its runs.
    pub batch: Batch,
}

/// A run that tells nothing here.
#[derive(serde::Serialize, Debug, Clone, PartialEq, Eq)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
pub struct Unused {
    /// Its name.
    pub run: String,
    /// Why.
    pub reason: String,
}
