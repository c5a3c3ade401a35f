//! The same batch with one thing changed: for sweeps and comparisons.

use super::contents::Batch;
use super::file::OXYGEN_TOLERANCE;
use super::label::Label;
use super::pot::in_pot;
use super::weighed::{Ingredient, total_amount};
use crate::formula::{Element, Formula, FormulaError};
use crate::quantity::units::{mole, ratio};
use crate::quantity::{AmountOfSubstance, EquivalenceRatio, Mass, Ratio};
use crate::redox::{OxidationStates, RedoxError, valence};
use crate::tables::{Reactant, Role, Tables};
use std::collections::BTreeMap;
use std::sync::Arc;
use thiserror::Error;

/// Why a batch cannot be changed that way.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum ChangeError {
    #[error(transparent)]
    Redox(#[from] RedoxError),
    #[error("{fuel} is the only fuel that reduces: a share needs a second one in the file")]
    OnlyFuel { fuel: String },
    #[error("{substance} is no fuel of this batch")]
    NoSuchFuel { substance: String },
    #[error("no ingredient brings {element}: add its salt to the file, with any level")]
    NoSupplier { element: Element },
    #[error("{substance} brings both {dopant} and {host}: use one salt for each")]
    SharedSupplier {
        substance: String,
        dopant: Element,
        host: Element,
    },
    #[error("the changed target cannot be read: {0}")]
    Formula(#[from] FormulaError),
    #[error(
        "with that level the nitric acid is too little for what it is to dissolve: {factor:.3} times \
         as much is needed; state more, or leave its amount out beside a [target]"
    )]
    AcidShort { factor: f64 },
    #[error(
        "with that level the metals of {formula} bind {bound:.3} oxygen, not the {written:.3} of \
         the formula: dopant and host need the same charge, or another target"
    )]
    Charges {
        formula: String,
        bound: f64,
        written: f64,
    },
    #[error("a flux is counted in mol per mol of target: name one under [target]")]
    NoTarget,
}

