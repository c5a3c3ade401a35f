//! Carbonates, oxides, hydroxides and basic salts to be turned into nitrates with nitric acid.
//!
//! formula + a HNO3 → Σ M(NO3)z + c CO2 + w H2O, with z the charge of each metal in solution:
//! a = Σ z n_M − n_N, c = n_C, w = (n_H + a)/2. The oxygen must then close; if it does not, the
//! substance does not dissolve as an acid and a base (a peroxide, a mixed valence: nitric acid would
//! oxidise or be reduced and give off nitrogen oxides), and no plan is made.
//!
//! A bare metal reduces the acid: M + 2z HNO3 → M(NO3)z + z NO2 + z H2O in strong acid, and
//! 3 M + 4z HNO3 → 3 M(NO3)z + z NO + 2z H2O in dilute acid. The plan takes the acid of the first,
//! which is enough for both; what the second leaves over oxidises.

use crate::formula::{Element, Formula};
use crate::quantity::units::{mole, ratio};
use crate::quantity::{AmountOfSubstance, Mass, Ratio, Volume};
use crate::redox::{OxidationStates, RedoxError, nitrate_ions, valence};
use crate::tables::bench_oxides::{AcidResponse, BareMetal, BenchOxide};
use crate::tables::reactants::{AcidError, NitricAcid};
use std::collections::BTreeMap;
use thiserror::Error;

/// Oxygen that may be left over per formula unit: rounding of fractional formulas.
const CLOSED_WITHIN: f64 = 1e-6;

/// Why no conversion can be planned.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ConversionError {
    #[error(transparent)]
    Redox(#[from] RedoxError),
    #[error(transparent)]
    Acid(#[from] AcidError),
    #[error("{formula} brings no metal: there is nothing to turn into a nitrate")]
    NoMetal { formula: String },
    #[error(
        "{formula} does not dissolve in nitric acid by acid and base alone ({oxygen:+.2} oxygen per formula unit left over): the acid would be reduced and give off nitrogen oxides; use a salt, or state the oxidation state it has in solution"
    )]
    NotAcidBase { formula: String, oxygen: f64 },
    #[error(
        "no plan is made for dissolving {formula} metal in nitric acid, which is reduced and gives off nitrogen oxides: take its carbonate, oxide or nitrate{caution}"
    )]
    Metal { formula: String, caution: String },
    #[error("{formula} cannot be turned into a nitrate: {reason}")]
    NoNitrate { formula: String, reason: String },
    #[error("{formula} already has nitrate for all its charge: dissolve it in water")]
    AlreadyNitrate { formula: String },
}

/// What kind of metal source a substance is, by composition.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Neutral nitrate: nitrate for every charge.
    Nitrate,
    /// Some charge is balanced by oxide or hydroxide beside nitrate: needs acid to dissolve.
    BasicNitrate,
    /// Carbonate, basic or not.
    Carbonate,
    /// Oxide or hydroxide.
    Oxide,
    /// Acetate, citrate, oxalate …: counts as fuel in the redox sum.
    OrganicSalt,
}

/// Names the kind of a metal source. Carbonates and oxides are neutral in the redox sum, organic
/// salts reduce; oxidation states in solution are asked for, not those in the product.
pub fn kind(formula: &Formula, states: &OxidationStates) -> Result<Kind, ConversionError> {
    let charge = metal_charge(formula, states)?;
    let nitrate = nitrate_ions(formula);
    if nitrate > 0.0 {
        return Ok(if nitrate < charge - CLOSED_WITHIN {
            Kind::BasicNitrate
        } else {
            Kind::Nitrate
        });
    }
    Ok(
        match (
            valence(formula, states)?,
            formula.amount_of(Element::CARBON),
        ) {
            (v, c) if v > CLOSED_WITHIN && c > 0.0 => Kind::OrganicSalt,
            (_, c) if c > 0.0 => Kind::Carbonate,
            _ => Kind::Oxide,
        },
    )
}

/// Refuses a metal that makes no nitrate.
pub fn check_nitrate_exists(
    formula: &Formula,
    oxides: &[BenchOxide],
) -> Result<(), ConversionError> {
    let none = |oxide: &&BenchOxide| {
        oxide.in_nitric_acid == AcidResponse::Not && formula.amount_of(oxide.metal()) > 0.0
    };
    match oxides.iter().find(none) {
        Some(oxide) => Err(ConversionError::NoNitrate {
            formula: formula.to_string(),
            reason: oxide.caution.clone(),
        }),
        None => Ok(()),
    }
}

/// Total charge of the metals in one formula unit.
fn metal_charge(formula: &Formula, states: &OxidationStates) -> Result<f64, ConversionError> {
    let mut charge = 0.0;
    for (element, n) in formula
        .amounts()
        .iter()
        .filter(|(element, _)| element.is_metal())
    {
        charge += n * states.of(*element)?;
    }
    if charge <= 0.0 {
        return Err(ConversionError::NoMetal {
            formula: formula.to_string(),
        });
    }
    Ok(charge)
}

