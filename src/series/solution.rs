//! What the members of a series share: a mother solution, a stock of the dopant, the room.

use super::{Member, SAME};
use crate::advice::{Warning, mixture_stops};
use crate::batch::{Batch, Ingredient};
use crate::formula::Element;
use crate::quantity::{Mass, Volume};
use crate::tables::{Role, Tables};
use uom::si::amount_of_substance::mole;
use uom::si::mass::gram;
use uom::si::ratio::ratio;
use uom::si::volume::milliliter;

/// A little more is made than is split: some stays in the beaker. Common practice.
const SPARE: f64 = 1.05;
/// A piston pipette is set in hundredths of its greatest volume. Common practice.
const STEPS: f64 = 100.0;
/// The piston pipette taken where the file lists none, mL. Common practice.
const USUAL_PISTON_ML: f64 = 1.0;
/// Flasks for the stock where the file lists none, mL.
const USUAL_FLASKS_ML: [f64; 4] = [10.0, 25.0, 50.0, 100.0];

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
    pub(super) fn of(members: &[Member<'_>]) -> Option<Self> {
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
            let mass = SPARE * portions as f64 * i.mass;
            (i.reactant.id.clone(), i.reactant.name.clone(), mass)
        });
        Some(Self {
            ingredients: ingredients.collect(),
            portion,
            portions,
        })
    }

    /// Whether it holds a substance.
    #[must_use]
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

/// A stock solution of the dopant's salt: of the concentration that the file states, else such that
/// the member with most of it takes one filling of the pipette.
#[derive(Debug, Clone, PartialEq)]
pub struct DopantStock {
    /// Id of the salt.
    pub substance: String,
    /// Its name.
    pub name: String,
    /// Greatest volume of the piston pipette.
    pub pipette: Volume,
    /// Its steps.
    pub step: Volume,
    /// Flask that is made up to the mark.
    pub flask: Volume,
    /// Mass of the salt in it.
    pub mass: Mass,
    /// Whether the file states the stock, and so counts its water.
    pub stated: bool,
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
    pub(super) fn of(dopant: Element, members: &[Member<'_>]) -> Option<Self> {
        let salts = members
            .iter()
            .filter_map(|m| salt(&m.prepared.batch, dopant));
        let most = salts.max_by(|a, b| a.amount.value.total_cmp(&b.amount.value))?;
        let glassware = members[0].prepared.batch.glassware.as_ref();
        let millilitres = Volume::new::<milliliter>;
        let pipette = glassware
            .and_then(|glassware| glassware.pistons.last())
            .map_or(millilitres(USUAL_PISTON_ML), |piston| piston.nominal);
        // The member with most of it takes what the file's concentration asks for, else one filling.
        let most_volume = most.stock.map_or(pipette, |stock| stock.volume);
        let wanted = SPARE * members.len() as f64 * most_volume;
        let flasks: Vec<Volume> = match glassware {
            Some(glassware) if !glassware.flasks.is_empty() => glassware.flasks.clone(),
            _ => USUAL_FLASKS_ML.map(millilitres).to_vec(),
        };
        let largest = *flasks.last()?;
        let flask = flasks
            .into_iter()
            .find(|flask| *flask >= wanted)
            .unwrap_or(largest);
        Some(Self {
            substance: most.reactant.id.clone(),
            name: most.reactant.name.clone(),
            pipette,
            step: pipette / STEPS,
            flask,
            mass: most.mass * (flask / most_volume).get::<ratio>(),
            stated: most.stock.is_some(),
            filling_mol: most.amount.get::<mole>() * (pipette / most_volume).get::<ratio>(),
            element: dopant,
        })
    }

    /// What is drawn for a batch, rounded to a step; `None` if it holds none of the salt.
    #[must_use]
    pub fn drawn(&self, batch: &Batch) -> Option<Drawn> {
        let wanted = salt(batch, self.element)?.amount.get::<mole>() / self.filling_mol;
        let steps = (wanted * STEPS).round().max(1.0);
        Some(Drawn {
            volume: steps * self.step,
            factor: steps / STEPS / wanted,
        })
    }
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