/// Shares and amounts below this are taken as nothing.
const NOTHING: f64 = 1e-12;

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
        Ok(self.with_fuels_scaled(factor))
    }

    /// The batch with all its fuels multiplied by `factor` (0 or more).
    #[must_use]
    pub fn with_fuels_scaled(&self, factor: f64) -> Self {
        self.map(|i| match i.reactant.role {
            Role::Fuel => i.scaled(factor),
            _ => i.clone(),
        })
    }

    /// The batch with these masses as weighed in place of those of the file.
    ///
    /// # Errors
    /// The name that is of none of the ingredients, or of several.
    pub fn with_masses(&self, masses: &[(String, Mass)], tables: &Tables) -> Result<Self, String> {
        let mut batch = self.clone();
        for (name, mass) in masses {
            let id = tables.find_reactant(name).map(|reactant| &reactant.id);
            let mut named = batch
                .weighed
                .iter_mut()
                .filter(|i| id.as_ref().is_ok_and(|id| **id == i.reactant.id));
            match (named.next(), named.next()) {
                (Some(one), None) => *one = one.scaled((*mass / one.mass).get::<ratio>()),
                _ => return Err(name.clone()),
            }
        }
        Ok(batch.mixed())
    }

    /// The batch with all its added water multiplied by `factor` (0 or more); crystal water and
    /// the water of stock solutions stay.
    #[must_use]
    fn with_solvent_scaled(&self, factor: f64) -> Self {
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

    /// The batch with `water` as all its added water; the water that stock solutions and acids
    /// carry and the crystal water stay. `solvent` is the row of water, for a batch without any.
    #[must_use]
    pub fn with_added_water(&self, water: AmountOfSubstance, solvent: &Reactant) -> Self {
        let is_solvent = |i: &&Ingredient| i.reactant.role == Role::Solvent;
        let before = total_amount(self.weighed.iter().filter(is_solvent).map(|i| i.amount));
        if before > AmountOfSubstance::new::<mole>(0.0) {
            let factor: Ratio = water / before;
            return self.with_solvent_scaled(factor.get::<ratio>());
        }
        let mut batch = self.clone();
        batch.weighed.retain(|i| i.reactant.role != Role::Solvent);
        if water > AmountOfSubstance::new::<mole>(0.0) {
            batch.weighed.push(Ingredient::pure(solvent, water));
        }
        batch.mixed()
    }

    /// The batch with `fuel` (id of the reactant) bringing `share` of the reducing valence of all
    /// fuels; the other fuels keep their proportions and φ stays.
    ///
    /// # Errors
    /// [`ChangeError`] if the batch lacks that fuel, or any other.
    pub fn with_fuel_share(&self, fuel: &str, share: Ratio) -> Result<Self, ChangeError> {
        let mut own = AmountOfSubstance::new::<mole>(0.0);
        let mut all = own;
        for ingredient in self
            .ingredients
            .iter()
            .filter(|i| i.reactant.role == Role::Fuel)
        {
            let part = valence(&ingredient.reactant.formula, &self.states)? * ingredient.amount;
            all += part;
            if ingredient.reactant.id == fuel {
                own += part;
            }
        }
        let old: Ratio = own / all;
        let (old, new) = (old.get::<ratio>(), share.get::<ratio>());
        if !old.is_finite() || old < NOTHING {
            let substance = fuel.to_owned();
            return Err(ChangeError::NoSuchFuel { substance });
        }
        if 1.0 - old < NOTHING && 1.0 - new > NOTHING {
            let fuel = fuel.to_owned();
            return Err(ChangeError::OnlyFuel { fuel });
        }
        let rest = if 1.0 - old < NOTHING {
            0.0
        } else {
            (1.0 - new) / (1.0 - old)
        };
        let mut batch = self.map(|i| match i.reactant.role {
            Role::Fuel if i.reactant.id == fuel => i.scaled(new / old),
            Role::Fuel => i.scaled(rest),
            _ => i.clone(),
        });
        batch.drop_empty();
        Ok(batch)
    }

    /// The batch with `dopant` on the share `level` of the atoms that `dopant` and `host` make up
    /// together; their sum and φ stay, and so does the amount of the target in formula units.
    ///
    /// # Errors
    /// [`ChangeError`] if no ingredient brings one of them, or one brings both.
    pub fn with_dopant(
        &self,
        dopant: Element,
        host: Element,
        level: Ratio,
    ) -> Result<Self, ChangeError> {
        let phi = self.redox()?.equivalence_ratio;
        let brings = |i: &Ingredient, element| i.reactant.formula.amount_of(element) > 0.0;
        let shared = self
            .weighed
            .iter()
            .find(|i| brings(i, dopant) && brings(i, host));
        if let Some(ingredient) = shared {
            return Err(ChangeError::SharedSupplier {
                substance: ingredient.reactant.formula.to_string(),
                dopant,
                host,
            });
        }
        let atoms = |element| {
            let part = |i: &Ingredient| i.reactant.formula.amount_of(element) * i.amount;
            total_amount(self.weighed.iter().map(part)).get::<mole>()
        };
        let (of_dopant, of_host) = (atoms(dopant), atoms(host));
        let level = level.get::<ratio>();
        let (wanted_dopant, wanted_host) = (
            level * (of_dopant + of_host),
            (1.0 - level) * (of_dopant + of_host),
        );
        let factor = |element, wanted: f64, there: f64| {
            if there > 0.0 {
                Ok(wanted / there)
            } else if wanted > 0.0 {
                Err(ChangeError::NoSupplier { element })
            } else {
                Ok(0.0)
            }
        };
        let for_dopant = factor(dopant, wanted_dopant, of_dopant)?;
        let for_host = factor(host, wanted_host, of_host)?;
        let mut batch = self.map(|i| {
            if brings(i, dopant) {
                i.scaled(for_dopant)
            } else if brings(i, host) {
                i.scaled(for_host)
            } else {
                i.clone()
            }
        });
        batch.drop_empty();
        batch.follow_acid()?;
        if let Some(target) = &mut batch.target {
            target.formula = shifted(&target.formula, dopant, host, level)?;
            batch.states = OxidationStates::with_choice(&self.chosen_states);
            let left = batch.states.fit_to(&target.formula)?;
            let written = target.formula.amount_of(Element::OXYGEN);
            if left.abs() > OXYGEN_TOLERANCE * written {
                return Err(ChangeError::Charges {
                    formula: target.formula.to_string(),
                    bound: written - left,
                    written,
                });
            }
            batch.unbound_oxygen = left;
        }
        Ok(batch.with_equivalence_ratio(phi)?)
    }

    /// The batch with `level` mol of `flux` per mol of target; φ stays.
    ///
    /// # Errors
    /// [`ChangeError::NoTarget`] without a target, or if φ cannot be kept.
    pub fn with_flux(&self, flux: &Reactant, level: Ratio) -> Result<Self, ChangeError> {
        let phi = self.redox()?.equivalence_ratio;
        let target = self.target.as_ref().ok_or(ChangeError::NoTarget)?;
        let amount = level * target.amount;
        let mut batch = self.clone();
        match batch.weighed.iter_mut().find(|i| i.reactant.id == flux.id) {
            Some(there) if there.amount > AmountOfSubstance::new::<mole>(0.0) => {
                let factor: Ratio = amount / there.amount;
                *there = there.scaled(factor.get::<ratio>());
            }
            _ => batch.weighed.push(Ingredient::pure(flux, amount)),
        }
        batch.drop_empty();
        Ok(batch.with_equivalence_ratio(phi)?)
    }

    /// The batch with other fuels: `parts` lists each with its share of their reducing valence,
    /// and φ becomes `wanted`. Everything else stays.
    ///
    /// # Errors
    /// [`ChangeError`] if one of them does not reduce or no fuel is needed for this φ.
    pub fn with_fuels(
        &self,
        parts: &[(&Reactant, f64)],
        wanted: EquivalenceRatio,
    ) -> Result<Self, ChangeError> {
        let mut batch = self.clone();
        batch.weighed.retain(|i| i.reactant.role != Role::Fuel);
        for (fuel, share) in parts.iter().filter(|(_, share)| *share > NOTHING) {
            let per_mole = valence(&fuel.formula, &self.states)?;
            if per_mole <= 0.0 {
                let substance = fuel.name.clone();
                return Err(ChangeError::NoSuchFuel { substance });
            }
            let amount = AmountOfSubstance::new::<mole>(share / per_mole);
            batch.weighed.push(Ingredient::pure(fuel, amount));
        }
        Ok(batch.mixed().with_equivalence_ratio(wanted)?)
    }

    /// Acid whose amount was worked out follows what there is to dissolve; a stated amount should
    /// be enough.
    fn follow_acid(&mut self) -> Result<(), ChangeError> {
        let Some(dissolution) = self.dissolution() else {
            return Ok(());
        };
        let factor: Ratio = dissolution.needed / dissolution.acid;
        let factor = factor.get::<ratio>();
        let is_acid = |i: &Ingredient| i.reactant.role == Role::Acid;
        if self.weighed.iter().any(|i| is_acid(i) && i.worked_out) {
            *self = self.map(|i| {
                if is_acid(i) {
                    i.scaled(factor)
                } else {
                    i.clone()
                }
            });
        } else if dissolution.missing().is_some() {
            return Err(ChangeError::AcidShort { factor });
        }
        Ok(())
    }

    fn drop_empty(&mut self) {
        let none = AmountOfSubstance::new::<mole>(0.0);
        self.weighed.retain(|i| i.amount > none);
        self.ingredients = in_pot(&self.weighed);
    }

    /// The batch with what is in the pot worked out anew from what is weighed.
    fn mixed(mut self) -> Self {
        self.ingredients = in_pot(&self.weighed);
        self
    }

    fn map(&self, change: impl FnMut(&Ingredient) -> Ingredient) -> Self {
        let weighed: Vec<Ingredient> = self.weighed.iter().map(change).collect();
        Self {
            ingredients: in_pot(&weighed),
            weighed,
            ..self.clone()
        }
    }
}

