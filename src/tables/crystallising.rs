//! Recrystallising: which crystal comes, how foreign ions part, what to watch for:
//! `tables/crystallising.toml`.

use super::cited::{Cited, CitedBand};
use super::error::{Fault, TableError};
use super::reactants::Role;
use super::read::{Row, TableFile};
use super::unit::{DegreeCelsius, One, Share};
use crate::formula::{Element, Formula};
use crate::quantity::ThermodynamicTemperature;
use crate::source::{Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What holds for every recrystallisation.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CrystallisingAssumptions {
    /// Share of the hot solubility that is used.
    pub hot_saturation: Cited<Share>,
    /// Largest share of the salt that shall crystallise in one pass.
    pub most_yield: Cited<Share>,
    /// Mass of liquor that clings to the crystals, by their mass.
    pub adhering: CitedBand<Share>,
    /// Distribution coefficient of ions that do not fit the crystal.
    pub distribution: CitedBand<One>,
    /// Hottest solution.
    pub hottest: Cited<DegreeCelsius>,
}

/// The crystal that comes from a solution within a range of temperatures.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Crystal {
    /// The salt without its water.
    pub of: Formula,
    /// The crystal.
    pub comes: Formula,
    #[serde(deserialize_with = "super::cited::quantity::<DegreeCelsius, _>")]
    pub from: ThermodynamicTemperature,
    /// Up to this temperature.
    #[serde(deserialize_with = "super::cited::quantity::<DegreeCelsius, _>")]
    pub to: ThermodynamicTemperature,
    /// Key of the source.
    pub source: SourceId,
    /// What it says.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

impl Row for Crystal {
    const ARRAY: &'static str = "crystal";

    fn id(&self) -> String {
        self.comes.to_string()
    }

    fn check(&self) -> Result<(), Fault> {
        if self.comes.anhydrous().amounts() != self.of.amounts() {
            return Err(Fault::incomplete("`comes` should be a hydrate of `of`"));
        }
        if self.from >= self.to {
            return Err(Fault::incomplete("`from` should be below `to`"));
        }
        Ok(())
    }
}

/// Ions that enter the same crystal.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pair {
    /// Metals of the host salt.
    pub host: Vec<Element>,
    /// Foreign metals.
    pub foreign: Vec<Element>,
    /// Distribution coefficient: foreign over host in the crystal, by that in the liquor.
    pub distribution: CitedBand<One>,
}

impl Row for Pair {
    const ARRAY: &'static str = "pair";

    fn id(&self) -> String {
        let list: Vec<String> = self.host.iter().map(Element::to_string).collect();
        list.join(", ")
    }
}

/// Something to watch for or to do.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Salts without their water; every one if empty.
    pub of: Vec<Formula>,
    /// Only for reactants of this role.
    pub role: Option<Role>,
    /// Whether it is a danger, told first.
    #[serde(default)]
    pub danger: bool,
    pub says: String,
    /// Key of the source.
    pub source: SourceId,
}

impl Row for Step {
    const ARRAY: &'static str = "step";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        self.says.chars().take(40).collect()
    }
}

/// All of `tables/crystallising.toml`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CrystallisingTables {
    units: BTreeMap<String, String>,
    /// What holds for every one.
    pub assumed: CrystallisingAssumptions,
    /// Which crystal comes.
    #[serde(rename = "crystal")]
    pub crystals: Vec<Crystal>,
    /// Ions that enter the same crystal.
    #[serde(rename = "pair")]
    pub pairs: Vec<Pair>,
    /// What to watch for, in the order of the work.
    #[serde(rename = "step")]
    pub steps: Vec<Step>,
}

impl CrystallisingTables {
    /// Reads the built-in table.
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("crystallising.toml");
        let table: Self = file.parse()?;
        let units = [
            ("temperature", "degC"),
            ("distribution", "1"),
            ("share", "1"),
        ];
        file.check_units(&table.units, &units)?;
        file.check(&table.crystals)?;
        file.check(&table.pairs)?;
        file.check(&table.steps)?;
        Ok(table)
    }
}
