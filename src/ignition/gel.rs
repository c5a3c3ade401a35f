//! The dry gel as it burns: how much room it takes, how fast a front goes through it, and how
//! much of its fuel may leave before.

use super::batch_charge::{Fuels, mean_shift};
use super::error::IgnitionError;
use crate::batch::Batch;
use crate::quantity::units::{cubic_meter, kelvin, kilogram, meter_per_second, ratio};
use crate::quantity::{Band, Mass, Ratio, ThermodynamicTemperature, Velocity, Volume};
use crate::tables::{Role, Tables};

/// The dry gel of a batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BurningGel {
    /// Its volume with its froth.
    pub volume: Volume,
    /// Speed of the front.
    pub front: Band<Velocity>,
    /// Temperature at which it ignites when heated at the rate of the analyses.
    pub peak: ThermodynamicTemperature,
    /// Share of the reducing valence that the volatile fuel carries; 0 without one.
    pub volatile_share: Ratio,
    /// Share of what decomposes of it that leaves as gas.
    pub escape: Band<Ratio>,
}

/// The gel of `batch`.
///
/// # Errors
/// [`IgnitionError`] if the redox sum fails or a fuel has no kinetics.
pub fn burning_gel(batch: &Batch, tables: &Tables) -> Result<BurningGel, IgnitionError> {
    let fuels = Fuels::of(batch, tables)?;
    let row = fuels.leading;
    let dry: Mass = batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role != Role::Solvent)
        .map(|i| i.amount * i.reactant.formula.anhydrous().molar_mass())
        .fold(Mass::default(), |sum, mass: Mass| sum + mass);
    let density = tables.kinetics.gel.density.si() / row.froth.si().max(1.0);
    let speed = |si: f64| Velocity::new::<meter_per_second>(si);
    let measured = batch.heating.as_ref().and_then(|plan| plan.peak);
    let usual = row.peak.si() + mean_shift(batch, tables);
    let volatile = fuels.volatile.as_ref();
    let (volatile_share, escape) = volatile.map_or((0.0, (0.0, 0.0)), |fuel| {
        let (value, band) = fuel.escape();
        (
            fuel.share,
            ((value - band).max(0.0), (value + band).min(1.0)),
        )
    });
    Ok(BurningGel {
        volume: Volume::new::<cubic_meter>(dry.get::<kilogram>() / density),
        front: Band::between(speed(row.front_low.si()), speed(row.front_high.si())),
        peak: measured.unwrap_or(ThermodynamicTemperature::new::<kelvin>(usual)),
        volatile_share: Ratio::new::<ratio>(volatile_share),
        escape: Band::between(Ratio::new::<ratio>(escape.0), Ratio::new::<ratio>(escape.1)),
    })
}
