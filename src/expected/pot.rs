//! The pot at ignition in plain numbers: elements and enthalpy of what is left, burnt to
//! equilibrium. Kernel in coherent SI.
//!
//! The enthalpy of each ingredient is tabulated at five shares of its crystal water, by the same
//! sum that a single burn uses, and taken linear between: hydrates of a family lie on lines.

use super::draw::Draw;
use super::error::ExpectedError;
use crate::batch::{Batch, Ingredient};
use crate::burn::{BurnError, StateResult, species_set};
use crate::cooling::bound_metals;
use crate::enthalpy::{EnthalpyError, WaterState, WaterStateName, reactant_enthalpy};
use crate::equilibrium::{Equilibrium, EquilibriumError, Heat, System};
use crate::flame::{COLDEST, NITROGEN_PER_OXYGEN, system_of};
use crate::formula::Element;
use crate::ignition::nitrate_gain;
use crate::quantity::units::{degree_celsius, joule, kelvin, mole, ratio};
use crate::quantity::{
    AmountOfSubstance, REFERENCE_TEMPERATURE, Ratio, ThermodynamicTemperature,
    reference_temperature,
};
use crate::redox::valence;
use crate::tables::{Role, Species, Tables};
use std::collections::BTreeMap;

/// Shares of the crystal water at which the enthalpies are tabulated: 0, ¼, … 1.
const STEPS: usize = 4;
/// First guess of a peak, K, where there is no draw before.
const FIRST: f64 = 1600.0;
/// Newton's step, relative, after which a peak counts as found: 0.2 K, which leave less than a mK.
const FOUND: f64 = 1e-4;
/// A burn whose products get hotter than its start by no more than this, or no hotter than
/// [`COLDEST`], has no flame, K.
const NO_FLAME: f64 = 1.0;
/// Oxidising valence of a nitrate ion: N +5 to 0.
const VALENCE_OF_NITRATE: f64 = 5.0;
/// Bands of the tables are about two standard deviations.
const DEVIATIONS: f64 = 2.0;

/// What one burn takes for what nobody knows.
#[derive(Debug, Clone)]
pub struct Burning {
    /// Solvent left, mol.
    pub solvent: f64,
    /// Share of the crystal water left.
    pub crystal_share: f64,
    /// Fuel over that of the batch as weighed.
    pub fuel: f64,
    /// Of which this share was lost.
    pub fuel_lost: f64,
    /// Share of the oxidising valence that left as nitrogen oxides.
    pub nitrate_lost: f64,
    /// Start, K.
    pub start: f64,
    /// Heat that heating stored in what stays of the fuel, J.
    pub stored: f64,
    pub loss: Loss,
    /// Share of the air for the surplus fuel.
    pub air: f64,
    /// Deviations of the formation enthalpies and of the heat capacities.
    pub enthalpy: f64,
    pub capacity: f64,
    /// Amount and crystal water of each ingredient but solvents, over those as written.
    pub bottles: Vec<(f64, f64)>,
}

/// How heat is lost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Loss {
    /// This share of the heat of the burn, as the file states.
    Share(f64),
    /// By the burning face: J/K⁴ and J/K.
    Face { radiation: f64, linear: f64 },
}

/// One ingredient, per amount as weighed.
#[derive(Debug)]
struct Part {
    is_fuel: bool,
    /// Valence, mol.
    valence: f64,
    /// Atoms of each element of the system without crystal water, mol.
    atoms: Vec<f64>,
    /// Crystal water, mol.
    water: f64,
    /// H at 298.15 K (J), heat capacity (J/K) and band of H (J) at each tabulated share.
    table: [[f64; 3]; STEPS + 1],
}

impl Part {
    fn at(&self, share: f64) -> [f64; 3] {
        let place = share * STEPS as f64;
        let below = (place.floor().max(0.0) as usize).min(STEPS - 1);
        let part = place - below as f64;
        let (low, high) = (&self.table[below], &self.table[below + 1]);
        [0, 1, 2].map(|i| low[i] + part * (high[i] - low[i]))
    }
}

/// What one burn holds: elements (mol), H at 298.15 K (J), heat capacity (J/K), band of H (J),
/// water (mol), φ.
struct Mixture {
    b: Vec<f64>,
    h: f64,
    cp: f64,
    band: f64,
    water: f64,
    equivalence_ratio: f64,
}

