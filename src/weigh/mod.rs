//! The bench sheet: what to weigh, on which balance, with how much error.
//!
//! `sheet::sheet` puts it together. The parts stand alone: `balance` and `glassware` say how
//! well a mass or a volume can be taken, `dilution` plans stock solutions, `bands` carries all
//! of it into φ and the cation ratio, `neighbours` says what that means for the phases,
//! `water` how much water dissolves the batch, `calcine` how much water a bottle of unknown
//! hydrate holds.

mod acid;
pub(crate) mod balance;
pub(crate) mod bands;
pub(crate) mod calcine;
mod check;
pub mod dilution;
pub(crate) mod glassware;
pub(crate) mod line;
pub(crate) mod measure;
pub(crate) mod neighbours;
mod notice;
mod order;
mod propagation;
pub(crate) mod sheet;
mod size;
pub(crate) mod water;
pub(crate) mod water_sheet;

pub use balance::standard_uncertainty;
pub use bands::{ErrorBand, Weighed, error_bands};
pub use calcine::Calcination;
pub use glassware::Piece;
pub use measure::Measure;
pub use notice::Notice;
pub use sheet::{Sheet, SheetError, SheetOptions, sheet};
