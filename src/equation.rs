//! The balanced overall equation of a batch, for one formula unit of product.

use crate::batch::Batch;
use crate::flame::CompleteCombustion;
use crate::formula::{Element, Formula};
use crate::product::{ExpectedProduct, ProductPhase};
use crate::quantity::AmountOfSubstance;
use crate::quantity::units::{mole, ratio};
use crate::redox::{Redox, RedoxError, valence};
use crate::tables::Role;
use std::{fmt, iter};

/// Terms below this share of the product are rounding.
const SMALLEST: f64 = 1e-9;

/// One term of an equation.
#[derive(Debug, Clone, PartialEq)]
pub struct Term {
    /// Stoichiometric number ν, positive on both sides.
    pub stoichiometric_number: f64,
    pub formula: String,
    /// Whether it is surplus fuel that the oxidiser cannot burn.
    pub surplus: bool,
}

/// A balanced equation.
#[derive(Debug, Clone, PartialEq)]
pub struct Equation {
    /// What reacts; added water and unused solvent are left out.
    pub reactants: Vec<Term>,
    /// What is formed, the powder first; surplus fuel last, as it was weighed.
    pub products: Vec<Term>,
}

/// The balanced equation of the batch with all its crystal water, `burn` being its complete
/// combustion in that state.
///
/// In a rich batch the fuel beyond φ = 1 stands on the right as it was weighed: what becomes of it
/// depends on the air and is told elsewhere. Where metal salts alone make the batch rich, the
/// gases of the water–gas equilibrium stand there instead.
pub fn balanced_equation(
    batch: &Batch,
    redox: &Redox,
    product: &ExpectedProduct,
    burn: &CompleteCombustion,
) -> Result<Equation, RedoxError> {
    let unit = unit(batch, product);
    let per_unit = |n: AmountOfSubstance| n.get::<mole>() / unit;
    let burnt_share = burnt_fuel_share(batch, redox)?;
    let mut reactants = Vec::new();
    let mut surplus = Vec::new();
    for ingredient in batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role != Role::Solvent)
    {
        let formula = match ingredient.reactant.role {
            // The water of an acid solution is solvent and left out.
            Role::Acid => ingredient.reactant.formula.anhydrous().to_string(),
            _ => ingredient.reactant.formula.to_string(),
        };
        let number = per_unit(ingredient.amount);
        if ingredient.reactant.role == Role::Fuel && burnt_share < 1.0 {
            let left = number * (1.0 - burnt_share);
            surplus.push(Term {
                stoichiometric_number: left,
                formula: formula.clone(),
                surplus: true,
            });
        }
        reactants.push(Term {
            stoichiometric_number: number,
            formula,
            surplus: false,
        });
    }
    let mut products = powder_terms(batch, product, unit);
    let plain = |formula: &str, number: f64| Term {
        stoichiometric_number: number,
        formula: formula.to_owned(),
        surplus: false,
    };
    if surplus.is_empty() {
        for gas in &burn.gas {
            products.push(plain(&gas.id, per_unit(gas.amount)));
        }
    } else {
        for (id, number) in burnt_gases(&reactants, &surplus, &products) {
            products.push(plain(&id, number));
        }
        products.extend(surplus);
    }
    let tiny = SMALLEST
        * reactants
            .iter()
            .map(|t| t.stoichiometric_number)
            .sum::<f64>();
    products.retain(|term| term.stoichiometric_number > tiny);
    Ok(Equation {
        reactants,
        products,
    })
}

/// Mol of product that count as one: of the target, or of the first compound.
fn unit(batch: &Batch, product: &ExpectedProduct) -> f64 {
    let first = || {
        product
            .phases
            .first()
            .map_or(1.0, |phase| phase.amount.get::<mole>())
    };
    batch
        .target
        .as_ref()
        .map_or_else(first, |target| target.amount.get::<mole>())
}

/// Share of each fuel that the oxidiser can burn: 1 unless the fuels make the batch rich.
fn burnt_fuel_share(batch: &Batch, redox: &Redox) -> Result<f64, RedoxError> {
    if redox.equivalence_ratio.get::<ratio>() <= 1.0 + 1e-9 {
        return Ok(1.0);
    }
    let mut fuel = 0.0;
    for ingredient in batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role == Role::Fuel)
    {
        fuel += valence(&ingredient.reactant.formula, &batch.states)?.max(0.0)
            * ingredient.amount.get::<mole>();
    }
    let others = redox.reducing.get::<mole>() - fuel;
    let share = (redox.oxidising.get::<mole>() - others) / fuel;
    Ok(if share.is_finite() && share >= 0.0 {
        share
    } else {
        1.0
    })
}

fn powder_terms(batch: &Batch, product: &ExpectedProduct, unit: f64) -> Vec<Term> {
    let term = |formula: String, number: f64| Term {
        stoichiometric_number: number,
        formula,
        surplus: false,
    };
    let phase = |phase: &ProductPhase| {
        let number = phase.amount.get::<mole>() / unit;
        term(phase.formula.to_string(), number)
    };
    let all = || product.phases.iter().map(phase).collect();
    // A target that balances stands as it was written, whatever it is made up of, with what a flux
    // leaves beside it.
    match &batch.target {
        Some(target) if product.model.is_mixture() && batch.unbound_oxygen.abs() < SMALLEST => {
            let Some(beside) = beside(&target.formula, product) else {
                return all();
            };
            let terms = beside.into_iter().map(phase);
            iter::once(term(target.formula.to_string(), 1.0))
                .chain(terms)
                .collect()
        }
        _ => all(),
    }
}

