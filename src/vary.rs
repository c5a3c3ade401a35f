//! Sweeps: the same batch at many levels of one or two things, burnt in one state of the water.
//!
//! Every row is worked out from the batch of the file as a single burn would be; rows do not know
//! of each other, so that a sweep equals single runs exactly, on any number of cores.

mod error;
mod factor;
mod point;

pub use error::{MOST_LEVELS, MOST_ROWS, VaryError};
pub use factor::{Factor, NAMES};
pub use point::Point;

use crate::advice::{Warning, mixture_stops};
use crate::batch::{Batch, WaterAtIgnition};
use crate::burn::{BatchAtIgnition, Burner, Heating, StateResult, species_set};
use crate::enthalpy::{WaterState, WaterStateName, water_states};
use crate::equilibrium::{EquilibriumError, System};
use crate::formula::Element;
use crate::tables::Tables;
use rayon::prelude::*;

/// One axis: a factor and its levels.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What is varied.
    pub factor: Factor,
    /// The levels in [`Factor::unit`], in the order of the rows.
    pub levels: Vec<f64>,
}

impl Axis {
    /// `steps` levels from `from` to `to`, evenly spaced, both ends included.
    ///
    /// # Errors
    /// [`VaryError::Steps`] if that makes no sweep.
    pub fn evenly(factor: Factor, from: f64, to: f64, steps: usize) -> Result<Self, VaryError> {
        let same = (to - from).abs() <= 0.0;
        if steps == 0 || steps > MOST_LEVELS || (steps == 1) != same {
            return Err(VaryError::Steps { steps });
        }
        let last = steps.saturating_sub(1);
        let levels = (0..steps)
            .map(|i| {
                if i == 0 {
                    from
                } else if i == last {
                    to
                } else {
                    from + (to - from) * i as f64 / last as f64
                }
            })
            .collect();
        Ok(Self { factor, levels })
    }

    /// The axis with φ = 1 among its levels if it is a fuel ratio and spans that: the curves bend
    /// there, and even steps would cut the corner off.
    #[must_use]
    pub fn with_balance(mut self) -> Self {
        let spans = |pair: &[f64]| (pair[0] - 1.0) * (pair[1] - 1.0) < 0.0;
        // 1e-9: a step that is 1 but for rounding is that node.
        let near = self
            .levels
            .iter()
            .position(|level| (level - 1.0).abs() < 1e-9);
        if self.factor != Factor::FuelRatio {
            return self;
        }
        match (near, self.levels.windows(2).position(spans)) {
            (Some(at), _) => self.levels[at] = 1.0,
            (None, Some(at)) => self.levels.insert(at + 1, 1.0),
            (None, None) => {}
        }
        self
    }
}

/// One row of a sweep: its levels, one an axis, and what came out.
#[derive(Debug)]
pub struct Row {
    /// Level of each axis in its unit.
    pub levels: Vec<f64>,
    /// The burn, or why there is none.
    pub outcome: Result<Point, VaryError>,
}

/// A sweep: a curve (one axis) or a map (two), rows with the last axis running fastest.
#[derive(Debug)]
pub struct Sweep {
    /// Name of the batch.
    pub name: String,
    /// State of the water of every row.
    pub state: WaterStateName,
    /// Whether the heating of the file leads to that state, and so sets where the burn starts.
    pub heated: bool,
    /// The axes, one or two.
    pub axes: Vec<Axis>,
    /// The rows.
    pub rows: Vec<Row>,
}

/// The state of the water for which a sweep is worked out if the user names none: at ignition if
/// the file says how much is left then or how it is heated, else as mixed where added water is varied, else boiled
/// down.
pub fn usual_state(batch: &Batch, axes: &[Axis]) -> WaterStateName {
    let has = |factor| axes.iter().any(|axis| axis.factor == factor);
    let stated = heated(batch) || batch.water_at_ignition != WaterAtIgnition::NotStated;
    if has(Factor::WaterLeft) || stated {
        WaterStateName::AtIgnition
    } else if has(Factor::Water) {
        WaterStateName::AsMixed
    } else {
        WaterStateName::BoiledDown
    }
}

/// Whether the file says how the batch is heated.
fn heated(batch: &Batch) -> bool {
    let plan = batch.heating.as_ref();
    plan.is_some_and(|plan| plan.way.is_some())
}

