//! From a wanted product, a fuel ratio and a scale to the amount of every ingredient.

use super::ingredient::Draft;
use super::pot::{Dissolution, in_pot};
use super::section::Mistakes;
use super::weighed::Ingredient;
use crate::formula::{Element, Formula};
use crate::quantity::units::{kilogram, mole};
use crate::quantity::{AmountOfSubstance, Mass};
use crate::redox::{OxidationStates, RedoxError, metal_atoms, nitrate_ions, valence};
use crate::tables::Role;
use std::collections::BTreeMap;
use std::ops::Range;

/// The wanted product.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// Its formula, as the user wrote it.
    pub formula: Formula,
    /// Amount of product, in formula units.
    pub amount: AmountOfSubstance,
    /// Fuel ratio asked for.
    pub ratio: FuelRatio,
    /// Scale asked for.
    pub scale: Scale,
}

/// A fuel ratio by one of the definitions in use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FuelRatio {
    /// Reducing over oxidising valence, φ.
    EquivalenceRatio(f64),
    /// Oxidising over reducing valence (also written λ = 1/φ).
    OxidiserToFuel(f64),
    /// Amount of fuel per amount of nitrate ions.
    FuelPerNitrate(f64),
    /// Amount of fuel per amount of metal atoms.
    FuelPerMetal(f64),
}

/// The size of a batch.
#[derive(Debug, Clone, PartialEq)]
pub enum Scale {
    /// Mass of product.
    ProductMass(Mass),
    /// Mass of all that is weighed, without solvent.
    TotalMass(Mass),
    /// Mass of one ingredient, by its place in the list of ingredients.
    IngredientMass(usize, Mass),
}

/// What a fuel's `share` counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ShareBasis {
    /// Share of the reducing valence.
    #[default]
    Valence,
    /// Share of the amount (mol) of fuel.
    Amount,
}

/// What the target asks for, with the places in the file for mistakes.
pub(super) struct Request {
    pub formula: Formula,
    /// Oxidation states that the formula chooses for its dopants.
    pub dopant_states: BTreeMap<Element, f64>,
    pub formula_span: Range<usize>,
    pub ratio: FuelRatio,
    pub ratio_span: Range<usize>,
    pub scale: Scale,
    pub share_basis: ShareBasis,
}

/// Elements that leave as gas and need no supplier in the target.
fn is_volatile(element: Element) -> bool {
    matches!(element.symbol(), "C" | "H" | "N" | "O" | "S" | "Cl")
}

/// Amounts for one mole of target, split into what scales with it and what the file fixes.
pub(super) fn resolve(
    request: &Request,
    drafts: &[Draft],
    states: &OxidationStates,
    mistakes: &Mistakes<'_>,
) -> Option<(Target, Vec<Ingredient>)> {
    let salts = per_mole_of_target(request, drafts, mistakes)?;
    let amount = match &request.scale {
        Scale::ProductMass(mass) => *mass / request.formula.molar_mass(),
        Scale::IngredientMass(at, mass) => {
            let per_mole = salts.get(at).copied().unwrap_or(0.0);
            let draft = &drafts[*at];
            if per_mole <= 0.0 {
                let message = "the limiting substance should be a salt of the target that has no \
                               amount of its own";
                mistakes.add(draft.span.clone(), message);
                return None;
            }
            let pure: Mass = *mass * draft.assay;
            pure / draft.reactant.formula.molar_mass() / per_mole
        }
        Scale::TotalMass(mass) => {
            // The total is a straight line in the scale: two points give it.
            let total = |n: f64| -> Option<f64> {
                let n = AmountOfSubstance::new::<mole>(n);
                let list = build(request, drafts, &salts, n, states, mistakes)?;
                let weighed = list.iter().filter(|i| i.reactant.role != Role::Solvent);
                Some(weighed.map(|i| i.mass.get::<kilogram>()).sum())
            };
            let (one, two) = (total(1.0)?, total(2.0)?);
            let scale = 1.0 + (mass.get::<kilogram>() - one) / (two - one);
            if !scale.is_finite() || scale <= 0.0 {
                let message = "`total_mass` is less than the ingredients with a fixed amount";
                mistakes.add(request.formula_span.clone(), message);
                return None;
            }
            AmountOfSubstance::new::<mole>(scale)
        }
    };
    let ingredients = build(request, drafts, &salts, amount, states, mistakes)?;
    let target = Target {
        formula: request.formula.clone(),
        amount,
        ratio: request.ratio,
        scale: request.scale.clone(),
    };
    Some((target, ingredients))
}

