//! Enthalpy of the reactants, for each state of the water.
//!
//! H = Σ n (Δ_fH° + C_p,m (T_start − 298.15 K)) over the ingredients, each with the crystal water
//! that is left, plus the solvent water and, in solution, the enthalpy of solution where known.

use crate::batch::{Batch, Ingredient, WaterAtIgnition};
use crate::formula::Formula;
use crate::quantity::units::{degree_celsius, joule, joule_per_mole, mole, percent, ratio};
use crate::quantity::{
    AmountOfSubstance, Energy, MolarEnergy, Ratio, ThermodynamicTemperature, reference_temperature,
    temperature_difference,
};
use crate::source::{Seen, SourceId};
use crate::tables::{FamilyError, HydrateMethod, Role, SpeciesError, Tables};
use std::fmt;
use thiserror::Error;

/// Id of liquid water among the product species.
const LIQUID_WATER: &str = "H2O(l)";
/// Hottest start for a batch that still holds solvent, °C: water boils there at 1 bar.
const HOTTEST_WET_START: f64 = 100.0;

/// Why the enthalpy of the reactants cannot be formed.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum EnthalpyError {
    #[error("{substance} has no formation enthalpy in the tables; add one with --tables")]
    NoEnthalpy { substance: String },
    #[error(transparent)]
    Hydrate(#[from] FamilyError),
    #[error("the tables hold no liquid water")]
    NoWater,
    #[error(transparent)]
    Species(#[from] SpeciesError),
}

/// The named states of the water for which every result is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum WaterStateName {
    /// All solvent and crystal water is still there; the salts are dissolved.
    AsMixed,
    /// The solvent has gone, the crystal water is there.
    BoiledDown,
    /// All water has gone.
    Dried,
    /// The water that is left at ignition, as stated or as the ignition model finds.
    AtIgnition,
}

impl fmt::Display for WaterStateName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::AsMixed => "as mixed",
            Self::BoiledDown => "boiled down",
            Self::Dried => "dried",
            Self::AtIgnition => "at ignition",
        })
    }
}

/// A state of the water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterState {
    pub name: WaterStateName,
    /// Solvent water left.
    pub solvent: AmountOfSubstance,
    /// Share of the crystal water left, the same for every hydrate.
    pub crystal_share: Ratio,
}

/// The water states of a batch: as mixed, boiled down, dried, and at ignition if the share of
/// water left is known. `from_ignition` is the share that the ignition model found, if it ran.
pub fn water_states(batch: &Batch, from_ignition: Option<Ratio>) -> Vec<WaterState> {
    let none = AmountOfSubstance::new::<mole>(0.0);
    let all = Ratio::new::<ratio>(1.0);
    let nothing = Ratio::new::<ratio>(0.0);
    let mut states = vec![
        WaterState {
            name: WaterStateName::AsMixed,
            solvent: batch.solvent_water(),
            crystal_share: all,
        },
        WaterState {
            name: WaterStateName::BoiledDown,
            solvent: none,
            crystal_share: all,
        },
        WaterState {
            name: WaterStateName::Dried,
            solvent: none,
            crystal_share: nothing,
        },
    ];
    let share = match batch.water_at_ignition {
        WaterAtIgnition::NotStated => None,
        WaterAtIgnition::Fraction(share) => Some(share),
        WaterAtIgnition::FromIgnition => from_ignition,
    };
    states.extend(share.map(|share| with_share_left(batch, share)));
    states
}

/// The state in which `share` of all water is left; the solvent leaves before the crystal water.
#[must_use]
pub fn with_share_left(batch: &Batch, share: Ratio) -> WaterState {
    let (solvent, crystal) = (batch.solvent_water(), batch.crystal_water());
    let left = share * (solvent + crystal);
    let none = AmountOfSubstance::new::<mole>(0.0);
    let (solvent, crystal_share) = if left >= crystal {
        (left - crystal, Ratio::new::<ratio>(1.0))
    } else if crystal > none {
        (none, left / crystal)
    } else {
        (none, Ratio::new::<ratio>(0.0))
    };
    WaterState {
        name: WaterStateName::AtIgnition,
        solvent,
        crystal_share,
    }
}

impl WaterState {
    /// Crystal water left in the batch.
    pub fn crystal_water(&self, batch: &Batch) -> AmountOfSubstance {
        self.crystal_share * batch.crystal_water()
    }

