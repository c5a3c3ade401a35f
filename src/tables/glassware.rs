//! Volume-measuring glass and piston pipettes: limits of error by standard, class and size.

use super::cited::{Cited, quantity};
use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use super::unit::{Gram, KelvinStep, Millilitre, Number, PerKelvin, Percent};
use crate::quantity::Volume;
use crate::quantity::units::milliliter;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// What a piece of glassware does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum GlasswareKind {
    /// One-mark volumetric flask, adjusted to contain.
    Flask,
    /// One-mark (bulb) pipette, adjusted to deliver.
    Pipette,
    /// Adjustable piston pipette; its limits hold at every volume.
    Piston,
    /// Graduated measuring cylinder.
    Cylinder,
}

impl fmt::Display for GlasswareKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Flask => "flask",
            Self::Pipette => "pipette",
            Self::Piston => "piston pipette",
            Self::Cylinder => "cylinder",
        })
    }
}

/// Body of standards that a piece is made to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
pub enum Standard {
    /// International Organization for Standardization.
    #[serde(rename = "ISO")]
    Iso,
    /// ASTM International.
    #[serde(rename = "ASTM")]
    Astm,
}

impl fmt::Display for Standard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// Accuracy class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
pub enum AccuracyClass {
    /// The finer class (A or AS).
    A,
    /// General purpose.
    B,
}

impl fmt::Display for AccuracyClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// One size of one kind.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GlasswareLimit {
    /// Kind of piece.
    pub kind: GlasswareKind,
    /// Body of standards.
    pub standard: Standard,
    pub class: AccuracyClass,
    /// Nominal volume at 20 °C.
    #[serde(deserialize_with = "quantity::<Millilitre, _>")]
    pub volume: Volume,
    /// Largest permitted deviation of the volume.
    pub tolerance: Cited<Millilitre>,
    /// Largest permitted standard deviation (piston pipettes).
    pub random: Option<Cited<Millilitre>>,
}

/// All limits with the rules for filling and for stock solutions.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GlasswareTable {
    units: BTreeMap<String, String>,
    /// How a piece is filled.
    pub filling: FillingRules,
    /// How stock solutions are planned.
    pub stock: StockRules,
    /// One row a kind, standard, class and size.
    #[serde(rename = "glassware")]
    pub limits: Vec<GlasswareLimit>,
}

/// How a piece is filled.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FillingRules {
    /// Divisor that makes a standard uncertainty of a tolerance.
    pub tolerance_divisor: Cited<Number>,
    /// Standard deviation of filling a flask to its mark.
    pub filling_scatter: Cited<Millilitre>,
    /// Standard deviation of filling and draining a pipette, as a share of its tolerance.
    pub pipette_scatter: Cited<Percent>,
    /// Half width of the band of temperature around 20 °C.
    pub temperature_band: Cited<KelvinStep>,
    /// Cubic expansion of water, per kelvin.
    pub water_expansion: Cited<PerKelvin>,
}

/// How stock solutions are planned.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StockRules {
    /// Most dopant salt that goes into a stock solution.
    pub most_mass: Cited<Gram>,
    /// How often a pipette may be filled for one aliquot.
    pub most_fillings: Cited<Number>,
    /// Largest share of the solubility that a stock may use up.
    pub most_saturation: Cited<Percent>,
    /// Least share of its nominal volume at which a piston pipette is used.
    pub least_piston_share: Cited<Percent>,
    /// Water that an aliquot may bring even where the batch is mixed with less.
    pub most_added_water: Cited<Millilitre>,
    /// Relative error of a dopant amount that calls for no better plan.
    pub good_enough: Cited<Percent>,
}

/// Units of a file of glassware.
const UNITS: [(&str, &str); 7] = [
    ("volume", "mL"),
    ("tolerance", "mL"),
    ("random", "mL"),
    ("temperature", "K"),
    ("expansion", "1/K"),
    ("mass", "g"),
    ("share", "%"),
];

impl GlasswareTable {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("glassware.toml");
        let table: Self = file.parse()?;
        file.check_units(&table.units, &UNITS)?;
        file.check(&table.limits)?;
        for (name, number, range) in [
            (
                "tolerance_divisor",
                &table.filling.tolerance_divisor,
                1.0..=3.0,
            ),
            ("most_fillings", &table.stock.most_fillings, 1.0..=10.0),
        ] {
            if !range.contains(&number.value) {
                let expected = format!("it should be from {} to {}", range.start(), range.end());
                return Err(file.error(name, Fault::value("value", number.value, expected)));
            }
        }
        Ok(table)
    }

    /// The limit of a piece of this kind, standard, class and nominal volume.
    pub fn limit(
        &self,
        kind: GlasswareKind,
        standard: Standard,
        class: AccuracyClass,
        volume: Volume,
    ) -> Option<&GlasswareLimit> {
        self.limits.iter().find(|limit| {
            limit.kind == kind
                && limit.standard == standard
                && limit.class == class
                && same_volume(limit.volume, volume)
        })
    }

    /// Nominal volumes of a kind, standard and class, in the order of the table.
    pub fn volumes(
        &self,
        kind: GlasswareKind,
        standard: Standard,
        class: AccuracyClass,
    ) -> impl Iterator<Item = Volume> + '_ {
        self.limits
            .iter()
            .filter(move |l| l.kind == kind && l.standard == standard && l.class == class)
            .map(|limit| limit.volume)
    }
}

/// Nominal volumes are decimal numbers: equal within rounding.
fn same_volume(a: Volume, b: Volume) -> bool {
    (a.get::<milliliter>() / b.get::<milliliter>() - 1.0).abs() < 1e-9
}

impl Row for GlasswareLimit {
    const ARRAY: &'static str = "glassware";

    fn id(&self) -> String {
        let Self {
            kind,
            standard,
            class,
            volume,
            ..
        } = self;
        format!(
            "{} mL {kind}, {standard} class {class}",
            volume.get::<milliliter>()
        )
    }

    fn check(&self) -> Result<(), Fault> {
        if self.random.is_some() != (self.kind == GlasswareKind::Piston) {
            return Err(Fault::incomplete(
                "needs `random` if, and only if, it is a piston pipette",
            ));
        }
        // No limit of error in any of the standards is above a tenth of the volume.
        let most = self.volume / 10.0;
        for limit in [Some(&self.tolerance), self.random.as_ref()]
            .into_iter()
            .flatten()
        {
            if limit.written() <= 0.0 || limit.value > most {
                let expected = "it should be above zero and at most a tenth of the volume";
                return Err(Fault::value("limit in mL", limit.written(), expected));
            }
        }
        Ok(())
    }
}
