//! One line of the bench sheet: an ingredient, how it is measured out, its assay.

use super::bands::Weighed;
use super::measure::{self, Measure};
use super::order::Stage;
use crate::batch::Ingredient;
use crate::quantity::units::{kilogram, liter, percent, ratio};
use crate::quantity::{Mass, Ratio, Volume};
use crate::tables::Role;
use crate::tables::reactants::AssayBasis;

/// One line of the table.
#[derive(Debug, Clone)]
pub struct Line {
    pub step: usize,
    pub ingredient: Ingredient,
    /// Kind of step.
    pub stage: Stage,
    /// Whether it is a dopant.
    pub is_dopant: bool,
    /// How it is measured out.
    pub measure: Measure,
    /// Letter of its stock solution, if it goes in as one planned here.
    pub stock: Option<char>,
    /// Expanded relative error of its amount (k = 2), balance and glassware only.
    pub relative_error: Ratio,
    /// Mass in the pot after this step.
    pub running_total: Mass,
}

impl Line {
    /// Mass that a step puts into the pot: the water of a stock solution with it.
    pub(super) fn in_pot(&self) -> Mass {
        // A dilute solution: a gram a millilitre, salt counted beside it.
        let water = |volume: Volume| Mass::new::<kilogram>(volume.get::<liter>());
        let ingredient = &self.ingredient;
        let stock = ingredient
            .stock
            .map_or(Mass::new::<kilogram>(0.0), |stock| water(stock.volume));
        // Water taken by volume may be less than the batch names: the stocks bring the rest.
        let part = match (&self.measure, ingredient.volume) {
            (Measure::Draw(drawn), Some(whole)) => drawn.volume / whole,
            _ => Ratio::new::<ratio>(1.0),
        };
        part * ingredient.mass + stock + water(self.measure.carried_volume())
    }

    /// What the line adds to the bands; `in_acid` if the batch is dissolved in nitric acid.
    pub(super) fn portion(&self, in_acid: bool) -> Weighed {
        let ingredient = &self.ingredient;
        Weighed {
            name: label(ingredient),
            formula: ingredient.reactant.formula.clone(),
            mass: ingredient.mass,
            mass_uncertainty: measure::mass_uncertainty(ingredient, &self.measure),
            assay: ingredient.assay,
            assay_band: assay_band(ingredient),
            water_range: ingredient.hydrate_range,
            joins_oxidiser: in_acid && ingredient.dissolves.is_some(),
        }
    }
}

/// What an ingredient is called in a list: a fuel and the solvent by name, a salt by formula.
pub fn label(ingredient: &Ingredient) -> String {
    match ingredient.reactant.role {
        Role::Fuel | Role::Solvent | Role::Acid => ingredient.reactant.name.clone(),
        _ => ingredient.reactant.formula.to_string(),
    }
}

/// Usual assay of an ingredient, lowest and highest, 0 to 1; `None` where none is tabulated by mass.
pub(super) fn usual_assay(ingredient: &Ingredient) -> Option<(f64, f64)> {
    let usual = ingredient.reactant.assay.as_ref()?;
    let solid = !matches!(ingredient.reactant.role, Role::Solvent | Role::Acid);
    (usual.basis == AssayBasis::Mass && solid)
        .then(|| (usual.from.get::<ratio>(), usual.to.get::<ratio>().min(1.0)))
}

/// Whether the assay is 100 % and no band is stated.
pub(super) fn is_taken_pure(ingredient: &Ingredient) -> bool {
    ingredient.assay_band.is_none() && ingredient.assay >= Ratio::new::<percent>(100.0)
}

/// The band of an assay: as stated; else half the usual range, and where the assay is taken as
/// 100 % at least down to the lowest usual one.
pub fn assay_band(ingredient: &Ingredient) -> Ratio {
    let zero = Ratio::new::<ratio>(0.0);
    if let Some(stated) = ingredient.assay_band {
        return stated;
    }
    let Some(usual) = usual_assay(ingredient) else {
        return zero;
    };
    let half = (usual.1 - usual.0) / 2.0;
    let missing = if is_taken_pure(ingredient) {
        1.0 - usual.0
    } else {
        0.0
    };
    Ratio::new::<ratio>(half.max(missing).max(0.0))
}
