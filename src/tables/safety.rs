//! The tables of the safety side together: vessels, fumes, limits, toxic elements, cautions.

use super::cautions::{self, Condition, Rule};
use super::error::{Fault, TableError};
use super::fumes::FumeTable;
use super::limits::{self, ExposureLimit};
use super::read::TableFile;
use super::toxic::{self, ToxicElement};
use super::vessels::{self, Vessels};
use crate::source::Bibliography;
use std::path::Path;

/// Everything that the vessel check, the fumes and the cautions rest on.
#[derive(Debug, Clone, PartialEq)]
pub struct SafetyTables {
    /// Vessels, materials, how fuels behave.
    pub vessels: Vessels,
    /// Brackets of fumes.
    pub fumes: FumeTable,
    /// Exposure limits.
    pub limits: Vec<ExposureLimit>,
    /// Toxic elements.
    pub toxic: Vec<ToxicElement>,
    /// Cautions.
    pub rules: Vec<Rule>,
}

impl SafetyTables {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let cautions = TableFile::built_in("cautions.toml");
        let tables = Self {
            vessels: vessels::read(&TableFile::built_in("vessels.toml"), None)?,
            fumes: FumeTable::built_in()?,
            limits: limits::read(&TableFile::built_in("exposure_limits.toml"))?,
            toxic: toxic::read(&TableFile::built_in("toxic.toml"))?,
            rules: cautions::read(&cautions)?,
        };
        tables.check_classes(&cautions)?;
        Ok(tables)
    }

    /// Adds the files of a user's folder: `vessels.toml` (materials, vessels and fuels of the same
    /// name take the place of the built-in ones), `exposure_limits.toml`, `toxic.toml` and
    /// `cautions.toml`. Limits, toxic elements and cautions only ever come on top; a built-in
    /// caution can be made more serious, but neither removed nor softened.
    ///
    /// # Errors
    /// [`TableError`] if a file cannot be read or a row breaks a rule.
    pub fn add_directory(
        &mut self,
        directory: &Path,
        sources: &Bibliography,
    ) -> Result<(), TableError> {
        let file = |name: &str| TableFile::optional(directory, name, sources);
        if let Some(file) = file("vessels.toml")? {
            self.vessels = vessels::read(&file, Some(&self.vessels))?;
        }
        if let Some(file) = file("exposure_limits.toml")? {
            self.limits.extend(limits::read(&file)?);
        }
        if let Some(file) = file("toxic.toml")? {
            self.toxic.extend(toxic::read(&file)?);
        }
        if let Some(file) = file("cautions.toml")? {
            let rules = cautions::read(&file)?;
            for at in 0..rules.len() {
                self.add_rule(&rules, at, &file)?;
            }
            self.check_classes(&file)?;
        }
        Ok(())
    }

    fn add_rule(&mut self, rules: &[Rule], at: usize, file: &TableFile) -> Result<(), TableError> {
        let rule = rules[at].clone();
        let Some(old) = self.rules.iter_mut().find(|old| old.id == rule.id) else {
            self.rules.push(rule);
            return Ok(());
        };
        let same_conditions = old.when == rule.when && old.group == rule.group;
        if rule.severity > old.severity || !same_conditions {
            let fault = Fault::incomplete(
                "would soften a built-in caution; keep its conditions and at least its \
                 severity, or take another id",
            );
            return Err(file.row_error(rules, at, fault));
        }
        *old = rule;
        Ok(())
    }

    /// Refuses a rule about a class that no toxic element has: it could never hold.
    fn check_classes(&self, file: &TableFile) -> Result<(), TableError> {
        for rule in &self.rules {
            for condition in &rule.when {
                let Condition::Toxic(class) = condition else {
                    continue;
                };
                if !self.toxic.iter().any(|row| &row.class == class) {
                    return Err(file.error(&rule.id, Fault::Reference(class.clone())));
                }
            }
        }
        Ok(())
    }
}
