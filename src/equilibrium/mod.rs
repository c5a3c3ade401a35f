//! Chemical equilibrium of the products: which gases, which condensed phases, how much of each.
//!
//! [`System::new`] picks the species of the tables that consist of the given elements;
//! [`System::equilibrium`] minimises the Gibbs energy at given temperature and pressure,
//! [`System::adiabatic`] finds the temperature at given enthalpy and pressure, also when it lies
//! on a melting point or another transition. The gas is an ideal mixture, condensed phases are
//! pure unless solid solutions are asked for.
//!
//! A result is only given with its proof: [`Evidence`] holds the element balance, the residuals
//! of the chemical potentials and the affinity of the phase that came closest to forming.
//!
//! # Examples
//! ```
//! use emberpot::equilibrium::{SpeciesSet, System};
//! use emberpot::quantity::{AmountOfSubstance, ThermodynamicTemperature, standard_pressure};
//! use emberpot::{Formula, Tables};
//! use uom::si::{amount_of_substance::mole, thermodynamic_temperature::kelvin};
//!
//! let tables = Tables::built_in().unwrap();
//! let chalk = Formula::parse("CaCO3").unwrap();
//! let amounts = chalk
//!     .amounts()
//!     .iter()
//!     .map(|(element, n)| (*element, AmountOfSubstance::new::<mole>(*n)))
//!     .collect();
//! let elements: Vec<_> = chalk.amounts().keys().copied().collect();
//! let mut system = System::new(&tables, &elements, SpeciesSet::Full, false);
//! let hot = ThermodynamicTemperature::new::<kelvin>(1250.0);
//! let lime = system.equilibrium(&amounts, hot, standard_pressure()).unwrap();
//! assert!((lime.amount_of("CaO(cr)").get::<mole>() - 1.0).abs() < 1e-3);
//! ```

mod adiabatic;
mod error;
mod functions;
mod gibbs;
mod kernel;
mod linear;
mod mixture;
mod problem;
mod result;

pub use error::EquilibriumError;
pub(crate) use linear::Tableau;
pub(crate) use problem::Heat;
pub use result::{
    AdiabaticEquilibrium, Equilibrium, Evidence, SpeciesAmount, TRACE_SHARE, Transition,
    main_and_traces,
};

use crate::formula::{Element, Formula};
use crate::quantity::units::{joule, kelvin, mole, pascal, ratio};
use crate::quantity::{
    AmountOfSubstance, Energy, Pressure, Ratio, STANDARD_PRESSURE, ThermodynamicTemperature,
};
use crate::tables::species::Phase;
use crate::tables::{Solution, Species, Tables};
use functions::Functions;
use kernel::{Kernel, Point};
use problem::Kind;
use std::collections::{BTreeMap, BTreeSet};

/// Which species may form.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SpeciesSet {
    /// All that the tables hold for the elements.
    #[default]
    Full,
    /// Without those that form too slowly to count on in the seconds of a burn below about
    /// 1000 K: gases that bind hydrogen to carbon or nitrogen (methane, ammonia, hydrogen
    /// cyanide …), carbon, and condensed hydroxides. Common practice; see [`is_slow`].
    Fast,
}

/// Whether a species is left out of [`SpeciesSet::Fast`].
pub fn is_slow(species: &Species) -> bool {
    let n = |element| species.formula.amount_of(element) > 0.0;
    let hydrogen = n(Element::HYDROGEN);
    if species.phase == Phase::Gas {
        let light = [
            Element::CARBON,
            Element::NITROGEN,
            Element::HYDROGEN,
            Element::OXYGEN,
        ];
        let bound = n(Element::CARBON) || (n(Element::NITROGEN) && !n(Element::OXYGEN));
        species.consists_of(&light) && hydrogen && bound
    } else {
        let water = species.consists_of(&[Element::HYDROGEN, Element::OXYGEN]);
        (hydrogen && !water) || species.consists_of(&[Element::CARBON])
    }
}

/// Times that the likeliest species are taken for a first guess of the adiabatic temperature: those
/// at the first temperature may not be those at the guess.
const LIKELY_ROUNDS: usize = 2;

/// Lowest and highest pressure, relative to p° = 1 bar. An ideal gas is assumed; above some
/// 100 bar it is not one, and no open vessel gets there.
const PRESSURES: (f64, f64) = (1e-6, 1e3);

