//! The same heat balance with the products in chemical equilibrium.

use super::balance::COLDEST;
use super::products::NITROGEN_PER_OXYGEN;
use crate::batch::Batch;
use crate::enthalpy::{ReactantEnthalpy, WaterState};
use crate::equilibrium::{AdiabaticEquilibrium, EquilibriumError, SpeciesSet, System};
use crate::formula::Element;
use crate::quantity::units::{kelvin, mole};
use crate::quantity::{AmountOfSubstance, Energy, Ratio};
use crate::tables::Tables;
use std::collections::BTreeMap;

/// The species that the batch, with its water and air, can form.
pub fn system_of<'t>(batch: &Batch, set: SpeciesSet, tables: &'t Tables) -> System<'t> {
    let mut elements: Vec<Element> = batch.dry_elements().into_keys().collect();
    elements.extend([Element::HYDROGEN, Element::OXYGEN, Element::NITROGEN]);
    System::new(tables, &elements, set, batch.conditions.mixes())
}

/// Elements in the pot: the batch with the water of `state` and `air` more.
pub fn elements_in_pot(
    batch: &Batch,
    state: &WaterState,
    air_oxygen: AmountOfSubstance,
) -> BTreeMap<Element, AmountOfSubstance> {
    let mut amounts = batch.dry_elements();
    let water = state.solvent + state.crystal_water(batch);
    let mut add = |element, n: AmountOfSubstance| {
        *amounts
            .entry(element)
            .or_insert(AmountOfSubstance::new::<mole>(0.0)) += n;
    };
    add(Element::HYDROGEN, 2.0 * water);
    add(Element::OXYGEN, water + 2.0 * air_oxygen);
    add(Element::NITROGEN, 2.0 * NITROGEN_PER_OXYGEN * air_oxygen);
    amounts
}

/// Oxygen (O2) that the share `air` of the air for the surplus fuel brings; 0 if lean.
pub fn surplus_air_oxygen(
    reducing: AmountOfSubstance,
    oxidising: AmountOfSubstance,
    air: Ratio,
) -> AmountOfSubstance {
    // One O2 takes up four electrons.
    let surplus = reducing - oxidising;
    let none = AmountOfSubstance::new::<mole>(0.0);
    if surplus > none {
        air * surplus / 4.0
    } else {
        none
    }
}

/// Adiabatic equilibrium of the batch in a state of the water.
///
/// * `heat_loss`: heat lost before the products are hot
/// * `air_oxygen`: O2 drawn in with its nitrogen, at 298.15 K
pub fn equilibrium_burn(
    system: &mut System<'_>,
    batch: &Batch,
    state: &WaterState,
    reactants: &ReactantEnthalpy,
    heat_loss: Energy,
    air_oxygen: AmountOfSubstance,
) -> Result<AdiabaticEquilibrium, EquilibriumError> {
    let amounts = elements_in_pot(batch, state, air_oxygen);
    let available = reactants.total() + batch.conditions.external_heat - heat_loss;
    let burn = system.adiabatic(&amounts, available, batch.conditions.pressure)?;
    match burn.equilibrium.temperature.get::<kelvin>() {
        temperature_k if temperature_k < COLDEST => Err(EquilibriumError::Cold { temperature_k }),
        _ => Ok(burn),
    }
}
