//! Volume-measuring glass and piston pipettes: limits of error by standard, class and size.

use super::TableError;
use super::value::{RawValue, Reading};
use crate::quantity::{Mass, Ratio, TemperatureInterval, Volume};
use crate::source::{Bibliography, Sourced};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;
use uom::si::mass::gram;
use uom::si::ratio::percent;
use uom::si::temperature_interval::kelvin;
use uom::si::volume::milliliter;

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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
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
        f.pad(match self {
            Self::Iso => "ISO",
            Self::Astm => "ASTM",
        })
    }
}

/// Accuracy class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
pub enum AccuracyClass {
    /// The finer class (A or AS).
    A,
    /// General purpose.
    B,
}

impl fmt::Display for AccuracyClass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::A => "A",
            Self::B => "B",
        })
    }
}

/// One size of one kind.
#[derive(Debug, Clone, PartialEq)]
pub struct GlasswareLimit {
    /// Kind of piece.
    pub kind: GlasswareKind,
    /// Body of standards.
    pub standard: Standard,
    /// Accuracy class.
    pub class: AccuracyClass,
    /// Nominal volume at 20 °C.
    pub volume: Volume,
    /// Largest permitted deviation of the volume.
    pub tolerance: Sourced<Volume>,
    /// Largest permitted standard deviation (piston pipettes).
    pub random: Option<Sourced<Volume>>,
}

