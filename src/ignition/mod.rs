//! From cold solution to ignition: the course of heating.

pub mod boiling;
pub mod charge;
#[cfg(test)]
mod fixture;
pub mod history;
pub mod lumped;
pub mod microwave;
pub mod slab;
#[cfg(test)]
mod slab_tests;
mod step;
pub mod thermal_explosion;
