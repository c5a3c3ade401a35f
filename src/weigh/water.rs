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

mod boiling;
mod error;

pub use boiling::{
    WaterCost, boiling_point, cost, heat_of_boiling, ideal_boiling_point, particles,
};
pub use error::WaterError;

use crate::batch::{Batch, Ingredient, water_molar_mass};
use crate::quantity::units::{gram, kilogram, ratio};
use crate::quantity::{Mass, Ratio, ThermodynamicTemperature};
use crate::tables::Role;
use crate::tables::reactants::{Basis, SolubilityError};

/// Share of saturation above which a solution is called nearly saturated.
pub const NEARLY_SATURATED: f64 = 0.8;

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
            name: super::line::label(ingredient),
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
    pub temperature: ThermodynamicTemperature,
    /// Solvent water to have by the sum rule; 0 if the crystal water is enough.
    pub least: Mass,
    /// Solvent water to have by the shared rule.
    pub least_shared: Mass,
    /// Saturation with the solvent water that the batch has: 1 is saturated (sum rule); none if
    /// there is no water at all for what is to be dissolved.
    pub saturation: Option<Ratio>,
    /// The substance nearest to its own saturation, with its own saturation in all the water.
    pub nearest: Option<(String, Ratio)>,
    /// Substances without a known solubility at this temperature: left out of the sums.
    pub unknown: Vec<SolubilityError>,
}

impl Solution {
    /// The solution that a batch makes.
    pub fn of(batch: &Batch) -> Self {
        let water = batch
            .ingredients
            .iter()
            .find(|i| i.reactant.role == Role::Solvent)
            .map_or_else(water_molar_mass, |i| i.reactant.formula.molar_mass());
        Self {
            solutes: batch.ingredients.iter().filter_map(Solute::of).collect(),
            solvent: batch.solvent_water() * water,
        }
    }

    /// Crystal water that counts as solvent.
    pub fn own_water(&self) -> Mass {
        sum(self.solutes.iter().map(|solute| solute.own_water))
    }

    /// Water needed at `temperature`.
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
        let saturation = |water: f64| match water {
            none if none <= 0.0 => Some(Ratio::new::<ratio>(0.0)),
            some => (all > 0.0).then(|| Ratio::new::<ratio>(some / all)),
        };
        WaterNeed {
            temperature,
            least: Mass::new::<kilogram>((needed - own).max(0.0)),
            least_shared: Mass::new::<kilogram>((shared - own).max(0.0)),
            saturation: saturation(needed),
            nearest: most
                .filter(|(_, water)| *water > 0.0)
                .and_then(|(s, water)| Some((s.name.clone(), saturation(*water)?))),
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
pub fn advice(room: &WaterNeed, warm: &WaterNeed) -> WaterAdvice {
    let one = Ratio::new::<ratio>(1.0);
    if room.saturation.is_some_and(|share| share <= one) {
        WaterAdvice::DissolvesCold
    } else if warm.saturation.is_some_and(|share| share <= one) {
        WaterAdvice::WarmAndGoOn {
            enough: room.least,
            first: room.nearest.as_ref().map(|(name, _)| name.clone()),
        }
    } else {
        WaterAdvice::AddWater { enough: warm.least }
    }
}

fn sum(masses: impl Iterator<Item = Mass>) -> Mass {
    masses.fold(Mass::new::<gram>(0.0), |sum, mass| sum + mass)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::degree_celsius;
    use crate::tables::Tables;
    use approx::assert_relative_eq;

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
        assert_relative_eq!(
            room.saturation.unwrap().get::<ratio>(),
            1.003,
            max_relative = 2e-3
        );
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
            found.saturation.unwrap().get::<ratio>(),
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
        assert!(found.saturation.unwrap().get::<ratio>() > 1.0);
        let room = found;
        let enough = WaterAdvice::AddWater { enough: room.least };
        assert_eq!(advice(&room, &room), enough);
    }
}
