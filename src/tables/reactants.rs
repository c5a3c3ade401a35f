//! Reactants: what goes into the pot. Nitrates, fuels, other metal sources, acid, flux, water.
//!
//! One row is one substance as it stands on the bottle, with its crystal water. The hydrates of
//! one salt are joined by their anhydrous formula into a [`Family`], from which the enthalpy of
//! any drier or wetter state is read or estimated. Every number carries its source.

mod acid;
mod audit;
mod check;
mod describe;
mod error;
mod family;
mod group;
mod lookup;
mod reactant;
mod refused;
mod solubility;
mod spelling;
mod strength;
mod water;

pub use acid::{AcidError, NitricAcid};
pub use audit::AuditLine;
pub use describe::{Content, PropertyRow};
pub use error::{FamilyError, LookupError};
pub use family::HydrateMethod;
pub use group::HazardGroup;
pub use reactant::{AssayBasis, Hazards, Reactant, Role, State};
pub use solubility::{Basis, Solubility, SolubilityError};

use super::error::{Fault, TableError};
use crate::formula::Formula;
use crate::tables::read::{PreparedReactant, TableFile, prepared_reactants};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// All reactants, with the rules that join the hydrates of a salt and the refused substances.
#[derive(Debug, Clone)]
pub struct Reactants {
    rows: Vec<Slot>,
    /// Every spelling, normalized, with the rows that bear it.
    spellings: BTreeMap<String, Vec<usize>>,
    water_rule: water::WaterRule,
    acid: Option<NitricAcid>,
    refused: refused::Refused,
}

/// What is known of a reactant before its row is read.
#[derive(Debug, Clone)]
struct Slot {
    id: Cow<'static, str>,
    /// It without its crystal water.
    salt: Formula,
    row: Written,
    /// The row as it is handed out.
    reactant: OnceLock<Reactant>,
}

#[derive(Debug, Clone)]
enum Written {
    /// Name of the file, and the row.
    Prepared(&'static str, PreparedReactant),
    Own(Box<Reactant>),
}

/// The files of reactants in the order in which they are listed.
const FILES: [&str; 6] = [
    "reactants/oxidisers.toml",
    "reactants/fuels.toml",
    "reactants/further.toml",
    "reactants/lower_hydrates.toml",
    "reactants/others.toml",
    "reactants/special_sources.toml",
];

impl Slot {
    fn prepared(file: &'static str, row: PreparedReactant) -> Result<Self, TableError> {
        let wrong = |error| TableFile::built_in(file).error(row.id, Fault::Written(error));
        let formula = Formula::parse(row.formula).map_err(|error| wrong(error.to_string()))?;
        Ok(Self {
            id: Cow::Borrowed(row.id),
            salt: formula.anhydrous(),
            row: Written::Prepared(file, row),
            reactant: OnceLock::new(),
        })
    }

    fn own(row: Reactant) -> Self {
        Self {
            id: Cow::Owned(row.id.clone()),
            salt: row.formula.anhydrous(),
            row: Written::Own(Box::new(row)),
            reactant: OnceLock::new(),
        }
    }

    /// The row as it is written; the tests read every built-in one.
    fn written(&self) -> Reactant {
        match &self.row {
            Written::Own(row) => Reactant::clone(row),
            Written::Prepared(file, row) => check::read_row(&TableFile::built_in(file), row.json)
                .expect("the tests read every built-in reactant"),
        }
    }
}

impl Reactants {
    /// The tables that come with the program.
    pub(super) fn built_in() -> Result<Self, TableError> {
        let mut rows: Vec<Slot> = Vec::new();
        for file in FILES {
            check::read(&TableFile::built_in(file))?;
            for row in prepared_reactants(file) {
                rows.push(Slot::prepared(file, row)?);
            }
        }
        let mut tables = Self {
            rows,
            spellings: BTreeMap::new(),
            water_rule: water::WaterRule::built_in()?,
            acid: Some(NitricAcid::built_in()?),
            refused: refused::Refused::built_in()?,
        };
        tables.index();
        Ok(tables)
    }

