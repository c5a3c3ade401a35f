//! Water to dissolve the batch, and how close to saturation it is.
//!
//! Each salt i needs the water d_i / s_i, with d_i its dissolved mass and s_i its solubility (mass
//! per mass of water). Two rules bound the mixture:
//!
//! * **sum rule**: every salt needs its own water, W = Σ d_i / s_i. This is the straight line
//!   between the single solubilities; mixtures without double salts dissolve with less, so it is
//!   taken for the advice. Ammonium or alkali nitrates beside rare earths can form double salts
//!   that need more; it is then no safe side.
//! * **shared rule**: all water serves each salt, W = max d_i / s_i, the least that can do.
//!
//! Crystal water of nitrates counts as solvent, as their solubilities are tabulated for the
//! anhydrous salt.

use crate::batch::{Batch, Ingredient};
use crate::quantity::{
    Energy, Mass, MolarEnergy, Power, Pressure, Ratio, TemperatureInterval,
    ThermodynamicTemperature, Time, gas_constant,
};
use crate::tables::reactants::{Basis, SolubilityError};
use crate::tables::{Role, Tables};
use thiserror::Error;
use uom::si::mass::{gram, kilogram};
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::{degree_celsius, kelvin};

/// Share of saturation above which a solution is called nearly saturated.
pub const NEARLY_SATURATED: f64 = 0.8;

/// Why no water can be worked out.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum WaterError {
    /// The tables lack water itself.
    #[error("the tables lack H2O as gas or liquid; they are needed for the heat of boiling")]
    NoWater,
    /// Heating without power.
    #[error("a power of {watt:.3} W boils nothing off; give one above 0")]
    NoPower {
        /// Power in W.
        watt: f64,
    },
}

/// One dissolved substance.
#[derive(Debug, Clone)]
pub struct Solute {
    /// Name of the substance.
    pub name: String,
    /// Mass that counts as dissolved: without crystal water where the solubility is tabulated so.
    pub dissolved: Mass,
    /// Crystal water that counts as solvent.
    pub own_water: Mass,
    /// Mixes with water in all proportions.
    pub miscible: bool,
    /// Temperature at which it melts in its own crystal water, if it does.
    pub melts_at: Option<ThermodynamicTemperature>,
    ingredient: Ingredient,
}

impl Solute {
    /// What an ingredient brings into solution; `None` for water and acid.
    #[must_use]
    pub fn of(ingredient: &Ingredient) -> Option<Self> {
        let reactant = &ingredient.reactant;
        if matches!(reactant.role, Role::Solvent | Role::Acid) {
            return None;
        }
        let pure = ingredient.pure_mass();
        let basis = reactant.solubility.as_ref().map(|s| s.basis);
        let dry: Ratio = reactant.formula.anhydrous().molar_mass() / reactant.formula.molar_mass();
        let dissolved = match basis {
            Some(Basis::Anhydrous) => pure * dry,
            _ => pure,
        };
        Some(Self {
            name: super::sheet::label(ingredient),
            dissolved,
            own_water: pure - dissolved,
            miscible: reactant.solubility.as_ref().is_some_and(|s| s.miscible),
            melts_at: reactant
                .melting
                .as_ref()
                .filter(|melting| melting.in_own_water)
                .map(|melting| melting.temperature.value),
            ingredient: ingredient.clone(),
        })
    }

    /// Water that this substance needs alone at `temperature`, its crystal water included.
    ///
    /// # Errors
    /// [`SolubilityError`] if its solubility there is not known.
    pub fn water(&self, temperature: ThermodynamicTemperature) -> Result<Mass, SolubilityError> {
        if self.miscible {
            return Ok(Mass::new::<kilogram>(0.0));
        }
        let reactant = &self.ingredient.reactant;
        let Some(solubility) = &reactant.solubility else {
            return Err(SolubilityError::Unknown {
                name: reactant.name.clone(),
                note: String::new(),
            });
        };
        let per_water = solubility.per_water(&reactant.name, temperature)?;
        Ok(self.dissolved / per_water)
    }
}