/// The batch ready to be burnt many times.
#[derive(Debug)]
pub struct Pot<'t> {
    system: System<'t>,
    water: &'t Species,
    parts: Vec<Part>,
    /// All water as weighed, mol.
    all_water: f64,
    external_heat: f64,
    /// Enthalpy that the rest gains for a mole of nitrate that leaves as NO2 and oxygen, J/mol.
    nitrate_gain: f64,
    pressure: crate::quantity::Pressure,
    /// Deviation of the products' formation enthalpies, J, and of their heat capacity, J/K.
    products: (f64, f64),
    /// Heat released with no crystal water and with all of it, J; φ as weighed.
    heat: (f64, f64),
    equivalence_ratio: f64,
    hydrogen: usize,
    nitrogen: usize,
    oxygen: usize,
    last: f64,
}

impl<'t> Pot<'t> {
    pub fn new(
        batch: &Batch,
        states: &[StateResult],
        tables: &'t Tables,
    ) -> Result<Self, ExpectedError> {
        let system = system_of(batch, species_set(batch), tables);
        let elements = system.elements();
        let place = |element| elements.iter().position(|e| *e == element).unwrap_or(0);
        let water = tables
            .species_by_id("H2O(l)")
            .ok_or(BurnError::from(EnthalpyError::NoWater))?;
        let parts = batch
            .ingredients
            .iter()
            .filter(|i| i.reactant.role != Role::Solvent)
            .map(|ingredient| part(batch, ingredient, elements, tables))
            .collect::<Result<Vec<_>, _>>()?;
        let heat_of = |name| {
            let result = states.iter().find(|result| result.state.name == name);
            result.map_or(0.0, |result| result.complete.heat_released.get::<joule>())
        };
        let mut pot = Self {
            hydrogen: place(Element::HYDROGEN),
            nitrogen: place(Element::NITROGEN),
            oxygen: place(Element::OXYGEN),
            water,
            all_water: (batch.solvent_water() + batch.crystal_water()).get::<mole>(),
            external_heat: batch.conditions.external_heat.get::<joule>(),
            nitrate_gain: nitrate_gain(tables).map_err(BurnError::from)?,
            pressure: batch.conditions.pressure,
            products: products(states, tables),
            heat: (
                heat_of(WaterStateName::Dried),
                heat_of(WaterStateName::BoiledDown),
            ),
            equivalence_ratio: 1.0,
            last: FIRST,
            parts,
            system,
        };
        pot.equivalence_ratio = pot.equivalence_ratio(1.0);
        Ok(pot)
    }

    /// φ as weighed with `fuel` times the fuel.
    pub fn equivalence_ratio(&self, fuel: f64) -> f64 {
        let (reducing, oxidising) = self.valences(|part, _| if part.is_fuel { fuel } else { 1.0 });
        reducing / oxidising
    }

    fn valences(&self, amount: impl Fn(&Part, usize) -> f64) -> (f64, f64) {
        let mut sums = (0.0, 0.0);
        for (at, part) in self.parts.iter().enumerate() {
            let own = amount(part, at) * part.valence;
            if own > 0.0 {
                sums.0 += own;
            } else {
                sums.1 -= own;
            }
        }
        sums
    }

    /// Fuel over that as weighed with which φ is `phi`.
    pub fn fuel_for(&self, phi: f64) -> f64 {
        let fuel = self.valences(|part, _| f64::from(u8::from(part.is_fuel))).0;
        let (reducing, oxidising) = self.valences(|_, _| 1.0);
        (phi * oxidising - (reducing - fuel)) / fuel
    }

