//! Chemical formulas: text to elements, crystal water and molar mass.
//!
//! Accepted: nested brackets `( ) [ ] { }`, decimal or Unicode subscripts
//! (`La0.8Sr0.2MnO3`, `Al₂O₃`), adducts and hydrates behind `·`, `*`, `•` or `.`
//! (`Mg(NO3)2·6H2O`), a coefficient before each part (`2MgO·SiO2`) and an unknown water number
//! (`Y(NO3)3·xH2O`), for which the caller has to give x. A full stop counts as the hydrate dot
//! only where nothing but a number and `H2O` follows it; elsewhere it is a decimal point.

mod element;
mod parse;

pub use element::Element;
pub use parse::FormulaError;

use crate::quantity::MolarMass;
use crate::quantity::units::gram_per_mole;
use serde::de::Error;
use serde::{Deserialize, Deserializer};
use std::collections::BTreeMap;
use std::fmt;

/// The composition of one formula unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Formula {
    text: String,
    amounts: BTreeMap<Element, f64>,
    crystal_water: f64,
}

impl Formula {
    /// Reads a formula.
    ///
    /// # Errors
    /// [`FormulaError`] with the position (in characters, from 1) of what is wrong;
    /// [`FormulaError::WaterUnknown`] if the water number is written as a letter.
    ///
    /// # Examples
    /// ```
    /// use emberpot::Formula;
    /// use uom::si::molar_mass::gram_per_mole;
    /// let salt = Formula::parse("Mg(NO3)2·6H2O").unwrap();
    /// assert!((salt.molar_mass().get::<gram_per_mole>() - 256.403).abs() < 0.01);
    /// assert_eq!(salt.crystal_water(), 6.0);
    /// assert_eq!(salt.anhydrous().to_string(), "Mg(NO3)2");
    /// ```
    pub fn parse(text: &str) -> Result<Self, FormulaError> {
        parse::formula(text, None).map(Self::of)
    }

    /// Reads a formula whose water number may be written as the letter x or n; `water` is then
    /// taken for it (mol of water per formula unit, 0 to 24). A formula with a number keeps it.
    ///
    /// # Errors
    /// [`FormulaError`] as for [`Formula::parse`], and if `water` is out of range.
    pub fn parse_with_water(text: &str, water: f64) -> Result<Self, FormulaError> {
        parse::formula(text, Some(water)).map(Self::of)
    }

    fn of((text, amounts, crystal_water): parse::Parts) -> Self {
        Self {
            text,
            amounts,
            crystal_water,
        }
    }

    /// Number of atoms of each element in one formula unit, crystal water included.
    pub fn amounts(&self) -> &BTreeMap<Element, f64> {
        &self.amounts
    }

    /// Number of atoms of `element` in one formula unit; 0 if it is not there.
    pub fn amount_of(&self, element: Element) -> f64 {
        self.amounts.get(&element).copied().unwrap_or(0.0)
    }

    /// How many formula units of `unit` one of it makes, if they have the same composition.
    pub(crate) fn multiple_of(&self, unit: &Self) -> Option<f64> {
        let (of, by) = (&self.amounts, &unit.amounts);
        if of.len() != by.len() {
            return None;
        }
        let n = of.values().next()? / by.values().next()?;
        let same = of
            .iter()
            .zip(by)
            .all(|((e, a), (f, b))| e == f && (a - n * b).abs() < 1e-6 * n);
        same.then_some(n)
    }

    /// Whether both have the same elements in the same numbers.
    pub(crate) fn same_composition(&self, other: &Self) -> bool {
        self.multiple_of(other)
            .is_some_and(|n| (n - 1.0).abs() < 1e-6)
    }

    /// Molecules of crystal water in one formula unit.
    pub fn crystal_water(&self) -> f64 {
        self.crystal_water
    }

    /// Molar mass M of one formula unit, from the IUPAC 2021 abridged atomic weights.
    pub fn molar_mass(&self) -> MolarMass {
        let sum = self
            .amounts
            .iter()
            .map(|(element, n)| n * element.atomic_weight())
            .sum();
        MolarMass::new::<gram_per_mole>(sum)
    }

    /// Half width of the band of the molar mass that the atomic weights leave.
    pub fn molar_mass_uncertainty(&self) -> MolarMass {
        let sum = self
            .amounts
            .iter()
            .map(|(element, n)| (n * element.atomic_weight_uncertainty()).powi(2))
            .sum::<f64>();
        MolarMass::new::<gram_per_mole>(sum.sqrt())
    }

    /// The same substance without its crystal water.
    pub fn anhydrous(&self) -> Self {
        self.with_crystal_water(0.0)
    }

    /// The same substance with `water` molecules of crystal water per formula unit.
    #[must_use]
    pub fn with_crystal_water(&self, water: f64) -> Self {
        let mut amounts = self.amounts.clone();
        let change = water - self.crystal_water;
        for (element, per_water) in [(Element::HYDROGEN, 2.0), (Element::OXYGEN, 1.0)] {
            let n = amounts.entry(element).or_insert(0.0);
            *n += per_water * change;
            if n.abs() < 1e-12 {
                amounts.remove(&element);
            }
        }
        let base = self
            .text
            .rsplit_once('·')
            .filter(|_| self.crystal_water > 0.0);
        let base = base.map_or(self.text.as_str(), |(salt, _)| salt);
        let text = match water {
            w if w <= 0.0 => base.to_owned(),
            w if (w - 1.0).abs() < 1e-12 => format!("{base}·H2O"),
            w => format!("{base}·{}H2O", parse::number_text(w)),
        };
        Self {
            text,
            amounts,
            crystal_water: water,
        }
    }
}

impl<'de> Deserialize<'de> for Formula {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Self::parse(&text).map_err(D::Error::custom)
    }
}

impl fmt::Display for Formula {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}
