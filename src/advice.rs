//! What to watch for: vessel, violence, fumes, room and the cautions, from one batch and its burns.
//!
//! [`advice`] puts the checks together and turns what they find into [`Warning`]s by the rules of
//! `tables/cautions.toml`. Nothing here ever proposes to close a vessel or to enlarge a batch.

mod facts;
mod observed;
mod refusal;
mod violence;
mod warning;

pub use crate::tables::cautions::{Moment, Severity};
pub(crate) use facts::fuel_shares;
pub use facts::{BurnFacts, BurnState, MixtureFacts};
pub use observed::Observed;
pub use refusal::{mixture_stops, stops};
pub use violence::{Change, Level, Violence, calming_changes, violence};
pub use warning::{Warning, warnings, worst};

use crate::fumes::{Fumes, fumes};
use crate::quantity::units::ratio;
use crate::quantity::{Band, Time, reference_temperature};
use crate::room::{Air, Exposure, air, exposures};
use crate::tables::SafetyTables;
use crate::tables::vessels::Vessel;
use crate::vessel::{VesselCheck, check, smallest_fitting, time_until_touchable};
use std::sync::Arc;

/// Everything that the safety side finds about a batch.
#[derive(Debug, Clone)]
pub struct Advice {
    /// The check of the vessel, if one is named.
    pub vessel: Option<VesselCheck>,
    /// The smallest named vessel that holds the batch; none if none does.
    pub smallest_vessel: Option<Arc<Vessel>>,
    /// Time until the vessel may be touched, in a room of 25 °C.
    pub touchable_after: Option<Band<Time>>,
    /// How violently it burns.
    pub violence: Violence,
    /// What would calm it; empty if it is calm.
    pub calming: Vec<Change>,
    /// What comes off besides the main gases.
    pub fumes: Fumes,
    /// The air it comes off into.
    pub air: Air,
    /// Concentrations against limits, the worst first.
    pub exposures: Vec<Exposure>,
    /// Time until every agent is below its limits; none outdoors, or if the air stands still.
    pub clear_after: Option<Band<Time>>,
    /// The cautions, the most serious first.
    pub warnings: Vec<Warning>,
}

/// Checks a batch.
pub fn advice(facts: &BurnFacts, tables: &SafetyTables) -> Advice {
    let vessel = facts
        .vessel
        .as_ref()
        .map(|choice| check(choice, &facts.load, &tables.vessels));
    let mut fume_load = facts.fumes.clone();
    let one = crate::quantity::Ratio::new::<ratio>(1.0);
    fume_load.carried_off = vessel.as_ref().map(|checked| checked.carry_over.high > one);
    let fumes = fumes(&fume_load, &tables.fumes);
    let air = air(facts.room.as_ref(), &tables.fumes.assumed);
    let exposures = exposures(&fumes, &air, &tables.limits);
    let stated_time = facts.vessel.as_ref().and_then(|choice| choice.flame_lasts);
    let violence = violence(&facts.load, stated_time, &tables.vessels);
    let smallest_vessel = smallest_fitting(&facts.load, &tables.vessels);
    let touchable_after = vessel.as_ref().and_then(|checked| {
        time_until_touchable(checked, reference_temperature(), &tables.vessels)
    });
    let observed = Observed::new(&observed::Findings {
        facts,
        vessel: vessel.as_ref(),
        fits: smallest_vessel.is_some(),
        violence: &violence,
        fumes: &fumes,
        air: &air,
        exposures: &exposures,
        tables,
    });
    Advice {
        warnings: warnings(&observed, &tables.rules, &tables.toxic),
        calming: calming_changes(facts, &violence),
        clear_after: clear_after(&exposures),
        vessel,
        smallest_vessel,
        touchable_after,
        violence,
        fumes,
        air,
        exposures,
    }
}

/// The longest of the clearing times; none if one of them has no end.
fn clear_after(exposures: &[Exposure]) -> Option<Band<Time>> {
    let mut longest: Option<Band<Time>> = None;
    for exposure in exposures {
        let own = exposure.clear_after?;
        longest = Some(match longest {
            None => own,
            Some(old) => Band {
                low: if own.low > old.low { own.low } else { old.low },
                high: if own.high > old.high {
                    own.high
                } else {
                    old.high
                },
            },
        });
    }
    longest
}