/// The reaction of one formula unit with nitric acid.
#[derive(Debug, Clone, PartialEq)]
pub struct Conversion {
    /// The substance.
    pub formula: Formula,
    /// HNO3 used up per formula unit, a.
    pub acid: f64,
    /// CO2 given off per formula unit, c.
    pub carbon_dioxide: f64,
    /// NO2 given off per formula unit of a bare metal, in strong acid; else 0.
    pub nitrogen_dioxide: f64,
    /// Water made per formula unit, crystal water of the substance included, w.
    pub water: f64,
    /// Metals in solution per formula unit, with their charge.
    pub metals: BTreeMap<Element, (f64, f64)>,
}

impl Conversion {
    /// Balances the reaction; `states` are the charges in solution.
    pub fn of(formula: &Formula, states: &OxidationStates) -> Result<Self, ConversionError> {
        let charge = metal_charge(formula, states)?;
        let of = |element| formula.amount_of(element);
        let acid = charge - of(Element::NITROGEN);
        if acid <= CLOSED_WITHIN && nitrate_ions(formula) > 0.0 {
            return Err(ConversionError::AlreadyNitrate {
                formula: formula.to_string(),
            });
        }
        let carbon = of(Element::CARBON);
        let water = (of(Element::HYDROGEN) + acid) / 2.0;
        let oxygen = of(Element::OXYGEN) + 3.0 * acid - 3.0 * charge - 2.0 * carbon - water;
        if oxygen.abs() > CLOSED_WITHIN || acid <= 0.0 || water < 0.0 {
            return Err(ConversionError::NotAcidBase {
                formula: formula.to_string(),
                oxygen,
            });
        }
        let mut metals = BTreeMap::new();
        for (&element, &n) in formula
            .amounts()
            .iter()
            .filter(|(element, _)| element.is_metal())
        {
            metals.insert(element, (n, states.of(element)?));
        }
        Ok(Self {
            formula: formula.clone(),
            acid,
            carbon_dioxide: carbon,
            nitrogen_dioxide: 0.0,
            water,
            metals,
        })
    }

    /// One atom of a bare metal in strong nitric acid, see the head of this file. `None` for what is
    /// no bare metal.
    fn of_metal<'a>(
        formula: &Formula,
        oxides: &'a [BenchOxide],
    ) -> Option<Result<(Self, &'a BareMetal), ConversionError>> {
        let mut elements = formula.amounts().iter();
        let (&element, &n) = elements.next()?;
        if elements.next().is_some() || !element.is_metal() {
            return None;
        }
        let row = oxides.iter().find(|oxide| oxide.metal() == element);
        let listed = row.and_then(|oxide| oxide.bare_metal.as_ref());
        let Some(metal) = listed.filter(|metal| metal.in_nitric_acid < AcidResponse::Hardly) else {
            return Some(Err(ConversionError::Metal {
                formula: formula.to_string(),
                caution: listed.map_or(String::new(), |metal| format!(" ({})", metal.caution)),
            }));
        };
        let charge = n * metal.charge;
        let made = Self {
            formula: formula.clone(),
            acid: 2.0 * charge,
            carbon_dioxide: 0.0,
            nitrogen_dioxide: charge,
            water: charge,
            metals: BTreeMap::from([(element, (n, metal.charge))]),
        };
        Some(Ok((made, metal)))
    }

    /// How the plain oxide of its metals takes to nitric acid, for the worst of them; `None` for a
    /// carbonate or basic salt, which dissolves, or where the table says nothing.
    pub fn response<'a>(&self, oxides: &'a [BenchOxide]) -> Option<&'a BenchOxide> {
        let water = self.formula.amount_of(Element::HYDROGEN);
        if self.carbon_dioxide > 0.0
            || self.formula.amount_of(Element::NITROGEN) > 0.0
            || water > 0.0
        {
            return None;
        }
        self.metals
            .keys()
            .filter_map(|metal| oxides.iter().find(|oxide| oxide.metal() == *metal))
            .max_by_key(|oxide| oxide.in_nitric_acid)
    }
}

/// Acid for a batch of a substance.
#[derive(Debug, Clone, PartialEq)]
pub struct AcidPlan {
    /// The reaction.
    pub conversion: Conversion,
    /// HNO3 used up.
    pub used: AmountOfSubstance,
    /// HNO3 beyond that: it stays in the pot and oxidises, valence −5 each.
    pub excess: AmountOfSubstance,
    /// Mass of the aqueous acid to take, excess included.
    pub mass: Mass,
    /// Its volume, where the density is known.
    pub volume: Option<Volume>,
    /// Carbon dioxide given off.
    pub carbon_dioxide: AmountOfSubstance,
    /// Nitrogen dioxide given off by a bare metal in strong acid.
    pub nitrogen_dioxide: AmountOfSubstance,
    /// Water that comes with the acid and from the reaction.
    pub water: AmountOfSubstance,
    /// How the oxide or the metal takes to nitric acid, if the table says.
    pub response: Option<(AcidResponse, String)>,
}

