//! Solutions as they are sold, by their strength: "Mn(NO3)2 50 %", "ammonia solution, 25 %".
//!
//! A solution is the salt with n molecules of solvent water: Δ_fH° = Δ_fH°(dissolved) + n Δ_fH°(H2O).
//! In a batch the two go apart: what is dissolved counts as the substance, the rest as solvent.

use super::Reactants;
use super::family::as_sold;
use super::lookup::{LookupError, normalized};
use super::reactant::{Reactant, Role, State};
use crate::formula::Formula;
use crate::quantity::{MolarEnergy, MolarHeatCapacity, Ratio};
use crate::source::Seen;
use crate::tables::cited::Cited;
use crate::tables::unit::KilojoulePerMole;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::molar_heat_capacity::joule_per_kelvin_mole;
use uom::si::molar_mass::gram_per_mole;
use uom::si::ratio::{percent, ratio};

/// Strongest solution that may be asked for, mass percent: few salts dissolve in less water.
const STRONGEST: f64 = 85.0;

impl Reactants {
    /// `"Mn(NO3)2 50 %"`, `"manganese nitrate solution, 50 %"`: strength in mass percent of the
    /// dry salt. `None` if the text is no such name.
    pub(super) fn of_strength(&self, text: &str) -> Option<Result<Reactant, LookupError>> {
        let name = normalized(text);
        let (stem, number) = name
            .trim_end_matches([')', ' '])
            .strip_suffix('%')?
            .trim_end()
            .rsplit_once([' ', ','])?;
        let strength = number.trim_start_matches('(').parse::<f64>().ok()?;
        let stem = stem.trim_end_matches([',', ' ']);
        let stem = stem.strip_suffix(" solution").unwrap_or(stem);
        // the formula is read as it was written, not in lower case
        let written = text.trim().get(..stem.len()).unwrap_or(stem);
        let salt = self.salt_named(stem, written)?;
        Some(self.solution_of(salt, Ratio::new::<percent>(strength)))
    }

    /// A row of the salt of that name or formula, whatever its crystal water.
    fn salt_named(&self, name: &str, written: &str) -> Option<&Reactant> {
        let formula = Formula::parse(written.trim()).ok();
        self.iter()
            .filter(|row| !matches!(row.role, Role::Acid | Role::Solvent | Role::Fuel))
            .filter(|row| row.state == State::Solid)
            .find(|row| {
                let same_salt = formula
                    .as_ref()
                    .is_some_and(|f| f.anhydrous().amounts() == row.formula.anhydrous().amounts());
                let mut names = row.aliases.iter().chain([&row.name]);
                same_salt || names.any(|n| super::lookup::stem(n) == name)
            })
    }

    /// The solution of a salt: from a hydrate whose enthalpy of solution is known.
    fn solution_of(&self, salt: &Reactant, strength: Ratio) -> Result<Reactant, LookupError> {
        let w = strength.get::<ratio>();
        if !(w > 0.0 && strength.get::<percent>() <= STRONGEST) {
            return Err(LookupError::Strength {
                name: salt.name.clone(),
                strength_percent: strength.get::<percent>(),
            });
        }
        let family = self.family(salt);
        let known = family.members().iter().find_map(|row| {
            let parts = (
                row.formation_enthalpy.as_ref()?,
                row.enthalpy_of_solution.as_ref()?,
            );
            Some((*row, parts.0, parts.1))
        });
        let (Some((row, formation, solution)), Some((water, water_heat))) = (known, self.water())
        else {
            return Err(LookupError::NoSolution {
                name: salt.name.clone(),
            });
        };
        let kj = |q: MolarEnergy| q.get::<kilojoule_per_mole>();
        let dry = row.formula.anhydrous();
        let grams = |f: &Formula| f.molar_mass().get::<gram_per_mole>();
        let n = (1.0 - w) / w * grams(&dry) / water_molar_mass();
        let dissolved =
            kj(formation.value) + kj(solution.value) - row.formula.crystal_water() * kj(water);
        let band = |v: &Cited<KilojoulePerMole>| v.uncertainty.map_or(0.0, kj);
        let dry_heat = family
            .at(0.0)?
            .heat_capacity
            .map_or(0.0, |c| c.value.get::<joule_per_kelvin_mole>());
        let heat = dry_heat + n * water_heat.get::<joule_per_kelvin_mole>();
        let percent_text = strength.get::<percent>();
        Ok(Reactant {
            id: format!("{}_solution_{percent_text}", row.id),
            name: format!(
                "{} solution, {percent_text} %",
                super::lookup::stem(&row.name)
            ),
            aliases: Vec::new(),
            formula: dry.with_crystal_water((n * 1e4).round() / 1e4),
            cas: None,
            cas_seen: None,
            usual_hydrate: false,
            state: State::Solution,
            formation_enthalpy: Some(Cited {
                value: MolarEnergy::new::<kilojoule_per_mole>(dissolved + n * kj(water)),
                uncertainty: Some(MolarEnergy::new::<kilojoule_per_mole>(
                    band(formation).hypot(band(solution)).hypot(STRONG_SOLUTION),
                )),
                source: solution.source.clone(),
                locator: format!("{} + solution at infinite dilution + water", row.id),
                seen: formation.seen.max(solution.seen).max(Seen::Computed),
            }),
            heat_capacity: Some(Cited {
                value: MolarHeatCapacity::new::<joule_per_kelvin_mole>(heat),
                uncertainty: Some(MolarHeatCapacity::new::<joule_per_kelvin_mole>(0.1 * heat)),
                source: solution.source.clone(),
                locator: "salt and water added; the excess is left out".to_owned(),
                seen: Seen::Estimated,
            }),
            entropy: None,
            enthalpy_of_solution: None,
            density: None,
            melting: None,
            solubility: None,
            water_range: None,
            assay: None,
            alternatives: Vec::new(),
            ..row.clone()
        })
    }

