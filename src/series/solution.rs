//! What the members of a series share: a mother solution, a stock of the dopant, the room.

use super::error::SeriesError;
use super::members::{LevelBand, Member, SAME};
use crate::advice::{Warning, mixture_stops};
use crate::batch::{Batch, Ingredient};
use crate::formula::Element;
use crate::quantity::units::{gram, mole, ratio};
use crate::quantity::{Mass, Ratio, Volume};
use crate::tables::glassware::{AccuracyClass, GlasswareKind, Standard};
use crate::tables::{Role, Tables};
use crate::weigh::balance::{COVERAGE, WeighingError, choose};
use crate::weigh::glassware::{GlasswareError, Piece};
use crate::weigh::measure::balances;

/// The solution that is mixed once and split by mass. It holds no fuel: without fuel it is a
/// solution of nitrates that keeps, with fuel it is a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Mother {
    /// Its ingredients: id, name and mass for all runs, spare included.
    pub ingredients: Vec<(String, String, Mass)>,
    /// Mass for one run.
    pub portion: Mass,
    /// Number of portions.
    pub portions: usize,
}

impl Mother {
    /// What all members hold in the same amount, fuels left out; `None` if that is not worth a
    /// solution: less than two substances, or no water.
    pub(super) fn of(members: &[Member<'_>], tables: &Tables) -> Option<Self> {
        let made = made(tables);
        let batch = &members.first()?.prepared.batch;
        let shared: Vec<&Ingredient> = batch
            .weighed
            .iter()
            .filter(|i| i.reactant.role != Role::Fuel)
            .filter(|i| {
                members
                    .iter()
                    .all(|member| holds_as_much(&member.prepared.batch, i))
            })
            .collect();
        let water = shared.iter().any(|i| i.reactant.role == Role::Solvent);
        if !water || shared.len() < 2 {
            return None;
        }
        let portions = members.iter().map(|member| member.runs).sum();
        let portion = shared
            .iter()
            .fold(Mass::new::<gram>(0.0), |sum, i| sum + i.mass);
        let ingredients = shared.iter().map(|i| {
            let mass = made * portions as f64 * i.mass;
            (i.reactant.id.clone(), i.reactant.name.clone(), mass)
        });
        Some(Self {
            ingredients: ingredients.collect(),
            portion,
            portions,
        })
    }

    /// Whether it holds a substance.
    pub fn holds(&self, id: &str) -> bool {
        self.ingredients.iter().any(|(own, ..)| own == id)
    }
}

fn holds_as_much(batch: &Batch, ingredient: &Ingredient) -> bool {
    let n = ingredient.amount.get::<mole>();
    batch.weighed.iter().any(|other| {
        other.reactant.id == ingredient.reactant.id
            && (other.amount.get::<mole>() - n).abs() <= SAME * n
    })
}

/// What is made over what is split.
fn made(tables: &Tables) -> f64 {
    1.0 + tables.observations.series.spare.si()
}

/// A stock solution of the dopant's salt: of the concentration that the file states, else such that
/// the member with most of it takes one filling of the pipette.
#[derive(Debug, Clone, PartialEq)]
pub struct DopantStock {
    /// Id of the salt.
    pub substance: String,
    pub name: String,
    /// Greatest volume of the piston pipette.
    pub pipette: Volume,
    pub step: Volume,
    /// Flask that is made up to the mark.
    pub flask: Volume,
    /// Mass of the salt in it.
    pub mass: Mass,
    /// Whether the file states the stock, and so counts its water.
    pub stated: bool,
    /// Relative standard uncertainty of what all draw from: the salt weighed, the flask made up.
    pub common: Ratio,
    /// Standard uncertainty of a volume drawn.
    pub delivery: Volume,
    /// Whether the file lists no pipette, and a usual one is taken.
    pub assumed: bool,
    steps: f64,
    /// Amount of the salt in one filling, mol.
    filling_mol: f64,
    element: Element,
}

/// What is drawn for one member.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drawn {
    /// Volume, in whole steps.
    pub volume: Volume,
    /// Amount drawn over the amount wanted.
    pub factor: f64,
}