    /// Share of all the water of the batch that is left; 0 for a batch without water.
    pub fn share_left(&self, batch: &Batch) -> Ratio {
        let all = batch.solvent_water() + batch.crystal_water();
        if all > AmountOfSubstance::new::<mole>(0.0) {
            (self.solvent + self.crystal_water(batch)) / all
        } else {
            Ratio::new::<ratio>(0.0)
        }
    }
}

/// One ingredient's part of the enthalpy.
#[derive(Debug, Clone, PartialEq)]
pub struct EnthalpyLine {
    /// Formula with the crystal water that is left.
    pub substance: String,
    /// Amount in formula units.
    pub amount: AmountOfSubstance,
    /// Formation enthalpy per formula unit at 298.15 K.
    pub formation: MolarEnergy,
    /// Half width of its band, if known.
    pub band: Option<MolarEnergy>,
    /// How the enthalpy of this state of hydration was found.
    pub method: Option<HydrateMethod>,
    /// Source of the enthalpy.
    pub source: SourceId,
    /// How the value was found.
    pub seen: Seen,
}

/// Enthalpy of the reactants in one state of the water, relative to the elements at 298.15 K.
#[derive(Debug, Clone, PartialEq)]
pub struct ReactantEnthalpy {
    /// Sum of the formation enthalpies, liquid solvent included.
    pub formation: Energy,
    /// Enthalpy of solution (positive: dissolving cooled the batch, which warmed up again).
    pub solution: Energy,
    /// Heat to bring the reactants from 298.15 K to the start temperature.
    pub sensible: Energy,
    /// Start temperature that was used: solvent keeps it at or below 100 °C.
    pub start: ThermodynamicTemperature,
    /// The ingredients.
    pub lines: Vec<EnthalpyLine>,
    /// Dissolved substances whose enthalpy of solution is unknown and left out.
    pub solution_left_out: Vec<String>,
    /// Substances whose heat capacity is unknown, so that their sensible heat is left out.
    pub sensible_left_out: Vec<String>,
}

impl ReactantEnthalpy {
    /// All of it.
    pub fn total(&self) -> Energy {
        self.formation + self.solution + self.sensible
    }
}

/// Enthalpy of the reactants of `batch` with the water of `state`.
///
/// # Errors
/// `EnthalpyError` if an ingredient has no formation enthalpy in that state of hydration.
pub fn reactant_enthalpy(
    batch: &Batch,
    state: &WaterState,
    tables: &Tables,
) -> Result<ReactantEnthalpy, EnthalpyError> {
    let start = start_temperature(batch, state);
    let dissolved = state.name == WaterStateName::AsMixed
        && state.solvent > AmountOfSubstance::new::<mole>(0.0);
    let water = tables
        .species_by_id(LIQUID_WATER)
        .ok_or(EnthalpyError::NoWater)?;
    let reference = reference_temperature();
    let liquid = water.molar_enthalpy(reference)?;
    let zero = Energy::new::<joule>(0.0);
    let mut sum = ReactantEnthalpy {
        formation: zero,
        solution: zero,
        sensible: zero,
        start,
        lines: Vec::new(),
        solution_left_out: Vec::new(),
        sensible_left_out: Vec::new(),
    };
    for ingredient in batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role != Role::Solvent)
    {
        let formation = add_ingredient(&mut sum, ingredient, state, tables)?;
        if dissolved {
            let solute = tables.reactants.in_solution(&ingredient.reactant, liquid)?;
            sum.solution += (solute.enthalpy - formation) * ingredient.amount;
            if !solute.is_measured {
                sum.solution_left_out
                    .push(ingredient.reactant.formula.to_string());
            }
        }
    }
    sum.formation += liquid * state.solvent;
    sum.sensible += water.enthalpy_change(reference, start)? * state.solvent;
    Ok(sum)
}

/// The start temperature, at most 100 °C while solvent is there.
fn start_temperature(batch: &Batch, state: &WaterState) -> ThermodynamicTemperature {
    let boiling = ThermodynamicTemperature::new::<degree_celsius>(HOTTEST_WET_START);
    let start = batch.conditions.start;
    let wet = state.solvent > AmountOfSubstance::new::<mole>(0.0);
    if wet && start > boiling {
        boiling
    } else {
        start
    }
}

