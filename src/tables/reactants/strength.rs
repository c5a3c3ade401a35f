//! Solutions as they are sold, by their strength: "Mn(NO3)2 50 %", "ammonia solution, 25 %".
//!
//! A solution is the salt with n molecules of solvent water: Δ_fH° = Δ_fH°(dissolved) + n Δ_fH°(H2O).
//! In a batch the two go apart: what is dissolved counts as the substance, the rest as solvent.

use super::Reactants;
use super::error::LookupError;
use super::reactant::{Reactant, Role, State};
use super::spelling::same_atoms;
use crate::formula::Formula;
use crate::quantity::units::{
    gram_per_mole, joule_per_kelvin_mole, kilojoule_per_mole, percent, ratio,
};
use crate::quantity::{MolarEnergy, MolarHeatCapacity, Ratio};
use crate::source::Seen;
use crate::tables::cited::Cited;
use crate::tables::unit::KilojoulePerMole;

/// Strongest solution that may be asked for, mass percent: few salts dissolve in less water.
const STRONGEST: f64 = 85.0;

/// A strength as it is written on a bottle.
pub(super) struct Strength<'a> {
    /// What stands before the strength, as written.
    named: &'a str,
    /// The same without the word solution.
    pub(super) of: &'a str,
    /// Percent by mass, as written.
    percents: f64,
    /// What the fraction is counted as ("15 % Pt", "22 % ZrO2"); `None` for the dry substance.
    counted_as: Option<Formula>,
}

impl<'a> Strength<'a> {
    /// `None` if the text holds no strength in percent.
    pub(super) fn read(text: &'a str) -> Option<Self> {
        let (before, after) = text.split_once('%')?;
        let before = before.trim_end();
        let before = ["w/w", "wt.", "wt"]
            .iter()
            .find_map(|unit| before.strip_suffix(unit))
            .unwrap_or(before)
            .trim_end();
        let stem = before.trim_end_matches(|c: char| c.is_ascii_digit() || c == '.');
        let percents: f64 = before[stem.len()..].parse().ok()?;
        let stem = stem.trim_end_matches([' ', ',', '(']);
        let words = after.trim_matches([' ', ')', ',']);
        let words = words.strip_prefix("as ").unwrap_or(words);
        let counted_as = match words {
            "" | "solution" => None,
            word => Some(Formula::parse(word).ok()?),
        };
        Some(Self {
            named: stem,
            of: stem.strip_suffix(" solution").unwrap_or(stem),
            percents,
            counted_as,
        })
    }

    /// Mass fraction of the dry substance; `None` if what is counted is not in it.
    fn of_dry(&self, dry: &Formula) -> Option<Ratio> {
        let written = Ratio::new::<percent>(self.percents);
        let Some(part) = &self.counted_as else {
            return Some(written);
        };
        let (element, atoms) = part
            .amounts()
            .iter()
            .find(|(element, _)| element.symbol() != "O")?;
        let parts = dry.amount_of(*element) / atoms;
        (parts > 0.0).then(|| written * (dry.molar_mass() / (part.molar_mass() * parts)))
    }

    /// The name of something of this strength.
    fn name(&self, substance: &str) -> String {
        let part = self.counted_as.as_ref();
        let part = part.map_or_else(String::new, |part| format!(" {part}"));
        format!("{substance}, {} %{part}", self.percents)
    }
}

/// The stem of a solution's name: without its strength and without the word solution.
fn without_strength(name: &str) -> String {
    let name = Strength::read(name.trim()).map_or(name, |s| s.of);
    let stem = super::spelling::stem(name);
    stem.strip_suffix(" solution").unwrap_or(&stem).to_owned()
}

/// The mass fraction of the dry salt in a solution of `row`, if there can be one.
fn mass_fraction(row: &Reactant, fraction: Ratio) -> Result<f64, LookupError> {
    let (w, strength_percent) = (fraction.get::<ratio>(), fraction.get::<percent>());
    let name = row.name.clone();
    let wrong = LookupError::Strength {
        name,
        strength_percent,
    };
    (w > 0.0 && strength_percent <= STRONGEST)
        .then_some(w)
        .ok_or(wrong)
}

/// Whether `row` is of this composition, whatever its crystal water.
fn same_salt(formula: &Formula, row: &Reactant) -> bool {
    same_atoms(&formula.anhydrous(), &row.formula.anhydrous())
}

impl Reactants {
    /// `"Mn(NO3)2 50 %"`, `"manganese nitrate solution, 50 %"`: strength in mass percent of the
    /// dry salt; `"platinum nitrate 10 % Pt"`: of the metal in it, or of its oxide. `None` if the
    /// text is no such name.
    pub(super) fn of_strength(&self, text: &str) -> Option<Result<Reactant, LookupError>> {
        let strength = Strength::read(text.trim())?;
        if let Some(row) = self.solution_named(strength.of) {
            let fraction = strength.of_dry(&row.formula.anhydrous())?;
            return Some(self.at_strength(row, &strength, fraction));
        }
        let salt = self.salt_named(&super::spelling::stem(strength.of), strength.of)?;
        let fraction = strength.of_dry(&salt.formula.anhydrous())?;
        Some(self.solution_of(salt, &strength, fraction))
    }