/// The species that a set of elements can form, ready to be equilibrated.
#[derive(Clone, Debug)]
pub struct System<'t> {
    tables: &'t Tables,
    elements: Vec<Element>,
    species: Vec<&'t Species>,
    solutions: bool,
    /// Positions in `elements` and `species` of what the kernel holds: elements of amount zero
    /// and every species with such an element are left out.
    active_elements: Vec<usize>,
    active_species: Vec<usize>,
    /// Name of each mixture of the kernel; none for the gas.
    mixture_names: Vec<Option<String>>,
    /// Crystals of carbon alone, to measure the activity of carbon against.
    carbon: Vec<&'t Species>,
    /// Atoms of metal in one formula unit of each active species.
    metal_atoms: Vec<f64>,
    /// Ions that mix in one formula unit of each active species; 1 for pure phases and gases.
    sites: Vec<f64>,
    kernel: Kernel,
}

impl<'t> System<'t> {
    /// Picks the species of the tables that consist of `elements`.
    ///
    /// * `set`: see [`SpeciesSet`]
    /// * `solutions`: whether the solid solutions of the tables form (else their end members
    ///   are pure phases)
    pub fn new(tables: &'t Tables, elements: &[Element], set: SpeciesSet, solutions: bool) -> Self {
        let mut elements = elements.to_vec();
        elements.sort_unstable();
        elements.dedup();
        let carbon = tables.species.of_elements(&[Element::CARBON]);
        let carbon = carbon.filter(|s| s.phase == Phase::Crystal);
        let species = tables
            .species
            .of_elements(&elements)
            .filter(|s| set == SpeciesSet::Full || !is_slow(s))
            .collect();
        let species = with_hosts(tables, species, solutions);
        Self {
            tables,
            elements,
            species,
            solutions,
            active_elements: Vec::new(),
            active_species: Vec::new(),
            mixture_names: Vec::new(),
            carbon: carbon.collect(),
            metal_atoms: Vec::new(),
            sites: Vec::new(),
            kernel: Kernel::default(),
        }
    }

    /// Takes the carbonates of `metals` out.
    pub(crate) fn leave_out_carbonates(&mut self, metals: &BTreeSet<Element>) {
        let holds = |species: &Species, element| species.formula.amount_of(element) > 0.0;
        let carbonate = |s: &Species| {
            let of = metals.iter().any(|metal| holds(s, *metal));
            s.phase.is_condensed() && holds(s, Element::CARBON) && of
        };
        self.species.retain(|species| !carbonate(species));
        self.active_elements.clear();
    }

