//! The same batch with one thing changed: for sweeps and comparisons.

use super::{Batch, Ingredient};
use crate::quantity::{AmountOfSubstance, EquivalenceRatio, Ratio};
use crate::redox::{RedoxError, valence};
use crate::tables::Role;
use uom::si::amount_of_substance::mole;
use uom::si::ratio::ratio;

impl Batch {
    /// The batch with all its fuels multiplied by one factor, so that φ is `wanted`. Salts that
    /// reduce (acetates) stay as they are.
    ///
    /// # Errors
    /// [`RedoxError::NoFuel`] if the batch has no fuel to change or needs less than none;
    /// [`RedoxError::UnknownState`] if an oxidation state is missing.
    pub fn with_equivalence_ratio(&self, wanted: EquivalenceRatio) -> Result<Self, RedoxError> {
        let sum = self.redox()?;
        let mut fuel = AmountOfSubstance::new::<mole>(0.0);
        for ingredient in self
            .ingredients
            .iter()
            .filter(|i| i.reactant.role == Role::Fuel)
        {
            fuel += valence(&ingredient.reactant.formula, &self.states)? * ingredient.amount;
        }
        let needed = wanted.get::<ratio>() * sum.oxidising - (sum.reducing - fuel);
        let factor: Ratio = needed / fuel;
        let factor = factor.get::<ratio>();
        if !factor.is_finite() || factor <= 0.0 {
            return Err(RedoxError::NoFuel);
        }
        Ok(self.map(|i| {
            if i.reactant.role == Role::Fuel {
                i.scaled(factor)
            } else {
                i.clone()
            }
        }))
    }

    /// The batch with all its added water multiplied by `factor` (0 or more); crystal water and
    /// the water of stock solutions stay.
    #[must_use]
    pub fn with_solvent_scaled(&self, factor: f64) -> Self {
        self.map(|i| match i.reactant.role {
            Role::Solvent => i.scaled(factor),
            _ => i.clone(),
        })
    }

    /// The whole batch multiplied by `factor`.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let mut batch = self.map(|i| i.scaled(factor));
        if let Some(target) = &mut batch.target {
            target.amount = factor * target.amount;
        }
        batch.conditions.external_heat = factor * self.conditions.external_heat;
        batch
    }

    fn map(&self, change: impl FnMut(&Ingredient) -> Ingredient) -> Self {
        let ingredients = self.ingredients.iter().map(change).collect();
        Self {
            ingredients,
            ..self.clone()
        }
    }
}
