//! The batch file: what goes into the pot and how it is heated, read and checked.
//!
//! A batch is given either as weighed masses ("what will this do?") or as a target with a fuel
//! ratio and a scale ("what shall I weigh?"). In both cases the result is the same list of
//! ingredients with their amounts. The format is described in `src/cli/guide/batch.md`.

mod analysed;
mod balance;
mod change;
mod conditions;
mod contents;
mod dissolves;
mod file;
mod glassware;
mod heating;
mod ingredient;
mod label;
mod mistake;
mod notation;
pub(crate) mod note;
mod pot;
mod powder;
mod request;
mod room;
mod run;
mod run_key;
mod section;
mod start;
mod target;
mod vessel;
mod wanted;
mod weighed;

pub use balance::Balance;
pub use change::ChangeError;
pub use conditions::{Conditions, SeriesMark, SpeciesChoice, WaterAtIgnition};
pub use contents::Batch;
pub(crate) use dissolves::states_in_solution;
pub use dissolves::{Dissolves, MadeSalt};
pub use glassware::{Glassware, PistonPipette};
pub use heating::{HeatingPlan, WaterTest};
pub use label::Label;
pub use mistake::{BatchError, Mistake};
pub use notation::NotationError;
pub use pot::Dissolution;
pub use powder::{Diffraction, Peak, Powder, Strength};
pub use room::{BurnPlace, Room};
pub use run::{FUMES, Fumes, Instrument, LitAt, PLACES, Run};
pub use start::{StartError, starting_file};
pub use target::{FuelRatio, Scale, ShareBasis, Target};
pub use vessel::{Cover, VesselChoice};
pub use wanted::{Atmosphere, Wanted};
pub use weighed::{Ingredient, Stock};
pub(crate) use weighed::{total_amount, water_molar_mass};

use crate::tables::Tables;
use std::path::Path;

/// Largest batch file that is read, in bytes.
pub const LARGEST_FILE: usize = 1_000_000;

impl Batch {
    /// Reads a batch file.
    ///
    /// # Errors
    /// [`BatchError`] with every mistake of the file, also if it cannot be opened, is larger than
    /// [`LARGEST_FILE`] or is no UTF-8 text.
    pub fn read(path: &Path, tables: &Tables) -> Result<Self, BatchError> {
        let origin = path.display().to_string();
        match std::fs::File::open(path) {
            Ok(file) => Self::from_reader(file, &origin, tables),
            Err(error) => Err(BatchError::unreadable(&origin, &error)),
        }
    }

    /// Reads a batch from a file or stream that is already open; `origin` names it in errors. No
    /// more is read than a batch file may have.
    ///
    /// # Errors
    /// [`BatchError`] as for [`Batch::read`].
    pub fn from_reader(
        reader: impl std::io::Read,
        origin: &str,
        tables: &Tables,
    ) -> Result<Self, BatchError> {
        use std::io::Read;
        let mut bytes = Vec::new();
        reader
            .take(LARGEST_FILE as u64 + 1)
            .read_to_end(&mut bytes)
            .map_err(|error| BatchError::unreadable(origin, &error))?;
        Self::from_bytes(&bytes, origin, tables)
    }

    /// Reads a batch from the bytes of a file; `origin` names it in errors.
    ///
    /// # Errors
    /// [`BatchError`] as for [`Batch::read`].
    pub fn from_bytes(bytes: &[u8], origin: &str, tables: &Tables) -> Result<Self, BatchError> {
        if bytes.len() > LARGEST_FILE {
            let message =
                format!("the file is too long: a batch file has at most {LARGEST_FILE} bytes");
            return Err(BatchError::whole_file(origin, &message));
        }
        if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
            let message = "the file is text in UTF-16; save it as UTF-8";
            return Err(BatchError::whole_file(origin, message));
        }
        let text = std::str::from_utf8(bytes).map_err(|error| {
            let at = error.valid_up_to();
            let message =
                format!("the file is no text in UTF-8 (byte {at} is not); save it as UTF-8");
            BatchError::whole_file(origin, &message)
        })?;
        Self::parse(text, origin, tables)
    }

    /// What is wanted, of a file with `[wanted]` but no target and no ingredient; `None` of a file
    /// that is a batch, or no text.
    ///
    /// # Errors
    /// [`BatchError`] with every mistake of such a file.
    pub fn wish(bytes: &[u8], origin: &str, tables: &Tables) -> Result<Option<Wanted>, BatchError> {
        match std::str::from_utf8(bytes) {
            Ok(text) if bytes.len() <= LARGEST_FILE => file::read_wish(
                text.strip_prefix('\u{feff}').unwrap_or(text),
                origin,
                tables,
            ),
            _ => Ok(None),
        }
    }

    /// Reads a batch from text; `origin` names it in errors.
    ///
    /// # Errors
    /// [`BatchError`] with every mistake of the text.
    pub fn parse(text: &str, origin: &str, tables: &Tables) -> Result<Self, BatchError> {
        file::read(
            text.strip_prefix('\u{feff}').unwrap_or(text),
            origin,
            tables,
        )
    }
}