    /// Names of the solid solutions of which two members and more may form.
    pub fn solid_solutions(&self) -> Vec<&'t str> {
        let there = |solution: &&Solution| {
            let members = self.species.iter();
            members.filter(|s| solution.holds(&s.id)).count() > 1
        };
        let solutions = self.tables.solutions.iter().filter(there);
        solutions.map(|solution| solution.name.as_str()).collect()
    }

    /// Elements of the system.
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// Species that may form.
    pub fn species(&self) -> &[&'t Species] {
        &self.species
    }

    /// Equilibrium at given temperature and pressure: the minimum of the Gibbs energy.
    ///
    /// * `amounts`: amount of each element; zero or absent is allowed
    /// * `temperature`: 200 to 6000 K
    /// * `pressure`: 1e-6 to 1000 bar
    ///
    /// # Errors
    /// [`EquilibriumError`] if an input is out of range, if the species cannot hold the given
    /// elements, or if the minimisation did not converge; never an unproved result.
    pub fn equilibrium(
        &mut self,
        amounts: &BTreeMap<Element, AmountOfSubstance>,
        temperature: ThermodynamicTemperature,
        pressure: Pressure,
    ) -> Result<Equilibrium, EquilibriumError> {
        self.kernel.solver.forget();
        self.next_equilibrium(amounts, temperature, pressure)
    }

    /// The same started from the last answer: for a course of temperatures.
    pub(crate) fn next_equilibrium(
        &mut self,
        amounts: &BTreeMap<Element, AmountOfSubstance>,
        temperature: ThermodynamicTemperature,
        pressure: Pressure,
    ) -> Result<Equilibrium, EquilibriumError> {
        let t = temperature.get::<kelvin>();
        if !(kernel::COLDEST..=kernel::HOTTEST).contains(&t) {
            return Err(EquilibriumError::Temperature { temperature_k: t });
        }
        let p = relative(pressure)?;
        let b = self.activate(amounts)?;
        let mut point = Point::default();
        self.kernel
            .at(t, p, &b, &mut point)
            .map_err(|failure| EquilibriumError::of(failure, t, |i| self.active_element(i)))?;
        Ok(self.result(&point, p, &b))
    }

    /// Equilibrium at given enthalpy and pressure, for instance that of the reactants: the
    /// adiabatic temperature and the products there.
    ///
    /// * `enthalpy`: of the whole system, elements at 298.15 K = 0
    /// * other inputs as for [`Self::equilibrium`]
    ///
    /// # Errors
    /// As for [`Self::equilibrium`], and [`EquilibriumError::NoFlame`] or
    /// [`EquilibriumError::TooHot`] if the enthalpy is not reached between 200 and 6000 K.
    pub fn adiabatic(
        &mut self,
        amounts: &BTreeMap<Element, AmountOfSubstance>,
        enthalpy: Energy,
        pressure: Pressure,
    ) -> Result<AdiabaticEquilibrium, EquilibriumError> {
        let p = relative(pressure)?;
        let h = enthalpy.get::<joule>();
        if !h.is_finite() {
            return Err(EquilibriumError::Enthalpy { enthalpy_j: h });
        }
        let b = self.activate(amounts)?;
        self.kernel.solver.forget();
        let mut heat = Heat::kept(h);
        for _ in 0..LIKELY_ROUNDS {
            if let Some(guess) = self.kernel.likely_temperature(h, heat.first, p, &b) {
                heat.first = guess;
            }
        }
        let balance = adiabatic::balance(&mut self.kernel, &heat, p, &b)
            .map_err(|error| EquilibriumError::unbalanced(error, |i| self.active_element(i)))?;
        let transition = balance
            .jump
            .as_ref()
            .map(|(share, below, above)| Transition {
                share: Ratio::new::<ratio>(*share),
                below: Box::new(self.result(below, p, &b)),
                above: Box::new(self.result(above, p, &b)),
            });
        Ok(AdiabaticEquilibrium {
            equilibrium: self.result(&balance.point, p, &b),
            transition,
            solves: balance.solves,
            iterations: balance.iterations,
        })
    }

    /// Adiabatic temperature (K) alone, started from the last answer: for many like mixtures.
    ///
    /// * `b`: amount of each of [`System::elements`], mol
    /// * `heat`: what there is and what leaves meanwhile
    pub(crate) fn peak(
        &mut self,
        b: &[f64],
        heat: &Heat,
        pressure: Pressure,
    ) -> Result<f64, EquilibriumError> {
        let p = relative(pressure)?;
        let here: Vec<usize> = (0..b.len()).filter(|i| b[*i] > 0.0).collect();
        let active: Vec<f64> = here.iter().map(|i| b[*i]).collect();
        self.select(here);
        let mut heat = *heat;
        if let Some(next) = self.kernel.next_temperature(&heat, p, &active) {
            heat.first = next;
        }
        let balance = adiabatic::balance(&mut self.kernel, &heat, p, &active)
            .map_err(|error| EquilibriumError::unbalanced(error, |i| self.active_element(i)))?;
        // What is left of the way is so short that nothing curves on it.
        Ok(balance.point.t + balance.rest)
    }

    fn active_element(&self, i: usize) -> Element {
        self.elements[self.active_elements[i]]
    }

    /// Checks the amounts and gives those above zero to the kernel.
    fn activate(
        &mut self,
        amounts: &BTreeMap<Element, AmountOfSubstance>,
    ) -> Result<Vec<f64>, EquilibriumError> {
        for (element, amount) in amounts {
            let amount_mol = amount.get::<mole>();
            if !amount_mol.is_finite() || amount_mol < 0.0 {
                return Err(EquilibriumError::Amount {
                    element: *element,
                    amount_mol,
                });
            }
            if amount_mol > 0.0 && !self.elements.contains(element) {
                return Err(EquilibriumError::ForeignElement { element: *element });
            }
        }
        let mut here = Vec::new();
        let mut b = Vec::new();
        for (i, element) in self.elements.iter().enumerate() {
            let amount = amounts.get(element).map_or(0.0, |n| n.get::<mole>());
            if amount > 0.0 {
                here.push(i);
                b.push(amount);
            }
        }
        if b.is_empty() {
            return Err(EquilibriumError::Empty);
        }
        self.select(here);
        Ok(b)
    }

    /// Takes the species of the elements `here`; other elements than before start from nothing.
    fn select(&mut self, here: Vec<usize>) {
        if here == self.active_elements {
            return;
        }
        self.kernel.solver.forget();
        let elements: Vec<Element> = here.iter().map(|i| self.elements[*i]).collect();
        let all = self.species.iter().copied();
        let species: Vec<&Species> = all.filter(|s| s.consists_of(&elements)).collect();
        let species = with_hosts(self.tables, species, self.solutions);
        let kept = |j: &usize| species.iter().any(|s| std::ptr::eq(*s, self.species[*j]));
        self.active_species = (0..self.species.len()).filter(kept).collect();
        self.kernel.given.kind = species
            .iter()
            .map(|s| match s.phase.is_condensed() {
                true => Kind::Pure,
                false => Kind::Mixture(0),
            })
            .collect();
        self.kernel.given.mixtures = 1;
        self.mixture_names = vec![None];
        self.sites = vec![1.0; species.len()];
        self.kernel.range = species.iter().map(|s| s.usable()).collect();
        if self.solutions {
            for solution in self.tables.solutions.iter() {
                let members: Vec<usize> = (0..species.len())
                    .filter(|j| solution.holds(&species[*j].id))
                    .collect();
                // One end member alone is a pure phase.
                if members.len() > 1 {
                    // A member stays as long as the solution does: cut off at its own melting
                    // point it would take its share out of the solution at once.
                    let ranges = members.iter().map(|j| self.kernel.range[*j]);
                    let whole = ranges.fold((f64::INFINITY, 0.0_f64), |all, range| {
                        (all.0.min(range.0), all.1.max(range.1))
                    });
                    for j in members {
                        self.kernel.given.kind[j] = Kind::Mixture(self.kernel.given.mixtures);
                        self.kernel.range[j] = whole;
                        self.sites[j] = solution.sites;
                    }
                    self.kernel.given.mixtures += 1;
                    self.mixture_names.push(Some(solution.name.clone()));
                }
            }
        }
        self.metal_atoms = species.iter().map(|s| result::metal_atoms(s)).collect();
        // the kernel counts a member by the ions that mix: a part of its formula unit
        let parts = || species.iter().zip(&self.sites);
        self.kernel.given.a = elements
            .iter()
            .flat_map(|e| parts().map(|(s, sites)| s.formula.amount_of(*e) / sites))
            .collect();
        self.kernel.functions = Functions::new(parts().map(|(s, n)| (s.curve.as_ref(), *n)));
        self.active_elements = here;
    }
}