/// A batch as a solution.
#[derive(Debug, Clone)]
pub struct Solution {
    /// Everything dissolved.
    pub solutes: Vec<Solute>,
    /// Solvent water: added, and brought by stock solutions and acid.
    pub solvent: Mass,
}

/// Water needed at one temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterNeed {
    /// Temperature.
    pub temperature: ThermodynamicTemperature,
    /// Solvent water to have by the sum rule; 0 if the crystal water is enough.
    pub least: Mass,
    /// Solvent water to have by the shared rule.
    pub least_shared: Mass,
    /// Saturation with the solvent water that the batch has: 1 is saturated (sum rule).
    pub saturation: Ratio,
    /// The substance nearest to its own saturation, with its own saturation in all the water.
    pub nearest: Option<(String, Ratio)>,
    /// Substances without a known solubility at this temperature: left out of the sums.
    pub unknown: Vec<SolubilityError>,
}

impl Solution {
    /// The solution that a batch makes.
    #[must_use]
    pub fn of(batch: &Batch) -> Self {
        let water = batch
            .ingredients
            .iter()
            .filter(|i| i.reactant.role == Role::Solvent)
            .map(|i| i.reactant.formula.molar_mass())
            .next()
            .unwrap_or_else(water_molar_mass);
        Self {
            solutes: batch.ingredients.iter().filter_map(Solute::of).collect(),
            solvent: batch.solvent_water() * water,
        }
    }

    /// Crystal water that counts as solvent.
    #[must_use]
    pub fn own_water(&self) -> Mass {
        sum(self.solutes.iter().map(|solute| solute.own_water))
    }

    /// Water needed at `temperature`.
    #[must_use]
    pub fn need(&self, temperature: ThermodynamicTemperature) -> WaterNeed {
        let mut unknown = Vec::new();
        let mut each: Vec<(&Solute, f64)> = Vec::new();
        for solute in &self.solutes {
            match solute.water(temperature) {
                Ok(water) => each.push((solute, water.get::<kilogram>())),
                Err(error) => unknown.push(error),
            }
        }
        let own = self.own_water().get::<kilogram>();
        let all = own + self.solvent.get::<kilogram>();
        let needed: f64 = each.iter().map(|(_, water)| water).sum();
        let most = each.iter().max_by(|a, b| a.1.total_cmp(&b.1));
        let shared = most.map_or(0.0, |(_, water)| *water);
        // Something to dissolve and no water at all is beyond any saturation.
        let saturation = |water: f64| if water <= 0.0 { 0.0 } else { water / all };
        WaterNeed {
            temperature,
            least: Mass::new::<kilogram>((needed - own).max(0.0)),
            least_shared: Mass::new::<kilogram>((shared - own).max(0.0)),
            saturation: Ratio::new::<ratio>(saturation(needed)),
            nearest: most
                .filter(|(_, water)| *water > 0.0)
                .map(|(s, water)| (s.name.clone(), Ratio::new::<ratio>(saturation(*water)))),
            unknown,
        }
    }

    /// Substances that melt in their own crystal water below `temperature`.
    pub fn melting_below(
        &self,
        temperature: ThermodynamicTemperature,
    ) -> impl Iterator<Item = (&str, ThermodynamicTemperature)> {
        self.solutes.iter().filter_map(move |solute| {
            let melts_at = solute.melts_at.filter(|t| *t <= temperature)?;
            Some((solute.name.as_str(), melts_at))
        })
    }
}

/// What to do about the water.
#[derive(Debug, Clone, PartialEq)]
pub enum WaterAdvice {
    /// All dissolves at room temperature.
    DissolvesCold,
    /// It dissolves only on warming, and crystallises again on cooling: burn it warm, or add
    /// water up to the mass named.
    WarmAndGoOn {
        /// Solvent water with which it would stay dissolved at room temperature.
        enough: Mass,
        /// What crystallises first on cooling, if known.
        first: Option<String>,
    },
    /// Even warm there is too little water: have at least this much solvent.
    AddWater {
        /// Solvent water needed warm.
        enough: Mass,
    },
}

