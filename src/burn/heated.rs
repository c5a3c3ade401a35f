//! The batch as it stands when it ignites: what the course of heating leaves of water and fuel,
//! and how warm it is.

use super::burner::{BurnError, Burner, StateResult};
use crate::batch::{Batch, WaterAtIgnition};
use crate::enthalpy::{WaterState, with_share_left};
use crate::ignition::{Course, IgnitionError, Judged, coarse_course, course};
use crate::quantity::units::ratio;
use crate::quantity::{EquivalenceRatio, Ratio};
use crate::tables::Tables;

/// What the file says of the heating, and what the heating model makes of it.
#[derive(Debug, Clone)]
pub enum Heating {
    /// The file names no heating way.
    NotStated,
    /// It names one, and the model gives no course.
    Failed(IgnitionError),
    /// The course on the way that it names.
    Course(Box<Course>),
}

impl Heating {
    /// Heats the batch on the way that its file states.
    pub fn of(batch: &Batch, tables: &Tables) -> Self {
        if !Self::is_stated(batch) {
            return Self::NotStated;
        }
        Self::from(course(batch, tables, None))
    }

    /// The same with a coarse course: for one of many batches that are only set side by side.
    pub(crate) fn coarse(batch: &Batch, tables: &Tables) -> Self {
        match Self::is_stated(batch) {
            true => Self::from(coarse_course(batch, tables)),
            false => Self::NotStated,
        }
    }

    fn is_stated(batch: &Batch) -> bool {
        let plan = batch.heating.as_ref();
        plan.is_some_and(|plan| plan.way.is_some())
            || batch.water_at_ignition == WaterAtIgnition::FromIgnition
    }

    fn from(course: Result<Course, IgnitionError>) -> Self {
        match course {
            Ok(course) => Self::Course(Box::new(course)),
            Err(error) => Self::Failed(error),
        }
    }

    /// The course, if there is one.
    pub fn course(&self) -> Option<&Course> {
        match self {
            Self::Course(course) => Some(course),
            Self::NotStated | Self::Failed(_) => None,
        }
    }

    /// The course, if there is one and it ends in ignition.
    pub fn ignites(&self) -> Option<&Course> {
        self.course()
            .filter(|course| course.time_to_ignition().is_some())
    }
}

/// The batch as it stands at ignition.
#[derive(Debug, Clone)]
pub struct BatchAtIgnition {
    /// With the fuel that is left and the temperature of the layer, as far as the heating is known.
    pub batch: Batch,
    /// The water that is left: as the file states, else as the course of heating leaves it.
    pub state: WaterState,
}

impl BatchAtIgnition {
    /// The batch at ignition; `None` if neither the file nor the heating tells the water left.
    pub fn of(batch: &Batch, heating: &Heating) -> Option<Self> {
        let course = heating.ignites();
        let share = match batch.water_at_ignition {
            WaterAtIgnition::Fraction(share) => share,
            WaterAtIgnition::NotStated | WaterAtIgnition::FromIgnition => course?.water_left,
        };
        // Shares count the water of the batch as weighed.
        let state = with_share_left(batch, share);
        let batch = match course {
            None => batch.clone(),
            Some(course) => {
                let mut left = batch.with_fuels_scaled(1.0 - course.fuel_lost.get::<ratio>());
                left.conditions.start = course.start_temperature;
                left.conditions.external_heat += course.stored_heat;
                left
            }
        };
        Some(Self { batch, state })
    }
}

/// The burn after the course of heating.
#[derive(Debug, Clone)]
pub struct HeatedBurn {
    /// The course of heating with its verdict.
    pub judged: Judged,
    /// The burn, if the batch ignites.
    pub ignited: Option<IgnitedBatch>,
    /// Share of all water left at ignition that the file states; it overrules the course.
    pub stated_water: Option<Ratio>,
}

/// The burn of what is left at ignition.
#[derive(Debug, Clone)]
pub struct IgnitedBatch {
    /// φ after the loss of fuel and nitrate.
    pub equivalence_ratio: EquivalenceRatio,
    /// The burn with the water and fuel that are left and all nitrate, from the temperature of
    /// the layer; losses as the batch file states. A bound: the expected burn counts the nitrate
    /// that left too.
    pub result: StateResult,
}

impl IgnitedBatch {
    /// Burns what the heating leaves.
    pub fn of(
        at_ignition: &BatchAtIgnition,
        course: &Course,
        tables: &Tables,
    ) -> Result<Self, BurnError> {
        let (left, state) = (&at_ignition.batch, &at_ignition.state);
        Ok(Self {
            equivalence_ratio: course.equivalence_ratio,
            result: Burner::new(left, tables)?.burn(state)?,
        })
    }
}
