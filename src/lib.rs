//! Plans one solution-combustion batch: metal nitrates and an organic fuel in water, heated
//! until the mixture ignites and leaves an oxide (or metal) powder.

pub mod colour;
pub mod formula;
mod names;
pub mod quantity;
pub mod source;
pub mod tables;
pub mod visible;

pub mod redox;

pub mod learned;

pub mod dissolution;

pub mod batch;

pub mod product;

pub mod enthalpy;

pub mod equilibrium;

pub mod dope;
pub mod recrystallise;

pub mod settle;

pub mod cooling;
pub mod oxygen;

pub mod flame;

pub mod equation;
pub mod gas;
mod sample;
pub mod spread;

pub mod ignition;

pub mod burn;
pub mod fumes;
pub mod room;
pub mod vessel;

pub mod advice;

pub mod purity;

pub mod weigh;

pub mod expected;

pub mod prepared;

pub mod vary;
pub mod what_if;

pub mod choose;

pub mod plan;

pub mod wish;

pub mod compare;

pub mod judge;

pub mod learn;

pub mod series;

pub mod next;

pub mod report;
