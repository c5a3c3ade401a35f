//! The tables of the safety side together: vessels, fumes, limits, toxic elements, cautions.

use super::cautions::{self, Condition, Rule};
use super::fumes::{self, FumeTable};
use super::limits::{self, ExposureLimit};
use super::toxic::{self, ToxicElement};
use super::vessels::{self, Vessels};
use super::{TableError, read_file};
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
    /// The tables that are built in.
    ///
    /// # Errors
    /// [`TableError`] if a row breaks a rule or cites a source that `sources` lacks.
    pub fn built_in(sources: &Bibliography) -> Result<Self, TableError> {
        let toxic = toxic::read(
            include_str!("../../tables/toxic.toml"),
            "toxic.toml",
            sources,
        )?;
        let rules = cautions::read(
            include_str!("../../tables/cautions.toml"),
            "cautions.toml",
            sources,
        )?;
        let tables = Self {
            vessels: vessels::read(
                include_str!("../../tables/vessels.toml"),
                "vessels.toml",
                sources,
                None,
            )?,
            fumes: fumes::read(
                include_str!("../../tables/fumes.toml"),
                "fumes.toml",
                sources,
            )?,
            limits: limits::read(
                include_str!("../../tables/exposure_limits.toml"),
                "exposure_limits.toml",
                sources,
            )?,
            toxic,
            rules,
        };
        tables.check_classes("cautions.toml")?;
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
        let file = |name: &str| -> Result<Option<(String, String)>, TableError> {
            let path = directory.join(name);
            if !path.exists() {
                return Ok(None);
            }
            Ok(Some((read_file(&path)?, path.display().to_string())))
        };
        if let Some((text, name)) = file("vessels.toml")? {
            self.vessels = vessels::read(&text, &name, sources, Some(&self.vessels))?;
        }
        if let Some((text, name)) = file("exposure_limits.toml")? {
            self.limits.extend(limits::read(&text, &name, sources)?);
        }
        if let Some((text, name)) = file("toxic.toml")? {
            self.toxic.extend(toxic::read(&text, &name, sources)?);
        }
        if let Some((text, name)) = file("cautions.toml")? {
            for rule in cautions::read(&text, &name, sources)? {
                self.add_rule(rule, &name)?;
            }
            self.check_classes(&name)?;
        }
        Ok(())
    }

    fn add_rule(&mut self, rule: Rule, file: &str) -> Result<(), TableError> {
        let Some(old) = self.rules.iter_mut().find(|old| old.id == rule.id) else {
            self.rules.push(rule);
            return Ok(());
        };
        let same_conditions = old.when == rule.when && old.group == rule.group;
        if rule.severity > old.severity || !same_conditions {
            return Err(TableError::Incomplete {
                file: file.to_owned(),
                line: 1,
                id: rule.id,
                missing: "would soften a built-in caution; keep its conditions and at least its \
                          severity, or take another id",
            });
        }
        *old = rule;
        Ok(())
    }

    /// Refuses a rule about a class that no toxic element has: it could never hold.
    fn check_classes(&self, file: &str) -> Result<(), TableError> {
        for rule in &self.rules {
            for condition in &rule.when {
                let Condition::Toxic(class) = condition else {
                    continue;
                };
                if !self.toxic.iter().any(|row| &row.class == class) {
                    return Err(TableError::Reference {
                        file: file.to_owned(),
                        line: 1,
                        id: rule.id.clone(),
                        other: class.clone(),
                    });
                }
            }
        }
        Ok(())
    }
}