/// Adds the ingredient with the crystal water that is left; returns its formation enthalpy.
fn add_ingredient(
    sum: &mut ReactantEnthalpy,
    ingredient: &Ingredient,
    state: &WaterState,
    tables: &Tables,
) -> Result<MolarEnergy, EnthalpyError> {
    let reactant = &ingredient.reactant;
    // The water of an acid is solvent and counted there.
    let crystal_share = match reactant.role {
        Role::Acid => 0.0,
        _ => state.crystal_share.get::<ratio>(),
    };
    let water = reactant.formula.crystal_water() * crystal_share;
    let (enthalpy, heat_capacity, method) = if reactant.formula.crystal_water() > 0.0 {
        let hydrate = tables.reactants.family(reactant).at(water)?;
        (
            hydrate.formation_enthalpy,
            hydrate.heat_capacity,
            Some(hydrate.method),
        )
    } else {
        let enthalpy =
            reactant
                .formation_enthalpy
                .clone()
                .ok_or_else(|| EnthalpyError::NoEnthalpy {
                    substance: reactant.name.clone(),
                })?;
        (enthalpy, reactant.heat_capacity.clone(), None)
    };
    sum.formation += enthalpy.value * ingredient.amount;
    let warming = temperature_difference(sum.start, reference_temperature());
    match heat_capacity {
        Some(cp) => sum.sensible += (cp.value * warming) * ingredient.amount,
        None => sum.sensible_left_out.push(reactant.formula.to_string()),
    }
    sum.lines.push(EnthalpyLine {
        substance: state_name(&reactant.formula, water),
        amount: ingredient.amount,
        formation: enthalpy.value,
        band: enthalpy.uncertainty,
        method,
        source: enthalpy.source,
        seen: enthalpy.seen,
    });
    Ok(enthalpy.value)
}

/// The formula with `water` molecules of crystal water, two decimals for people.
fn state_name(formula: &Formula, water: f64) -> String {
    let hundreds = Ratio::new::<ratio>(water).get::<percent>().round();
    formula
        .with_crystal_water(Ratio::new::<percent>(hundreds).get::<ratio>())
        .to_string()
}

/// Heat to turn liquid water at 298.15 K into vapour at 298.15 K, per mole.
pub fn vaporisation_enthalpy(tables: &Tables) -> Result<MolarEnergy, EnthalpyError> {
    let liquid = tables
        .species_by_id(LIQUID_WATER)
        .ok_or(EnthalpyError::NoWater)?;
    let vapour = tables.species_by_id("H2O").ok_or(EnthalpyError::NoWater)?;
    let at = reference_temperature();
    let difference = vapour.molar_enthalpy(at)?.get::<joule_per_mole>()
        - liquid.molar_enthalpy(at)?.get::<joule_per_mole>();
    Ok(MolarEnergy::new::<joule_per_mole>(difference))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn salts_that_cool_their_water_start_higher_once_dissolved_and_warmed_up() {
        // Heats of solution: silver nitrate +22.59 kJ/mol (CRC Handbook, Enthalpy of Solution of
        // Electrolytes), urea +15.09 kJ/mol (NBS tables 1982, ∞ H2O less crystal).
        let text = "[[ingredient]]\nsubstance = \"AgNO3\"\namount = \"10 mmol\"\n\
                    [[ingredient]]\nsubstance = \"urea\"\namount = \"20 mmol\"\n\
                    [[ingredient]]\nsubstance = \"water\"\nvolume = \"10 mL\"\n";
        let tables = Tables::built_in().unwrap();
        let batch = Batch::parse(text, "test", &tables).unwrap();
        let heats = water_states(&batch, None).into_iter().map(|state| {
            let sum = reactant_enthalpy(&batch, &state, &tables).unwrap();
            (state.name, sum.solution.value)
        });
        let heats: Vec<_> = heats.collect();
        let (name, mixed) = heats[0];
        assert_eq!(name, WaterStateName::AsMixed);
        assert_relative_eq!(mixed, 10.0 * 22.59 + 20.0 * 15.09, max_relative = 1e-3);
        // Without its water nothing is dissolved.
        assert!(
            heats[1..].iter().all(|(_, heat)| heat.abs() <= 0.0),
            "{heats:?}"
        );
    }
}
