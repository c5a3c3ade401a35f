//! Plans solution-combustion batches.
