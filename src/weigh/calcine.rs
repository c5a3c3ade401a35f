//! Calcine and weigh: the crystal water of a bottle from two masses.
//!
//! A sample m₀ of M_p(NO3)_q·xH2O is ignited to constant mass and leaves m₁ of an oxide. With k
//! formula units of oxide from one of salt, M_h = M_oxide k m₀/m₁ is the molar mass of the hydrate
//! and x = (M_h − M_dry)/M_water. u(x)/(M_h/M_water) = √((u₀/m₀)² + (u₁/m₁)²): the two masses come
//! from separate weighings.

use crate::formula::{Element, Formula};
use crate::quantity::units::{gram, ratio};
use crate::quantity::{Mass, MolarMass, Ratio};
use crate::tables::bench_oxides::BenchOxide;
use thiserror::Error;

/// Why a calcination cannot be planned or evaluated.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum CalcineError {
    #[error(
        "{salt} does not leave the oxide of one metal: the two weighings tell nothing of its water"
    )]
    NotOneMetal { salt: String },
    #[error("no residue is tabulated for {metal}; {caution}")]
    NoResidue { metal: Element, caution: String },
    #[error(
        "a sample of {sample_g} g that leaves {residue_g} g: both must be above 0, and the residue lighter than the sample"
    )]
    Masses { sample_g: f64, residue_g: f64 },
    #[error(
        "the residue is {percent:.2} % of the sample, but the dry salt leaves only {most:.2} %: it is not fully calcined, or the sample is not {salt}"
    )]
    TooMuchResidue {
        percent: f64,
        most: f64,
        salt: String,
    },
}

/// What a salt leaves when calcined.
#[derive(Debug, Clone, PartialEq)]
pub struct Calcination<'a> {
    /// The salt without crystal water.
    pub salt: Formula,
    /// The residue.
    pub oxide: &'a BenchOxide,
    /// Formula units of oxide from one of salt.
    pub per_salt: f64,
}

/// Crystal water found by calcination.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoundWater {
    /// Molecules of water per formula unit.
    pub water: f64,
    pub standard_uncertainty: f64,
    /// Residue as a share of the sample.
    pub residue: Ratio,
    /// Mass of salt as on the bottle per mole of its formula unit.
    pub molar_mass: MolarMass,
}

impl<'a> Calcination<'a> {
    /// The calcination of `salt` (crystal water is ignored).
    ///
    /// # Errors
    /// [`CalcineError`] if it has not one metal or the residue is no use.
    pub fn of(salt: &Formula, oxides: &'a [BenchOxide]) -> Result<Self, CalcineError> {
        let dry = salt.anhydrous();
        let mut metals = dry.amounts().keys().filter(|element| element.is_metal());
        let (Some(&metal), None) = (metals.next(), metals.next()) else {
            return Err(CalcineError::NotOneMetal {
                salt: salt.to_string(),
            });
        };
        let none = |caution: &str| CalcineError::NoResidue {
            metal,
            caution: caution.to_owned(),
        };
        let oxide = oxides
            .iter()
            .find(|oxide| oxide.metal() == metal)
            .ok_or_else(|| none("determine it by titration"))?;
        if oxide.calcine_at.is_none() {
            return Err(none(&oxide.caution));
        }
        let per_salt = dry.amount_of(metal) / oxide.formula.amount_of(metal);
        Ok(Self {
            salt: dry,
            oxide,
            per_salt,
        })
    }

    /// Residue, as a share of the sample, of the salt with `water` molecules of crystal water.
    pub fn residue(&self, water: f64) -> Ratio {
        self.per_salt * self.oxide.formula.molar_mass()
            / self.salt.with_crystal_water(water).molar_mass()
    }

    /// Crystal water from the sample and the residue, each with its standard uncertainty.
    ///
    /// # Errors
    /// [`CalcineError`] if the masses make no sense or leave less than the dry salt.
    pub fn water(
        &self,
        sample: (Mass, Mass),
        residue: (Mass, Mass),
    ) -> Result<FoundWater, CalcineError> {
        let (m0, u0) = (sample.0.get::<gram>(), sample.1.get::<gram>());
        let (m1, u1) = (residue.0.get::<gram>(), residue.1.get::<gram>());
        let sound = m1 > 0.0 && m0 > m1 && m0.is_finite() && u0 >= 0.0 && u1 >= 0.0;
        if !sound {
            return Err(CalcineError::Masses {
                sample_g: m0,
                residue_g: m1,
            });
        }
        let dry = self.salt.molar_mass();
        let found = self.per_salt * self.oxide.formula.molar_mass() * (m0 / m1);
        let one_water = self.salt.with_crystal_water(1.0).molar_mass() - dry;
        let per_water: Ratio = found / one_water;
        let water: Ratio = (found - dry) / one_water;
        let standard_uncertainty = per_water.get::<ratio>() * (u0 / m0).hypot(u1 / m1);
        // A dry salt comes out at 0 within its error (two standard uncertainties).
        if water.get::<ratio>() < -2.0 * standard_uncertainty - 1e-9 {
            return Err(CalcineError::TooMuchResidue {
                percent: 100.0 * m1 / m0,
                most: 100.0 * self.residue(0.0).get::<ratio>(),
                salt: self.salt.to_string(),
            });
        }
        Ok(FoundWater {
            water: water.get::<ratio>().max(0.0),
            standard_uncertainty,
            residue: Ratio::new::<ratio>(m1 / m0),
            molar_mass: found,
        })
    }

