//! Solubility in water against temperature, and the water that a hydrate needs.

use crate::quantity::units::{degree_celsius, kelvin, ratio};
use crate::quantity::{Ratio, ThermodynamicTemperature};
use crate::source::{Seen, SourceId};
use serde::Deserialize;

/// Farthest from a lone tabulated point at which its value may still be used, in K.
const LONE_POINT_REACH: f64 = 5.0;

/// What a solubility counts as dissolved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum Basis {
    /// The salt without crystal water; all crystal water counts as solvent.
    #[serde(rename = "anhydrous")]
    Anhydrous,
    /// The substance as written.
    #[serde(rename = "as written")]
    AsWritten,
}

/// A solubility curve.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "super::check::WrittenSolubility")]
pub struct Solubility {
    /// Temperature (rising) and mass fraction of the dissolved substance in the saturated
    /// solution, 0 to 1.
    pub points: Vec<(ThermodynamicTemperature, Ratio)>,
    /// What counts as dissolved.
    pub basis: Basis,
    /// Mixes with water in all proportions.
    pub miscible: bool,
    /// Why the curve falls somewhere, if it does.
    pub falling: Option<String>,
    /// What is known in words.
    pub note: String,
    /// Where it was read.
    pub source: SourceId,
    /// Row or page.
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

/// Why no solubility can be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum SolubilityError {
    #[error("the tables hold no solubility of {name} in water{}", remark(.note))]
    Unknown { name: String, note: String },
    #[error(
        "the solubility of {name} is known from {from_c:.0} °C to {to_c:.0} °C only, \
         not at {asked_c:.1} °C"
    )]
    OutOfRange {
        name: String,
        from_c: f64,
        to_c: f64,
        asked_c: f64,
    },
}

fn remark(note: &str) -> String {
    if note.is_empty() {
        String::new()
    } else {
        format!(" ({note})")
    }
}

impl Solubility {
    /// Temperatures between which the curve is known.
    pub fn range(&self) -> Option<(ThermodynamicTemperature, ThermodynamicTemperature)> {
        Some((self.points.first()?.0, self.points.last()?.0))
    }

    /// Mass fraction of the dissolved substance in the saturated solution at `temperature`,
    /// linear in the mass fraction between tabulated temperatures. A curve of one point holds
    /// within 5 K of it. `name` is named in errors.
    pub fn mass_fraction(
        &self,
        name: &str,
        temperature: ThermodynamicTemperature,
    ) -> Result<Ratio, SolubilityError> {
        let t = temperature.get::<kelvin>();
        let (Some(first), Some(last)) = (self.points.first(), self.points.last()) else {
            return Err(SolubilityError::Unknown {
                name: name.to_owned(),
                note: self.note.clone(),
            });
        };
        let lone = self.points.len() == 1;
        let reach = if lone { LONE_POINT_REACH } else { 0.0 };
        let (low, high) = (first.0.get::<kelvin>(), last.0.get::<kelvin>());
        // 1e-9 K: a temperature that was read as 100 °C shall not fall off the end by rounding.
        if !(low - reach - 1e-9..=high + reach + 1e-9).contains(&t) {
            return Err(SolubilityError::OutOfRange {
                name: name.to_owned(),
                from_c: first.0.get::<degree_celsius>(),
                to_c: last.0.get::<degree_celsius>(),
                asked_c: temperature.get::<degree_celsius>(),
            });
        }
        if lone {
            return Ok(first.1);
        }
        let i = self
            .points
            .partition_point(|p| p.0.get::<kelvin>() < t)
            .clamp(1, self.points.len() - 1);
        let (a, b) = (&self.points[i - 1], &self.points[i]);
        let (ta, tb) = (a.0.get::<kelvin>(), b.0.get::<kelvin>());
        let share = ((t - ta) / (tb - ta)).clamp(0.0, 1.0);
        Ok(a.1 + (b.1 - a.1) * share)
    }

    /// Mass of the dissolved substance per mass of water in the saturated solution.
    pub fn per_water(
        &self,
        name: &str,
        temperature: ThermodynamicTemperature,
    ) -> Result<Ratio, SolubilityError> {
        let w = self.mass_fraction(name, temperature)?.get::<ratio>();
        Ok(Ratio::new::<ratio>(w / (1.0 - w)))
    }
}