    /// Adds a user's own files: a row with the id of an earlier one takes its place.
    pub(super) fn add(&mut self, own: &[TableFile]) -> Result<(), TableError> {
        for file in own {
            for (at, mut row) in check::read(file)?.into_iter().enumerate() {
                self.check_not_refused(file, at, &row)?;
                row.hazard_groups.extend(self.groups_of(&row.formula));
                row.hazard_groups.sort_unstable();
                row.hazard_groups.dedup();
                self.put(row);
            }
        }
        self.index();
        Ok(())
    }

    /// Hazard groups of everything tabulated with this composition: another name or a new row does
    /// not take a substance out of its groups.
    fn groups_of(&self, formula: &Formula) -> Vec<HazardGroup> {
        let dry = formula.anhydrous();
        let mut groups: Vec<HazardGroup> = self
            .of_salt(|salt| salt.same_composition(&dry))
            .flat_map(|row| row.hazard_groups.iter().copied())
            .collect();
        if acid::is_nitric_acid(&dry) {
            groups.push(HazardGroup::NitricAcid);
        }
        groups
    }

    /// A table of one's own cannot lift a refusal.
    fn check_not_refused(
        &self,
        file: &TableFile,
        at: usize,
        row: &Reactant,
    ) -> Result<(), TableError> {
        let formula = row.formula.to_string();
        let spellings = [&row.id, &row.name, &formula].into_iter();
        let all = spellings.chain(&row.aliases).chain(&row.cas);
        for spelling in all {
            if let Some(reason) = self.refused.reason(spelling) {
                let what = format!(
                    "\"{spelling}\" is refused, in a table of your own too: {reason}; remove the row"
                );
                let fault = Fault::incomplete(what);
                return Err(file.error_of_row("reactant", at, &row.id, fault));
            }
        }
        Ok(())
    }

    fn put(&mut self, reactant: Reactant) {
        match self.rows.iter_mut().find(|old| old.id == reactant.id) {
            Some(old) => *old = Slot::own(reactant),
            None => self.rows.push(Slot::own(reactant)),
        }
    }

    /// Works out what is looked up by. What was read before an own row came in is read again.
    fn index(&mut self) {
        self.spellings.clear();
        for (at, slot) in self.rows.iter_mut().enumerate() {
            slot.reactant = OnceLock::new();
            let mut note = |name: &str| {
                let rows = self
                    .spellings
                    .entry(spelling::normalized(name))
                    .or_default();
                if rows.last() != Some(&at) {
                    rows.push(at);
                }
            };
            match &slot.row {
                Written::Prepared(_, row) => {
                    let names = row.aliases.iter().copied();
                    names.chain([row.name, row.id, row.formula]).for_each(note);
                }
                Written::Own(row) => {
                    let names = row.aliases.iter().chain([&row.name, &row.id]);
                    names.for_each(|name| note(name));
                    note(&row.formula.to_string());
                }
            }
        }
    }

    /// Every reactant in the order of the tables.
    pub fn iter(&self) -> impl Iterator<Item = &Reactant> {
        self.rows.iter().map(|slot| self.reactant(slot))
    }

    /// The reactants whose dry formula fits, in the order of the tables.
    fn of_salt(&self, fits: impl Fn(&Formula) -> bool) -> impl Iterator<Item = &Reactant> {
        let slots = self.rows.iter().filter(move |slot| fits(&slot.salt));
        slots.map(|slot| self.reactant(slot))
    }

    fn by_id(&self, id: &str) -> Option<&Reactant> {
        let slot = self.rows.iter().find(|slot| slot.id == id);
        slot.map(|slot| self.reactant(slot))
    }

    /// The row, with the solubility of its salt: that is stated once, on the anhydrous basis, and
    /// its other hydrates get it too.
    fn reactant<'a>(&'a self, slot: &'a Slot) -> &'a Reactant {
        slot.reactant.get_or_init(|| {
            let mut row = slot.written();
            if row.solubility.is_none() {
                let same = |other: &&Slot| other.salt.amounts() == slot.salt.amounts();
                let others = self.rows.iter().filter(same);
                let mut stated = others.filter_map(|other| other.written().solubility);
                row.solubility = stated.find(|own| own.basis == Basis::Anhydrous);
            }
            row
        })
    }

    /// Nitric acid as a solution of any strength.
    pub fn nitric_acid(&self) -> Option<&NitricAcid> {
        self.acid.as_ref()
    }
}