/// Amount of each salt, by its place in the list, for one mole of the target.
fn per_mole_of_target(
    request: &Request,
    drafts: &[Draft],
    mistakes: &Mistakes<'_>,
) -> Option<BTreeMap<usize, f64>> {
    let mut salts: BTreeMap<usize, f64> = BTreeMap::new();
    let mut sound = true;
    for (&element, &wanted) in request.formula.amounts() {
        if is_volatile(element) {
            continue;
        }
        let suppliers: Vec<usize> = (0..drafts.len())
            .filter(|&at| drafts[at].fixed.is_none() && drafts[at].per_product.is_none())
            .filter(|&at| drafts[at].reactant.role != Role::Fuel)
            .filter(|&at| drafts[at].reactant.formula.amount_of(element) > 0.0)
            .collect();
        if suppliers.is_empty() {
            let message = format!(
                "nothing in the list brings {element}: add an [[ingredient]] with it and without \
                 an amount"
            );
            mistakes.add(request.formula_span.clone(), message);
            sound = false;
            continue;
        }
        let shares = supplier_shares(element, &suppliers, drafts, mistakes);
        sound &= shares.is_some();
        for (&at, share) in suppliers.iter().zip(shares.unwrap_or_default()) {
            let formula = &drafts[at].reactant.formula;
            let n = wanted * share / formula.amount_of(element);
            let before = salts.insert(at, n);
            if before.is_some_and(|old| (old - n).abs() > 1e-9 * n) {
                let message = format!(
                    "{formula} brings two elements of the target in another ratio than the \
                     target has; use salts with one of them each"
                );
                mistakes.add(drafts[at].span.clone(), message);
                sound = false;
            }
        }
    }
    for (at, draft) in drafts.iter().enumerate() {
        let bystander = matches!(draft.reactant.role, Role::Fuel | Role::Solvent | Role::Acid);
        if draft.fixed.is_some() || draft.per_product.is_some() || bystander {
            continue;
        }
        let strange =
            draft.reactant.formula.amounts().keys().find(|&&element| {
                !is_volatile(element) && request.formula.amount_of(element) <= 0.0
            });
        if let Some(element) = strange {
            let message = format!(
                "{element} is not in the target; give this ingredient an amount of its own, or \
                 `per_product` for a flux"
            );
            mistakes.add(draft.span.clone(), message);
            sound = false;
        } else if !salts.contains_key(&at) {
            let message = "this ingredient brings nothing of the target; give it an amount";
            mistakes.add(draft.span.clone(), message);
            sound = false;
        }
    }
    sound.then_some(salts)
}

/// Shares in which several ingredients supply one element.
fn supplier_shares(
    element: Element,
    suppliers: &[usize],
    drafts: &[Draft],
    mistakes: &Mistakes<'_>,
) -> Option<Vec<f64>> {
    let shares: Vec<Option<f64>> = suppliers.iter().map(|&at| drafts[at].share).collect();
    complete_shares(&shares).or_else(|| {
        let span = drafts[suppliers[suppliers.len() - 1]].span.clone();
        let message = format!(
            "several ingredients bring {element}: give each a `share`, adding up to 1 (100 %)"
        );
        mistakes.add(span, message);
        None
    })
}

