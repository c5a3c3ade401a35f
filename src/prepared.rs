//! A batch made ready once: everything that every command needs to know of it.
//!
//! [`Prepared::new`] works out the redox sum, the expected powder, the course of heating, the
//! burn in each state of the water and what the safety side finds, and refuses what is not to be
//! burnt. Every command that takes a batch starts here, so that all of them refuse the same with
//! the same words and show the same numbers.

use crate::advice::{Advice, BurnFacts, BurnState, Warning, advice, mixture_stops, stops};
use crate::batch::{Batch, WaterAtIgnition};
use crate::burn::{BatchAtIgnition, BurnError, Burner, Heating, IgnitedBatch, StateResult};
use crate::enthalpy::{WaterStateName, water_states};
use crate::expected::{Expectation, Expected, ExpectedError};
use crate::ignition::IgnitionError;
use crate::product::ExpectedProduct;
use crate::purity::{Budget, budget};
use crate::quantity::Band;
use crate::redox::Redox;
use crate::tables::Tables;
use std::fmt;
use thiserror::Error;

/// Why a batch cannot be made ready.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum PrepareError {
    #[error("{0}")]
    Refused(Refused),
    #[error(transparent)]
    Burn(#[from] BurnError),
    #[error("expected burn: {0}")]
    Expected(#[from] ExpectedError),
    #[error("water left \"from ignition\": {0}")]
    Ignition(#[from] IgnitionError),
}

/// A batch that is refused. No estimate is given of it.
#[derive(Clone)]
pub struct Refused {
    /// Name of the batch.
    pub name: String,
    /// Every reason, and the cautions beside them where the burn is known.
    pub warnings: Vec<Warning>,
}

impl Refused {
    /// The reasons: the warnings of severity stop.
    pub fn reasons(&self) -> Vec<Warning> {
        stops(&self.warnings)
    }
}

impl fmt::Debug for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let codes: Vec<String> = self.reasons().into_iter().map(|r| r.code).collect();
        write!(f, "Refused({:?}: {})", self.name, codes.join(", "))
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("refused, no estimate is given:")?;
        for reason in self.reasons() {
            write!(f, "\n  {}", reason.text)?;
        }
        Ok(())
    }
}

/// A batch made ready.
#[derive(Debug, Clone)]
pub struct Prepared<'t> {
    /// The batch.
    pub batch: Batch,
    /// The tables that it was made ready from.
    pub tables: &'t Tables,
    /// The redox sum of the batch as weighed.
    pub redox: Redox,
    /// The expected powder.
    pub product: ExpectedProduct,
    /// The course of heating, if the file states a way.
    pub heating: Heating,
    /// The burn after that course, if it ignites; also among `states`.
    pub ignited: Option<IgnitedBatch>,
    /// The burns by state of the water, wettest first, at ignition last.
    pub states: Vec<StateResult>,
    /// The expected burn.
    pub expected: Expected,
    /// Vessel, violence, fumes, room and cautions.
    pub advice: Advice,
    /// Impurities of the powder, if the file says something of bottles or water.
    pub purity: Option<Budget>,
}

impl<'t> Prepared<'t> {
    /// Makes a batch ready.
    ///
    /// # Errors
    /// [`PrepareError::Refused`] with every reason (warnings of severity stop), before any other
    /// error of the burn; else the error of the stage that fails.
    pub fn new(batch: &Batch, tables: &'t Tables) -> Result<Self, PrepareError> {
        // What is refused is refused also where its burn cannot be worked out.
        let mut burner = match Burner::new(batch, tables) {
            Ok(burner) => burner,
            Err(error) => {
                refuse(batch, mixture_stops(batch, &tables.safety))?;
                return Err(error.into());
            }
        };
        let burnt = burns(&mut burner, batch, tables);
        let (redox, product) = (burner.redox().clone(), burner.product().clone());
        let (heating, ignited, states) = match burnt {
            Ok(burnt) => burnt,
            Err(error) => {
                let facts = BurnFacts::new(batch, &redox, &product, &[], tables);
                let found = advice(&facts, &tables.safety);
                refuse(batch, found.warnings)?;
                return Err(error);
            }
        };
        let possible = BurnState::possible(&states);
        let mut facts = BurnFacts::new(batch, &redox, &product, &possible, tables);
        if let Some(ignited) = &ignited {
            // Fuel lost on heating makes the burn leaner than weighed: the cautions are those of
            // both.
            let phi = &mut facts.fumes.equivalence_ratio;
            *phi = phi.hull(Band::exactly(ignited.equivalence_ratio));
        }
        let advice = advice(&facts, &tables.safety);
        refuse(batch, advice.warnings.clone())?;
        let expected = Expectation::new(batch, &heating, &states, tables)?.expected();
        let purity = budget(batch, product.mass, advice.vessel.as_ref(), tables);
        Ok(Self {
            batch: batch.clone(),
            tables,
            redox,
            product,
            heating,
            ignited,
            states,
            expected,
            advice,
            purity,
        })
    }

    /// The burn in a state of the water.
    pub fn state(&self, name: WaterStateName) -> Option<&StateResult> {
        self.states.iter().find(|result| result.state.name == name)
    }
}

/// The one place where a batch is refused.
fn refuse(batch: &Batch, warnings: Vec<Warning>) -> Result<(), PrepareError> {
    if stops(&warnings).is_empty() {
        return Ok(());
    }
    Err(PrepareError::Refused(Refused {
        name: batch.name.clone(),
        warnings,
    }))
}

type Burns = (Heating, Option<IgnitedBatch>, Vec<StateResult>);

/// The course of heating and the burns in all states of the water.
fn burns(
    burner: &mut Burner<'_, '_>,
    batch: &Batch,
    tables: &Tables,
) -> Result<Burns, PrepareError> {
    let heating = Heating::of(batch, tables);
    if let (Heating::Failed(error), WaterAtIgnition::FromIgnition) =
        (&heating, batch.water_at_ignition)
    {
        return Err(error.clone().into());
    }
    let mut states = Vec::new();
    for state in water_states(batch, None) {
        if state.name != WaterStateName::AtIgnition {
            states.push(burner.burn(&state)?);
        }
    }
    let mut ignited = None;
    if let Some(at_ignition) = BatchAtIgnition::of(batch, &heating) {
        if let Some(course) = heating.ignites() {
            let burn = IgnitedBatch::of(&at_ignition, course, tables)?;
            states.push(burn.result.clone());
            ignited = Some(burn);
        } else {
            states.push(burner.burn(&at_ignition.state)?);
        }
    }
    Ok((heating, ignited, states))
}