/// The phases of elements that the target does not hold; none if one of them holds elements of the
/// target besides, oxygen apart.
fn beside<'a>(target: &Formula, product: &'a ExpectedProduct) -> Option<Vec<&'a ProductPhase>> {
    let foreign = |element: &&Element| target.amount_of(**element) <= 0.0;
    let mut found = Vec::new();
    for phase in &product.phases {
        let elements = phase.formula.amounts().keys();
        let mut own = elements.filter(|e| **e != Element::OXYGEN);
        let strange = own.clone().filter(foreign).count();
        if strange > 0 {
            if !own.all(|e| foreign(&e)) {
                return None;
            }
            found.push(phase);
        }
    }
    Some(found)
}

/// CO2, H2O, N2 … that close the balance of everything but the surplus.
fn burnt_gases(reactants: &[Term], surplus: &[Term], powder: &[Term]) -> Vec<(String, f64)> {
    let atoms = |symbol: &str| -> f64 {
        let sum = |terms: &[Term]| -> f64 {
            terms
                .iter()
                .filter_map(|term| {
                    let element = crate::formula::Element::from_symbol(symbol)?;
                    let formula = Formula::parse(&term.formula).ok()?;
                    Some(term.stoichiometric_number * formula.amount_of(element))
                })
                .sum()
        };
        sum(reactants) - sum(surplus) - sum(powder)
    };
    vec![
        ("CO2".to_owned(), atoms("C")),
        ("H2O".to_owned(), (atoms("H") - atoms("Cl")) / 2.0),
        ("N2".to_owned(), atoms("N") / 2.0),
        ("SO2".to_owned(), atoms("S")),
        ("HCl".to_owned(), atoms("Cl")),
    ]
}

/// Largest factor by which an equation is cleared of fractions.
const LARGEST_FACTOR: u32 = 12;
/// Largest number that clearing or the top of a fraction may come to: beyond, others read more easily.
const LARGEST_NUMBER: f64 = 400.0;
/// Largest denominator of a fraction that is written as one.
const LARGEST_DENOMINATOR: u32 = 24;
/// A number this near to a whole one is whole, as a share of it.
const WHOLE: f64 = 1e-5;

impl Equation {
    fn terms(&self) -> impl Iterator<Item = &Term> {
        self.reactants.iter().chain(&self.products)
    }

    /// The factor that makes every number whole; 1 if no small one does.
    fn clearing_factor(&self) -> f64 {
        let largest = self.terms().map(|term| term.stoichiometric_number);
        let largest = largest.fold(0.0, f64::max);
        (1..=LARGEST_FACTOR)
            .map(f64::from)
            .take_while(|factor| factor * largest <= LARGEST_NUMBER)
            .find(|factor| {
                let mut terms = self.terms();
                terms.all(|term| is_whole(factor * term.stoichiometric_number))
            })
            .unwrap_or(1.0)
    }
}

/// Whether a stoichiometric number is whole, and not zero.
fn is_whole(number: f64) -> bool {
    number >= 0.5 && (number - number.round()).abs() < WHOLE * number
}

/// Written in whole numbers if a small factor makes them so, else with fractions.
impl fmt::Display for Equation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let factor = self.clearing_factor();
        let fractions = self
            .terms()
            .all(|term| fraction(term.stoichiometric_number).is_some());
        let side = |terms: &[Term]| {
            let texts: Vec<String> = terms
                .iter()
                .map(|term| term_text(term, factor, fractions))
                .collect();
            texts.join(" + ")
        };
        write!(f, "{} → {}", side(&self.reactants), side(&self.products))
    }
}

fn term_text(term: &Term, factor: f64, fractions: bool) -> String {
    let mark = if term.surplus { " (surplus)" } else { "" };
    let number = factor * term.stoichiometric_number;
    let number = fraction(number)
        .filter(|text| fractions || !text.contains('/'))
        .unwrap_or_else(|| four_digits(number));
    if number == "1" {
        format!("{}{mark}", term.formula)
    } else {
        format!("{number} {}{mark}", term.formula)
    }
}

/// A stoichiometric number that is whole or a fraction of small numbers.
fn fraction(number: f64) -> Option<String> {
    if is_whole(number) {
        return Some(format!("{number:.0}"));
    }
    let denominator = (2..=LARGEST_DENOMINATOR)
        .map(f64::from)
        .take_while(|denominator| denominator * number <= LARGEST_NUMBER)
        .find(|denominator| is_whole(denominator * number))?;
    Some(format!("{:.0}/{denominator:.0}", denominator * number))
}

/// Four significant digits without trailing zeros.
fn four_digits(number: f64) -> String {
    let decimals = (3.0 - number.abs().log10().floor()).clamp(0.0, 9.0) as usize;
    let text = format!("{number:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn equation(numbers: &[f64]) -> Equation {
        let term = |number: &f64| Term {
            stoichiometric_number: *number,
            formula: "X".to_owned(),
            surplus: false,
        };
        Equation {
            reactants: numbers.iter().map(term).collect(),
            products: Vec::new(),
        }
    }

    #[test]
    fn thirds_are_cleared() {
        let text = equation(&[1.0, 2.0, 22.0 / 3.0]).to_string();
        assert_eq!(text, "3 X + 6 X + 22 X → ");
    }

    #[test]
    fn what_no_small_factor_clears_has_fractions_or_decimals() {
        let text = equation(&[1.0 / 13.0, 7.0 / 3.0]).to_string();
        assert_eq!(text, "1/13 X + 7/3 X → ");
        // A milligram of dopant in grams of salt.
        let text = equation(&[15_513.0 / 5.0, 2.0]).to_string();
        assert_eq!(text, "3103 X + 2 X → ");
        let text = equation(&[0.98, 0.02, 7.0 / 3.0]).to_string();
        assert_eq!(text, "0.98 X + 0.02 X + 2.333 X → ");
    }
}
