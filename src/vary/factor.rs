//! What can be swept: its name, its unit, how a level is read, and the batch at a level.

use super::error::VaryError;
use crate::batch::{Batch, WaterAtIgnition};
use crate::formula::Element;
use crate::product::expected_product;
use crate::quantity::units::{
    degree_celsius, gram, gram_per_cubic_centimeter, milliliter, percent, ratio,
};
use crate::quantity::{AmountOfSubstance, Mass, Ratio, ThermodynamicTemperature, Volume, parse};
use crate::redox::valence;
use crate::tables::{Reactant, Role, Tables};
use std::fmt;
use std::ops::RangeInclusive;
use std::sync::Arc;

/// Density of water at 25 °C in g/cm³: 0.997 05, rounded.
const WATER_DENSITY: f64 = 0.997;

/// One thing about a batch that a sweep changes.
#[derive(Debug, Clone, PartialEq)]
pub enum Factor {
    /// The equivalence ratio φ; all fuels keep their proportions.
    FuelRatio,
    /// Added water; matters as mixed and, if a share of all water is left, at ignition.
    Water,
    /// Share of all water, solvent and crystal water together, that is left at ignition.
    WaterLeft,
    /// Share of one fuel in the reducing valence of all fuels.
    FuelShare(Arc<Reactant>),
    /// Share of the heat of combustion that is lost.
    Loss,
    /// Temperature of the batch when the heat balance starts.
    Start,
    /// Mass of product; everything scales with it.
    Size,
    /// Share of the dopant among the atoms of dopant and host.
    Dopant {
        /// The dopant.
        dopant: Element,
        /// The element it replaces.
        host: Element,
    },
    /// Flux in mol per mol of target.
    Flux(Arc<Reactant>),
    /// Share of the surplus fuel's air that is drawn in.
    Air,
}

/// Names of the factors as a user gives them, with what may stand behind the colon.
pub const NAMES: [(&str, &str); 10] = [
    (
        "fuel-ratio",
        "equivalence ratio φ, fuel over oxidiser by valence: 0.5",
    ),
    ("water", "added water: \"10 mL\""),
    (
        "water-left",
        "share of all water left at ignition: \"20 %\"",
    ),
    (
        "fuel-share:FUEL",
        "share of FUEL in the reducing valence: \"40 %\"",
    ),
    ("loss", "share of the heat that is lost: \"10 %\""),
    ("start", "temperature at the start: \"25 °C\""),
    ("size", "mass of product: \"2 g\""),
    ("dopant:X/Y", "share of X on the sites of Y: \"2 %\""),
    ("flux:FLUX", "mol of FLUX per mol of target: \"5 %\""),
    (
        "air",
        "share of the surplus fuel's air that is drawn in: \"25 %\"",
    ),
];

impl Factor {
    /// The factor that `name` means for `batch`. Behind a colon stands the fuel, the dopant and the
    /// element it replaces, or the flux; left out, it is taken from the batch if that is clear.
    ///
    /// # Errors
    /// [`VaryError`] if there is no such factor, or the batch does not have what it moves.
    pub fn read(name: &str, batch: &Batch, tables: &Tables) -> Result<Self, VaryError> {
        let (kind, what) = match name.split_once(':') {
            Some((kind, what)) => (kind.trim(), Some(what.trim())),
            None => (name.trim(), None),
        };
        let plain = |factor| match what {
            None => Ok(factor),
            Some(_) => Err(VaryError::Qualifier {
                factor: kind.to_owned(),
            }),
        };
        match kind {
            "fuel-ratio" => plain(Self::FuelRatio),
            "water" => plain(Self::Water),
            "water-left" => plain(Self::WaterLeft),
            "loss" => plain(Self::Loss),
            "start" => plain(Self::Start),
            "size" => plain(Self::Size),
            "air" => plain(Self::Air),
            "fuel-share" => fuel(what, batch, tables).map(Self::FuelShare),
            "flux" => flux(what, batch, tables).map(Self::Flux),
            "dopant" => dopant(what, batch),
            _ => Err(VaryError::UnknownFactor {
                name: name.to_owned(),
                close: crate::names::closest(kind, NAMES.iter().map(|(n, _)| kind_of(n)))
                    .map(str::to_owned),
                known: NAMES.map(|(name, _)| name).join(", "),
            }),
        }
    }

