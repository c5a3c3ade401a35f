//! Reactants: what goes into the pot. Nitrates, fuels, other metal sources, acid, flux, water.
//!
//! One row is one substance as it stands on the bottle, with its crystal water. The hydrates of
//! one salt are joined by their anhydrous formula into a [`Family`], from which the enthalpy of
//! any drier or wetter state is read or estimated. Every number carries its source.

mod acid;
mod audit;
mod check;
mod describe;
mod family;
mod group;
mod lookup;
mod reactant;
mod refused;
mod solubility;
mod strength;
mod water;

pub use acid::{AcidError, NitricAcid};
pub use audit::AuditLine;
pub use describe::{Content, PropertyRow};
pub use family::{Family, FamilyError, HydrateEstimate, HydrateMethod, InSolution};
pub use group::HazardGroup;
pub use lookup::LookupError;
pub use reactant::{
    Alternative, Assay, AssayBasis, Gases, Hazards, Melting, MetalContent, Reactant, Role, State,
    WaterRange,
};
pub use refused::Refusal;
pub use solubility::{Basis, Solubility, SolubilityError};

use super::error::{Fault, TableError};
use crate::formula::{Element, Formula};
use crate::tables::read::TableFile;
use std::collections::BTreeMap;

/// All reactants, with the rules that join the hydrates of a salt and the refused substances.
#[derive(Debug, Clone)]
pub struct Reactants {
    rows: Vec<Reactant>,
    /// Every spelling, normalized, with the rows that bear it.
    spellings: BTreeMap<String, Vec<usize>>,
    /// The rows without their crystal water, in the order of the rows.
    salts: Vec<Formula>,
    water_rule: water::WaterRule,
    acid: Option<NitricAcid>,
    refused: refused::Refused,
}

/// The files of reactants in the order in which they are listed.
const FILES: [&str; 5] = [
    "reactants/oxidisers.toml",
    "reactants/fuels.toml",
    "reactants/further.toml",
    "reactants/lower_hydrates.toml",
    "reactants/others.toml",
];

impl Reactants {
    /// The tables that come with the program, and a user's `own` files on top: a row with the id
    /// of an earlier one takes its place.
    ///
    /// # Errors
    /// [`TableError`] if a row is wrong, or if one of a user's own is a refused substance by its
    /// id, name, another name, formula or registry number.
    pub(super) fn load(own: &[TableFile]) -> Result<Self, TableError> {
        let mut rows: Vec<Reactant> = Vec::new();
        for file in FILES {
            rows.extend(check::read(&TableFile::built_in(file))?);
        }
        let mut tables = Self {
            rows,
            spellings: BTreeMap::new(),
            salts: Vec::new(),
            water_rule: water::WaterRule::built_in()?,
            acid: Some(NitricAcid::built_in()?),
            refused: refused::Refused::built_in()?,
        };
        for file in own {
            for (at, mut row) in check::read(file)?.into_iter().enumerate() {
                tables.check_not_refused(file, at, &row)?;
                row.hazard_groups.extend(tables.groups_of(&row.formula));
                row.hazard_groups.sort_unstable();
                row.hazard_groups.dedup();
                tables.put(row);
            }
        }
        tables.index();
        Ok(tables)
    }

    /// Hazard groups of everything tabulated with this composition: another name or a new row does
    /// not take a substance out of its groups.
    fn groups_of(&self, formula: &Formula) -> Vec<HazardGroup> {
        let dry = formula.anhydrous();
        let same = |row: &&Reactant| super::same_composition(&row.formula.anhydrous(), &dry);
        let mut groups: Vec<HazardGroup> = self
            .rows
            .iter()
            .filter(same)
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
            Some(old) => *old = reactant,
            None => self.rows.push(reactant),
        }
    }

    /// Works out what is looked up by: salts, shared solubilities, spellings.
    fn index(&mut self) {
        self.salts = self.rows.iter().map(|r| r.formula.anhydrous()).collect();
        self.share_solubility();
        self.spellings = lookup::spellings(&self.rows);
    }

    /// Every reactant in the order of the tables.
    pub fn iter(&self) -> impl Iterator<Item = &Reactant> {
        self.rows.iter()
    }

    /// Nitric acid as a solution of any strength.
    #[must_use]
    pub fn nitric_acid(&self) -> Option<&NitricAcid> {
        self.acid.as_ref()
    }

    /// The refused substances with the reasons.
    #[must_use]
    pub fn refusals(&self) -> &[Refusal] {
        &self.refused.classes
    }

    /// Solubility is stated once for a salt, on the anhydrous basis; its other hydrates get it too.
    fn share_solubility(&mut self) {
        let key = |salt: &Formula| -> Vec<(Element, u64)> {
            let amounts = salt.amounts().iter();
            amounts
                .map(|(element, n)| (*element, n.to_bits()))
                .collect()
        };
        let mut known = BTreeMap::new();
        for (row, salt) in self.rows.iter().zip(&self.salts) {
            let own = row.solubility.as_ref();
            if let Some(own) = own.filter(|s| s.basis == Basis::Anhydrous) {
                known.entry(key(salt)).or_insert_with(|| own.clone());
            }
        }
        for (row, salt) in self.rows.iter_mut().zip(&self.salts) {
            if row.solubility.is_none() {
                row.solubility = known.get(&key(salt)).cloned();
            }
        }
    }
}