impl DopantStock {
    /// The stock for the salt of `dopant`; `None` if no member has it from one bottle.
    pub(super) fn of(
        dopant: Element,
        members: &[Member<'_>],
        tables: &Tables,
    ) -> Result<Option<Self>, SeriesError> {
        let salts = members
            .iter()
            .filter_map(|m| salt(&m.prepared.batch, dopant));
        let Some(most) = salts.max_by(|a, b| a.amount.value.total_cmp(&b.amount.value)) else {
            return Ok(None);
        };
        let batch = &members[0].prepared.batch;
        let pieces = Pieces::of(batch, tables)?;
        let pipette = pieces.pipette.volume();
        // The member with most of it takes what the file's concentration asks for, else one filling.
        let most_volume = most.stock.map_or(pipette, |stock| stock.volume);
        let wanted = made(tables) * members.len() as f64 * most_volume;
        let Some(flask) = pieces.flask(wanted) else {
            return Ok(None);
        };
        let mass = most.mass * (flask.volume() / most_volume).get::<ratio>();
        let weighed = weighed(batch, mass, tables)?;
        let filled: Ratio = flask.flask_uncertainty() / flask.volume();
        let steps = tables.observations.series.pipette_steps.si();
        Ok(Some(Self {
            substance: most.reactant.id.clone(),
            name: most.reactant.name.clone(),
            pipette,
            step: pipette / steps,
            flask: flask.volume(),
            mass,
            stated: most.stock.is_some(),
            common: Ratio::new::<ratio>(weighed.value.hypot(filled.value)),
            delivery: pieces.pipette.delivery_uncertainty(1),
            assumed: pieces.assumed,
            steps,
            filling_mol: most.amount.get::<mole>() * (pipette / most_volume).get::<ratio>(),
            element: dopant,
        }))
    }

    /// What is drawn for a batch, rounded to a step; `None` if it holds none of the salt.
    pub fn drawn(&self, batch: &Batch) -> Option<Drawn> {
        let wanted = salt(batch, self.element)?.amount.get::<mole>() / self.filling_mol;
        let steps = (wanted * self.steps).round().max(1.0);
        Some(Drawn {
            volume: steps * self.step,
            factor: steps / self.steps / wanted,
        })
    }
}

/// The glassware of a series.
struct Pieces<'a> {
    pipette: Piece<'a>,
    flasks: Vec<Piece<'a>>,
    assumed: bool,
}

impl<'a> Pieces<'a> {
    /// What the file lists, else the usual pipette and the flasks of ISO class B.
    fn of(batch: &Batch, tables: &'a Tables) -> Result<Self, GlasswareError> {
        let listed = batch.glassware.as_ref();
        let (standard, class) = listed.map_or((Standard::Iso, AccuracyClass::B), |glassware| {
            (glassware.standard, glassware.class)
        });
        let limits = &tables.glassware;
        let piston = listed.and_then(|glassware| glassware.pistons.last());
        let pipette = piston.map_or(tables.observations.series.usual_piston.value, |piston| {
            piston.nominal
        });
        let flasks: Vec<Volume> = match listed {
            Some(glassware) if !glassware.flasks.is_empty() => glassware.flasks.clone(),
            _ => limits
                .volumes(GlasswareKind::Flask, standard, class)
                .collect(),
        };
        let find = |kind, volume| Piece::find(limits, kind, standard, class, volume);
        let flasks = flasks.into_iter().map(|v| find(GlasswareKind::Flask, v));
        Ok(Self {
            pipette: find(GlasswareKind::Piston, pipette)?,
            flasks: flasks.collect::<Result<_, _>>()?,
            assumed: piston.is_none(),
        })
    }

    /// The smallest flask that holds `wanted`, else the largest.
    fn flask(&self, wanted: Volume) -> Option<&Piece<'a>> {
        let by_volume =
            |a: &&Piece<'a>, b: &&Piece<'a>| a.volume().value.total_cmp(&b.volume().value);
        let fits = self.flasks.iter().filter(|flask| flask.volume() >= wanted);
        fits.min_by(by_volume)
            .or_else(|| self.flasks.iter().max_by(by_volume))
    }
}

