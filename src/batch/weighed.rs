//! One ingredient with its amount.

use super::dissolves::Dissolves;
use super::label::Label;
use crate::quantity::units::{gram_per_mole, mole};
use crate::quantity::{AmountOfSubstance, Mass, MolarConcentration, MolarMass, Ratio, Volume};
use crate::tables::{Reactant, Role};
use std::sync::Arc;

/// One ingredient with its amount.
#[derive(Debug, Clone)]
pub struct Ingredient {
    /// The substance with the crystal water that it really has.
    pub reactant: Arc<Reactant>,
    /// Amount of the pure substance, per formula unit of `reactant.formula`.
    pub amount: AmountOfSubstance,
    /// Mass to weigh off the bottle: pure mass divided by the assay.
    pub mass: Mass,
    /// Mass fraction of the pure substance in what is weighed, 0 to 1.
    pub assay: Ratio,
    /// Solvent water that comes with it in a stock solution.
    pub carried_water: AmountOfSubstance,
    /// The stock solution it is taken from, if any.
    pub stock: Option<Stock>,
    /// Volume it was measured by, if it was.
    pub volume: Option<Volume>,
    /// Crystal water is known only within this range, if stated, in molecules per formula unit.
    pub hydrate_range: Option<(f64, f64)>,
    /// Half width of the band of the assay, if stated.
    pub assay_band: Option<Ratio>,
    /// What its label says of its purity.
    pub label: Label,
    /// Whether the amount was worked out from the target.
    pub worked_out: bool,
    /// What the file calls it, where that leaves the hydrate open and the one sold was taken.
    pub hydrate_open: Option<String>,
    /// What nitric acid beside it makes of it; `None` if it stays as it is.
    pub dissolves: Option<Arc<Dissolves>>,
}

/// A stock solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stock {
    /// Volume taken.
    pub volume: Volume,
    /// Concentration of the substance.
    pub concentration: MolarConcentration,
}

impl Ingredient {
    /// Crystal water it brings. The water of an acid solution is solvent.
    pub fn crystal_water(&self) -> AmountOfSubstance {
        match self.reactant.role {
            Role::Acid => AmountOfSubstance::new::<mole>(0.0),
            _ => self.reactant.formula.crystal_water() * self.amount,
        }
    }

    /// Solvent water it brings: all of it for water itself, else what a solution carries.
    pub fn solvent_water(&self) -> AmountOfSubstance {
        match self.reactant.role {
            Role::Solvent => self.amount,
            Role::Acid => self.reactant.formula.crystal_water() * self.amount,
            _ => self.carried_water,
        }
    }

    /// Mass of the pure substance.
    pub fn pure_mass(&self) -> Mass {
        self.amount * self.reactant.formula.molar_mass()
    }

    /// The same ingredient with everything that counts amounts multiplied by `factor`.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let mut scaled = self.clone();
        scaled.amount = factor * self.amount;
        scaled.mass = factor * self.mass;
        scaled.carried_water = factor * self.carried_water;
        scaled.volume = self.volume.map(|volume| factor * volume);
        scaled.stock = self.stock.map(|stock| Stock {
            volume: factor * stock.volume,
            ..stock
        });
        scaled
    }
}

/// Sum of amounts.
pub(crate) fn total_amount(amounts: impl Iterator<Item = AmountOfSubstance>) -> AmountOfSubstance {
    amounts.fold(AmountOfSubstance::new::<mole>(0.0), |sum, amount| {
        sum + amount
    })
}

/// Molar mass of water, from the IUPAC 2021 abridged weights (2 × 1.0080 + 15.999 g/mol).
pub fn water_molar_mass() -> MolarMass {
    MolarMass::new::<gram_per_mole>(18.015)
}