    /// What is dissolved in a solution of the tables, with the molecules of solvent water that
    /// come with each formula unit; `None` for what is no solution, and for nitric acid, whose
    /// water the batch takes as solvent by itself. A salt is there as the hydrate that is sold,
    /// which crystallises when the solvent has gone: its solution burns as that hydrate and water.
    #[must_use]
    pub fn dissolved(&self, solution: &Reactant) -> Option<(Reactant, f64)> {
        let n = solution.formula.crystal_water();
        if solution.state != State::Solution || solution.role == Role::Acid || n <= 0.0 {
            return None;
        }
        let (water, water_heat) = self.water()?;
        if let Some(salt) = self.crystals_of(solution, water) {
            let crystal = salt.formula.crystal_water();
            return Some((salt, n - crystal));
        }
        let mut solute = solution.clone();
        solute.formula = solution.formula.anhydrous();
        if let Some(h) = &mut solute.formation_enthalpy {
            h.value -= n * water;
        }
        if let Some(c) = &mut solute.heat_capacity {
            c.value -= n * water_heat;
        }
        Some((solute, n))
    }

    /// The crystals that a solution leaves, under the name of the bottle: those sold, or drier ones
    /// if it has less water. `None` where the heat of dissolving them is not tabulated.
    fn crystals_of(&self, solution: &Reactant, water: MolarEnergy) -> Option<Reactant> {
        let dry = solution.formula.anhydrous();
        let sold = self
            .iter()
            .filter(|row| row.state == State::Solid && row.role == solution.role)
            .filter(|row| row.formula.anhydrous().amounts() == dry.amounts())
            .filter(|row| row.formation_enthalpy.is_some())
            .max_by(|a, b| as_sold(a, b))?;
        if !self.in_solution(sold, water).ok()?.is_measured {
            return None;
        }
        let n = solution.formula.crystal_water();
        let crystals = if sold.formula.crystal_water() > n {
            self.with_water(sold, n).ok()?
        } else {
            sold.clone()
        };
        Some(Reactant {
            name: solution.name.clone(),
            density: solution.density.clone(),
            ..crystals
        })
    }

    /// Formation enthalpy and heat capacity of water, the solvent.
    fn water(&self) -> Option<(MolarEnergy, MolarHeatCapacity)> {
        let row = self.iter().find(|row| row.role == Role::Solvent)?;
        Some((
            row.formation_enthalpy.as_ref()?.value,
            row.heat_capacity.as_ref()?.value,
        ))
    }
}

/// Heat that a strong solution of a nitrate keeps against one at infinite dilution, kJ/mol: the
/// NBS rows of Mg, Ca, Zn, Mn, Cu and Cd nitrates in 10 H2O lie 2 to 12 from those in ∞ H2O.
const STRONG_SOLUTION: f64 = 10.0;

fn water_molar_mass() -> f64 {
    Formula::parse("H2O")
        .expect("H2O is a formula")
        .molar_mass()
        .get::<gram_per_mole>()
}
