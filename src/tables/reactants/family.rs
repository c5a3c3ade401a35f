//! Families of hydrates: one salt with different crystal water, and the states in between.
//!
//! Rule for what is not tabulated: each molecule of crystal water changes the formation enthalpy
//! by nearly the same amount (difference rule of Jenkins and Glasser, J. Am. Chem. Soc. 126
//! (2004) 15809), and adds nearly the same heat capacity. The rare-earth nitrates follow the steps
//! measured for lanthanum nitrate instead. The numbers, with their bands, are in
//! `tables/reactants/water.toml`.

use super::Reactants;
use super::acid::NitricAcid;
use super::error::FamilyError;
use super::reactant::{Reactant, Role};
use super::spelling::stem;
use super::water::WaterRule;
use crate::formula::{Element, Formula};
use crate::quantity::units::{joule_per_kelvin_mole, kilojoule_per_mole};
use crate::quantity::{MolarEnergy, MolarHeatCapacity};
use crate::source::{Seen, SourceId};
use crate::tables::cited::Cited;
use crate::tables::unit::{JoulePerMoleKelvin, KilojoulePerMole};
use std::fmt;

/// Two water numbers closer than this are the same hydrate.
const SAME_WATER: f64 = 1e-6;
/// Most crystal water that a state may be asked for.
const MOST_WATER: f64 = 24.0;

/// How the enthalpy of a hydrate was found.
#[derive(Debug, Clone, PartialEq)]
pub enum HydrateMethod {
    /// The table has this hydrate.
    Tabulated {
        /// Its id.
        id: String,
    },
    /// Linear between two tabulated hydrates.
    Interpolated {
        /// Id of the drier one.
        drier: String,
        /// Id of the wetter one.
        wetter: String,
    },
    /// An aqueous acid: from the heats of dilution.
    Solution,
    /// From the nearest tabulated hydrate with the water steps of a like salt.
    Analogue {
        /// Id of that hydrate.
        from: String,
        /// Molecules of water added (negative: removed).
        added: f64,
        /// The salt whose steps were taken.
        like: String,
    },
    /// From the nearest tabulated hydrate by the rule for one molecule of water.
    WaterRule {
        /// Id of that hydrate.
        from: String,
        /// Molecules of water added (negative: removed).
        added: f64,
    },
}

impl fmt::Display for HydrateMethod {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Tabulated { id } => write!(f, "tabulated ({id})"),
            Self::Solution => f.write_str("from the heats of dilution"),
            Self::Interpolated { drier, wetter } => {
                write!(f, "interpolated between {drier} and {wetter}")
            }
            Self::Analogue { from, added, like } => {
                write!(
                    f,
                    "from {from} with the water steps of {like}, {added:+.2} H2O"
                )
            }
            Self::WaterRule { from, added } => {
                write!(f, "from {from} by the difference rule, {added:+.2} H2O")
            }
        }
    }
}

/// Enthalpy and heat capacity of a salt with a stated amount of crystal water.
#[derive(Debug, Clone, PartialEq)]
pub struct HydrateEstimate {
    /// Molecules of water per formula unit.
    pub water: f64,
    /// Standard formation enthalpy at 298.15 K with its band.
    pub formation_enthalpy: Cited<KilojoulePerMole>,
    /// Heat capacity at 298.15 K, if the tables hold one to start from.
    pub heat_capacity: Option<Cited<JoulePerMoleKelvin>>,
    /// How the enthalpy was found.
    pub method: HydrateMethod,
}

/// The hydrates of one salt, driest first.
#[derive(Debug, Clone)]
pub struct Family<'a> {
    salt: String,
    members: Vec<&'a Reactant>,
    rule: &'a WaterRule,
    acid: Option<&'a NitricAcid>,
    /// The family whose water steps serve, and its band per molecule of water.
    like: Option<(Box<Family<'a>>, &'a Cited<KilojoulePerMole>)>,
}

impl Reactants {
    /// The nitrate of a metal of this charge, as the hydrate that is sold; without a row marked as
    /// that, the wettest one that has a registry number.
    pub fn nitrate_of(&self, metal: Element, charge: f64) -> Option<&Reactant> {
        let is_nitrate = |dry: &Formula| {
            let of = |element| dry.amount_of(element);
            dry.amounts().len() == 3
                && (of(metal) - 1.0).abs() < SAME_WATER
                && (of(Element::NITROGEN) - charge).abs() < SAME_WATER
                && (of(Element::OXYGEN) - 3.0 * charge).abs() < SAME_WATER
        };
        self.of_salt(is_nitrate)
            .filter(|row| row.formation_enthalpy.is_some())
            .max_by(|a, b| a.sold_order(b))
    }