    /// Unit of its levels; empty for a ratio.
    pub fn unit(&self) -> &'static str {
        match self {
            Self::FuelRatio => "",
            Self::Water => "mL",
            Self::Start => "°C",
            Self::Size => "g",
            _ => "%",
        }
    }

    /// Name for a key or a column, with the unit.
    pub fn key(&self) -> &'static str {
        match self {
            Self::FuelRatio => "equivalence_ratio",
            Self::Water => "added_water_ml",
            Self::WaterLeft => "water_left_percent",
            Self::FuelShare(_) => "fuel_share_percent",
            Self::Loss => "heat_loss_percent",
            Self::Start => "start_celsius",
            Self::Size => "size_g",
            Self::Dopant { .. } => "dopant_percent",
            Self::Flux(_) => "flux_mol_percent",
            Self::Air => "air_drawn_in_percent",
        }
    }

    /// Levels that make sense.
    pub fn range(&self) -> RangeInclusive<f64> {
        match self {
            Self::FuelRatio => 0.02..=20.0,
            Self::Water => 0.0..=2000.0,
            Self::Start => -20.0..=300.0,
            Self::Size => 1e-3..=100.0,
            Self::Loss => 0.0..=95.0,
            _ => 0.0..=100.0,
        }
    }

    /// Reads a level with its unit.
    ///
    /// # Errors
    /// [`VaryError`] if the text is no such quantity or out of range.
    pub fn level(&self, text: &str) -> Result<f64, VaryError> {
        let read = match self {
            Self::FuelRatio => parse::ratio(text).map(|q| q.get::<ratio>()),
            Self::Water => parse::volume(text).map(|q| q.get::<milliliter>()),
            Self::Start => parse::temperature(text).map(|q| q.get::<degree_celsius>()),
            Self::Size => parse::mass(text).map(|q| q.get::<gram>()),
            _ => parse::ratio(text).map(|q| q.get::<percent>()),
        };
        let level = read.map_err(|source| VaryError::Level {
            factor: self.to_string(),
            source,
        })?;
        let range = self.range();
        if range.contains(&level) {
            Ok(level)
        } else {
            Err(VaryError::OutOfRange {
                factor: self.to_string(),
                level,
                low: *range.start(),
                high: *range.end(),
                unit: self.unit(),
            })
        }
    }

    /// The batch at a level, in [`Factor::unit`].
    ///
    /// # Errors
    /// [`VaryError`] if the batch cannot be changed that way.
    pub fn at(&self, level: f64, batch: &Batch, tables: &Tables) -> Result<Batch, VaryError> {
        let share = Ratio::new::<percent>(level);
        let mut changed = batch.clone();
        match self {
            Self::FuelRatio => return Ok(batch.with_equivalence_ratio(Ratio::new::<ratio>(level))?),
            Self::FuelShare(fuel) => return Ok(batch.with_fuel_share(&fuel.id, share)?),
            Self::Dopant { dopant, host } => {
                return Ok(batch.with_dopant(*dopant, *host, share)?);
            }
            Self::Flux(flux) => return Ok(batch.with_flux(flux, share)?),
            Self::Water => {
                let solvent = tables.reactants.find("water")?;
                return Ok(batch.with_added_water(water_in(level), solvent));
            }
            Self::Size => {
                let mass: Ratio = Mass::new::<gram>(level) / expected_product(batch, tables)?.mass;
                return Ok(batch.scaled(mass.get::<ratio>()));
            }
            Self::WaterLeft => changed.water_at_ignition = WaterAtIgnition::Fraction(share),
            Self::Loss => changed.conditions.heat_loss = share,
            Self::Start => {
                changed.conditions.start = ThermodynamicTemperature::new::<degree_celsius>(level);
            }
            Self::Air => changed.conditions.air_drawn_in = share,
        }
        Ok(changed)
    }

    /// Elements that the factor can bring into the batch.
    pub(super) fn elements(&self) -> Vec<Element> {
        match self {
            Self::Dopant { dopant, host } => vec![*dopant, *host],
            Self::Flux(flux) => flux.formula.amounts().keys().copied().collect(),
            _ => Vec::new(),
        }
    }
}

