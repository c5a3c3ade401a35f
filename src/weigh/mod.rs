//! The bench sheet: what to weigh, on which balance, with how much error.

pub mod balance;
pub mod calcine;
pub mod conversion;
pub mod dilution;
pub mod glassware;
mod propagation;
pub mod spread;
pub mod water;