/// The advice from the needs at room and at warm temperature.
#[must_use]
pub fn advice(room: &WaterNeed, warm: &WaterNeed) -> WaterAdvice {
    let one = Ratio::new::<ratio>(1.0);
    if room.saturation <= one {
        WaterAdvice::DissolvesCold
    } else if warm.saturation <= one {
        WaterAdvice::WarmAndGoOn {
            enough: room.least,
            first: room.nearest.as_ref().map(|(name, _)| name.clone()),
        }
    } else {
        WaterAdvice::AddWater { enough: warm.least }
    }
}

/// What the water costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterCost {
    /// Heat to warm it to its boiling point and boil it off.
    pub energy: Energy,
    /// Time at the stated power.
    pub time: Option<Time>,
}

/// Heat, and time at `power`, to boil off `water` from `start` at `boiling`, from the enthalpies of
/// liquid water and steam in the tables.
///
/// # Errors
/// [`WaterError`] if the tables lack water or the power is not above 0.
pub fn cost(
    water: Mass,
    start: ThermodynamicTemperature,
    boiling: ThermodynamicTemperature,
    power: Option<Power>,
    tables: &Tables,
) -> Result<WaterCost, WaterError> {
    let species = |id| tables.species_by_id(id).ok_or(WaterError::NoWater);
    let (liquid, steam) = (species("H2O(l)")?, species("H2O")?);
    let below = liquid
        .molar_enthalpy(start)
        .map_err(|_| WaterError::NoWater)?;
    let above = steam
        .molar_enthalpy(boiling)
        .map_err(|_| WaterError::NoWater)?;
    let energy: Energy = (above - below) * (water / water_molar_mass());
    let time = match power {
        None => None,
        Some(power) if power > Power::new::<uom::si::power::watt>(0.0) => Some(energy / power),
        Some(power) => {
            return Err(WaterError::NoPower {
                watt: power.get::<uom::si::power::watt>(),
            });
        }
    };
    Ok(WaterCost { energy, time })
}

/// Heat of boiling of pure water at `temperature`, from the tables.
///
/// # Errors
/// [`WaterError::NoWater`] if the tables lack water there.
pub fn heat_of_boiling(
    temperature: ThermodynamicTemperature,
    tables: &Tables,
) -> Result<MolarEnergy, WaterError> {
    let enthalpy = |id| {
        let species = tables.species_by_id(id)?;
        species.molar_enthalpy(temperature).ok()
    };
    let (steam, liquid) = (enthalpy("H2O"), enthalpy("H2O(l)"));
    steam
        .zip(liquid)
        .map(|(steam, liquid)| steam - liquid)
        .ok_or(WaterError::NoWater)
}

/// Boiling point of pure water at `pressure`: from 100 °C at 1 atm along the line of
/// Clausius–Clapeyron with the tabulated heat of boiling there: 0.1 K too low at 0.9 bar, 0.9 K at
/// 0.3 bar.
///
/// # Errors
/// [`WaterError::NoWater`] if the tables lack water.
pub fn boiling_point(
    pressure: Pressure,
    tables: &Tables,
) -> Result<ThermodynamicTemperature, WaterError> {
    // 99.974 °C (ITS-90) at 101 325 Pa; the 0.03 K count for nothing here.
    let normal = ThermodynamicTemperature::new::<degree_celsius>(99.974);
    let atmosphere = Pressure::new::<uom::si::pressure::pascal>(101_325.0);
    let heat = heat_of_boiling(normal, tables)?;
    let share: Ratio = pressure / atmosphere;
    Ok(shifted(normal, share.get::<ratio>(), heat))
}

/// Temperature at which water boils if its vapour has to reach `share` of the pressure that it
/// has at `from` (above 1: hotter).
fn shifted(
    from: ThermodynamicTemperature,
    share: f64,
    heat: MolarEnergy,
) -> ThermodynamicTemperature {
    let one_kelvin = TemperatureInterval::new::<uom::si::temperature_interval::kelvin>(1.0);
    let per_kelvin: Ratio = gas_constant() * one_kelvin / heat;
    let inverse = 1.0 / from.get::<kelvin>() - per_kelvin.get::<ratio>() * share.ln();
    ThermodynamicTemperature::new::<kelvin>(1.0 / inverse)
}

