//! What an equilibrium says, in quantities.

use super::System;
use super::kernel::Point;
use super::problem::Kind;
use crate::formula::Element;
use crate::quantity::units::{
    joule, joule_per_kelvin, joule_per_mole, kelvin, kilogram, mole, pascal, ratio,
};
use crate::quantity::{
    AmountFraction, AmountOfSubstance, Energy, GAS_CONSTANT, HeatCapacity, Mass, MolarEnergy,
    Pressure, Ratio, STANDARD_PRESSURE, ThermodynamicTemperature,
};
use crate::tables::Species;
use crate::tables::species::Phase;
use std::collections::BTreeMap;

/// Gas below this share of all atoms is only the vapour in a vanishing bubble: the system has
/// no gas phase of its own. A thousand times the solver's inert bubble.
const NO_GAS: f64 = 1e-9;
/// Amounts below this share of all atoms mean nothing and are not listed.
const FAINTEST: f64 = 1e-40;
/// Amount of a pure phase, as a share of all atoms, that may be rounding of its balance.
const ROUNDING: f64 = 1e-13;

/// Relative difference of two amounts that may be rounding, as the balance of an answer may.
const SAME: f64 = 1e-9;

/// An oxygen pressure beyond this many decades only says that nothing in the tables sets it: an
/// oxide alone, with neither its metal nor a vapour in the tables.
const UNDETERMINED: f64 = 150.0;

/// How much of one species there is.
#[derive(Clone, Debug, PartialEq)]
pub struct SpeciesAmount {
    /// Name in the tables.
    pub id: String,
    /// State of aggregation.
    pub phase: Phase,
    /// Amount n.
    pub amount: AmountOfSubstance,
    /// Mass m.
    pub mass: Mass,
    /// Atoms of metal in one formula unit.
    pub metal_atoms: f64,
    /// Share of the gas or of the solid solution, x; none for a pure condensed phase.
    pub amount_fraction: Option<AmountFraction>,
    /// Name of the solid solution it is an end member of, if it is.
    pub solution: Option<String>,
}

/// What was checked at the end of a minimisation, from the raw problem.
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    /// Newton iterations.
    pub iterations: usize,
    /// Changes of the set of phases on the way.
    pub phase_changes: usize,
    /// Largest deviation of an element's amount from what was given, relative.
    pub balance_residual: Ratio,
    /// Largest |μ_j − Σ a_ij π_i| over the species present, relative to RT.
    pub potential_residual: Ratio,
    /// Greatest affinity Σ a_ij π_i − μ_j of an absent phase, relative to RT: not above zero but
    /// for rounding. None if there is no absent phase.
    pub greatest_absent_affinity: Option<Ratio>,
}

/// Chemical equilibrium of a system.
#[derive(Clone, Debug, PartialEq)]
pub struct Equilibrium {
    /// Temperature T.
    pub temperature: ThermodynamicTemperature,
    /// Pressure p.
    pub pressure: Pressure,
    /// Gases, then condensed phases, each from the most to the least abundant.
    pub amounts: Vec<SpeciesAmount>,
    /// Total amount of gas.
    pub gas_amount: AmountOfSubstance,
    /// False if nothing but the vapour in a vanishing bubble is gaseous; amount fractions of the
    /// gas are then those inside that bubble.
    pub has_gas: bool,
    /// log10(p(O2)/bar) from the oxygen potential, meaningful also where O2 itself is too faint
    /// to be listed. None without oxygen, or if nothing in the tables sets it.
    pub log10_oxygen_pressure: Option<f64>,
    /// Activity of carbon against graphite. None without carbon.
    pub carbon_activity: Option<Ratio>,
    /// n(CO)/n(CO2).
    pub carbon_monoxide_ratio: Option<Ratio>,
    /// n(H2)/n(H2O) in the gas.
    pub hydrogen_ratio: Option<Ratio>,
    /// Chemical potential of each element.
    pub element_potentials: BTreeMap<Element, MolarEnergy>,
    /// Enthalpy H of the whole system, elements at 298.15 K = 0.
    pub enthalpy: Energy,
    /// Gibbs energy G of the whole system, same zero and entropies from 0 K.
    pub gibbs_energy: Energy,
    /// (∂H/∂T)_p with the equilibrium following. None on a transition, where it has no value.
    pub heat_capacity: Option<HeatCapacity>,
    /// Share of the mass of the condensed phases, water left out, that is liquid. None without
    /// condensed phases.
    pub molten_fraction: Option<Ratio>,
    /// Condensed phases present whose data end below (or start above) this temperature.
    pub extrapolated: Vec<String>,
    /// The proof.
    pub evidence: Evidence,
}