/// Shares with at most one left out, which gets the rest. `None` if they do not add up to 1.
fn complete_shares(shares: &[Option<f64>]) -> Option<Vec<f64>> {
    let known: f64 = shares.iter().flatten().sum();
    let open = shares.iter().filter(|share| share.is_none()).count();
    let rest = 1.0 - known;
    match open {
        0 if rest.abs() < 1e-6 => Some(shares.iter().flatten().copied().collect()),
        1 if rest > -1e-6 => Some(shares.iter().map(|s| s.unwrap_or(rest.max(0.0))).collect()),
        _ => None,
    }
}

/// Every ingredient for `amount` of the target.
fn build(
    request: &Request,
    drafts: &[Draft],
    salts: &BTreeMap<usize, f64>,
    amount: AmountOfSubstance,
    states: &OxidationStates,
    mistakes: &Mistakes<'_>,
) -> Option<Vec<Ingredient>> {
    let mut list: Vec<Option<Ingredient>> = drafts
        .iter()
        .enumerate()
        .map(|(at, draft)| {
            let worked_out = salts.get(&at).copied().or(draft.per_product);
            match (&draft.fixed, worked_out) {
                (Some(fixed), _) => Some(fixed.clone()),
                (None, Some(n)) => Some(draft.with_amount(n * amount)),
                (None, None) => None,
            }
        })
        .collect();
    let acid = acid_amount(drafts, &list, mistakes)?;
    if let Some((at, n)) = acid {
        list[at] = Some(drafts[at].with_amount(n));
    }
    let fuels = fuel_amounts(request, drafts, &list, states, mistakes)?;
    for (at, n) in fuels {
        list[at] = Some(drafts[at].with_amount(n));
    }
    Some(list.into_iter().flatten().collect())
}

/// Amount of the acid without an amount of its own: what the sources in the list use up, less the
/// acid that has one. `None` if a mistake was noted.
fn acid_amount(
    drafts: &[Draft],
    known: &[Option<Ingredient>],
    mistakes: &Mistakes<'_>,
) -> Option<Option<(usize, AmountOfSubstance)>> {
    let mut open = (0..drafts.len())
        .filter(|&at| known[at].is_none() && drafts[at].reactant.role == Role::Acid);
    let Some(at) = open.next() else {
        return Some(None);
    };
    let span = drafts[at].span.clone();
    if open.next().is_some() {
        mistakes.add(
            span,
            "two acids without an amount: give one of them its amount",
        );
        return None;
    }
    let weighed: Vec<Ingredient> = known.iter().flatten().cloned().collect();
    let missing = Dissolution::of(&weighed).and_then(|found| found.missing());
    if missing.is_none() {
        let message = "nothing in the list uses up this acid: give it an amount of its own, or \
                       leave it out";
        mistakes.add(span, message);
        return None;
    }
    Some(missing.map(|n| (at, n)))
}

