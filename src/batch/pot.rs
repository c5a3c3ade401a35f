//! What is in the pot: the ingredients as weighed, once nitric acid has dissolved those that it
//! dissolves.
//!
//! A carbonate, oxide or hydroxide beside enough nitric acid is the nitrate before anything
//! burns: it has given off its carbon dioxide, the acid that it used up is no free acid, and its
//! enthalpy is that of the salt. The salt stands with the crystal water of the hydrate that is
//! sold, taken from the water that the acid and the reaction bring and from the solvent.

use super::dissolves::{Dissolves, MadeSalt};
use super::weighed::{Ingredient, total_amount};
use crate::formula::Formula;
use crate::quantity::units::{mole, ratio};
use crate::quantity::{AmountOfSubstance, Ratio};
use crate::tables::{Reactant, Role};
use std::sync::Arc;

/// A shortage of acid below this share is rounding of the amounts.
const ENOUGH_WITHIN: f64 = 1e-3;

/// What the nitric acid of a batch dissolves.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Dissolution {
    /// HNO3 that dissolving all of the sources uses up.
    pub needed: AmountOfSubstance,
    /// HNO3 that is there.
    pub acid: AmountOfSubstance,
    /// CO2 given off.
    pub carbon_dioxide: AmountOfSubstance,
    /// Each source with the salt it becomes and the amount of that salt.
    pub salts: Vec<(Formula, Formula, AmountOfSubstance)>,
}

impl Dissolution {
    /// What there is to dissolve in a list of ingredients as weighed; `None` if nothing.
    pub fn of(weighed: &[Ingredient]) -> Option<Self> {
        let mut sum = Self {
            acid: acid_of(weighed),
            ..Self::default()
        };
        for (ingredient, dissolves) in sources(weighed) {
            sum.needed += dissolves.acid * ingredient.amount;
            sum.carbon_dioxide += dissolves.carbon_dioxide * ingredient.amount;
            for salt in &dissolves.salts {
                sum.salts.push((
                    ingredient.reactant.formula.clone(),
                    salt.hydrate.formula.clone(),
                    salt.number * ingredient.amount,
                ));
            }
        }
        (!sum.salts.is_empty()).then_some(sum)
    }

    /// HNO3 that is missing; `None` if there is enough.
    pub fn missing(&self) -> Option<AmountOfSubstance> {
        let short = self.acid < (1.0 - ENOUGH_WITHIN) * self.needed;
        short.then(|| self.needed - self.acid)
    }

    /// HNO3 left over, which stays in the pot and oxidises.
    pub fn left_over(&self) -> AmountOfSubstance {
        let left = self.acid - self.needed;
        if left > ENOUGH_WITHIN * self.needed {
            left
        } else {
            AmountOfSubstance::new::<mole>(0.0)
        }
    }
}

fn acid_of(list: &[Ingredient]) -> AmountOfSubstance {
    let acids = list.iter().filter(|i| i.reactant.role == Role::Acid);
    total_amount(acids.map(|i| i.amount))
}

fn sources(list: &[Ingredient]) -> impl Iterator<Item = (&Ingredient, &Dissolves)> {
    list.iter()
        .filter_map(|i| Some((i, i.dissolves.as_deref()?)))
}

/// The ingredients as they are in the pot. Without nitric acid they stay as weighed; with too
/// little of it (which reading a file refuses) the same share of every source dissolves, so that
/// no atom is lost. Carbon dioxide has left.
pub(super) fn in_pot(weighed: &[Ingredient]) -> Vec<Ingredient> {
    let none = AmountOfSubstance::new::<mole>(0.0);
    let acid = acid_of(weighed);
    let Some(dissolution) = Dissolution::of(weighed).filter(|_| acid > none) else {
        return weighed.to_vec();
    };
    let share: Ratio = acid / dissolution.needed;
    let share = match dissolution.missing() {
        Some(_) => share.get::<ratio>(),
        None => 1.0,
    };
    let left: Ratio = dissolution.left_over() / acid;
    let left = left.get::<ratio>();
    let mut list: Vec<Ingredient> = Vec::new();
    // Water set free by the reaction and by the acid that is used up.
    let mut water = none;
    for ingredient in weighed {
        if ingredient.reactant.role == Role::Acid {
            let kept = ingredient.scaled(left);
            water += ingredient.solvent_water() - kept.solvent_water();
            list.push(kept);
        } else if let Some(dissolves) = &ingredient.dissolves {
            water += share * dissolves.water * ingredient.amount;
            list.push(ingredient.scaled(1.0 - share));
        } else {
            list.push(ingredient.clone());
        }
    }
    list.retain(|i| i.amount > none);
    let salts = made(weighed, share);
    let asked = total_amount(salts.iter().map(|(salt, amount, _)| {
        let crystal = salt.hydrate.formula.crystal_water();
        crystal * *amount
    }));
    let added = list.iter().filter(|i| i.reactant.role == Role::Solvent);
    let there = water + total_amount(added.map(|i| i.amount));
    // Where the water is not enough for the hydrates, a part of the salt stays dry.
    let wet: Ratio = if asked > there {
        there / asked
    } else {
        Ratio::new::<ratio>(1.0)
    };
    for (salt, amount, source) in salts {
        for (row, part) in [
            (&salt.hydrate, wet),
            (&salt.dry, Ratio::new::<ratio>(1.0) - wet),
        ] {
            let amount = part * amount;
            if amount > none {
                list.push(from_source(row, amount, source));
            }
        }
    }
    add_water(&mut list, water - wet * asked, weighed);
    list
}

/// The salts made of the dissolved `share` of every source.
fn made(weighed: &[Ingredient], share: f64) -> Vec<(&MadeSalt, AmountOfSubstance, &Ingredient)> {
    sources(weighed)
        .flat_map(|(ingredient, dissolves)| {
            let amount = share * ingredient.amount;
            let salts = dissolves.salts.iter();
            salts.map(move |salt| (salt, salt.number * amount, ingredient))
        })
        .collect()
}

/// A salt in the pot, as well known as the source that it was made of.
fn from_source(row: &Arc<Reactant>, amount: AmountOfSubstance, source: &Ingredient) -> Ingredient {
    Ingredient {
        assay_band: source.assay_band,
        worked_out: source.worked_out,
        ..Ingredient::pure(row, amount)
    }
}

/// Adds `water` to the solvent of a list, or takes it away.
fn add_water(list: &mut Vec<Ingredient>, water: AmountOfSubstance, weighed: &[Ingredient]) {
    let none = AmountOfSubstance::new::<mole>(0.0);
    let solvents = || weighed.iter().filter(|i| i.reactant.role == Role::Solvent);
    let before = total_amount(solvents().map(|i| i.amount));
    if before > none {
        let factor: Ratio = (before + water) / before;
        let factor = factor.get::<ratio>().max(0.0);
        for ingredient in list.iter_mut().filter(|i| i.reactant.role == Role::Solvent) {
            *ingredient = ingredient.scaled(factor);
        }
    } else if water > none {
        if let Some((_, dissolves)) = sources(weighed).next() {
            list.push(Ingredient::pure(&dissolves.solvent, water));
        }
    }
}
