//! Equilibrium of anything in the tables, for checks and for teaching: a list of substances is
//! brought to equilibrium at a temperature, or from a start temperature without heat exchange.

use crate::equilibrium::{
    AdiabaticEquilibrium, Equilibrium, EquilibriumError, SpeciesSet, System, element_amounts,
};
use crate::formula::{Element, Formula};
use crate::quantity::units::{kelvin, mole};
use crate::quantity::{
    AmountOfSubstance, Energy, MolarEnergy, Pressure, ThermodynamicTemperature, parse,
    reference_temperature,
};
use crate::tables::{LookupError, Tables};
use thiserror::Error;

/// Why a mixture cannot be settled.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum SettleError {
    #[error(
        "`{text}` is not a substance with its amount; write it as \"CH4=1\" (mol) or \"urea=3 g\""
    )]
    NotAPortion { text: String },
    #[error(
        "`{text}`: the amount has to be a finite number above zero, in mol or with a unit such as \"3 g\""
    )]
    Amount { text: String },
    #[error(
        "`{name}` is neither a species of the tables nor a reactant nor a formula{}",
        did_you_mean(close)
    )]
    Unknown { name: String, close: Vec<String> },
    #[error("{0}")]
    Lookup(#[from] LookupError),
    #[error(
        "{name} has no formation enthalpy in the tables, which a start without heat exchange needs; \
         give a temperature instead, or take a substance of the tables"
    )]
    NoEnthalpy { name: String },
    #[error("{0}")]
    Equilibrium(#[from] EquilibriumError),
}

fn did_you_mean(close: &[String]) -> String {
    if close.is_empty() {
        String::new()
    } else {
        format!("; did you mean {}?", close.join(", "))
    }
}

/// One substance of the mixture.
#[derive(Debug, Clone, PartialEq)]
pub struct Portion {
    /// Id of the species or the reactant taken, or the formula as written.
    pub name: String,
    /// Composition.
    pub formula: Formula,
    /// Amount n.
    pub amount: AmountOfSubstance,
    /// Molar enthalpy at the start temperature, elements at 298.15 K = 0; none for a bare
    /// formula.
    pub molar_enthalpy: Option<MolarEnergy>,
    /// Why it is refused as an ingredient of a batch, if it is: its hazard.
    pub hazard: Option<String>,
}

/// What is held constant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Condition {
    /// The temperature.
    Temperature(ThermodynamicTemperature),
    /// The enthalpy of the mixture at this start temperature: no heat comes or goes.
    AdiabaticFrom(ThermodynamicTemperature),
}

impl Condition {
    /// Temperature at which the substances are taken from the tables.
    pub fn start(self) -> ThermodynamicTemperature {
        match self {
            Self::Temperature(_) => reference_temperature(),
            Self::AdiabaticFrom(start) => start,
        }
    }
}

/// A mixture brought to equilibrium.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// What it was made of.
    pub portions: Vec<Portion>,
    /// What was held constant, beside the pressure.
    pub condition: Condition,
    /// Which species could form.
    pub set: SpeciesSet,
    /// How many species that were.
    pub species_count: usize,
    /// The equilibrium, with its transition if the temperature lies on one.
    pub answer: AdiabaticEquilibrium,
}

impl Settled {
    /// The equilibrium itself.
    pub fn equilibrium(&self) -> &Equilibrium {
        &self.answer.equilibrium
    }
}

/// Reads one substance with its amount: `"CH4=1"` in mol, `"urea=3 g"`, `"MgO(cr)=0.5 mol"`.
///
/// A formula without a phase means the phase that is stable at `start` (water at 25 °C is
/// liquid); `"H2O(g)"` asks for the gas.
///
/// # Errors
/// [`SettleError`] if the text cannot be read or the substance is unknown or refused.
///
/// # Examples
/// ```
/// use emberpot::{Tables, quantity::reference_temperature, settle::portion};
/// let tables = Tables::built_in().unwrap();
/// let water = portion("H2O=2", reference_temperature(), &tables).unwrap();
/// assert_eq!(water.name, "H2O(l)");
/// ```
pub fn portion(
    text: &str,
    start: ThermodynamicTemperature,
    tables: &Tables,
) -> Result<Portion, SettleError> {
    let (name, amount) = text
        .rsplit_once('=')
        .map(|(name, amount)| (name.trim(), amount.trim()))
        .filter(|(name, amount)| !name.is_empty() && !amount.is_empty())
        .ok_or_else(|| SettleError::NotAPortion {
            text: text.to_owned(),
        })?;
    let hazard = tables.reactants.refusal(name);
    let (name, formula, molar_enthalpy) = substance(name, start, tables)?;
    let hazard = hazard.or_else(|| tables.reactants.refusal(&formula.to_string()));
    let amount = read_amount(amount, &formula).ok_or_else(|| SettleError::Amount {
        text: text.to_owned(),
    })?;
    Ok(Portion {
        name,
        formula,
        amount,
        molar_enthalpy,
        hazard,
    })
}