/// The two sides of a transition at which an adiabatic temperature lies.
#[derive(Clone, Debug, PartialEq)]
pub struct Transition {
    /// Share of the enthalpy of the transition that is taken up, 0 to 1; the amounts are that
    /// share of the way from `below` to `above`.
    pub share: Ratio,
    /// Just below the temperature.
    pub below: Box<Equilibrium>,
    /// Just above it.
    pub above: Box<Equilibrium>,
}

/// Equilibrium at given enthalpy and pressure.
#[derive(Clone, Debug, PartialEq)]
pub struct AdiabaticEquilibrium {
    /// The equilibrium; its temperature is the adiabatic one.
    pub equilibrium: Equilibrium,
    /// Set if the temperature is that of melting, a transition or a decomposition.
    pub transition: Option<Transition>,
    /// Minimisations.
    pub solves: usize,
    /// Newton iterations in all.
    pub iterations: usize,
}

impl Equilibrium {
    /// Amount of a species by its id in the tables; zero if it is not there.
    pub fn amount_of(&self, id: &str) -> AmountOfSubstance {
        self.amounts
            .iter()
            .find(|species| species.id == id)
            .map_or_else(AmountOfSubstance::default, |species| species.amount)
    }

    /// Gases.
    pub fn gases(&self) -> impl Iterator<Item = &SpeciesAmount> {
        self.amounts
            .iter()
            .filter(|species| !species.phase.is_condensed())
    }

    /// Condensed phases.
    pub fn condensed(&self) -> impl Iterator<Item = &SpeciesAmount> {
        self.amounts
            .iter()
            .filter(|species| species.phase.is_condensed())
    }
}

/// Below this share of the metal in all condensed phases a phase is a trace: it shows in no
/// diffraction pattern of the bench. The share is chosen here, once for all that is shown.
pub const TRACE_SHARE: f64 = 0.005;

/// Below this share a phase is rounding rather than a trace.
const NO_PHASE: f64 = 1e-5;

impl Equilibrium {
    /// Condensed phases and, apart, the traces among them.
    pub fn main_and_trace_phases(&self) -> (Vec<&SpeciesAmount>, Vec<&SpeciesAmount>) {
        main_and_traces(&self.condensed().collect::<Vec<_>>())
    }
}

/// Condensed phases and, apart, those that hold less than [`TRACE_SHARE`] of the metal of all; what
/// is rounding is left out. A phase without metal counts by its amount against that metal.
pub fn main_and_traces<'a>(
    phases: &[&'a SpeciesAmount],
) -> (Vec<&'a SpeciesAmount>, Vec<&'a SpeciesAmount>) {
    let counted = |s: &&SpeciesAmount| s.metal_atoms * s.amount.get::<mole>();
    let metal: f64 = phases.iter().map(counted).sum();
    let share = |s: &&&SpeciesAmount| s.metal_atoms.max(1.0) * s.amount.get::<mole>() / metal;
    let is_there = |s: &&&SpeciesAmount| metal <= 0.0 || share(s) >= NO_PHASE;
    phases
        .iter()
        .filter(is_there)
        .partition(|s| metal <= 0.0 || share(s) >= TRACE_SHARE)
}

pub(super) fn metal_atoms(species: &Species) -> f64 {
    let amounts = species.formula.amounts().iter();
    amounts.filter(|(e, _)| e.is_metal()).map(|(_, n)| n).sum()
}

/// The species of a point, and what they add up to in SI.
struct Contents {
    amounts: Vec<SpeciesAmount>,
    gas: f64,
    condensed_mass: f64,
    liquid_mass: f64,
    extrapolated: Vec<String>,
}

