//! The batch as it stands when it ignites: what the course of heating leaves of water and fuel,
//! how warm it is, and how much of the heat of the burn is lost meanwhile.

use crate::batch::Batch;
use crate::burn::{BurnError, Burner, StateResult};
use crate::enthalpy::with_share_left;
use crate::ignition::{Course, IgnitionError, course};
use crate::quantity::{Band, EquivalenceRatio, Ratio, ThermodynamicTemperature};
use crate::tables::Tables;
use thiserror::Error;
use uom::si::ratio::ratio;

/// Why the burn after heating cannot be estimated.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum HeatedError {
    /// No course of heating.
    #[error("water left \"from ignition\": {0}")]
    Ignition(#[from] IgnitionError),
    /// The burn fails.
    #[error(transparent)]
    Burn(#[from] BurnError),
}

/// The burn after the course of heating.
#[derive(Debug, Clone)]
pub struct HeatedBurn {
    /// The course of heating.
    pub course: Course,
    /// The burn, if the batch ignites.
    pub ignited: Option<IgnitedBatch>,
}

/// The batch at ignition.
#[derive(Debug, Clone)]
pub struct IgnitedBatch {
    /// φ after the loss of fuel.
    pub equivalence_ratio: EquivalenceRatio,
    /// The burn with the water and fuel that are left, from the temperature of the layer; losses
    /// as the batch file states.
    pub result: StateResult,
    /// Flame temperature by complete combustion with the greatest and the least loss that the
    /// heating model expects; an end is `None` if nothing is left to burn with.
    pub with_losses: Option<Band<ThermodynamicTemperature>>,
}

/// Heats the batch on its stated way and burns what is left.
///
/// # Errors
/// [`HeatedError`] if the file states no way, or a stage fails.
pub fn heated_burn(batch: &Batch, tables: &Tables) -> Result<HeatedBurn, HeatedError> {
    let course = course(batch, tables, None)?;
    let ignited = match course.time_to_ignition() {
        Some(_) => Some(ignited_batch(batch, &course, tables)?),
        None => None,
    };
    Ok(HeatedBurn { course, ignited })
}

fn ignited_batch(
    batch: &Batch,
    course: &Course,
    tables: &Tables,
) -> Result<IgnitedBatch, HeatedError> {
    let mut left = batch.with_fuels_scaled(1.0 - course.fuel_lost.get::<ratio>());
    left.conditions.start = course.start_temperature;
    let state = with_share_left(batch, course.water_left);
    let mut burner = Burner::new(&left, tables)?;
    let result = burner.burn_in_full(&state)?;
    let equivalence_ratio = burner.redox().equivalence_ratio;
    let temperature = |loss: Ratio| -> Result<Option<ThermodynamicTemperature>, HeatedError> {
        let mut cooler = left.clone();
        // The stated loss and the model's are taken one after the other.
        let stated = left.conditions.heat_loss;
        cooler.conditions.heat_loss = stated + (Ratio::new::<ratio>(1.0) - stated) * loss;
        Ok(Burner::new(&cooler, tables)?.flame_temperature(&state)?)
    };
    let (least, most) = course.burn.heat_loss;
    let with_losses = temperature(most)?
        .zip(temperature(least)?)
        .map(|(low, high)| Band::between(low, high));
    Ok(IgnitedBatch {
        equivalence_ratio,
        result,
        with_losses,
    })
}
