//! What is refused of a mixture before anything of its burn is known.

use super::facts::MixtureFacts;
use super::observed::Observed;
use super::warning::{Warning, warnings};
use crate::batch::Batch;
use crate::tables::SafetyTables;
use crate::tables::cautions::Severity;

/// The stops among the cautions that hang on the mixture alone: scale, oxidisers, free acid, what
/// reacts with what, no powder. They hold also where no burn can be worked out, and their texts are
/// those of the whole advice.
pub fn mixture_stops(batch: &Batch, tables: &SafetyTables) -> Vec<Warning> {
    let observed = Observed::of_mixture(&MixtureFacts::new(batch));
    stops(&warnings(&observed, &tables.rules, &tables.toxic))
}

/// The warnings that stop a burn.
pub fn stops(warnings: &[Warning]) -> Vec<Warning> {
    let stop = |warning: &&Warning| warning.severity == Severity::Stop;
    warnings.iter().filter(stop).cloned().collect()
}