fn read_amount(text: &str, formula: &Formula) -> Option<AmountOfSubstance> {
    let amount = match text.parse::<f64>() {
        Ok(n) => AmountOfSubstance::new::<mole>(n),
        Err(_) => match parse::amount(text) {
            Ok(amount) => amount,
            Err(_) => parse::mass(text).ok()? / formula.molar_mass(),
        },
    };
    let n = amount.get::<mole>();
    (n.is_finite() && n > 0.0).then_some(amount)
}

/// Name, formula and molar enthalpy at `start` of what `name` stands for.
fn substance(
    name: &str,
    start: ThermodynamicTemperature,
    tables: &Tables,
) -> Result<(String, Formula, Option<MolarEnergy>), SettleError> {
    let (bare, gas_only) = match name.strip_suffix("(g)") {
        Some(bare) => (bare, true),
        None => (name, false),
    };
    let candidates = if gas_only {
        tables.species_by_id(bare).into_iter().collect()
    } else {
        tables.find_species(name)
    };
    let t = start.get::<kelvin>();
    let stable = candidates
        .into_iter()
        .filter(|species| species.is_usable(t))
        .min_by(|a, b| a.g(t).total_cmp(&b.g(t)));
    if let Some(species) = stable {
        let id = if species.phase.is_condensed() {
            species.id.clone()
        } else {
            format!("{}(g)", species.id)
        };
        return Ok((
            id,
            species.formula.clone(),
            species.molar_enthalpy(start).ok(),
        ));
    }
    match tables.reactants.resolve(name, None) {
        Ok(reactant) => {
            let formation = reactant.formation_enthalpy.as_ref().map(|h| h.value);
            let heating = reactant.enthalpy_change(reference_temperature(), start);
            let standard = (t - reference_temperature().get::<kelvin>()).abs() < 1e-9;
            let enthalpy = match (formation, heating) {
                (Some(formation), Some(heating)) => Some(formation + heating),
                (Some(formation), None) if standard => Some(formation),
                _ => None,
            };
            Ok((reactant.name.clone(), reactant.formula.clone(), enthalpy))
        }
        Err(LookupError::NotFound { close, .. }) => match Formula::parse(name) {
            Ok(formula) => Ok((name.to_owned(), formula, None)),
            Err(_) => {
                let mut close: Vec<String> = close.into_iter().collect();
                close.extend(
                    tables
                        .close_species_names(name, 3)
                        .into_iter()
                        .map(str::to_owned),
                );
                close.truncate(4);
                Err(SettleError::Unknown {
                    name: name.to_owned(),
                    close,
                })
            }
        },
        Err(error) => Err(error.into()),
    }
}

/// Brings a mixture to equilibrium.
///
/// # Errors
/// [`SettleError`] if an enthalpy is missing or the equilibrium has no answer.
///
/// # Examples
/// ```
/// use emberpot::Tables;
/// use emberpot::equilibrium::SpeciesSet;
/// use emberpot::quantity::{reference_temperature, standard_pressure};
/// use emberpot::settle::{Condition, portion, settle};
/// use uom::si::thermodynamic_temperature::kelvin;
///
/// let tables = Tables::built_in().unwrap();
/// let start = reference_temperature();
/// let flame = ["CH4=1", "O2=2", "N2=7.52"]
///     .map(|text| portion(text, start, &tables).unwrap())
///     .to_vec();
/// let settled = settle(
///     flame,
///     Condition::AdiabaticFrom(start),
///     standard_pressure(),
///     SpeciesSet::Full,
///     false,
///     &tables,
/// )
/// .unwrap();
/// let t = settled.equilibrium().temperature.get::<kelvin>();
/// assert!((t - 2226.0).abs() < 12.0);
/// ```
pub fn settle(
    portions: Vec<Portion>,
    condition: Condition,
    pressure: Pressure,
    set: SpeciesSet,
    solutions: bool,
    tables: &Tables,
) -> Result<Settled, SettleError> {
    let amounts = element_amounts(portions.iter().map(|p| (&p.formula, p.amount)));
    let elements: Vec<Element> = amounts.keys().copied().collect();
    let mut system = System::new(tables, &elements, set, solutions);
    let answer = match condition {
        Condition::Temperature(temperature) => {
            let equilibrium = system.equilibrium(&amounts, temperature, pressure)?;
            let iterations = equilibrium.evidence.iterations;
            AdiabaticEquilibrium {
                equilibrium,
                transition: None,
                solves: 1,
                iterations,
            }
        }
        Condition::AdiabaticFrom(_) => {
            let mut enthalpy = Energy::default();
            for portion in &portions {
                let molar = portion
                    .molar_enthalpy
                    .ok_or_else(|| SettleError::NoEnthalpy {
                        name: portion.name.clone(),
                    })?;
                enthalpy += molar * portion.amount;
            }
            system.adiabatic(&amounts, enthalpy, pressure)?
        }
    };
    let species_count = system.species().len();
    Ok(Settled {
        portions,
        condition,
        set,
        species_count,
        answer,
    })
}
