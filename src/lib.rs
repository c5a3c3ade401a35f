//! Plans one solution-combustion batch: metal nitrates and an organic fuel in water, heated until
//! the mixture ignites and leaves an oxide (or metal) powder.
//!
//! The flow, each step in the module of its name:
//!
//! 1. `tables`: what is known of substances, vessels, limits and heating ways, with sources.
//! 2. [`batch`]: the batch file, read with every mistake told at once.
//! 3. `prepared`: what every command shares, worked out once: redox sum, powder, reactants' heat,
//!    the course of heating, refusals and the expected peak.
//! 4. `plan`: the prepared batch with its equilibria on the way down and its sources.
//! 5. `weigh`, `ignition`, [`vary`], `choose`, `compare`, [`mod@settle`]: one question each.
//! 6. `report`: every result as a document of facts, tables and pictures, written as text, HTML,
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

// Each group uses only those above it.
mod colour;
mod names;
pub mod quantity;
mod sample;
mod source;
mod visible;

mod formula;
mod learned;
mod redox;
mod tables;

mod dissolution;
mod dope;
pub mod equilibrium;
mod fumes;
mod oxygen;
mod recrystallise;
pub mod settle;

pub mod batch;
mod cooling;
mod enthalpy;
mod product;

mod flame;
mod flame_band;
mod gas;
mod ignition;
mod room;
mod vessel;

mod burn;
mod equation;
mod purity;
mod weigh;
mod what_if;

mod advice;
mod expected;
mod prepared;
pub mod vary;
mod wish;

mod choose;
mod judge;
mod learn;
mod next;
mod plan;
mod series;

mod compare;

mod report;

/// Version of the program and mark of the tables' content: the same mark, the same numbers.
pub const VERSION: &str = concat!(
    env!("CARGO_PKG_VERSION"),
    " (tables ",
    env!("EMBERPOT_TABLES"),
    ")"
);

pub use advice::{Advice, Severity, Warning};
pub use batch::{Batch, BatchError};
pub use burn::StateResult;
pub use choose::{Choice, ChooseError, choose};
pub use compare::{CompareError, compare};
pub use enthalpy::WaterStateName;
pub use expected::Expected;
pub use flame::{Flame, Ledger};
pub use formula::{Element, Formula, FormulaError};
pub use ignition::{Course, IgnitionError, all_ways};
pub use plan::{Plan, PlanError, plan, plan_of};
pub use prepared::{PrepareError, Prepared, Refused};
pub use redox::{Redox, RedoxError};
pub use report::{Document, burn_document, burn_sections, plan_json, sheet_document};
pub use tables::{TableError, Tables};
pub use weigh::{Sheet, SheetError, SheetOptions, sheet};
pub use what_if::WhatIf;

#[doc(hidden)]
pub mod internal;