impl Ingredient {
    /// `amount` of a substance as written on the bottle, pure.
    pub fn pure(reactant: &Reactant, amount: AmountOfSubstance) -> Self {
        Self {
            reactant: Arc::new(reactant.clone()),
            amount,
            mass: amount * reactant.formula.molar_mass(),
            assay: Ratio::new::<ratio>(1.0),
            carried_water: AmountOfSubstance::new::<mole>(0.0),
            stock: None,
            volume: None,
            hydrate_range: None,
            assay_band: None,
            label: Label::default(),
            worked_out: true,
            hydrate_open: None,
            dissolves: None,
        }
    }
}

/// The formula with `dopant` on the share `level` of the atoms of `dopant` and `host`.
fn shifted(
    formula: &Formula,
    dopant: Element,
    host: Element,
    level: f64,
) -> Result<Formula, FormulaError> {
    let both = formula.amount_of(dopant) + formula.amount_of(host);
    let mut amounts: BTreeMap<Element, f64> = formula.amounts().clone();
    amounts.insert(dopant, level * both);
    amounts.insert(host, (1.0 - level) * both);
    let is_anion = |element: &Element| matches!(element.symbol(), "O" | "N" | "F" | "S" | "Cl");
    let (anions, cations): (Vec<_>, Vec<_>) = amounts
        .into_iter()
        .filter(|(_, n)| *n > NOTHING)
        .partition(|(element, _)| is_anion(element));
    let text: String = cations
        .iter()
        .chain(&anions)
        .map(|(element, n)| {
            if (n - 1.0).abs() < NOTHING {
                element.symbol().to_owned()
            } else {
                format!("{}{n}", element.symbol())
            }
        })
        .collect();
    Formula::parse(&text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::Tables;
    use approx::assert_relative_eq;

    fn phosphor(tables: &Tables) -> Batch {
        let text = r#"
            [target]
            formula = "Sr0.98Eu0.02Al2O4"
            product_mass = "1 g"
            equivalence_ratio = 1.5
            [[ingredient]]
            substance = "Sr(NO3)2"
            [[ingredient]]
            substance = "Eu(NO3)3·6H2O"
            [[ingredient]]
            substance = "Al(NO3)3·9H2O"
            [[ingredient]]
            substance = "urea"
            share = 0.75
            [[ingredient]]
            substance = "glycine"
            [oxidation_states]
            Eu = 2
        "#;
        Batch::parse(text, "test", tables).unwrap_or_else(|error| panic!("{error}"))
    }

    fn atoms(batch: &Batch, symbol: &str) -> f64 {
        let element = Element::from_symbol(symbol).unwrap();
        batch
            .dry_elements()
            .get(&element)
            .map_or(0.0, |n| n.get::<mole>())
    }

    #[test]
    fn a_dopant_takes_the_place_of_the_host() {
        let tables = Tables::built_in().unwrap();
        let batch = phosphor(&tables);
        let (eu, sr) = (
            Element::from_symbol("Eu").unwrap(),
            Element::from_symbol("Sr").unwrap(),
        );
        let level = Ratio::new::<ratio>(0.05);
        let doped = batch.with_dopant(eu, sr, level).unwrap();
        let sum = atoms(&batch, "Sr") + atoms(&batch, "Eu");
        assert_relative_eq!(atoms(&doped, "Eu"), 0.05 * sum, max_relative = 1e-12);
        assert_relative_eq!(atoms(&doped, "Sr"), 0.95 * sum, max_relative = 1e-12);
        let phi = |b: &Batch| b.redox().unwrap().equivalence_ratio.get::<ratio>();
        assert_relative_eq!(phi(&doped), phi(&batch), max_relative = 1e-12);
        let none = batch.with_dopant(eu, sr, Ratio::new::<ratio>(0.0)).unwrap();
        assert_eq!(none.ingredients.len(), batch.ingredients.len() - 1);
        let formula = none.target.unwrap().formula;
        assert_relative_eq!(formula.amount_of(sr), 1.0, max_relative = 1e-12);
        assert_relative_eq!(formula.amount_of(eu), 0.0);
    }

    #[test]
    fn a_fuel_share_keeps_the_ratio() {
        let tables = Tables::built_in().unwrap();
        let batch = phosphor(&tables);
        let shared = batch
            .with_fuel_share("glycine", Ratio::new::<ratio>(0.6))
            .unwrap();
        // Valences by hand: urea 6, glycine 9.
        let n = |id: &str| {
            let found = shared.ingredients.iter().find(|i| i.reactant.id == id);
            found.map_or(0.0, |i| i.amount.get::<mole>())
        };
        let share = 9.0 * n("glycine") / (9.0 * n("glycine") + 6.0 * n("urea"));
        assert_relative_eq!(share, 0.6, max_relative = 1e-12);
        let phi = shared.redox().unwrap().equivalence_ratio.get::<ratio>();
        assert_relative_eq!(phi, 1.5, max_relative = 1e-12);
        assert!(
            batch
                .with_fuel_share("citric_acid", Ratio::new::<ratio>(0.5))
                .is_err()
        );
    }

    #[test]
    fn water_is_added_to_a_batch_without_any() {
        let tables = Tables::built_in().unwrap();
        let batch = phosphor(&tables);
        let water = tables.reactants.find("water").unwrap();
        let wet = batch.with_added_water(AmountOfSubstance::new::<mole>(0.5), water);
        assert_relative_eq!(wet.solvent_water().get::<mole>(), 0.5, max_relative = 1e-12);
        let wetter = wet.with_added_water(AmountOfSubstance::new::<mole>(0.7), water);
        assert_relative_eq!(
            wetter.solvent_water().get::<mole>(),
            0.7,
            max_relative = 1e-12
        );
    }
}