/// The species without the guests of solid solutions that cannot form: those of which none of the
/// hosts is there, all if `solutions` are left out.
fn with_hosts<'t>(tables: &Tables, species: Vec<&'t Species>, solutions: bool) -> Vec<&'t Species> {
    let there = |id: &String| species.iter().any(|s| s.id == *id);
    let homeless: Vec<&String> = tables
        .solutions
        .iter()
        .filter(|solution| !solutions || !solution.members.iter().any(there))
        .flat_map(|solution| &solution.guests)
        .collect();
    let at_home = |s: &&Species| !homeless.contains(&&s.id);
    species.iter().copied().filter(at_home).collect()
}

/// p/p°, if it can be used.
fn relative(pressure: Pressure) -> Result<f64, EquilibriumError> {
    let p = pressure.get::<pascal>() / STANDARD_PRESSURE;
    if (PRESSURES.0..=PRESSURES.1).contains(&p) {
        Ok(p)
    } else {
        Err(EquilibriumError::Pressure { pressure_bar: p })
    }
}

/// Adds up the elements of a list of substances.
pub fn element_amounts<'f>(
    substances: impl IntoIterator<Item = (&'f Formula, AmountOfSubstance)>,
) -> BTreeMap<Element, AmountOfSubstance> {
    let mut sum = BTreeMap::new();
    for (formula, amount) in substances {
        for (element, n) in formula.amounts() {
            *sum.entry(*element)
                .or_insert_with(AmountOfSubstance::default) += amount * *n;
        }
    }
    sum
}
