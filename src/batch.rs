//! The batch file: what goes into the pot and how it is heated, read and checked.
//!
//! A batch is given either as weighed masses ("what will this do?") or as a target with a fuel
//! ratio and a scale ("what shall I weigh?"). In both cases the result is the same list of
//! ingredients with their amounts. The format is described in `src/cli/guide/batch.md`.

mod analysed;
mod balance;
mod change;
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
use crate::quantity::{
    AmountOfSubstance, Energy, Mass, MolarConcentration, MolarMass, Pressure, Ratio,
    ThermodynamicTemperature, Volume, reference_temperature, standard_pressure,
};
use crate::redox::{OxidationStates, Redox, RedoxError, redox};
use crate::tables::{Reactant, Role, Tables};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use uom::si::amount_of_substance::mole;
use uom::si::energy::joule;
use uom::si::mass::kilogram;
use uom::si::molar_mass::gram_per_mole;
use uom::si::ratio::ratio;

/// Largest batch file that is read, in bytes.
pub const LARGEST_FILE: usize = 1_000_000;

/// One ingredient with its amount.
#[derive(Debug, Clone)]
pub struct Ingredient {
    /// The substance with the crystal water that it really has.
    pub reactant: Arc<Reactant>,
    /// Amount of the pure substance, per formula unit of `reactant.formula`.
    pub amount: AmountOfSubstance,
    /// Mass to weigh off the bottle: pure mass divided by the assay.
    pub mass: Mass,
    /// Mass fraction of the pure substance in what is weighed, 0 to 1.
    pub assay: Ratio,
    /// Solvent water that comes with it in a stock solution.
    pub carried_water: AmountOfSubstance,
    /// The stock solution it is taken from, if any.
    pub stock: Option<Stock>,
    /// Volume it was measured by, if it was.
    pub volume: Option<Volume>,
    /// Crystal water is known only within this range, if stated, in molecules per formula unit.
    pub hydrate_range: Option<(f64, f64)>,
    /// Half width of the band of the assay, if stated.
    pub assay_band: Option<Ratio>,
    /// What its label says of its purity.
    pub label: Label,
    /// Whether the amount was worked out from the target.
    pub worked_out: bool,
    /// What the file calls it, where that leaves the hydrate open and the one sold was taken.
    pub hydrate_open: Option<String>,
    /// What nitric acid beside it makes of it; `None` if it stays as it is.
    pub dissolves: Option<Arc<Dissolves>>,
}

/// A stock solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stock {
    /// Volume taken.
    pub volume: Volume,
    /// Concentration of the substance.
    pub concentration: MolarConcentration,
}

impl Ingredient {
    /// Crystal water it brings. The water of an acid solution is solvent.
    #[must_use]
    pub fn crystal_water(&self) -> AmountOfSubstance {
        match self.reactant.role {
            Role::Acid => AmountOfSubstance::new::<mole>(0.0),
            _ => self.reactant.formula.crystal_water() * self.amount,
        }
    }

    /// Solvent water it brings: all of it for water itself, else what a solution carries.
    #[must_use]
    pub fn solvent_water(&self) -> AmountOfSubstance {
        match self.reactant.role {
            Role::Solvent => self.amount,
            Role::Acid => self.reactant.formula.crystal_water() * self.amount,
            _ => self.carried_water,
        }
    }

    /// Mass of the pure substance.
    #[must_use]
    pub fn pure_mass(&self) -> Mass {
        self.amount * self.reactant.formula.molar_mass()
    }

    /// The same ingredient with everything that counts amounts multiplied by `factor`.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let mut scaled = self.clone();
        scaled.amount = factor * self.amount;
        scaled.mass = factor * self.mass;
        scaled.carried_water = factor * self.carried_water;
        scaled.volume = self.volume.map(|volume| factor * volume);
        scaled.stock = self.stock.map(|stock| Stock {
            volume: factor * stock.volume,
            ..stock
        });
        scaled
    }
}

