//! What else helps to get the phase, if the file's own fuels do not.

use super::look::Look;
use super::{Candidate, OwnBurn, Probe, Verdict};
use crate::batch::WaterAtIgnition;
use crate::enthalpy::{WaterStateName, water_states};
use crate::quantity::{EquivalenceRatio, ThermodynamicTemperature};
use crate::tables::phases::Note;
use uom::si::amount_of_substance::mole;
use uom::si::thermodynamic_temperature::{degree_celsius, kelvin};

/// Hottest start that is offered as a help, °C: as the batch file allows.
const HOTTEST_START: f64 = 300.0;

/// What else helps to get the phase, gentlest first.
#[derive(Debug, Clone, PartialEq)]
pub enum Help {
    /// Heat the powder afterwards.
    Anneal {
        /// Temperature of hours, if the tables give one.
        temperature: Option<ThermodynamicTemperature>,
        /// What is usual.
        notes: Vec<Note>,
    },
    /// A flux.
    Flux {
        /// What is published.
        notes: Vec<Note>,
    },
    /// The same batch with other fuels.
    OtherFuel {
        /// Their name.
        name: String,
        /// The ratio.
        ratio: EquivalenceRatio,
        /// The flame.
        temperature: ThermodynamicTemperature,
    },
    /// Less water at ignition: where the batch of the file then stands.
    LessWater {
        /// The drier state.
        state: WaterStateName,
        /// Its verdict.
        verdict: Verdict,
    },
    /// A hotter start.
    Preheat {
        /// The start temperature from which the least temperature is reached.
        start: ThermodynamicTemperature,
    },
}

/// Helps, gentlest first; none if the file's own fuels are hot enough by the time model.
pub(super) fn help(look: &Look<'_>, candidates: &[Candidate], own: &[OwnBurn]) -> Vec<Help> {
    let goal = look.goal;
    let mine = candidates.iter().find(|c| c.fuels.of_the_file);
    if mine.is_some_and(|c| c.verdict == Verdict::Forms) {
        return Vec::new();
    }
    let mut help = Vec::new();
    let notes = goal.phase.as_ref().map(|p| p.anneal.clone());
    let notes = notes.unwrap_or_default();
    let typical = goal.phase.as_ref().and_then(|p| p.typical.first());
    if !notes.is_empty() || goal.held.is_some() {
        help.push(Help::Anneal {
            temperature: typical.map(|t| t.value).or(goal.held),
            notes,
        });
    }
    let flux = goal.phase.as_ref().map(|p| p.flux.clone());
    if let Some(notes) = flux.filter(|notes| !notes.is_empty()) {
        help.push(Help::Flux { notes });
    }
    let other = |verdict| {
        let mut others = candidates.iter().filter(|c| !c.fuels.of_the_file);
        others.find(|c| c.verdict == verdict)
    };
    if let Some(candidate) = other(Verdict::Forms).or_else(|| other(Verdict::MayForm)) {
        help.push(Help::OtherFuel {
            name: candidate.fuels.name(),
            ratio: candidate.suggestion.ratio,
            temperature: candidate.suggestion.point.equilibrium,
        });
    }
    let dried = own
        .iter()
        .find(|o| o.state == WaterStateName::Dried && o.loss == look.loss);
    if let Some(dried) = dried.filter(|o| o.verdict.may_do()) {
        help.push(Help::LessWater {
            state: dried.state,
            verdict: dried.verdict,
        });
    }
    help.extend(preheat(look));
    help
}

/// The start temperature that brings the file's batch to the least temperature, if there is one.
fn preheat(look: &Look<'_>) -> Option<Help> {
    let batch = look.batch;
    let wet = matches!(batch.water_at_ignition, WaterAtIgnition::Fraction(_))
        && water_states(batch, None)
            .iter()
            .any(|s| s.name == look.state && s.solvent.get::<mole>() > 0.0);
    if wet {
        // Solvent holds the start at its boiling point.
        return None;
    }
    let mut probe = Probe::new(batch, look.state, look.loss, look.tables);
    let mut missing = |start_celsius: f64| {
        let mut warm = batch.clone();
        warm.conditions.heat_loss = look.loss;
        warm.conditions.start = ThermodynamicTemperature::new::<degree_celsius>(start_celsius);
        let point = probe.burn(&warm).ok()?;
        Some(point.equilibrium.get::<kelvin>() - look.goal.least.get::<kelvin>())
    };
    let from = batch.conditions.start.get::<degree_celsius>();
    let (cold, hot) = (missing(from)?, missing(HOTTEST_START)?);
    if cold >= 0.0 || hot < 0.0 {
        return None;
    }
    // A tenth of a kelvin in the flame: finer than any number shown.
    let mut tolerance = roots::SimpleConvergency {
        eps: 0.1,
        max_iter: 40,
    };
    let start = roots::find_root_brent(
        from,
        HOTTEST_START,
        |start| missing(start).unwrap_or(f64::NAN),
        &mut tolerance,
    );
    start.ok().map(|start| Help::Preheat {
        start: ThermodynamicTemperature::new::<degree_celsius>(start),
    })
}
