//! Plans one solution-combustion batch: metal nitrates and an organic fuel in water, heated
//! until the mixture ignites and leaves an oxide (or metal) powder.

pub mod batch;
pub mod formula;
pub mod ignition;
mod names;
pub mod quantity;
pub mod redox;
pub mod source;
pub mod tables;