/// Relative standard uncertainty of a mass on the balances of `batch`.
fn weighed(batch: &Batch, mass: Mass, tables: &Tables) -> Result<Ratio, WeighingError> {
    let weighing = choose(&balances(batch, tables), mass, &tables.weighing_rules)?;
    Ok(weighing.standard_uncertainty / weighing.mass)
}

impl LevelBand {
    /// Of the member `batch` with this level of the dopant beside `host`; `None` without a stock.
    ///
    /// n dopant and m host give x = n/(n + m), so that dx = x (1 − x) √((dn/n)² + (dm/m)²).
    pub(super) fn of(level: Ratio, volume: Volume, stock: &DopantStock, host: Ratio) -> Self {
        let delivered: Ratio = stock.delivery / volume;
        let slope = COVERAGE * level * (1.0 - level.get::<ratio>());
        let own = delivered.value.hypot(host.value);
        Self {
            level,
            half_width: slope * own.hypot(stock.common.value),
            common: slope * stock.common.value,
        }
    }
}

/// Relative standard uncertainty of the host's metal in a portion of the mother solution, or as
/// weighed by itself.
pub(super) fn host_uncertainty(
    batch: &Batch,
    host: Element,
    mother: Option<&Mother>,
    tables: &Tables,
) -> Result<Ratio, WeighingError> {
    let Some(salt) = salt(batch, host) else {
        return Ok(Ratio::new::<ratio>(0.0));
    };
    let mass = mother
        .filter(|mother| mother.holds(&salt.reactant.id))
        .map_or(salt.mass, |mother| mother.portion);
    weighed(batch, mass, tables)
}

/// The only salt of an element.
fn salt(batch: &Batch, element: Element) -> Option<&Ingredient> {
    let mut salts = batch.weighed.iter().filter(|i| {
        i.reactant
            .metal
            .as_ref()
            .is_some_and(|metal| metal.element == element)
    });
    salts.next().filter(|_| salts.next().is_none())
}

/// All batches of the series lying in one room.
#[derive(Debug, Clone)]
pub struct Together {
    /// Oxidiser and fuel of all runs.
    pub mass: Mass,
    /// What refuses the sum as one mixture.
    pub stops: Vec<Warning>,
    /// Most runs that may lie mixed at the same time; all of them without a stop.
    pub at_once: usize,
}

impl Together {
    pub(super) fn of(members: &[Member<'_>], tables: &Tables) -> Self {
        let batches: Vec<&Batch> = members
            .iter()
            .flat_map(|m| std::iter::repeat_n(&m.prepared.batch, m.runs))
            .collect();
        let solids = |batch: &&Batch| {
            let solids = batch
                .ingredients
                .iter()
                .filter(|i| i.reactant.role != Role::Solvent);
            solids.fold(Mass::new::<gram>(0.0), |sum, i| sum + i.mass)
        };
        let stops = mixture_stops(&joined(&batches), &tables.safety);
        let mut by_mass = batches.clone();
        by_mass.sort_by(|a, b| solids(b).value.total_cmp(&solids(a).value));
        let fits =
            |count: &usize| mixture_stops(&joined(&by_mass[..*count]), &tables.safety).is_empty();
        Self {
            mass: batches
                .iter()
                .map(solids)
                .fold(Mass::new::<gram>(0.0), |sum, mass| sum + mass),
            at_once: if stops.is_empty() {
                batches.len()
            } else {
                (1..batches.len()).rev().find(fits).unwrap_or(1)
            },
            stops,
        }
    }
}

/// Batches as one mixture.
fn joined(batches: &[&Batch]) -> Batch {
    let mut sum = batches[0].clone();
    for batch in &batches[1..] {
        sum.ingredients.extend(batch.ingredients.iter().cloned());
        sum.weighed.extend(batch.weighed.iter().cloned());
    }
    sum
}