    /// The family of a salt, found by the composition of its anhydrous formula. A substance
    /// without tabulated hydrates is a family of one.
    pub fn family(&self, reactant: &Reactant) -> Family<'_> {
        let salt = reactant.formula.anhydrous();
        // the water of an acid is a solvent, see `NitricAcid`
        let is_hydrate = reactant.role != Role::Acid;
        let salt_text = salt.to_string();
        let water = reactant.formula.crystal_water();
        let is_other_hydrate = |row: &Reactant| {
            is_hydrate
                && row.role == reactant.role
                && row.state == reactant.state
                // isomeric fuels share a composition but are no hydrates of one another
                && (row.role != Role::Fuel || stem(&row.name) == stem(&reactant.name))
                && (row.formula.crystal_water() - water).abs() > SAME_WATER
        };
        let mut members: Vec<&Reactant> = self
            .of_salt(|dry| dry.amounts() == salt.amounts())
            .filter(|row| row.id == reactant.id || is_other_hydrate(row))
            .collect();
        members.sort_by(|a, b| {
            a.formula
                .crystal_water()
                .total_cmp(&b.formula.crystal_water())
        });
        let like = self.water_rule.analogue(&salt_text).and_then(|a| {
            let row = self.by_id(&a.pattern)?;
            let pattern = row.id != reactant.id;
            pattern.then(|| (Box::new(self.family(row)), &a.band))
        });
        Family {
            like,
            salt: salt_text,
            members,
            rule: &self.water_rule,
            acid: self.nitric_acid().filter(|_| !is_hydrate),
        }
    }

    /// The hydrate on the bottle of the salt that `row` is a hydrate of: the one marked as sold,
    /// else `row` itself; for a dry salt the wettest hydrate that has a registry number.
    pub fn as_sold<'a>(&'a self, row: &'a Reactant) -> &'a Reactant {
        let members = self.family(row).members;
        let known = members
            .into_iter()
            .filter(|r| r.formation_enthalpy.is_some());
        let sold = known.max_by(|a, b| a.sold_order(b)).unwrap_or(row);
        if sold.usual_hydrate || row.formula.crystal_water() <= 0.0 {
            sold
        } else {
            row
        }
    }

    /// `reactant` with `water` molecules of crystal water per formula unit instead of its own:
    /// for bottles that say `·xH2O`, for dried salts, for water left at ignition. The tabulated
    /// hydrate if there is one, else a copy with the enthalpy and heat capacity of the family
    /// and without density, melting point and entropy, which do not carry over.
    pub fn with_water(&self, reactant: &Reactant, water: f64) -> Result<Reactant, FamilyError> {
        let family = self.family(reactant);
        let estimate = family.at(water)?;
        if let HydrateMethod::Tabulated { id } = &estimate.method {
            if let Some(row) = family.members.iter().find(|r| &r.id == id) {
                return Ok((*row).clone());
            }
        }
        let formula = reactant.formula.with_crystal_water(water);
        let base = reactant
            .name
            .rsplit_once(' ')
            .filter(|(_, last)| last.ends_with("hydrate") || *last == "anhydrous")
            .map_or(reactant.name.as_str(), |(stem, _)| stem);
        Ok(Reactant {
            id: format!("{}_with_{water}_water", reactant.id),
            name: format!("{base}, {water} H2O"),
            aliases: Vec::new(),
            formula,
            cas: None,
            cas_seen: None,
            usual_hydrate: false,
            formation_enthalpy: Some(estimate.formation_enthalpy),
            heat_capacity: estimate.heat_capacity,
            entropy: None,
            enthalpy_of_solution: None,
            density: None,
            melting: None,
            alternatives: Vec::new(),
            ..reactant.clone()
        })
    }
}

/// A substance in solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InSolution {
    /// Formation enthalpy per formula unit, crystal water included as liquid water.
    pub enthalpy: MolarEnergy,
    /// Whether it rests on an enthalpy of solution from the tables. If not, the wettest hydrate is
    /// taken to dissolve without heat.
    pub is_measured: bool,
}

