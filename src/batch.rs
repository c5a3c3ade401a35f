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

pub use balance::Balance;
pub use change::ChangeError;
pub use conditions::{Conditions, SeriesMark, SpeciesChoice, WaterAtIgnition};
pub(crate) use contents::total_amount;
pub use contents::{Ingredient, Stock};
pub use glassware::{Glassware, PistonPipette};
pub use heating::{HeatingPlan, WaterTest};
pub use label::Label;
pub use mistake::{BatchError, Mistake};
pub use notation::NotationError;
pub(crate) use pot::states_in_solution;
pub use pot::{Dissolution, Dissolves, MadeSalt};
pub use powder::{Diffraction, Peak, Powder, Strength};
pub use room::{BurnPlace, Room};
pub use run::{FUMES, Fumes, Instrument, LitAt, PLACES, Run};
pub use start::{StartError, starting_file};
pub use target::{FuelRatio, Scale, ShareBasis, Target};
pub use vessel::{Cover, VesselChoice};
pub use wanted::{Atmosphere, Wanted};

use crate::formula::Element;
use crate::learned::{Learned, PotName};
use crate::quantity::{AmountOfSubstance, Mass, MolarMass};
use crate::redox::{OxidationStates, Redox, RedoxError, redox};
use crate::tables::{Role, Tables};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use uom::si::amount_of_substance::mole;
use uom::si::mass::kilogram;
use uom::si::molar_mass::gram_per_mole;

/// Largest batch file that is read, in bytes.
pub const LARGEST_FILE: usize = 1_000_000;

/// A batch: every substance found, every amount known.
#[derive(Debug, Clone)]
pub struct Batch {
    /// What the user calls it.
    pub name: String,
    /// What is weighed or measured, in the order of the file.
    pub weighed: Vec<Ingredient>,
    /// What is in the pot: as weighed, but with the nitrates that the nitric acid of the batch
    /// makes of carbonates, oxides and hydroxides in place of these and of the acid used up.
    pub ingredients: Vec<Ingredient>,
    /// The wanted product, if the file names one.
    pub target: Option<Target>,
    /// Oxidation states that the user chose.
    pub chosen_states: BTreeMap<Element, f64>,
    /// Oxidation states in the products: defaults, choice, and what the target's oxygen asks for.
    pub states: OxidationStates,
    /// Oxygen per formula unit of the target that its metals cannot bind (0 if charges balance).
    pub unbound_oxygen: f64,
    /// Water left when it ignites.
    pub water_at_ignition: WaterAtIgnition,
    /// Start temperature, pressure, losses, air.
    pub conditions: Conditions,
    /// How it is heated, if the file says.
    pub heating: Option<HeatingPlan>,
    /// What it is burnt in, if the file says.
    pub vessel: Option<VesselChoice>,
    /// Where it is burnt, if the file says.
    pub room: Option<Room>,
    /// What was seen each time it was burnt, in the order of the file.
    pub runs: Vec<Run>,
    /// What the pots of the laboratory were learned to do, if the file takes it in.
    pub learned: Option<Arc<Learned>>,
    /// Its place in a series, if it is a member of one.
    pub series: Option<SeriesMark>,
    /// Balances at hand; empty if the file names none.
    pub balances: Vec<Balance>,
    /// Flasks and pipettes at hand, if the file lists them.
    pub glassware: Option<Glassware>,
    /// What the powder shall be, if the file says.
    pub wanted: Option<Wanted>,
}

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

    /// The pot it is burnt in; `course` where the heating model ends in ignition.
    pub fn pot_name(&self, course: bool) -> PotName {
        PotName {
            vessel: self
                .vessel
                .as_ref()
                .map(|vessel| vessel.vessel.name.clone()),
            way: self
                .heating
                .as_ref()
                .and_then(|heating| heating.way.clone()),
            course,
        }
    }

    /// The redox sum of the batch.
    ///
    /// # Errors
    /// [`RedoxError`] if an oxidation state is missing, or nothing oxidises or nothing reduces.
    pub fn redox(&self) -> Result<Redox, RedoxError> {
        let list: Vec<_> = self
            .ingredients
            .iter()
            .map(|i| (&i.reactant.formula, i.amount))
            .collect();
        redox(&list, &self.states)
    }

    /// φ if every metal that the product holds at 0 is counted with the charge of its salt instead,
    /// and those metals with that charge: the other convention for a metal powder. `None` if no
    /// metal is counted at 0.
    pub fn ratio_counted_as_salt(&self) -> Option<(BTreeMap<Element, f64>, Redox)> {
        let at_zero = |element: Element| self.states.of(element).is_ok_and(|s| s.abs() < 1e-9);
        let metals: BTreeMap<Element, f64> = self
            .ingredients
            .iter()
            .filter_map(|i| i.reactant.metal.as_ref())
            .filter(|metal| metal.oxidation_state != 0 && at_zero(metal.element))
            .map(|metal| (metal.element, f64::from(metal.oxidation_state)))
            .collect();
        if metals.is_empty() {
            return None;
        }
        let mut chosen: BTreeMap<Element, f64> = self
            .dry_elements()
            .into_keys()
            .filter_map(|element| Some((element, self.states.of(element).ok()?)))
            .collect();
        chosen.extend(&metals);
        let list: Vec<_> = self
            .ingredients
            .iter()
            .map(|i| (&i.reactant.formula, i.amount))
            .collect();
        let sum = redox(&list, &OxidationStates::with_choice(&chosen)).ok()?;
        Some((metals, sum))
    }

    /// What the nitric acid of the batch dissolves; `None` without acid or anything to dissolve.
    pub fn dissolution(&self) -> Option<Dissolution> {
        let none = AmountOfSubstance::new::<mole>(0.0);
        Dissolution::of(&self.weighed).filter(|dissolution| dissolution.acid > none)
    }

    /// All solvent water.
    pub fn solvent_water(&self) -> AmountOfSubstance {
        total_amount(self.ingredients.iter().map(Ingredient::solvent_water))
    }

    /// All crystal water.
    pub fn crystal_water(&self) -> AmountOfSubstance {
        total_amount(self.ingredients.iter().map(Ingredient::crystal_water))
    }

    /// Mass of everything but the solvent: salts, fuels and additives as weighed.
    pub fn weighed_mass(&self) -> Mass {
        self.weighed
            .iter()
            .filter(|i| i.reactant.role != Role::Solvent && i.stock.is_none())
            .map(|i| i.mass)
            .fold(Mass::new::<kilogram>(0.0), |sum, mass| sum + mass)
    }

    /// Atoms of each element that the ingredients bring, solvent and crystal water left out.
    pub fn dry_elements(&self) -> BTreeMap<Element, AmountOfSubstance> {
        let mut sum = BTreeMap::new();
        for ingredient in self
            .ingredients
            .iter()
            .filter(|i| i.reactant.role != Role::Solvent)
        {
            for (&element, &n) in ingredient.reactant.formula.anhydrous().amounts() {
                *sum.entry(element)
                    .or_insert(AmountOfSubstance::new::<mole>(0.0)) += n * ingredient.amount;
            }
        }
        sum
    }
}

/// Molar mass of water, from the IUPAC 2021 abridged weights (2 × 1.0080 + 15.999 g/mol).
pub fn water_molar_mass() -> MolarMass {
    MolarMass::new::<gram_per_mole>(18.015)
}
