//! The redox sum: reducing and oxidising valences of every ingredient and the fuel ratio.
//!
//! Every element is counted with the oxidation state that it has in the products (C +4, H +1,
//! O −2, N 0, metals as in the target), and the sum is taken over the formula. A positive sum is
//! a fuel, a negative one an oxidiser; crystal water counts nothing. The equivalence ratio is
//! φ = total reducing valence / total oxidising valence, so φ > 1 is fuel-rich.
//!
//! Source: Jain, Adiga and Pai Verneker, Combust. Flame 40 (1981) 71, the valence count for
//! fuel–oxidiser mixtures (from memory).

mod error;
mod states;

pub use error::RedoxError;
pub use states::{OxidationStates, StateOrigin};

use crate::formula::{Element, Formula};
use crate::quantity::units::{mole, percent, ratio};
use crate::quantity::{AmountOfSubstance, EquivalenceRatio, Ratio};
use std::fmt;

/// Ratios nearer to 1 than this count as balanced: below what a balance and an assay resolve.
pub const BALANCED_WITHIN: f64 = 0.01;

/// Whether the fuel suffices for the oxidiser.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mixture {
    /// Less fuel than the oxidiser can burn, φ < 1.
    Lean,
    /// φ = 1 within [`BALANCED_WITHIN`].
    Balanced,
    /// More fuel than the oxidiser can burn, φ > 1.
    Rich,
}

impl Mixture {
    /// The word for this equivalence ratio.
    pub fn of(equivalence_ratio: EquivalenceRatio) -> Self {
        match equivalence_ratio.get::<ratio>() - 1.0 {
            excess if excess > BALANCED_WITHIN => Self::Rich,
            excess if excess < -BALANCED_WITHIN => Self::Lean,
            _ => Self::Balanced,
        }
    }
}

impl fmt::Display for Mixture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Lean => "lean",
            Self::Balanced => "balanced",
            Self::Rich => "rich",
        })
    }
}

/// One element's share of a valence sum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ValenceTerm {
    pub element: Element,
    /// Atoms in one formula unit, crystal water left out.
    pub count: f64,
    /// Oxidation state in the products.
    pub oxidation_state: f64,
}

/// The valence sum of one ingredient.
#[derive(Debug, Clone, PartialEq)]
pub struct ValenceLine {
    /// Formula of the ingredient as weighed.
    pub formula: Formula,
    /// The terms of the sum, by element.
    pub terms: Vec<ValenceTerm>,
    /// Sum over one formula unit: negative oxidises, positive reduces.
    pub per_formula: f64,
    /// Amount of the ingredient.
    pub amount: AmountOfSubstance,
    /// `per_formula` times `amount`.
    pub total: AmountOfSubstance,
}

/// Common ways of stating the fuel ratio, for the same batch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatioDefinitions {
    /// Total reducing / total oxidising valence, φ.
    pub equivalence_ratio: Ratio,
    /// Total oxidising / total reducing valence; also written λ = 1/φ.
    pub oxidiser_to_fuel: Ratio,
    /// Amount of fuel per amount of nitrate ions; `None` without nitrate.
    pub fuel_per_nitrate: Option<Ratio>,
    /// Amount of fuel per amount of metal atoms; `None` without metal.
    pub fuel_per_metal: Option<Ratio>,
    /// 100 φ: fuel in percent of the balanced amount.
    pub percent_of_stoichiometric: f64,
}

/// The redox sum of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Redox {
    /// One line an ingredient, in the order of the batch.
    pub lines: Vec<ValenceLine>,
    /// Total reducing valence, in mol of electrons.
    pub reducing: AmountOfSubstance,
    /// Total oxidising valence, in mol of electrons, as a positive number.
    pub oxidising: AmountOfSubstance,
    /// φ = reducing / oxidising.
    pub equivalence_ratio: EquivalenceRatio,
    /// Lean, balanced or rich.
    pub mixture: Mixture,
    /// The same ratio by other definitions.
    pub definitions: RatioDefinitions,
}

