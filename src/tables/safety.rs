//! The tables of the safety side together: vessels, fumes, limits, toxic elements, cautions.

use super::TableError;
use super::cautions::{self, Condition, Rule};
use super::fumes::{self, FumeTable};
use super::limits::{self, ExposureLimit};
use super::toxic::{self, ToxicElement};
use super::vessels::{self, Vessels};
use crate::source::Bibliography;

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