/// Water still in the batch when it ignites.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WaterAtIgnition {
    /// The file does not say.
    NotStated,
    /// This fraction of all water, solvent and crystal water together; solvent leaves first.
    Fraction(Ratio),
    /// What the ignition model finds for the stated heating.
    FromIgnition,
}

/// Which product species the equilibrium may form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SpeciesChoice {
    /// Every tabulated one.
    #[default]
    Full,
    /// Without those that form too slowly in a burn (methane, ammonia, graphite, hydroxides).
    Fast,
}

/// How the batch is burnt, with the stated defaults.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Temperature of the batch at the start of the heat balance; default 25 °C.
    pub start: ThermodynamicTemperature,
    /// Pressure; default 1 bar. The pot is open: 0.3 to 1.2 bar.
    pub pressure: Pressure,
    /// Share of the heat of combustion that is lost before the products are hot; default 0.
    pub heat_loss: Ratio,
    /// Air drawn in, as a share of the air that the surplus fuel needs; default 0.
    pub air_drawn_in: Ratio,
    /// Heat that comes from outside during the burn; default 0.
    pub external_heat: Energy,
    /// Species set of the equilibrium; default full.
    pub species: SpeciesChoice,
    /// Whether the tabulated solid solutions form in equilibrium, mixing ideally; `None` if the file
    /// does not say, and then they do.
    pub solid_solutions: Option<bool>,
}

impl Conditions {
    /// Whether solid solutions form.
    #[must_use]
    pub fn mixes(&self) -> bool {
        self.solid_solutions.unwrap_or(true)
    }
}

impl Default for Conditions {
    fn default() -> Self {
        Self {
            start: reference_temperature(),
            pressure: standard_pressure(),
            heat_loss: Ratio::new::<ratio>(0.0),
            air_drawn_in: Ratio::new::<ratio>(0.0),
            external_heat: Energy::new::<joule>(0.0),
            species: SpeciesChoice::Full,
            solid_solutions: None,
        }
    }
}

/// Place of a batch in a series.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeriesMark {
    /// The series.
    pub name: String,
    /// Label of the member.
    pub label: String,
    /// What the series changes.
    pub over: String,
    /// The level of this member, as written; `None` for a reference beside the levels.
    pub level: Option<String>,
}

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
    #[must_use]
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
    #[must_use]
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
    #[must_use]
    pub fn dissolution(&self) -> Option<Dissolution> {
        let none = AmountOfSubstance::new::<mole>(0.0);
        Dissolution::of(&self.weighed).filter(|dissolution| dissolution.acid > none)
    }

    /// All solvent water.
    #[must_use]
    pub fn solvent_water(&self) -> AmountOfSubstance {
        total_amount(self.ingredients.iter().map(Ingredient::solvent_water))
    }

    /// All crystal water.
    #[must_use]
    pub fn crystal_water(&self) -> AmountOfSubstance {
        total_amount(self.ingredients.iter().map(Ingredient::crystal_water))
    }

    /// Mass of everything but the solvent: salts, fuels and additives as weighed.
    #[must_use]
    pub fn weighed_mass(&self) -> Mass {
        self.weighed
            .iter()
            .filter(|i| i.reactant.role != Role::Solvent && i.stock.is_none())
            .map(|i| i.mass)
            .fold(Mass::new::<kilogram>(0.0), |sum, mass| sum + mass)
    }

    /// Atoms of each element that the ingredients bring, solvent and crystal water left out.
    #[must_use]
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
#[must_use]
pub fn water_molar_mass() -> MolarMass {
    MolarMass::new::<gram_per_mole>(18.015)
}

/// Sum of amounts.
pub(crate) fn total_amount(amounts: impl Iterator<Item = AmountOfSubstance>) -> AmountOfSubstance {
    amounts.fold(AmountOfSubstance::new::<mole>(0.0), |sum, amount| {
        sum + amount
    })
}
