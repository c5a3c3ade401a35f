//! What goes into the pot.

use super::balance::Balance;
use super::conditions::{Conditions, SeriesMark, WaterAtIgnition};
use super::glassware::Glassware;
use super::heating::HeatingPlan;
use super::pot::Dissolution;
use super::room::Room;
use super::run::Run;
use super::target::Target;
use super::vessel::VesselChoice;
use super::wanted::Wanted;
use super::weighed::{Ingredient, total_amount};
use crate::formula::Element;
use crate::learned::{Learned, PotName};
use crate::quantity::units::{kilogram, mole};
use crate::quantity::{AmountOfSubstance, Mass};
use crate::redox::{OxidationStates, Redox, RedoxError, redox};
use crate::tables::Role;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A batch: every substance found, every amount known.
#[derive(Debug, Clone)]
pub struct Batch {
    /// What the user calls it.
    pub name: String,
    /// What is weighed or measured, in the order of the file.
    pub weighed: Vec<Ingredient>,
    /// What is in the pot: as weighed, but with the nitrates that the nitric acid of the batch
    /// makes of carbonates, oxides and hydroxides in place of these and of the acid used up.
    pub ingredients: Vec<Ingredient>,
    /// The wanted product, if the file names one.
    pub target: Option<Target>,
    /// Oxidation states that the user chose.
    pub chosen_states: BTreeMap<Element, f64>,
    /// Oxidation states in the products: defaults, choice, and what the target's oxygen asks for.
    pub states: OxidationStates,
    /// Oxygen per formula unit of the target that its metals cannot bind (0 if charges balance).
    pub unbound_oxygen: f64,
    /// Water left when it ignites.
    pub water_at_ignition: WaterAtIgnition,
    /// Start temperature, pressure, losses, air.
    pub conditions: Conditions,
    /// How it is heated, if the file says.
    pub heating: Option<HeatingPlan>,
    /// What it is burnt in, if the file says.
    pub vessel: Option<VesselChoice>,
    /// Where it is burnt, if the file says.
    pub room: Option<Room>,
    /// What was seen each time it was burnt, in the order of the file.
    pub runs: Vec<Run>,
    /// What the pots of the laboratory were learned to do, if the file takes it in.
    pub learned: Option<Arc<Learned>>,
    /// Its place in a series, if it is a member of one.
    pub series: Option<SeriesMark>,
    /// Balances at hand; empty if the file names none.
    pub balances: Vec<Balance>,
    /// Flasks and pipettes at hand, if the file lists them.
    pub glassware: Option<Glassware>,
    /// What the powder shall be, if the file says.
    pub wanted: Option<Wanted>,
}

impl Batch {
    /// The pot it is burnt in; `course` where the heating model ends in ignition.
    pub fn pot_name(&self, course: bool) -> PotName {
        PotName {
            vessel: self
                .vessel
                .as_ref()
                .map(|vessel| vessel.vessel.name.clone()),
            way: self
                .heating
                .as_ref()
                .and_then(|heating| heating.way.clone()),
            course,
        }
    }

    /// The redox sum of the batch.
    ///
    /// # Errors
    /// [`RedoxError`] if an oxidation state is missing, or nothing oxidises or nothing reduces.
    pub fn redox(&self) -> Result<Redox, RedoxError> {
        let list: Vec<_> = self
            .ingredients
            .iter()
            .map(|i| (&i.reactant.formula, i.amount))
            .collect();
        redox(&list, &self.states)
    }

    /// φ if every metal that the product holds at 0 is counted with the charge of its salt instead,
    /// and those metals with that charge: the other convention for a metal powder. `None` if no
    /// metal is counted at 0.
    pub fn ratio_counted_as_salt(&self) -> Option<(BTreeMap<Element, f64>, Redox)> {
        let at_zero = |element: Element| self.states.of(element).is_ok_and(|s| s.abs() < 1e-9);
        let metals: BTreeMap<Element, f64> = self
            .ingredients
            .iter()
            .filter_map(|i| i.reactant.metal.as_ref())
            .filter(|metal| metal.oxidation_state != 0 && at_zero(metal.element))
            .map(|metal| (metal.element, f64::from(metal.oxidation_state)))
            .collect();
        if metals.is_empty() {
            return None;
        }
        let mut chosen: BTreeMap<Element, f64> = self
            .dry_elements()
            .into_keys()
            .filter_map(|element| Some((element, self.states.of(element).ok()?)))
            .collect();
        chosen.extend(&metals);
        let list: Vec<_> = self
            .ingredients
            .iter()
            .map(|i| (&i.reactant.formula, i.amount))
            .collect();
        let sum = redox(&list, &OxidationStates::with_choice(&chosen)).ok()?;
        Some((metals, sum))
    }

    /// What the nitric acid of the batch dissolves; `None` without acid or anything to dissolve.
    pub fn dissolution(&self) -> Option<Dissolution> {
        let none = AmountOfSubstance::new::<mole>(0.0);
        Dissolution::of(&self.weighed).filter(|dissolution| dissolution.acid > none)
    }

    /// All solvent water.
    pub fn solvent_water(&self) -> AmountOfSubstance {
        total_amount(self.ingredients.iter().map(Ingredient::solvent_water))
    }

    /// All crystal water.
    pub fn crystal_water(&self) -> AmountOfSubstance {
        total_amount(self.ingredients.iter().map(Ingredient::crystal_water))
    }

    /// Mass of everything but the solvent: salts, fuels and additives as weighed.
    pub fn weighed_mass(&self) -> Mass {
        self.weighed
            .iter()
            .filter(|i| i.reactant.role != Role::Solvent && i.stock.is_none())
            .map(|i| i.mass)
            .fold(Mass::new::<kilogram>(0.0), |sum, mass| sum + mass)
    }

    /// Atoms of each element that the ingredients bring, solvent and crystal water left out.
    pub fn dry_elements(&self) -> BTreeMap<Element, AmountOfSubstance> {
        let mut sum = BTreeMap::new();
        for ingredient in self
            .ingredients
            .iter()
            .filter(|i| i.reactant.role != Role::Solvent)
        {
            for (&element, &n) in ingredient.reactant.formula.anhydrous().amounts() {
                *sum.entry(element)
                    .or_insert(AmountOfSubstance::new::<mole>(0.0)) += n * ingredient.amount;
            }
        }
        sum
    }
}