impl Reactants {
    /// Formation enthalpy of a substance dissolved in much water. All hydrates of a salt come out
    /// alike but for their water, `liquid` each: it is worked out from one of them, the wettest
    /// with an enthalpy of solution.
    pub fn in_solution(
        &self,
        reactant: &Reactant,
        liquid: MolarEnergy,
    ) -> Result<InSolution, FamilyError> {
        if let Some(acid) = self.nitric_acid().filter(|_| reactant.role == Role::Acid) {
            return Ok(InSolution {
                enthalpy: acid.dissolved(),
                is_measured: true,
            });
        }
        let family = self.family(reactant);
        let members = family.members.iter().rev().copied();
        let own = std::iter::once(reactant);
        let formed: Vec<(&Reactant, MolarEnergy)> = members
            .chain(own)
            .filter_map(|r| Some((r, r.formation_enthalpy.as_ref()?.value)))
            .collect();
        let solution = |r: &Reactant| r.enthalpy_of_solution.as_ref().map(|h| h.value);
        let &(row, formation) = formed
            .iter()
            .find(|(r, _)| solution(r).is_some())
            .or(formed.first())
            .ok_or_else(|| FamilyError::NoEnthalpy {
                salt: family.salt.clone(),
            })?;
        let water = reactant.formula.crystal_water() - row.formula.crystal_water();
        let none = MolarEnergy::new::<kilojoule_per_mole>(0.0);
        Ok(InSolution {
            enthalpy: formation + solution(row).unwrap_or(none) + water * liquid,
            is_measured: solution(row).is_some(),
        })
    }
}

impl<'a> Family<'a> {
    /// The tabulated hydrates, driest first.
    pub fn members(&self) -> &[&'a Reactant] {
        &self.members
    }

    /// Enthalpy and heat capacity with `water` molecules of crystal water per formula unit:
    /// tabulated, else between two tabulated hydrates, else from the nearest by the water rule.
    /// Between two hydrates the state is a mixture of them, hence linear.
    pub fn at(&self, water: f64) -> Result<HydrateEstimate, FamilyError> {
        if let Some(acid) = self.acid.filter(|_| water >= 0.0 && water.is_finite()) {
            return Ok(HydrateEstimate {
                water,
                formation_enthalpy: acid.enthalpy(water),
                heat_capacity: Some(acid.heat_capacity(water)),
                method: HydrateMethod::Solution,
            });
        }
        if !(0.0..=MOST_WATER).contains(&water) {
            return Err(FamilyError::WaterOutOfRange {
                salt: self.salt.clone(),
                water,
            });
        }
        let known: Vec<(f64, &Reactant, &Cited<KilojoulePerMole>)> = self
            .members
            .iter()
            .filter_map(|r| {
                Some((
                    r.formula.crystal_water(),
                    *r,
                    r.formation_enthalpy.as_ref()?,
                ))
            })
            .collect();
        let exact = known.iter().find(|k| (k.0 - water).abs() < SAME_WATER);
        if let Some((_, row, enthalpy)) = exact {
            return Ok(HydrateEstimate {
                water,
                formation_enthalpy: (*enthalpy).clone(),
                heat_capacity: row.heat_capacity.clone(),
                method: HydrateMethod::Tabulated { id: row.id.clone() },
            });
        }
        let drier = known.iter().rev().find(|k| k.0 < water);
        let wetter = known.iter().find(|k| k.0 > water);
        let (formation_enthalpy, method) = match (drier, wetter) {
            (Some(a), Some(b)) => interpolated(water, a, b),
            (Some(near), None) | (None, Some(near)) => self.by_rule(water, near),
            (None, None) => return Err(self.no_enthalpy()),
        };
        Ok(HydrateEstimate {
            water,
            formation_enthalpy,
            heat_capacity: self.heat_capacity(water),
            method,
        })
    }

    fn no_enthalpy(&self) -> FamilyError {
        FamilyError::NoEnthalpy {
            salt: self.salt.clone(),
        }
    }

    fn by_rule(
        &self,
        water: f64,
        near: &(f64, &Reactant, &Cited<KilojoulePerMole>),
    ) -> (Cited<KilojoulePerMole>, HydrateMethod) {
        let (from, row, enthalpy) = near;
        let added = water - from;
        if let Some(found) = self.by_analogue(water, near) {
            return found;
        }
        let rule = &self.rule.water_of_crystallisation.formation_enthalpy;
        let rule_band = rule
            .uncertainty
            .map_or(0.0, |u| u.get::<kilojoule_per_mole>())
            * added.abs();
        let row_band = enthalpy
            .uncertainty
            .map_or(0.0, |u| u.get::<kilojoule_per_mole>());
        let method = HydrateMethod::WaterRule {
            from: row.id.clone(),
            added,
        };
        let value = Cited {
            value: enthalpy.value + rule.value * added,
            uncertainty: Some(MolarEnergy::new::<kilojoule_per_mole>(
                rule_band.hypot(row_band),
            )),
            source: rule.source.clone(),
            locator: method.to_string(),
            seen: Seen::Estimated,
        };
        (value, method)
    }