/// Terms of the valence sum of one formula unit without its crystal water.
fn valence_terms(
    formula: &Formula,
    states: &OxidationStates,
) -> Result<Vec<ValenceTerm>, RedoxError> {
    formula
        .anhydrous()
        .amounts()
        .iter()
        .map(|(&element, &count)| {
            let oxidation_state = states.of(element)?;
            Ok(ValenceTerm {
                element,
                count,
                oxidation_state,
            })
        })
        .collect()
}

/// Valence sum of one formula unit: negative oxidises, positive reduces.
///
/// # Errors
/// [`RedoxError::UnknownState`] if an element has no oxidation state in `states`.
pub fn valence(formula: &Formula, states: &OxidationStates) -> Result<f64, RedoxError> {
    Ok(sum(&valence_terms(formula, states)?))
}

fn sum(terms: &[ValenceTerm]) -> f64 {
    let sum: f64 = terms
        .iter()
        .map(|term| term.count * term.oxidation_state)
        .sum();
    // A neutral salt is neutral: rounding of fractional subscripts must not make it a fuel.
    if sum.abs() < 1e-9 { 0.0 } else { sum }
}

/// Nitrate ions in one formula unit: groups written `NO3` or `(NO3)n`.
pub fn nitrate_ions(formula: &Formula) -> f64 {
    let text = formula.anhydrous().to_string();
    let mut count = 0.0;
    let mut rest = text.as_str();
    while let Some(at) = rest.find("NO3") {
        let after = &rest[at + 3..];
        let digits = after.strip_prefix(')').map_or("", |tail| {
            let end = tail
                .find(|c: char| !c.is_ascii_digit() && c != '.')
                .unwrap_or(tail.len());
            &tail[..end]
        });
        count += digits.parse().unwrap_or(1.0);
        rest = after;
    }
    count
}

/// The redox sum of a batch, given as formula and amount of each ingredient.
pub fn redox(
    ingredients: &[(&Formula, AmountOfSubstance)],
    states: &OxidationStates,
) -> Result<Redox, RedoxError> {
    let mut lines = Vec::new();
    for &(formula, amount) in ingredients {
        let terms = valence_terms(formula, states)?;
        let per_formula = sum(&terms);
        lines.push(ValenceLine {
            formula: formula.clone(),
            terms,
            per_formula,
            amount,
            total: per_formula * amount,
        });
    }
    let reducing = total(
        lines
            .iter()
            .filter(|line| line.per_formula > 0.0)
            .map(|line| line.total),
    );
    let oxidising = -total(
        lines
            .iter()
            .filter(|line| line.per_formula < 0.0)
            .map(|l| l.total),
    );
    if oxidising <= AmountOfSubstance::new::<mole>(0.0) {
        return Err(RedoxError::NoOxidiser);
    }
    if reducing <= AmountOfSubstance::new::<mole>(0.0) {
        return Err(RedoxError::NoFuel);
    }
    let equivalence_ratio: Ratio = reducing / oxidising;
    // Fuel by the count of moles is what reduces without bringing metal: an acetate is a salt.
    let fuel = total(
        lines
            .iter()
            .filter(|line| line.per_formula > 0.0 && metal_atoms(&line.formula) <= 0.0)
            .map(|line| line.amount),
    );
    let nitrate = total(
        lines
            .iter()
            .map(|line| nitrate_ions(&line.formula) * line.amount),
    );
    let metal = total(
        lines
            .iter()
            .map(|line| metal_atoms(&line.formula) * line.amount),
    );
    let per = |of: AmountOfSubstance| {
        (of > AmountOfSubstance::new::<mole>(0.0)).then(|| -> Ratio { fuel / of })
    };
    let definitions = RatioDefinitions {
        equivalence_ratio,
        oxidiser_to_fuel: oxidising / reducing,
        fuel_per_nitrate: per(nitrate),
        fuel_per_metal: per(metal),
        percent_of_stoichiometric: equivalence_ratio.get::<percent>(),
    };
    Ok(Redox {
        lines,
        reducing,
        oxidising,
        equivalence_ratio,
        mixture: Mixture::of(equivalence_ratio),
        definitions,
    })
}