impl AcidPlan {
    /// Oxidising valence that the excess acid brings into the redox sum.
    pub fn excess_valence(&self) -> AmountOfSubstance {
        // H +1, N 0, 3 O −2 each: −5 per HNO3.
        5.0 * self.excess
    }
}

/// A substance to be dissolved, and the acid for it.
#[derive(Debug, Clone, PartialEq)]
pub struct ConvertInput {
    /// Amount of the substance.
    pub amount: AmountOfSubstance,
    /// Mass fraction of the acid.
    pub strength: Ratio,
    /// Share of acid beyond what is used up.
    pub excess: Ratio,
}

/// The acid for a substance, with the excess that is wanted.
///
/// # Errors
/// `ConversionError` as for `Conversion::of`, or for an acid that cannot be.
pub fn acid_plan(
    formula: &Formula,
    input: &ConvertInput,
    states: &OxidationStates,
    acid: &NitricAcid,
    oxides: &[BenchOxide],
) -> Result<AcidPlan, ConversionError> {
    check_nitrate_exists(formula, oxides)?;
    let (conversion, response) = match Conversion::of_metal(formula, oxides) {
        Some(found) => {
            let (conversion, metal) = found?;
            let response = (metal.in_nitric_acid, metal.caution.clone());
            (conversion, Some(response))
        }
        None => {
            let conversion = Conversion::of(formula, states)?;
            let response = conversion
                .response(oxides)
                .map(|oxide| (oxide.in_nitric_acid, oxide.caution.clone()));
            (conversion, response)
        }
    };
    let amount = input.amount;
    let used = conversion.acid * amount;
    let over = input.excess.get::<ratio>().max(0.0) * used;
    let taken = used + over;
    let bottle = acid.solution(input.strength)?;
    let mass: Mass = taken * bottle.formula.molar_mass();
    let zero = AmountOfSubstance::new::<mole>(0.0);
    let volume = bottle.density.as_ref().map(|density| mass / density.value);
    Ok(AcidPlan {
        used,
        excess: if over > zero { over } else { zero },
        mass,
        volume,
        carbon_dioxide: conversion.carbon_dioxide * amount,
        nitrogen_dioxide: conversion.nitrogen_dioxide * amount,
        water: conversion.water * amount + bottle.formula.crystal_water() * taken,
        response,
        conversion,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::{gram, milliliter, percent};
    use crate::tables::Tables;
    use approx::assert_relative_eq;

    fn formula(text: &str) -> Formula {
        Formula::parse(text).unwrap()
    }

    fn of(text: &str) -> Result<Conversion, ConversionError> {
        Conversion::of(&formula(text), &OxidationStates::conventional())
    }

    #[test]
    fn reactions_balanced_by_hand() {
        for (text, acid, carbon_dioxide, water) in [
            // CaCO3 + 2 HNO3 → Ca(NO3)2 + CO2 + H2O
            ("CaCO3", 2.0, 1.0, 1.0),
            // Y2O3 + 6 HNO3 → 2 Y(NO3)3 + 3 H2O
            ("Y2O3", 6.0, 0.0, 3.0),
            // 4MgCO3·Mg(OH)2·5H2O + 10 HNO3 → 5 Mg(NO3)2 + 4 CO2 + 11 H2O
            ("4MgCO3·Mg(OH)2·5H2O", 10.0, 4.0, 11.0),
            // Al(OH)3 + 3 HNO3 → Al(NO3)3 + 3 H2O
            ("Al(OH)3", 3.0, 0.0, 3.0),
            // La2(CO3)3·8H2O + 6 HNO3 → 2 La(NO3)3 + 3 CO2 + 11 H2O
            ("La2(CO3)3·8H2O", 6.0, 3.0, 11.0),
            // Li2CO3 + 2 HNO3 → 2 LiNO3 + CO2 + H2O
            ("Li2CO3", 2.0, 1.0, 1.0),
            // Cu2(OH)3NO3 + 3 HNO3 → 2 Cu(NO3)2 + 3 H2O
            ("Cu2(OH)3NO3", 3.0, 0.0, 3.0),
        ] {
            let found = of(text).unwrap();
            assert_relative_eq!(found.acid, acid, epsilon = 1e-9);
            assert_relative_eq!(found.carbon_dioxide, carbon_dioxide, epsilon = 1e-9);
            assert_relative_eq!(found.water, water, epsilon = 1e-9);
        }
    }

    #[test]
    fn what_is_no_acid_base_reaction_is_refused() {
        assert!(matches!(of("Cu"), Err(ConversionError::NotAcidBase { .. })));
        assert!(matches!(
            of("BaO2"),
            Err(ConversionError::NotAcidBase { .. })
        ));
        assert!(matches!(
            of("Zn(C2H3O2)2"),
            Err(ConversionError::NotAcidBase { .. })
        ));
        assert!(matches!(
            of("Al(NO3)3·9H2O"),
            Err(ConversionError::AlreadyNitrate { .. })
        ));
        assert!(matches!(
            of("CO(NH2)2"),
            Err(ConversionError::NoMetal { .. })
        ));
    }

    #[test]
    fn copper_in_strong_acid_by_hand() {
        // Cu + 4 HNO3 → Cu(NO3)2 + 2 NO2 + 2 H2O; Ag + 2 HNO3 → AgNO3 + NO2 + H2O
        let tables = Tables::built_in().unwrap();
        for (text, acid, dioxide) in [("Cu", 4.0, 2.0), ("Ag", 2.0, 1.0), ("Bi", 6.0, 3.0)] {
            let found = Conversion::of_metal(&formula(text), &tables.bench_oxides).unwrap();
            let (made, _) = found.unwrap();
            assert_relative_eq!(made.acid, acid);
            assert_relative_eq!(made.nitrogen_dioxide, dioxide);
            assert_relative_eq!(made.water, acid / 2.0);
        }
        for text in ["Mg", "Al", "Na", "Ti"] {
            let found = Conversion::of_metal(&formula(text), &tables.bench_oxides).unwrap();
            assert!(found.is_err(), "{text}");
        }
        assert!(Conversion::of_metal(&formula("CuO"), &tables.bench_oxides).is_none());
    }

    #[test]
    fn kinds_are_told_by_composition() {
        let states = OxidationStates::conventional();
        for (text, expected) in [
            ("Al(NO3)3·9H2O", Kind::Nitrate),
            ("ZrO(NO3)2·6H2O", Kind::BasicNitrate),
            ("Cu2(OH)3NO3", Kind::BasicNitrate),
            ("SrCO3", Kind::Carbonate),
            ("4MgCO3·Mg(OH)2·5H2O", Kind::Carbonate),
            ("Y2O3", Kind::Oxide),
            ("Al(OH)3", Kind::Oxide),
            ("Zn(C2H3O2)2·2H2O", Kind::OrganicSalt),
            ("CaC2O4·H2O", Kind::OrganicSalt),
        ] {
            assert_eq!(kind(&formula(text), &states).unwrap(), expected, "{text}");
        }
    }

    #[test]
    fn acid_for_a_carbonate_by_hand() {
        // 0.01 mol SrCO3, 65 % acid, 10 % more: 0.022 mol HNO3 = 1.3863 g in 2.1328 g of acid,
        // 1.541 mL at 1.384 g/mL (25 °C, model of Laliberté 2009).
        let tables = Tables::built_in().unwrap();
        let found = acid_plan(
            &formula("SrCO3"),
            &ConvertInput {
                amount: AmountOfSubstance::new::<mole>(0.01),
                strength: Ratio::new::<percent>(65.0),
                excess: Ratio::new::<percent>(10.0),
            },
            &OxidationStates::conventional(),
            tables.reactants.nitric_acid().unwrap(),
            &tables.bench_oxides,
        )
        .unwrap();
        assert_relative_eq!(
            found.mass.get::<gram>(),
            0.022 * 63.012 / 0.65,
            max_relative = 1e-4
        );
        let volume = found.volume.unwrap().get::<milliliter>();
        assert_relative_eq!(volume, 2.1328 / 1.384, max_relative = 1e-3);
        assert_relative_eq!(found.excess.get::<mole>(), 0.002, max_relative = 1e-9);
        assert_relative_eq!(
            found.excess_valence().get::<mole>(),
            0.010,
            max_relative = 1e-9
        );
        assert_relative_eq!(
            found.carbon_dioxide.get::<mole>(),
            0.01,
            max_relative = 1e-9
        );
        assert!(found.response.is_none());
    }

    #[test]
    fn an_ignited_oxide_that_will_not_dissolve_is_told() {
        let tables = Tables::built_in().unwrap();
        let response = |text| {
            of(text)
                .unwrap()
                .response(&tables.bench_oxides)
                .map(|o| o.in_nitric_acid)
        };
        assert_eq!(response("Al2O3"), Some(AcidResponse::Hardly));
        assert_eq!(response("ZnO"), Some(AcidResponse::Readily));
        assert_eq!(response("Al(OH)3"), None);
    }
}