    /// Least sample for an error of `wanted` (standard uncertainty of x) if `expected` molecules
    /// of water are there and each mass has the standard uncertainty `u`.
    pub fn least_sample(&self, expected: f64, wanted: f64, u: Mass) -> Mass {
        let one_water = self.salt.with_crystal_water(1.0).molar_mass() - self.salt.molar_mass();
        let per_water: Ratio = self.salt.with_crystal_water(expected).molar_mass() / one_water;
        let share = self.residue(expected).get::<ratio>();
        per_water.get::<ratio>() / wanted * 1.0_f64.hypot(1.0 / share) * u
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::milligram;
    use crate::tables::Tables;
    use approx::assert_relative_eq;

    fn masses(m_g: f64, u_mg: f64) -> (Mass, Mass) {
        (Mass::new::<gram>(m_g), Mass::new::<milligram>(u_mg))
    }

    #[test]
    fn a_hand_worked_yttrium_nitrate() {
        // Y(NO3)3 274.92 g/mol (88.906 + 3·62.004), Y2O3 225.81 g/mol. 1.0000 g leaving 0.2948 g:
        // M = 112.905/0.2948 = 382.99, x = 108.07/18.015 = 5.999.
        // u: 382.99/18.015 · √((0.2/1000)² + (0.2/294.8)²) = 21.26 · 7.073e-4 = 0.01504.
        let tables = Tables::built_in().unwrap();
        let salt = Formula::parse("Y(NO3)3·6H2O").unwrap();
        let calcination = Calcination::of(&salt, &tables.bench_oxides).unwrap();
        let found = calcination
            .water(masses(1.0, 0.2), masses(0.2948, 0.2))
            .unwrap();
        assert_relative_eq!(found.water, 5.999, epsilon = 0.002);
        assert_relative_eq!(found.standard_uncertainty, 0.01504, max_relative = 1e-3);
    }

    #[test]
    fn the_residue_gives_the_water_back() {
        let tables = Tables::built_in().unwrap();
        for text in [
            "Al(NO3)3",
            "La(NO3)3",
            "Ce(NO3)3",
            "Co(NO3)2",
            "ZrO(NO3)2",
            "Pr(NO3)3",
        ] {
            let salt = Formula::parse(text).unwrap();
            let calcination = Calcination::of(&salt, &tables.bench_oxides).unwrap();
            for x in [0.0, 2.5, 6.0, 9.0] {
                let residue = calcination.residue(x).get::<ratio>();
                let found = calcination
                    .water(masses(2.0, 0.0), masses(2.0 * residue, 0.0))
                    .unwrap();
                assert_relative_eq!(found.water, x, epsilon = 1e-9);
            }
        }
    }

    #[test]
    fn the_least_sample_has_the_error_asked_for() {
        let tables = Tables::built_in().unwrap();
        let salt = Formula::parse("La(NO3)3").unwrap();
        let calcination = Calcination::of(&salt, &tables.bench_oxides).unwrap();
        let u = Mass::new::<milligram>(0.5);
        let sample = calcination.least_sample(6.0, 0.02, u);
        let residue = calcination.residue(6.0) * sample;
        let found = calcination.water((sample, u), (residue, u)).unwrap();
        assert_relative_eq!(found.standard_uncertainty, 0.02, max_relative = 1e-9);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let tables = Tables::built_in().unwrap();
        let of = |text| Calcination::of(&Formula::parse(text).unwrap(), &tables.bench_oxides);
        assert!(matches!(
            of("CO(NH2)2"),
            Err(CalcineError::NotOneMetal { .. })
        ));
        assert!(matches!(
            of("Ba(NO3)2"),
            Err(CalcineError::NoResidue { .. })
        ));
        assert!(matches!(
            of("Cd(NO3)2·4H2O"),
            Err(CalcineError::NoResidue { .. })
        ));
        let calcination = of("Y(NO3)3").unwrap();
        for (sample, residue) in [(1.0, 0.0), (1.0, 1.2), (0.0, 0.0), (f64::NAN, 0.3)] {
            let found = calcination.water(masses(sample, 0.1), masses(residue, 0.1));
            assert!(
                matches!(found, Err(CalcineError::Masses { .. })),
                "{sample} {residue}"
            );
        }
        let found = calcination.water(masses(1.0, 0.1), masses(0.6, 0.1));
        assert!(matches!(found, Err(CalcineError::TooMuchResidue { .. })));
    }
}