    /// What is in the pot.
    fn mixture(&self, burning: &Burning) -> Mixture {
        let amount = |part: &Part, at: usize| {
            let bottle = burning.bottles[at].0;
            bottle * if part.is_fuel { burning.fuel } else { 1.0 }
        };
        let (reducing, weighed) = self.valences(amount);
        let oxidising = weighed * (1.0 - burning.nitrate_lost);
        // NO3 leaves as NO2 and oxygen; its metal keeps the oxygen of the oxide, half an atom.
        let nitrate = weighed * burning.nitrate_lost / VALENCE_OF_NITRATE;
        let mut b = vec![0.0; self.system.elements().len()];
        let mut water = burning.solvent;
        let (mut h, mut cp, mut band) = (0.0, 0.0, 0.0_f64);
        for (at, part) in self.parts.iter().enumerate() {
            let n = amount(part, at);
            // Share of the water as written: a bottle with more of it keeps the same share of more.
            let share = burning.crystal_share * burning.bottles[at].1;
            let [formation, capacity, own_band] = part.at(share);
            h += n * formation;
            cp += n * capacity;
            band = band.hypot(n * own_band);
            for (sum, atoms) in b.iter_mut().zip(&part.atoms) {
                *sum += n * atoms;
            }
            water += n * share * part.water;
        }
        let surplus = (reducing - oxidising).max(0.0);
        // One O2 takes up four electrons.
        let air = burning.air * surplus / 4.0;
        b[self.hydrogen] += 2.0 * water;
        b[self.oxygen] += water + 2.0 * air;
        b[self.nitrogen] += 2.0 * NITROGEN_PER_OXYGEN * air - nitrate;
        b[self.oxygen] -= 2.5 * nitrate;
        h += nitrate * self.nitrate_gain;
        Mixture {
            b,
            h,
            cp,
            band,
            water,
            equivalence_ratio: reducing / oxidising,
        }
    }

    /// The elements in the pot.
    pub fn elements(&self, burning: &Burning) -> BTreeMap<Element, AmountOfSubstance> {
        let b = self.mixture(burning).b;
        let elements = self.system.elements().iter();
        let amounts = elements.zip(b);
        amounts
            .map(|(element, n)| (*element, AmountOfSubstance::new::<mole>(n)))
            .collect()
    }

    /// Equilibrium of the pot at a temperature.
    pub fn equilibrium(
        &mut self,
        burning: &Burning,
        temperature: ThermodynamicTemperature,
    ) -> Result<Equilibrium, EquilibriumError> {
        let amounts = self.elements(burning);
        self.system
            .equilibrium(&amounts, temperature, self.pressure)
    }

    /// The same of what cooled from `hot` to `temperature`, see [`crate::cooling::cooling`].
    pub fn cooled(
        &self,
        burning: &Burning,
        hot: &Equilibrium,
        temperature: ThermodynamicTemperature,
        tables: &Tables,
    ) -> Result<Equilibrium, EquilibriumError> {
        let mut system = self.system.clone();
        system.leave_out_carbonates(&bound_metals(hot, tables));
        system.equilibrium(&self.elements(burning), temperature, self.pressure)
    }

    /// Burns the pot.
    pub fn burn(&mut self, burning: &Burning) -> Draw {
        let Mixture {
            b,
            mut h,
            cp,
            band,
            water,
            equivalence_ratio,
        } = self.mixture(burning);
        let start = self.start(burning);
        h += cp * (start - REFERENCE_TEMPERATURE) + self.external_heat + burning.stored;
        h += burning.solvent * self.water.h(start);
        let (formation, capacity) = self.products;
        h += burning.enthalpy * (band / DEVIATIONS).hypot(formation);
        let released = self.released(burning.crystal_share, equivalence_ratio);
        let (mut heat, stated) = match burning.loss {
            Loss::Share(share) => (self.heat_of(h - share * released), share),
            Loss::Face { radiation, linear } => {
                let mut heat = self.heat_of(h);
                (heat.radiation, heat.linear) = (radiation, linear);
                (heat, 0.0)
            }
        };
        let face = (heat.radiation, heat.linear);
        heat.linear += burning.capacity * capacity;
        // A draw that has no equilibrium is colder than any flame.
        let found = self.system.peak(&b, &heat, self.pressure).ok();
        let peak = found.filter(|t| *t > (start + NO_FLAME).max(COLDEST));
        self.last = peak.unwrap_or(FIRST);
        let lost = peak.map_or(0.0, |t| {
            let t0 = REFERENCE_TEMPERATURE;
            face.0 * (t.powi(4) - t0.powi(4)) + face.1 * (t - t0)
        });
        let lost = if released > 0.0 { lost / released } else { 0.0 };
        let share = |value: f64| Ratio::new::<ratio>(value);
        let left = if self.all_water > 0.0 {
            water / self.all_water
        } else {
            0.0
        };
        Draw {
            water_left: share(left),
            fuel_lost: share(burning.fuel_lost),
            nitrate_lost: share(burning.nitrate_lost),
            start: ThermodynamicTemperature::new::<kelvin>(start),
            heat_lost: share(lost + stated),
            air: share(burning.air),
            equivalence_ratio: share(equivalence_ratio),
            peak: peak.map(ThermodynamicTemperature::new::<kelvin>),
        }
    }