impl System<'_> {
    /// Puts a point of the kernel into quantities. `p` is p/p°, `b` the active elements in mol.
    pub(super) fn result(&self, point: &Point, p: f64, b: &[f64]) -> Equilibrium {
        let t = point.t;
        let rt = GAS_CONSTANT * t;
        let atoms: f64 = b.iter().sum();
        let Contents {
            amounts,
            gas,
            condensed_mass,
            liquid_mass,
            extrapolated,
        } = self.contents(point, atoms);
        let temperature = ThermodynamicTemperature::new::<kelvin>(t);
        let potential = |element: Element| {
            let at = self
                .active_elements
                .iter()
                .position(|i| self.elements[*i] == element)?;
            Some(point.potentials[at])
        };
        let carbon = self.carbon.iter().find(|s| s.is_usable(t));
        let oxygen = self.tables.species_by_id("O2");
        let quotient = |above: &str, below: &str| {
            let n = |id: &str| {
                amounts
                    .iter()
                    .find(|s| s.id == id)
                    .map(|s| s.amount.get::<mole>())
            };
            Some(Ratio::new::<ratio>(n(above)? / n(below)?))
        };
        let g: f64 = point.potentials.iter().zip(b).map(|(pi, b)| pi * b).sum();
        let evidence = &point.evidence;
        Equilibrium {
            temperature,
            pressure: Pressure::new::<pascal>(p * STANDARD_PRESSURE),
            gas_amount: AmountOfSubstance::new::<mole>(gas),
            has_gas: gas > NO_GAS * atoms,
            log10_oxygen_pressure: potential(Element::OXYGEN)
                .zip(oxygen)
                .map(|(pi, o2)| (2.0 * pi - o2.g(t) / rt) / std::f64::consts::LN_10)
                .filter(|log| log.abs() < UNDETERMINED),
            carbon_activity: potential(Element::CARBON)
                .zip(carbon)
                .map(|(pi, c)| Ratio::new::<ratio>((pi - c.g(t) / rt).exp())),
            carbon_monoxide_ratio: quotient("CO", "CO2"),
            hydrogen_ratio: quotient("H2", "H2O"),
            amounts,
            element_potentials: self
                .active_elements
                .iter()
                .zip(&point.potentials)
                .map(|(i, pi)| {
                    (
                        self.elements[*i],
                        MolarEnergy::new::<joule_per_mole>(pi * rt),
                    )
                })
                .collect(),
            enthalpy: Energy::new::<joule>(point.h),
            gibbs_energy: Energy::new::<joule>(g * rt),
            heat_capacity: point
                .c
                .is_finite()
                .then(|| HeatCapacity::new::<joule_per_kelvin>(point.c)),
            molten_fraction: (condensed_mass > 0.0)
                .then(|| Ratio::new::<ratio>(liquid_mass / condensed_mass)),
            extrapolated,
            evidence: Evidence {
                iterations: evidence.iterations,
                phase_changes: evidence.changes,
                balance_residual: Ratio::new::<ratio>(evidence.balance),
                potential_residual: Ratio::new::<ratio>(evidence.potential),
                greatest_absent_affinity: evidence
                    .affinity
                    .is_finite()
                    .then(|| Ratio::new::<ratio>(evidence.affinity)),
            },
        }
    }

    /// What there is at `point`, of `atoms` mol of atoms.
    fn contents(&self, point: &Point, atoms: f64) -> Contents {
        let mut amounts = Vec::new();
        let (mut gas, mut condensed_mass, mut liquid_mass) = (0.0, 0.0, 0.0);
        let mut extrapolated = Vec::new();
        let temperature = ThermodynamicTemperature::new::<kelvin>(point.t);
        let mut totals = vec![0.0; self.kernel.given.mixtures];
        for (n, kind) in point.amounts.iter().zip(&self.kernel.given.kind) {
            if let Kind::Mixture(k) = *kind {
                totals[k] += n;
            }
        }
        for ((((n, species), kind), metal_atoms), sites) in point
            .amounts
            .iter()
            .zip(self.active())
            .zip(&self.kernel.given.kind)
            .zip(&self.metal_atoms)
            .zip(&self.sites)
        {
            let least = match *kind {
                Kind::Pure => ROUNDING,
                Kind::Mixture(_) => FAINTEST,
            };
            if *n < least * atoms {
                continue;
            }
            let amount = AmountOfSubstance::new::<mole>(n / sites);
            let mass = amount * species.formula.molar_mass();
            if species.phase.is_condensed() {
                // Liquid water is no melt.
                if !species.consists_of(&[Element::HYDROGEN, Element::OXYGEN]) {
                    let mass = mass.get::<kilogram>();
                    condensed_mass += mass;
                    if species.phase == Phase::Liquid {
                        liquid_mass += mass;
                    }
                }
                if species.is_extrapolated(temperature) {
                    extrapolated.push(species.id.clone());
                }
            } else {
                gas += n;
            }
            amounts.push(SpeciesAmount {
                id: species.id.clone(),
                phase: species.phase,
                amount,
                mass,
                metal_atoms: *metal_atoms,
                amount_fraction: match *kind {
                    Kind::Pure => None,
                    Kind::Mixture(k) => Some(AmountFraction::new::<ratio>(n / totals[k])),
                },
                solution: match *kind {
                    Kind::Pure => None,
                    Kind::Mixture(k) => self.mixture_names[k].clone(),
                },
            });
        }
        // Equal amounts stay in the order of the tables: rounding must not choose.
        amounts.sort_by_cached_key(|species| {
            let size = species.amount.get::<mole>().ln() / SAME;
            (species.phase.is_condensed(), -size.round() as i64)
        });
        Contents {
            amounts,
            gas,
            condensed_mass,
            liquid_mass,
            extrapolated,
        }
    }

    /// Species that the kernel holds, in its order.
    fn active(&self) -> impl Iterator<Item = &Species> {
        self.active_species.iter().map(|j| self.species[*j])
    }
}