/// Metal atoms in one formula unit.
pub fn metal_atoms(formula: &Formula) -> f64 {
    formula
        .amounts()
        .iter()
        .filter(|(element, _)| element.is_metal())
        .map(|(_, n)| n)
        .sum()
}

fn total(amounts: impl Iterator<Item = AmountOfSubstance>) -> AmountOfSubstance {
    amounts.fold(AmountOfSubstance::new::<mole>(0.0), |sum, amount| {
        sum + amount
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn of(text: &str) -> f64 {
        valence(
            &Formula::parse(text).unwrap(),
            &OxidationStates::conventional(),
        )
        .unwrap()
    }

    #[test]
    fn valences_of_the_usual_reactants() {
        // Sums worked by hand from C +4, H +1, O −2, N 0 and the metal's charge.
        for (text, expected) in [
            ("CO(NH2)2", 6.0),
            ("NH2CH2COOH", 9.0),
            ("C6H8O7", 18.0),
            ("C6H8O7·H2O", 18.0),
            ("CO(N2H3)2", 8.0),
            ("C2H6N4O2", 10.0),
            ("C6H12N4", 36.0),
            ("Al(NO3)3·9H2O", -15.0),
            ("Zn(NO3)2·6H2O", -10.0),
            ("NH4NO3", -2.0),
            ("HNO3", -5.0),
            ("H3BO3", 0.0),
            ("Ce(NO3)3·6H2O", -14.0),
            ("AgNO3", -6.0),
        ] {
            assert_relative_eq!(of(text), expected, epsilon = 1e-12);
        }
    }

    #[test]
    fn fuel_per_nitrate_is_five_over_the_fuel_valence() {
        let states = OxidationStates::conventional();
        let salt = Formula::parse("Al(NO3)3").unwrap();
        let fuel = Formula::parse("C2H5NO2").unwrap();
        let one = AmountOfSubstance::new::<mole>(1.0);
        let sum = redox(&[(&salt, one), (&fuel, 15.0 / 9.0 * one)], &states).unwrap();
        assert_relative_eq!(
            sum.equivalence_ratio.get::<ratio>(),
            1.0,
            max_relative = 1e-12
        );
        let per_nitrate = sum.definitions.fuel_per_nitrate.unwrap().get::<ratio>();
        assert_relative_eq!(per_nitrate, 5.0 / 9.0, max_relative = 1e-12);
        assert_eq!(sum.mixture, Mixture::Balanced);
    }

    #[test]
    fn nitrate_ions_are_counted_from_the_formula() {
        let count = |text| nitrate_ions(&Formula::parse(text).unwrap());
        assert_relative_eq!(count("Al(NO3)3·9H2O"), 3.0);
        assert_relative_eq!(count("NH4NO3"), 1.0);
        assert_relative_eq!(count("ZrO(NO3)2·2H2O"), 2.0);
        assert_relative_eq!(count("CO(NH2)2"), 0.0);
        assert_relative_eq!(count("Ce(NH4)2(NO3)6"), 6.0);
    }

    #[test]
    fn a_batch_without_fuel_or_oxidiser_is_refused() {
        let states = OxidationStates::conventional();
        let salt = Formula::parse("Al(NO3)3").unwrap();
        let fuel = Formula::parse("C2H5NO2").unwrap();
        let one = AmountOfSubstance::new::<mole>(1.0);
        assert_eq!(redox(&[(&salt, one)], &states), Err(RedoxError::NoFuel));
        assert_eq!(redox(&[(&fuel, one)], &states), Err(RedoxError::NoOxidiser));
    }
}