/// Boiling point of the solution at the pressure where pure water boils at `pure`, if every ion
/// and molecule dilutes the water ideally (Raoult) and the heat of boiling is constant:
/// 1/T = 1/T_b + (R/ΔH) ln x_w.
///
/// Right for dilute solutions (it gives the ebullioscopic constant 0.51 K kg/mol); concentrated
/// nitrates of small, highly charged ions boil higher, as they bind water.
///
/// * `dissolved`: amount of ions and molecules per amount of water
#[must_use]
pub fn ideal_boiling_point(
    pure: ThermodynamicTemperature,
    dissolved: Ratio,
    heat_of_boiling: MolarEnergy,
) -> ThermodynamicTemperature {
    // The vapour pressure is x_w times that of pure water, x_w = 1/(1 + dissolved per water).
    shifted(pure, 1.0 + dissolved.get::<ratio>(), heat_of_boiling)
}

/// Ions and molecules from one formula unit: metals and nitrate ions of a salt, else one molecule.
#[must_use]
pub fn particles(formula: &crate::formula::Formula) -> f64 {
    let nitrate = crate::redox::nitrate_ions(formula);
    let metal = crate::redox::metal_atoms(formula);
    match () {
        () if metal > 0.0 => metal + nitrate.max(1.0),
        // Ammonium nitrate and nitric acid: cation and anion.
        () if nitrate > 0.0 => 2.0 * nitrate,
        () => 1.0,
    }
}

fn water_molar_mass() -> crate::quantity::MolarMass {
    crate::formula::Formula::parse("H2O")
        .expect("H2O is a formula")
        .molar_mass()
}

