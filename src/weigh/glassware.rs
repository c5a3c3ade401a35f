//! How well a flask or a pipette measures.
//!
//! Flask: tolerance / √6 (triangular), filling scatter, and the thermal expansion between making
//! up and drawing. Pipette: tolerance / √6 once per filling, always to the same side, and a
//! filling scatter. Piston pipette: systematic limit / √3 to the same side, random limit as a
//! standard deviation; both hold at every volume that can be set.
//!
//! Source: EURACHEM/CITAC, Quantifying Uncertainty in Analytical Measurement, example A1, for the
//! flask; the pipettes follow the same pattern.

use crate::quantity::units::{kelvins, milliliter, ratio};
use crate::quantity::{Ratio, Volume};
use crate::tables::glassware::{
    AccuracyClass, GlasswareKind, GlasswareLimit, GlasswareTable, Standard,
};
use thiserror::Error;

/// Why a piece of glassware cannot be judged.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum GlasswareError {
    #[error("{standard} class {class} has no {kind} of {volume_ml} mL; sizes in mL: {sizes}")]
    UnknownSize {
        kind: GlasswareKind,
        standard: Standard,
        class: AccuracyClass,
        volume_ml: f64,
        sizes: String,
    },
}

/// A volume in mL without the rounding of its conversion.
fn tidy(volume: Volume) -> f64 {
    (volume.get::<milliliter>() * 1e6).round() / 1e6
}

/// A piece of glassware at hand, with its limits of error.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece<'a> {
    /// Its row in the table.
    pub limit: &'a GlasswareLimit,
    table: &'a GlasswareTable,
}

impl<'a> Piece<'a> {
    /// Looks a piece up. Piston pipettes have one standard and one class.
    ///
    /// # Errors
    /// [`GlasswareError::UnknownSize`] if the table has no such size.
    pub fn find(
        table: &'a GlasswareTable,
        kind: GlasswareKind,
        standard: Standard,
        class: AccuracyClass,
        volume: Volume,
    ) -> Result<Self, GlasswareError> {
        let (standard, class) = match kind {
            GlasswareKind::Piston => (Standard::Iso, AccuracyClass::A),
            _ => (standard, class),
        };
        let limit = table.limit(kind, standard, class, volume).ok_or_else(|| {
            let sizes: Vec<String> = table
                .volumes(kind, standard, class)
                .map(|v| tidy(v).to_string())
                .collect();
            GlasswareError::UnknownSize {
                kind,
                standard,
                class,
                volume_ml: tidy(volume),
                sizes: sizes.join(", "),
            }
        })?;
        Ok(Self { limit, table })
    }

    /// Nominal volume.
    pub fn volume(&self) -> Volume {
        self.limit.volume
    }

    /// Standard uncertainty of the volume that a flask holds when filled to the mark.
    pub fn flask_uncertainty(&self) -> Volume {
        let volume_ml = self.limit.volume.get::<milliliter>();
        let tolerance = self.limit.tolerance.value.get::<milliliter>()
            / self.table.filling.tolerance_divisor.value;
        let scatter = self.table.filling.filling_scatter.value.get::<milliliter>();
        // √3: even distribution of the temperature over the band.
        let expansion = volume_ml
            * self.table.filling.water_expansion.value
            * self.table.filling.temperature_band.value.get::<kelvins>()
            / 3.0_f64.sqrt();
        Volume::new::<milliliter>(tolerance.hypot(scatter).hypot(expansion))
    }

    /// Standard uncertainty of the volume delivered by `fillings` fillings of a pipette; of a
    /// piston pipette at any volume it can be set to.
    pub fn delivery_uncertainty(&self, fillings: u32) -> Volume {
        let n = f64::from(fillings);
        let tolerance = self.limit.tolerance.value.get::<milliliter>();
        let (systematic, random) = match &self.limit.random {
            Some(random) => (tolerance / 3.0_f64.sqrt(), random.value.get::<milliliter>()),
            None => (
                tolerance / self.table.filling.tolerance_divisor.value,
                tolerance * self.table.filling.pipette_scatter.value.get::<ratio>(),
            ),
        };
        // To the same side every time: grows with n; scatter: with √n.
        Volume::new::<milliliter>((n * systematic).hypot(n.sqrt() * random))
    }

    /// Volumes at which the pipette is used for one filling: the nominal one, and for a piston
    /// pipette also 75, 50, 25 and 10 % of it as far as the table's least share allows.
    pub fn settings(&self) -> Vec<Volume> {
        let nominal = self.limit.volume;
        if self.limit.kind != GlasswareKind::Piston {
            return vec![nominal];
        }
        let least: Ratio = self.table.stock.least_piston_share.value;
        [1.0, 0.75, 0.5, 0.25, 0.1]
            .into_iter()
            // 1e-9: a tenth is not below a tenth by rounding.
            .filter(|share| *share >= least.get::<ratio>() - 1e-9)
            .map(|share| share * nominal)
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::Tables;
    use approx::assert_relative_eq;

    fn table() -> GlasswareTable {
        GlasswareTable::clone(&Tables::built_in().unwrap().glassware)
    }

    fn ml(volume: f64) -> Volume {
        Volume::new::<milliliter>(volume)
    }

    #[test]
    fn the_flask_of_the_published_example_comes_out() {
        // EURACHEM/CITAC QUAM example A1: 100 mL ± 0.1 mL, u(V) = 0.0664730521840743 mL in the
        // unrounded budget. ISO class A has the same tolerance.
        let table = table();
        let flask = Piece::find(
            &table,
            GlasswareKind::Flask,
            Standard::Iso,
            AccuracyClass::A,
            ml(100.0),
        )
        .unwrap();
        assert_relative_eq!(
            flask.flask_uncertainty().get::<milliliter>(),
            0.066_473_052_184_074_3,
            max_relative = 1e-9
        );
    }

    #[test]
    fn fillings_add_up_to_the_same_side() {
        let table = table();
        let pipette = Piece::find(
            &table,
            GlasswareKind::Pipette,
            Standard::Iso,
            AccuracyClass::B,
            ml(10.0),
        )
        .unwrap();
        // tolerance 0.04 mL: systematic 0.04/√6, scatter a third of the tolerance.
        let (systematic, random) = (0.04 / 6.0_f64.sqrt(), 0.04 / 3.0);
        for n in [1_u32, 2, 3] {
            let f = f64::from(n);
            let expected = (f * f * systematic * systematic + f * random * random).sqrt();
            let found = pipette.delivery_uncertainty(n).get::<milliliter>();
            assert_relative_eq!(found, expected, max_relative = 1e-3);
        }
    }

    #[test]
    fn a_piston_pipette_is_as_far_off_at_any_setting() {
        let table = table();
        let piston = Piece::find(
            &table,
            GlasswareKind::Piston,
            Standard::Astm,
            AccuracyClass::B,
            ml(1.0),
        )
        .unwrap();
        let expected = (0.008_f64 / 3.0_f64.sqrt()).hypot(0.003);
        assert_relative_eq!(
            piston.delivery_uncertainty(1).get::<milliliter>(),
            expected,
            max_relative = 1e-12
        );
        assert_eq!(piston.settings().len(), 5);
    }

    #[test]
    fn an_unknown_size_names_the_known_ones() {
        let table = table();
        let error = Piece::find(
            &table,
            GlasswareKind::Flask,
            Standard::Iso,
            AccuracyClass::A,
            ml(30.0),
        )
        .unwrap_err();
        assert!(error.to_string().contains("25, 50, 100"), "{error}");
    }
}
