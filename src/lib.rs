//! Plans one solution-combustion batch: metal nitrates and an organic fuel in water, heated until
//! the mixture ignites and leaves an oxide (or metal) powder.
//!
//! The flow, each step in the module of its name:
//!
//! 1. [`tables`]: what is known of substances, vessels, limits and heating ways, with sources.
//! 2. [`batch`]: the batch file, read with every mistake told at once.
//! 3. [`prepared`]: what every command shares, worked out once: redox sum, powder, reactants' heat,
//!    the course of heating, refusals and the expected peak ([`expected`]).
//! 4. [`mod@plan`]: the prepared batch with its equilibria on the way down and its sources.
//! 5. [`weigh`], [`ignition`], [`vary`], [`mod@choose`], [`mod@compare`], [`purity`]: one question
//!    each; [`judge`], [`mod@learn`], [`mod@series`] and [`mod@next`] for what the runs tell.
//! 6. [`report`]: every result as a document of facts, tables and pictures, written as text, HTML,
//!    CSV or JSON.
//!
//! ```
//! use emberpot::{Batch, Prepared, Tables};
//! use uom::si::thermodynamic_temperature::degree_celsius;
//!
//! let tables = Tables::built_in()?;
//! let file = r#"
//!     [target]
//!     formula = "CeO2"
//!     product_mass = "1 g"
//!     equivalence_ratio = 1.0
//!     [[ingredient]]
//!     substance = "Ce(NO3)3·6H2O"
//!     [[ingredient]]
//!     substance = "glycine"
//!     [water]
//!     left_at_ignition = "10 %"
//! "#;
//! let batch = Batch::parse(file, "ceria", &tables)?;
//! let prepared = Prepared::new(&batch, &tables)?;
//! let peak = prepared.expected.temperature.ok_or("no flame")?;
//! assert!((600.0..2200.0).contains(&peak.get::<degree_celsius>()));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Quantities carry their units ([`quantity`]); a refused batch is an error
//! ([`PrepareError::Refused`]), and no table of one's own gets round it.

mod names;
mod sample;

pub mod formula;
pub mod quantity;
pub mod source;
pub mod tables;
pub mod visible;

pub mod batch;
pub mod redox;

mod equation;
mod flame;
mod gas;
mod room;
mod spread;

pub mod burn;
pub mod cooling;
pub mod dissolution;
pub mod enthalpy;
pub mod equilibrium;
pub mod fumes;
pub mod ignition;
pub mod oxygen;
pub mod product;
pub mod vessel;

pub mod advice;
pub mod expected;
pub mod learned;
pub mod prepared;

pub mod plan;

pub mod choose;
pub mod colour;
pub mod compare;
pub mod dope;
pub mod judge;
pub mod learn;
pub mod next;
pub mod purity;
pub mod recrystallise;
pub mod series;
pub mod settle;
pub mod vary;
pub mod weigh;
pub mod what_if;
pub mod wish;

pub mod report;

/// Version of the program and mark of the tables' content: the same mark, the same numbers.
pub const VERSION: &str = concat!(
    env!("CARGO_PKG_VERSION"),
    " (tables ",
    env!("EMBERPOT_TABLES"),
    ")"
);

pub use advice::{Advice, Severity, Warning};
pub use batch::{Batch, BatchError};
pub use choose::{Choice, choose};
pub use compare::compare;
pub use expected::Expected;
pub use flame::{Flame, Ledger};
pub use formula::Formula;
pub use gas::GasRelease;
pub use ignition::{Course, all_ways};
pub use plan::{Plan, plan, plan_of};
pub use prepared::{PrepareError, Prepared, Refused};
pub use redox::Redox;
pub use report::burn_document;
pub use settle::{Settled, settle};
pub use spread::Spread;
pub use tables::Tables;
pub use weigh::{Sheet, SheetOptions, sheet};
pub use what_if::WhatIf;
