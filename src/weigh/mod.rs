//! The bench sheet: what to weigh, on which balance, with how much error.
//!
//! [`sheet::sheet`] puts it together. The parts stand alone: [`balance`] and [`glassware`] say how
//! well a mass or a volume can be taken, [`dilution`] plans stock solutions, [`bands`] carries all
//! of it into φ and the cation ratio, [`neighbours`] says what that means for the phases,
//! [`water`] how much water dissolves the batch, [`calcine`] how much water a bottle of unknown
//! hydrate holds.

mod acid;
pub mod balance;
pub mod bands;
pub mod calcine;
mod check;
pub mod dilution;
pub mod glassware;
pub mod line;
pub mod measure;
pub mod neighbours;
pub mod notice;
pub mod order;
mod propagation;
pub mod sheet;
pub mod size;
pub mod water;
pub mod water_sheet;

pub use notice::Notice;
pub use sheet::{Sheet, SheetError, SheetOptions, sheet};