/// Burns `batch` at every combination of the levels. `done` is called after each row, from any
/// thread.
///
/// # Errors
/// [`VaryError`] if there are too many rows or an axis is there twice. A row that fails is a row
/// with its reason.
pub fn sweep(
    batch: &Batch,
    axes: Vec<Axis>,
    state: WaterStateName,
    tables: &Tables,
    done: &(dyn Fn() + Sync),
) -> Result<Sweep, VaryError> {
    if let [first, second] = &axes[..] {
        if first.factor == second.factor {
            let factor = first.factor.to_string();
            return Err(VaryError::SameFactor { factor });
        }
    }
    let rows: usize = axes.iter().map(|axis| axis.levels.len()).product();
    if rows > MOST_ROWS {
        return Err(VaryError::Rows { rows });
    }
    let system = system_for(batch, &axes, tables);
    let rows = (0..rows)
        .into_par_iter()
        .map_init(
            || Some(system.clone()),
            |system, at| {
                let levels = levels_at(&axes, at);
                let outcome = point(batch, &axes, &levels, state, tables, system);
                done();
                Row { levels, outcome }
            },
        )
        .collect();
    Ok(Sweep {
        name: batch.name.clone(),
        state,
        heated: state == WaterStateName::AtIgnition && heated(batch),
        axes,
        rows,
    })
}

/// The batch with every axis at its level: the first axis is set first.
///
/// # Errors
/// [`VaryError`] if the batch cannot be changed that way.
pub fn batch_at(
    batch: &Batch,
    axes: &[Axis],
    levels: &[f64],
    tables: &Tables,
) -> Result<Batch, VaryError> {
    let mut changed = batch.clone();
    for (axis, level) in axes.iter().zip(levels) {
        changed = axis.factor.at(*level, &changed, tables)?;
    }
    Ok(changed)
}

fn levels_at(axes: &[Axis], mut at: usize) -> Vec<f64> {
    let mut levels = Vec::with_capacity(axes.len());
    for axis in axes.iter().rev() {
        levels.push(axis.levels[at % axis.levels.len()]);
        at /= axis.levels.len();
    }
    levels.reverse();
    levels
}

/// The species of the batch and of all that the factors can bring in.
fn system_for<'t>(batch: &Batch, axes: &[Axis], tables: &'t Tables) -> System<'t> {
    let mut elements: Vec<Element> = batch.dry_elements().into_keys().collect();
    elements.extend([Element::HYDROGEN, Element::OXYGEN, Element::NITROGEN]);
    elements.extend(axes.iter().flat_map(|axis| axis.factor.elements()));
    System::new(
        tables,
        &elements,
        species_set(batch),
        batch.conditions.mixes(),
    )
}

fn point<'t>(
    batch: &Batch,
    axes: &[Axis],
    levels: &[f64],
    state: WaterStateName,
    tables: &'t Tables,
    system: &mut Option<System<'t>>,
) -> Result<Point, VaryError> {
    let changed = batch_at(batch, axes, levels, tables)?;
    refused(mixture_stops(&changed, &tables.safety))?;
    let heating = match state {
        WaterStateName::AtIgnition => Heating::of(&changed, tables),
        _ => Heating::NotStated,
    };
    let own = system
        .take()
        .unwrap_or_else(|| system_for(batch, axes, tables));
    let wanted = (state, &heating);
    let point = burnt(&changed, wanted, own, tables, system, |burner, result| {
        Point::of(&changed, burner.redox(), burner.product(), result, tables)
    })?;
    refused(point.stops.clone())?;
    Ok(point)
}

/// A member of a sweep with a reason to stop has no result.
fn refused(stops: Vec<Warning>) -> Result<(), VaryError> {
    if stops.is_empty() {
        return Ok(());
    }
    Err(VaryError::Refused { stops })
}

/// Burns one batch in one state of the water, after its heating if that is at ignition, and gives
/// what `take` takes of it; `system` has the batch's species and is put into `after`.
pub(crate) fn burnt<'t, R>(
    batch: &Batch,
    (state, heating): (WaterStateName, &Heating),
    system: System<'t>,
    tables: &'t Tables,
    after: &mut Option<System<'t>>,
    take: impl FnOnce(&Burner<'_, 't>, &StateResult) -> Result<R, EquilibriumError>,
) -> Result<R, VaryError> {
    let (burnt, water) = match in_state(batch, state, heating) {
        Ok(found) => found,
        Err(error) => {
            *after = Some(system);
            return Err(error);
        }
    };
    let mut burner = Burner::with_system(&burnt, system, tables)?;
    let outcome = burner.burn(&water);
    let outcome = outcome.map(|result| take(&burner, &result));
    *after = Some(burner.into_system());
    Ok(outcome??)
}

/// The batch as it burns in a state of the water: at ignition with what the heating leaves.
fn in_state(
    batch: &Batch,
    state: WaterStateName,
    heating: &Heating,
) -> Result<(Batch, WaterState), VaryError> {
    if state != WaterStateName::AtIgnition {
        let mut states = water_states(batch, None).into_iter();
        let found = states.find(|candidate| candidate.name == state);
        let water = found.ok_or(VaryError::NoIgnitionState)?;
        return Ok((batch.clone(), water));
    }
    match (BatchAtIgnition::of(batch, heating), heating) {
        (Some(left), _) => Ok((left.batch, left.state)),
        (None, Heating::NotStated) => Err(VaryError::NoIgnitionState),
        (None, Heating::Failed(error)) => Err(error.clone().into()),
        (None, Heating::Course(_)) => Err(VaryError::NotLit),
    }
}