    /// The step from the nearest hydrate as the like salt makes it, where its table reaches.
    fn by_analogue(
        &self,
        water: f64,
        near: &(f64, &Reactant, &Cited<KilojoulePerMole>),
    ) -> Option<(Cited<KilojoulePerMole>, HydrateMethod)> {
        let (like, band) = self.like.as_ref()?;
        let (from, row, enthalpy) = near;
        let reach = like.members.last()?.formula.crystal_water();
        if water.max(*from) > reach {
            return None;
        }
        let (there, here) = (like.at(water).ok()?, like.at(*from).ok()?);
        let kj = |q: MolarEnergy| q.get::<kilojoule_per_mole>();
        let method = HydrateMethod::Analogue {
            from: row.id.clone(),
            added: water - from,
            like: like.salt.clone(),
        };
        let steps = kj(band.value) * (water - from).abs();
        let value = Cited {
            value: enthalpy.value + there.formation_enthalpy.value - here.formation_enthalpy.value,
            uncertainty: Some(MolarEnergy::new::<kilojoule_per_mole>(
                steps.hypot(enthalpy.uncertainty.map_or(0.0, kj)),
            )),
            source: band.source.clone(),
            locator: method.to_string(),
            seen: Seen::Estimated,
        };
        Some((value, method))
    }

    /// Heat capacity: of this hydrate, else between two, else of the nearest plus the rule.
    fn heat_capacity(&self, water: f64) -> Option<Cited<JoulePerMoleKelvin>> {
        let known: Vec<(f64, &Reactant, &Cited<JoulePerMoleKelvin>)> = self
            .members
            .iter()
            .filter_map(|r| Some((r.formula.crystal_water(), *r, r.heat_capacity.as_ref()?)))
            .collect();
        let drier = known.iter().rev().find(|k| k.0 < water + SAME_WATER);
        let wetter = known.iter().find(|k| k.0 > water - SAME_WATER);
        let rule = &self.rule.water_of_crystallisation.heat_capacity;
        let unit = |q: MolarHeatCapacity| q.get::<joule_per_kelvin_mole>();
        let band = |v: &Cited<JoulePerMoleKelvin>| v.uncertainty.map_or(0.0, unit);
        let (value, uncertainty, source, locator) = match (drier, wetter) {
            (Some(a), Some(b)) if b.0 - a.0 > SAME_WATER => {
                let share = (water - a.0) / (b.0 - a.0);
                (
                    a.2.value + (b.2.value - a.2.value) * share,
                    band(a.2).max(band(b.2)),
                    a.2.source.clone(),
                    format!("interpolated between {} and {}", a.1.id, b.1.id),
                )
            }
            (Some(near), _) | (None, Some(near)) => {
                let added = water - near.0;
                (
                    near.2.value + rule.value * added,
                    band(near.2).hypot(band(rule) * added.abs()),
                    rule.source.clone(),
                    format!("{} and {added:+.2} H2O at the rule's value each", near.1.id),
                )
            }
            (None, None) => return None,
        };
        Some(Cited {
            value,
            uncertainty: Some(MolarHeatCapacity::new::<joule_per_kelvin_mole>(uncertainty)),
            source,
            locator,
            seen: Seen::Estimated,
        })
    }
}

fn interpolated(
    water: f64,
    a: &(f64, &Reactant, &Cited<KilojoulePerMole>),
    b: &(f64, &Reactant, &Cited<KilojoulePerMole>),
) -> (Cited<KilojoulePerMole>, HydrateMethod) {
    let share = (water - a.0) / (b.0 - a.0);
    let kj = |q: MolarEnergy| q.get::<kilojoule_per_mole>();
    let ua = a.2.uncertainty.map_or(0.0, kj) * (1.0 - share);
    let ub = b.2.uncertainty.map_or(0.0, kj) * share;
    let method = HydrateMethod::Interpolated {
        drier: a.1.id.clone(),
        wetter: b.1.id.clone(),
    };
    let source: SourceId = if share < 0.5 {
        &a.2.source
    } else {
        &b.2.source
    }
    .clone();
    let value = Cited {
        value: a.2.value + (b.2.value - a.2.value) * share,
        // the two may err together: the bands are added, not their squares
        uncertainty: Some(MolarEnergy::new::<kilojoule_per_mole>(ua + ub)),
        source,
        locator: method.to_string(),
        seen: a.2.seen.max(b.2.seen).max(Seen::Computed),
    };
    (value, method)
}