fn sum(masses: impl Iterator<Item = Mass>) -> Mass {
    masses.fold(Mass::new::<gram>(0.0), |sum, mass| sum + mass)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use uom::si::energy::kilojoule;
    use uom::si::molar_energy::kilojoule_per_mole;
    use uom::si::power::watt;
    use uom::si::time::minute;

    fn celsius(t: f64) -> ThermodynamicTemperature {
        ThermodynamicTemperature::new::<degree_celsius>(t)
    }

    fn solution(text: &str) -> Solution {
        let tables = Tables::built_in().unwrap();
        Solution::of(&Batch::parse(text, "test", &tables).unwrap())
    }

    const POTASSIUM: &str = r#"
        [[ingredient]]
        substance = "KNO3"
        mass = "3.19 g"
        [[ingredient]]
        substance = "glycerol"
        mass = "1 g"
        [[ingredient]]
        substance = "water"
        volume = "10 mL"
    "#;

    #[test]
    fn a_single_salt_needs_what_the_curve_says() {
        // CRC: 31.9 g KNO3 per 100 g water at 20 °C, 109.2 g at 60 °C (rounded by the pack).
        let room = solution(POTASSIUM).need(celsius(20.0));
        assert_relative_eq!(room.least.get::<gram>(), 10.0, max_relative = 2e-3);
        // 10 mL of water weigh 9.97 g.
        assert_relative_eq!(room.saturation.get::<ratio>(), 1.003, max_relative = 2e-3);
        let warm = solution(POTASSIUM).need(celsius(60.0));
        assert_relative_eq!(warm.least.get::<gram>(), 319.0 / 109.2, max_relative = 2e-3);
        assert!(matches!(
            advice(&room, &warm),
            WaterAdvice::WarmAndGoOn { first: Some(name), .. } if name == "KNO3"
        ));
    }

    #[test]
    fn crystal_water_is_solvent() {
        // Al(NO3)3·9H2O at 25 °C: 68.9 g per 100 g water; the crystal water is 43.22 % of it.
        let text = r#"
            [[ingredient]]
            substance = "Al(NO3)3·9H2O"
            mass = "37.513 g"
            [[ingredient]]
            substance = "glycerol"
            mass = "1 g"
        "#;
        let found = solution(text).need(celsius(25.0));
        let (dry, own) = (21.299, 16.214);
        assert_relative_eq!(
            found.least.get::<gram>(),
            dry / 0.689 - own,
            max_relative = 5e-3
        );
        assert_relative_eq!(
            found.saturation.get::<ratio>(),
            dry / 0.689 / own,
            max_relative = 5e-3
        );
    }

    #[test]
    fn a_hydrate_that_melts_in_its_own_water_is_named() {
        let text = r#"
            [[ingredient]]
            substance = "Al(NO3)3·9H2O"
            mass = "10 g"
            [[ingredient]]
            substance = "urea"
            mass = "3 g"
        "#;
        let solution = solution(text);
        let names: Vec<&str> = solution
            .melting_below(celsius(90.0))
            .map(|(n, _)| n)
            .collect();
        assert_eq!(names, ["Al(NO3)3·9H2O"]);
        assert_eq!(solution.melting_below(celsius(60.0)).count(), 0);
    }

    #[test]
    fn the_sum_rule_asks_for_no_less_than_the_shared_rule() {
        let text = r#"
            [[ingredient]]
            substance = "Zn(NO3)2·6H2O"
            mass = "5 g"
            [[ingredient]]
            substance = "KNO3"
            mass = "5 g"
            [[ingredient]]
            substance = "urea"
            mass = "3 g"
        "#;
        let found = solution(text).need(celsius(25.0));
        assert!(found.least > found.least_shared);
        // No solvent: the crystal water alone is not enough.
        assert!(found.saturation.get::<ratio>() > 1.0);
        let room = found;
        let enough = WaterAdvice::AddWater { enough: room.least };
        assert_eq!(advice(&room, &room), enough);
    }

    #[test]
    fn boiling_off_a_mole_takes_the_tabulated_heat() {
        // 25 °C liquid to 100 °C steam: 75.3 J/(mol K) · 75 K + 40.65 kJ/mol = 46.3 kJ/mol (CRC
        // heat capacity and heat of vaporisation, from memory); steam is taken as ideal gas.
        let tables = Tables::built_in().unwrap();
        let mole = Mass::new::<gram>(18.015);
        let power = Some(Power::new::<watt>(100.0));
        let found = cost(mole, celsius(25.0), celsius(100.0), power, &tables).unwrap();
        assert_relative_eq!(found.energy.get::<kilojoule>(), 46.3, max_relative = 6e-3);
        let minutes = found.time.unwrap().get::<minute>();
        assert_relative_eq!(minutes, 46.3 / 6.0, max_relative = 6e-3);
        let none = Some(Power::new::<watt>(0.0));
        assert!(cost(mole, celsius(25.0), celsius(100.0), none, &tables).is_err());
    }

    #[test]
    fn dilute_solutions_have_the_ebullioscopic_constant() {
        // K_b of water = 0.513 K kg/mol (CRC, from memory): 0.01 mol of molecules per kg.
        let heat = crate::quantity::MolarEnergy::new::<kilojoule_per_mole>(40.66);
        let per_water = Ratio::new::<ratio>(0.01 * 0.018_015);
        let found = ideal_boiling_point(celsius(100.0), per_water, heat);
        let rise = found.get::<kelvin>() - 373.15;
        assert_relative_eq!(rise / 0.01, 0.513, max_relative = 2e-3);
    }

    #[test]
    fn pure_water_boils_lower_on_a_mountain() {
        // Steam table (from memory): 96.69 °C at 0.9 bar, 69.10 °C at 0.3 bar.
        let tables = Tables::built_in().unwrap();
        for (p_bar, expected, within) in
            [(1.01325, 99.97, 0.01), (0.9, 96.69, 0.1), (0.3, 69.1, 0.9)]
        {
            let pressure = Pressure::new::<uom::si::pressure::bar>(p_bar);
            let found = boiling_point(pressure, &tables)
                .unwrap()
                .get::<degree_celsius>();
            assert_relative_eq!(found, expected, epsilon = within);
        }
    }

    #[test]
    fn salts_count_their_ions() {
        let of = |text: &str| particles(&crate::formula::Formula::parse(text).unwrap());
        for (text, count) in [
            ("Al(NO3)3·9H2O", 4.0),
            ("KNO3", 2.0),
            ("CO(NH2)2", 1.0),
            ("NH4NO3", 2.0),
            ("Zn(NO3)2", 3.0),
        ] {
            assert_relative_eq!(of(text), count);
        }
    }
}