    /// "urea 99 %": too strong for a solution, so the purity of a solid.
    pub(super) fn purity(&self, text: &str) -> Option<LookupError> {
        let strength = Strength::read(text.trim()).filter(|s| s.percents > STRONGEST)?;
        let name = self.find(strength.of).ok()?.name.clone();
        let strength_percent = strength.percents;
        Some(LookupError::Strength {
            name,
            strength_percent,
        })
    }

    /// A row that is a solution itself, by its name or formula without the strength.
    pub(super) fn solution_named(&self, written: &str) -> Option<&Reactant> {
        let formula = Formula::parse(written.trim()).ok();
        let name = without_strength(written);
        self.iter()
            .filter(|row| row.state == State::Solution && row.role != Role::Acid)
            .find(|row| {
                let same = formula.as_ref().is_some_and(|f| same_salt(f, row));
                let mut names = row.aliases.iter().chain([&row.name]);
                same || names.any(|n| without_strength(n) == name)
            })
    }

    /// A solution of the tables at another strength: water is added or taken away.
    fn at_strength(
        &self,
        row: &Reactant,
        strength: &Strength<'_>,
        fraction: Ratio,
    ) -> Result<Reactant, LookupError> {
        let w = mass_fraction(row, fraction)?;
        let dry = row.formula.anhydrous();
        let had = row.formula.crystal_water();
        let has = water_with(&dry, w);
        let mut made = row.clone();
        if let Some((water, water_heat)) = self.water() {
            if let Some(h) = &mut made.formation_enthalpy {
                let band = DILUTION * (1.0 / (1.0 + has) - 1.0 / (1.0 + had)).abs();
                let own = h.uncertainty.map_or(0.0, |u| u.get::<kilojoule_per_mole>());
                h.value += (has - had) * water;
                h.uncertainty = Some(MolarEnergy::new::<kilojoule_per_mole>(own.hypot(band)));
                h.locator = format!("{}; {} with water for this strength", h.locator, row.id);
                h.seen = h.seen.max(Seen::Computed);
            }
            if let Some(c) = &mut made.heat_capacity {
                c.value += (has - had) * water_heat;
            }
        }
        made.id = format!("{}_at_{}", row.id, strength.percents);
        made.name = strength.name(Strength::read(&row.name).map_or(&row.name, |s| s.named));
        made.formula = dry.with_crystal_water((has * 1e4).round() / 1e4);
        made.aliases = Vec::new();
        made.density = None;
        made.assay = None;
        Ok(made)
    }

    /// A row of the salt of that name or formula, whatever its crystal water.
    fn salt_named(&self, name: &str, written: &str) -> Option<&Reactant> {
        let formula = Formula::parse(written.trim()).ok();
        self.iter()
            .filter(|row| !matches!(row.role, Role::Acid | Role::Solvent | Role::Fuel))
            .filter(|row| row.state == State::Solid)
            .find(|row| {
                let same = formula.as_ref().is_some_and(|f| same_salt(f, row));
                let mut names = row.aliases.iter().chain([&row.name]);
                same || names.any(|n| super::spelling::stem(n) == name)
            })
    }

    /// The solution of a salt: from a hydrate whose enthalpy of solution is known.
    fn solution_of(
        &self,
        salt: &Reactant,
        strength: &Strength<'_>,
        fraction: Ratio,
    ) -> Result<Reactant, LookupError> {
        let w = mass_fraction(salt, fraction)?;
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
        let n = water_with(&dry, w);
        let dissolved =
            kj(formation.value) + kj(solution.value) - row.formula.crystal_water() * kj(water);
        let band = |v: &Cited<KilojoulePerMole>| v.uncertainty.map_or(0.0, kj);
        let dry_heat = family
            .at(0.0)?
            .heat_capacity
            .map_or(0.0, |c| c.value.get::<joule_per_kelvin_mole>());
        let heat = dry_heat + n * water_heat.get::<joule_per_kelvin_mole>();
        Ok(Reactant {
            id: format!("{}_solution_{}", row.id, strength.percents),
            name: strength.name(&format!("{} solution", super::spelling::stem(&row.name))),
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
            .max_by(|a, b| a.sold_order(b))?;
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

/// Most heat that diluting gives off, per unit of the amount fraction of what is dissolved, kJ/mol:
/// the NBS tables have 27 for phosphoric acid and 9 for ammonia.
const DILUTION: f64 = 27.0;

/// Molecules of water beside one formula unit at the mass fraction `w` of the dry substance.
fn water_with(dry: &Formula, w: f64) -> f64 {
    let water = Formula::parse("H2O").expect("H2O is a formula");
    let grams = |f: &Formula| f.molar_mass().get::<gram_per_mole>();
    (1.0 - w) / w * grams(dry) / grams(&water)
}