/// Amount of each fuel without an amount of its own, so that the ratio is met.
fn fuel_amounts(
    request: &Request,
    drafts: &[Draft],
    known: &[Option<Ingredient>],
    states: &OxidationStates,
    mistakes: &Mistakes<'_>,
) -> Option<Vec<(usize, AmountOfSubstance)>> {
    let open: Vec<usize> = (0..drafts.len())
        .filter(|&at| known[at].is_none())
        .collect();
    if open.is_empty() {
        let message = "the target's fuel ratio needs at least one fuel without an amount: add an \
                       [[ingredient]] such as urea and leave its amount out";
        mistakes.add(request.ratio_span.clone(), message);
        return None;
    }
    let weighed: Vec<Ingredient> = known.iter().flatten().cloned().collect();
    let sums = match Sums::of(&weighed, states) {
        Ok(sums) => sums,
        Err(error) => {
            mistakes.add(request.formula_span.clone(), error.to_string());
            return None;
        }
    };
    let shares: Vec<Option<f64>> = open.iter().map(|&at| drafts[at].share).collect();
    let Some(shares) = complete_shares(&shares) else {
        let span = drafts[open[open.len() - 1]].span.clone();
        mistakes.add(
            span,
            "several fuels: give each a `share`, adding up to 1 (100 %)",
        );
        return None;
    };
    let valences = open
        .iter()
        .map(|&at| reducing_valence(&drafts[at], states, mistakes))
        .collect::<Option<Vec<f64>>>()?;
    // Amount per unit of what is asked for: of valence or of moles of fuel.
    let weights: Vec<f64> = match request.share_basis {
        ShareBasis::Valence => shares.iter().zip(&valences).map(|(s, v)| s / v).collect(),
        ShareBasis::Amount => {
            let mean: f64 = shares.iter().zip(&valences).map(|(s, v)| s * v).sum();
            shares.iter().map(|s| s / mean).collect()
        }
    };
    let weight: f64 = weights.iter().sum();
    let needed = match request.ratio {
        FuelRatio::EquivalenceRatio(phi) => phi * sums.oxidising - sums.reducing,
        FuelRatio::OxidiserToFuel(inverse) => sums.oxidising / inverse - sums.reducing,
        FuelRatio::FuelPerNitrate(r) => (r * sums.nitrate - sums.fuel) / weight,
        FuelRatio::FuelPerMetal(r) => (r * sums.metal - sums.fuel) / weight,
    };
    if !needed.is_finite() || needed <= 0.0 {
        let message = if sums.oxidising <= 0.0 {
            "nothing in the list oxidises: use the nitrate of at least one metal".to_owned()
        } else {
            format!(
                "no fuel is needed for this ratio: without it the batch already stands at φ = {:.2}",
                sums.reducing / sums.oxidising
            )
        };
        mistakes.add(request.ratio_span.clone(), message);
        return None;
    }
    let amount = |w: &f64| AmountOfSubstance::new::<mole>(w * needed);
    Some(open.into_iter().zip(weights.iter().map(amount)).collect())
}

/// Valence of a fuel whose amount is to be found, above zero.
fn reducing_valence(
    draft: &Draft,
    states: &OxidationStates,
    mistakes: &Mistakes<'_>,
) -> Option<f64> {
    let message = match valence(&draft.reactant.formula, states) {
        Ok(v) if v > 0.0 => return Some(v),
        Ok(_) => "this fuel has no reducing valence: give it an amount of its own".to_owned(),
        Err(error) => error.to_string(),
    };
    mistakes.add(draft.span.clone(), message);
    None
}

/// Sums over the ingredients whose amount is known.
#[derive(Default)]
struct Sums {
    reducing: f64,
    oxidising: f64,
    nitrate: f64,
    metal: f64,
    fuel: f64,
}

impl Sums {
    fn of(weighed: &[Ingredient], states: &OxidationStates) -> Result<Self, RedoxError> {
        let mut sums = Self::default();
        for ingredient in in_pot(weighed) {
            let n = ingredient.amount.get::<mole>();
            let formula = &ingredient.reactant.formula;
            match valence(formula, states)? {
                v if v > 0.0 => sums.reducing += n * v,
                v => sums.oxidising -= n * v,
            }
            sums.nitrate += n * nitrate_ions(formula);
            sums.metal += n * metal_atoms(formula);
            if ingredient.reactant.role == Role::Fuel {
                sums.fuel += n;
            }
        }
        Ok(sums)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_share_may_be_left_out() {
        assert_eq!(complete_shares(&[None]), Some(vec![1.0]));
        assert_eq!(complete_shares(&[Some(0.25), None]), Some(vec![0.25, 0.75]));
        assert_eq!(
            complete_shares(&[Some(0.5), Some(0.5)]),
            Some(vec![0.5, 0.5])
        );
        assert_eq!(complete_shares(&[None, None]), None);
        assert_eq!(complete_shares(&[Some(0.7), Some(0.7)]), None);
        assert_eq!(complete_shares(&[Some(1.5), None]), None);
    }
}