impl fmt::Display for Factor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::FuelRatio => f.write_str("fuel ratio φ"),
            Self::Water => f.write_str("added water"),
            Self::WaterLeft => f.write_str("water left at ignition"),
            Self::FuelShare(fuel) => write!(f, "share of {}", fuel.name),
            Self::Loss => f.write_str("heat lost"),
            Self::Start => f.write_str("start temperature"),
            Self::Size => f.write_str("mass of product"),
            Self::Dopant { dopant, host } => write!(f, "{dopant} for {host}"),
            Self::Flux(flux) => write!(f, "{} per mol of target", flux.name),
            Self::Air => f.write_str("air drawn in"),
        }
    }
}

fn kind_of(name: &str) -> &str {
    name.split(':').next().unwrap_or(name)
}

fn water_in(level_ml: f64) -> AmountOfSubstance {
    let density = crate::quantity::MassDensity::new::<gram_per_cubic_centimeter>(WATER_DENSITY);
    let mass: Mass = Volume::new::<milliliter>(level_ml) * density;
    mass / crate::batch::water_molar_mass()
}

/// The fuel whose share moves: the one named, else the first fuel of the file.
fn fuel(what: Option<&str>, batch: &Batch, tables: &Tables) -> Result<Arc<Reactant>, VaryError> {
    let fuels: Vec<&Arc<Reactant>> = batch
        .ingredients
        .iter()
        .map(|i| &i.reactant)
        .filter(|r| {
            r.role == Role::Fuel && valence(&r.formula, &batch.states).is_ok_and(|v| v > 0.0)
        })
        .collect();
    let Some(what) = what else {
        return match fuels[..] {
            [first, _, ..] => Ok(Arc::clone(first)),
            _ => Err(VaryError::OneFuel),
        };
    };
    let id = &tables.reactants.find(what)?.id;
    let found = fuels.iter().find(|fuel| fuel.id == *id);
    found
        .map(|fuel| Arc::clone(fuel))
        .ok_or_else(|| VaryError::NotInBatch {
            what: what.to_owned(),
            kind: "fuel",
        })
}

/// The flux: the one named, else that of the file.
fn flux(what: Option<&str>, batch: &Batch, tables: &Tables) -> Result<Arc<Reactant>, VaryError> {
    match what {
        Some(what) => Ok(Arc::new(tables.reactants.find(what)?.clone())),
        None => batch
            .ingredients
            .iter()
            .map(|i| &i.reactant)
            .find(|r| r.role == Role::Flux)
            .map(Arc::clone)
            .ok_or(VaryError::NoFlux),
    }
}

/// `X/Y`: dopant X on the sites of Y.
fn dopant(what: Option<&str>, batch: &Batch) -> Result<Factor, VaryError> {
    let text = what.ok_or(VaryError::DopantUnclear)?;
    let (dopant, host) = text.split_once('/').ok_or(VaryError::DopantUnclear)?;
    let element = |symbol: &str| {
        let element = Element::from_symbol(symbol.trim()).ok_or(VaryError::DopantUnclear)?;
        if batch.dry_elements().contains_key(&element) {
            Ok(element)
        } else {
            Err(VaryError::NotInBatch {
                what: symbol.trim().to_owned(),
                kind: "element",
            })
        }
    };
    let (dopant, host) = (element(dopant)?, element(host)?);
    if dopant == host {
        return Err(VaryError::DopantUnclear);
    }
    Ok(Factor::Dopant { dopant, host })
}