    fn heat_of(&self, h: f64) -> Heat {
        Heat {
            h,
            radiation: 0.0,
            linear: 0.0,
            first: self.last,
            found: FOUND,
        }
    }

    /// The start: no hotter than boiling water while solvent is there.
    fn start(&self, burning: &Burning) -> f64 {
        let boiling = ThermodynamicTemperature::new::<degree_celsius>(100.0).get::<kelvin>();
        if burning.solvent > 0.0 {
            burning.start.min(boiling)
        } else {
            burning.start
        }
    }

    /// Heat released with this share of the crystal water at this φ, J: that of the batch as
    /// weighed, in proportion to the lesser of fuel and oxidiser.
    fn released(&self, crystal_share: f64, equivalence_ratio: f64) -> f64 {
        let (dry, wet) = self.heat;
        let heat = dry + crystal_share * (wet - dry);
        (heat * equivalence_ratio.min(1.0) / self.equivalence_ratio.min(1.0)).max(0.0)
    }
}

/// One ingredient as it counts in the pot.
fn part(
    batch: &Batch,
    ingredient: &Ingredient,
    elements: &[Element],
    tables: &Tables,
) -> Result<Part, ExpectedError> {
    let formula = &ingredient.reactant.formula;
    let n = ingredient.amount.get::<mole>();
    let dry = formula.anhydrous();
    let mut alone = batch.clone();
    alone.ingredients = vec![ingredient.clone()];
    let mut table = [[0.0; 3]; STEPS + 1];
    for (step, row) in table.iter_mut().enumerate() {
        let state = WaterState {
            name: WaterStateName::BoiledDown,
            solvent: AmountOfSubstance::new::<mole>(0.0),
            crystal_share: Ratio::new::<ratio>(step as f64 / STEPS as f64),
        };
        // A warm start of 100 K more tells the heat capacity.
        alone.conditions.start =
            ThermodynamicTemperature::new::<kelvin>(REFERENCE_TEMPERATURE + 100.0);
        let sum = reactant_enthalpy(&alone, &state, tables).map_err(BurnError::from)?;
        let band = sum.lines.iter().filter_map(|line| line.band);
        let band: f64 = band.map(|band| band.value).sum();
        *row = [
            sum.formation.get::<joule>(),
            sum.sensible.get::<joule>() / 100.0,
            n * band,
        ];
    }
    Ok(Part {
        is_fuel: ingredient.reactant.role == Role::Fuel,
        valence: valence(&dry, &batch.states)? * n,
        atoms: elements.iter().map(|e| n * dry.amount_of(*e)).collect(),
        water: ingredient.crystal_water().get::<mole>(),
        table,
    })
}

/// Deviations of the products: formation enthalpies (J) and heat capacity (J/K), from the driest
/// burn that has a flame.
fn products(states: &[StateResult], tables: &Tables) -> (f64, f64) {
    let burnt = states
        .iter()
        .filter(|result| result.state.name != WaterStateName::AtIgnition)
        .filter_map(|result| Some((&result.complete, result.complete.flame.temperature()?)))
        .next_back();
    let Some((burn, hot)) = burnt else {
        return (0.0, 0.0);
    };
    let rise = hot.get::<kelvin>() - REFERENCE_TEMPERATURE;
    let (mut formation, mut capacity) = (0.0_f64, 0.0_f64);
    for product in burn.condensed.iter().chain(&burn.gas) {
        let Some(species) = tables.species_by_id(&product.id) else {
            continue;
        };
        let n = product.amount.get::<mole>();
        let band = species.formation_enthalpy.as_ref();
        let band = band.and_then(|enthalpy| enthalpy.uncertainty);
        formation = formation.hypot(n * band.map_or(0.0, |band| band.value));
        let change = species.enthalpy_change(reference_temperature(), hot);
        let share = species.heat_capacity_uncertainty.get::<ratio>();
        let heat = change.map_or(0.0, |change| change.value);
        capacity = capacity.hypot(n * share * heat / rise);
    }
    (formation / DEVIATIONS, capacity / DEVIATIONS)
}
