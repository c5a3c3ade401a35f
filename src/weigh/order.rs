//! Order of addition. Common practice, no source: water and acid first; what needs the acid; the
//! salts, largest mass first, while nothing else competes for the water; dopants into the clear
//! solution, so that none is lost on the walls of a weighing boat; the flux, which wants warm
//! water; the fuel last, so that nitrate and fuel are never together dry.

use crate::batch::Ingredient;
use crate::dissolution::{Kind, kind};
use crate::quantity::units::kilogram;
use crate::redox::OxidationStates;
use crate::tables::Role;

/// Step at which a kind of ingredient is added, and why there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    Water,
    /// Nitric acid.
    Acid,
    /// Carbonates, oxides and other sources that need acid.
    AcidNeeded,
    /// Nitrates and other salts.
    Salt,
    /// Dopants and stock solutions.
    Dopant,
    Flux,
    Fuel,
}

pub fn stage(ingredient: &Ingredient, is_dopant: bool) -> Stage {
    let needs_acid = || {
        let kind = kind(
            &ingredient.reactant.formula,
            &OxidationStates::conventional(),
        );
        matches!(kind, Ok(Kind::Carbonate | Kind::Oxide))
    };
    match ingredient.reactant.role {
        Role::Solvent => Stage::Water,
        Role::Acid => Stage::Acid,
        Role::Flux => Stage::Flux,
        Role::Fuel => Stage::Fuel,
        _ if is_dopant || ingredient.stock.is_some() => Stage::Dopant,
        Role::MetalSource if needs_acid() => Stage::AcidNeeded,
        Role::MetalSource | Role::Oxidiser | Role::FuelLikeSalt => Stage::Salt,
    }
}

/// Places of the ingredients in the order of addition.
pub fn order(ingredients: &[Ingredient], is_dopant: impl Fn(usize) -> bool) -> Vec<usize> {
    let mut places: Vec<usize> = (0..ingredients.len()).collect();
    places.sort_by(|&a, &b| {
        let key = |at: usize| stage(&ingredients[at], is_dopant(at));
        let mass = |at: usize| ingredients[at].mass.get::<kilogram>();
        key(a)
            .cmp(&key(b))
            .then_with(|| mass(b).total_cmp(&mass(a)))
    });
    places
}