/// All limits with the rules for filling and for stock solutions.
#[derive(Debug, Clone, PartialEq)]
pub struct GlasswareTable {
    /// One row a kind, standard, class and size.
    pub limits: Vec<GlasswareLimit>,
    /// Divisor that makes a standard uncertainty of a tolerance.
    pub tolerance_divisor: Sourced<f64>,
    /// Standard deviation of filling a flask to its mark.
    pub filling_scatter: Sourced<Volume>,
    /// Standard deviation of filling and draining a pipette, as a share of its tolerance.
    pub pipette_scatter: Sourced<Ratio>,
    /// Half width of the band of temperature around 20 °C.
    pub temperature_band: Sourced<TemperatureInterval>,
    /// Cubic expansion of water, per kelvin.
    pub water_expansion: Sourced<f64>,
    /// Most dopant salt that goes into a stock solution.
    pub most_stock_mass: Sourced<Mass>,
    /// How often a pipette may be filled for one aliquot.
    pub most_fillings: Sourced<f64>,
    /// Largest share of the solubility that a stock may use up.
    pub most_saturation: Sourced<Ratio>,
    /// Least share of its nominal volume at which a piston pipette is used.
    pub least_piston_share: Sourced<Ratio>,
    /// Water that an aliquot may bring even where the batch is mixed with less.
    pub most_added_water: Sourced<Volume>,
    /// Relative error of a dopant amount that calls for no better plan.
    pub good_enough: Sourced<Ratio>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    filling: Filling,
    stock: Stock,
    glassware: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Filling {
    tolerance_divisor: RawValue,
    filling_scatter: RawValue,
    pipette_scatter: RawValue,
    temperature_band: RawValue,
    water_expansion: RawValue,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Stock {
    most_mass: RawValue,
    most_fillings: RawValue,
    most_saturation: RawValue,
    least_piston_share: RawValue,
    most_added_water: RawValue,
    good_enough: RawValue,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    kind: GlasswareKind,
    standard: Standard,
    class: AccuracyClass,
    volume: f64,
    tolerance: RawValue,
    random: Option<RawValue>,
}

/// Units a file of glassware has to name, and the only ones accepted.
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
    /// Reads the limits; `file` is named in errors.
    ///
    /// # Errors
    /// [`TableError`] if the text, a unit, a source or a number is wrong, or a size is there twice.
    pub(super) fn read(text: &str, file: &str, sources: &Bibliography) -> Result<Self, TableError> {
        let raw: File = super::parse_toml(text, file)?;
        let reading = Reading {
            file,
            text,
            sources,
        };
        reading.check_units(&raw.units, &UNITS)?;
        let value =
            |id: &str, raw: &RawValue, range| reading.value(id, reading.line_of(id), raw, range);
        let share = |id: &str, raw: &RawValue| {
            Ok::<_, TableError>(value(id, raw, (1e-6, 100.0))?.map(Ratio::new::<percent>))
        };
        let mut limits: Vec<GlasswareLimit> = Vec::new();
        for (row, line) in raw.glassware.iter().zip(reading.row_lines("[[glassware]]")) {
            let limit = row.limit(&reading, line)?;
            if limits.iter().any(|other| other.same_piece(&limit)) {
                return Err(TableError::Duplicate {
                    file: file.to_owned(),
                    line,
                    id: limit.id(),
                });
            }
            limits.push(limit);
        }
        let Filling {
            tolerance_divisor,
            filling_scatter,
            temperature_band,
            water_expansion,
            ..
        } = &raw.filling;
        Ok(Self {
            limits,
            tolerance_divisor: value("tolerance_divisor", tolerance_divisor, (1.0, 3.0))?,
            filling_scatter: value("filling_scatter", filling_scatter, (0.0, 1.0))?
                .map(Volume::new::<milliliter>),
            pipette_scatter: share("pipette_scatter", &raw.filling.pipette_scatter)?,
            temperature_band: value("temperature_band", temperature_band, (0.0, 30.0))?
                .map(TemperatureInterval::new::<kelvin>),
            water_expansion: value("water_expansion", water_expansion, (0.0, 1e-2))?,
            most_stock_mass: value("most_mass", &raw.stock.most_mass, (1e-3, 100.0))?
                .map(Mass::new::<gram>),
            most_fillings: value("most_fillings", &raw.stock.most_fillings, (1.0, 10.0))?,
            most_saturation: share("most_saturation", &raw.stock.most_saturation)?,
            least_piston_share: share("least_piston_share", &raw.stock.least_piston_share)?,
            most_added_water: value("most_added_water", &raw.stock.most_added_water, (0.0, 1e3))?
                .map(Volume::new::<milliliter>),
            good_enough: share("good_enough", &raw.stock.good_enough)?,
        })
    }

    /// The limit of a piece of this kind, standard, class and nominal volume.
    #[must_use]
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

impl GlasswareLimit {
    fn same_piece(&self, other: &Self) -> bool {
        self.kind == other.kind
            && self.standard == other.standard
            && self.class == other.class
            && same_volume(self.volume, other.volume)
    }

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
}

impl Row {
    fn limit(&self, reading: &Reading, line: usize) -> Result<GlasswareLimit, TableError> {
        let limit = |raw: &RawValue, id: &str| {
            // No limit of error in any of the standards is above a tenth of the volume.
            let most = self.volume / 10.0;
            Ok::<_, TableError>(
                reading
                    .value(id, line, raw, (f64::MIN_POSITIVE, most))?
                    .map(Volume::new::<milliliter>),
            )
        };
        if !(self.volume > 0.0 && self.volume <= 10_000.0) {
            return Err(TableError::Value {
                file: reading.file.to_owned(),
                line,
                id: self.kind.to_string(),
                quantity: "volume in mL".to_owned(),
                found: self.volume,
                expected: "but should be above 0 and up to 10000".to_owned(),
            });
        }
        if self.random.is_some() != (self.kind == GlasswareKind::Piston) {
            return Err(TableError::Incomplete {
                file: reading.file.to_owned(),
                line,
                id: self.kind.to_string(),
                missing: "needs `random` if, and only if, it is a piston pipette",
            });
        }
        let id = format!("{} mL {}", self.volume, self.kind);
        Ok(GlasswareLimit {
            kind: self.kind,
            standard: self.standard,
            class: self.class,
            volume: Volume::new::<milliliter>(self.volume),
            tolerance: limit(&self.tolerance, &id)?,
            random: self
                .random
                .as_ref()
                .map(|raw| limit(raw, &id))
                .transpose()?,
        })
    }
}
