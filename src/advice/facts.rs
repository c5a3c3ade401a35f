//! What the safety side has to know about a batch and its burns.

use crate::batch::{Batch, Ingredient, Room, VesselChoice};
use crate::burn::StateResult;
use crate::enthalpy::WaterStateName;
use crate::flame::COLDEST;
use crate::formula::{Element, Formula};
use crate::fumes::FumeLoad;
use crate::gas::solution_volume;
use crate::product::{ExpectedProduct, leaves_as_gas};
use crate::quantity::units::{gram, kelvin, kilogram, mole, ratio, second};
use crate::quantity::{
    AmountOfSubstance, Band, Energy, Mass, Ratio, ThermodynamicTemperature, Volume,
};
use crate::redox::{Redox, nitrate_ions, valence};
use crate::tables::heating::HeatingKind;
use crate::tables::{HazardGroup, Phase, Role, SafetyTables, Species, Tables};
use crate::vessel::Load;
use std::collections::{BTreeMap, BTreeSet};

/// The burn for one state of the water.
#[derive(Debug, Clone, PartialEq)]
pub struct BurnState {
    /// Flame temperature; none if the heat does not dry the batch.
    pub flame: Option<ThermodynamicTemperature>,
    /// Gas, steam included.
    pub gas_amount: AmountOfSubstance,
    /// Its volume at 25 °C with water as vapour.
    pub gas_volume_25c: Volume,
    /// Heat that the burn sets free.
    pub heat: Energy,
    /// Gases of the equilibrium at flame temperature, such as `CO`; empty if it is not known.
    pub equilibrium: BTreeMap<String, AmountOfSubstance>,
}

impl BurnState {
    /// The burns that may really happen: at ignition if that is known, else boiled down, and
    /// dried, since parts of the gel dry before it lights.
    pub fn possible(results: &[StateResult]) -> Vec<Self> {
        let known = results
            .iter()
            .any(|result| result.state.name == WaterStateName::AtIgnition);
        let wettest = if known {
            WaterStateName::AtIgnition
        } else {
            WaterStateName::BoiledDown
        };
        results
            .iter()
            .filter(|result| [wettest, WaterStateName::Dried].contains(&result.state.name))
            .map(Self::of)
            .collect()
    }

    /// The burn of one result.
    pub fn of(result: &StateResult) -> Self {
        let amounts = result.settled().into_iter().flat_map(|e| &e.amounts);
        Self {
            flame: result.complete.flame.temperature(),
            gas_amount: result.gas.amount,
            gas_volume_25c: result.gas.volume_25c,
            heat: result.complete.heat_released,
            equilibrium: amounts.map(|s| (s.id.clone(), s.amount)).collect(),
        }
    }
}

/// What the safety side sees of a mixture before it burns.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MixtureFacts {
    /// Dry oxidiser and fuel together.
    pub dry_mass: Mass,
    /// Share of the oxidising valence that ammonium nitrate brings.
    pub ammonium_nitrate_share: Ratio,
    /// Share of the oxidising valence that nitrates of alkali metals bring.
    pub alkali_nitrate_share: Ratio,
    /// Free nitric acid over the acid and all water, by mass.
    pub free_acid_strength: Ratio,
    /// Metals that leave an oxide or metal powder over all metals and ammonium nitrate, by amount.
    pub powder_share: Ratio,
    /// Reactants: id and name.
    pub reactants: BTreeMap<String, String>,
    /// Hazard groups of the reactants, with the names of those in them.
    pub groups: BTreeMap<HazardGroup, Vec<String>>,
    /// Elements of the mixture that do not leave as gas.
    pub elements: BTreeSet<Element>,
}

impl MixtureFacts {
    /// The facts of a batch.
    pub fn new(batch: &Batch) -> Self {
        let solids = batch
            .ingredients
            .iter()
            .filter(|i| i.reactant.role != Role::Solvent);
        let reactants = handled(batch).map(|i| (i.reactant.id.clone(), i.reactant.name.clone()));
        Self {
            dry_mass: solids
                .map(|i| -> Mass { i.amount * i.reactant.formula.anhydrous().molar_mass() })
                .sum(),
            ammonium_nitrate_share: oxidising_share(batch, is_ammonium_nitrate),
            alkali_nitrate_share: oxidising_share(batch, is_alkali_nitrate),
            free_acid_strength: free_acid_strength(batch),
            powder_share: powder_share(batch),
            reactants: reactants.collect(),
            groups: groups(batch),
            elements: batch
                .dry_elements()
                .into_keys()
                .filter(|element| !leaves_as_gas(*element))
                .collect(),
        }
    }
}

/// A batch as the safety side sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct BurnFacts {
    /// What the vessel has to hold and stand.
    pub load: Load,
    /// What the fumes come from.
    pub fumes: FumeLoad,
    /// Volume of the gas at 25 °C, the state with most gas.
    pub gas_volume_25c: Volume,
    /// What hangs on the mixture alone.
    pub mixture: MixtureFacts,
    /// The metal of the powder of which most is in the gas in equilibrium at the flame, with that share
    /// of it in the burn that loses least; `None` without a burn.
    pub vapour: Option<(Element, Ratio)>,
    /// Names of the fuels that burn within seconds.
    pub fast_fuels: Vec<String>,
    /// The vessel, if named.
    pub vessel: Option<VesselChoice>,
    /// The room, if described.
    pub room: Option<Room>,
}

/// A fuel is fast if its burns can be over within this time, in s.
const FAST_WITHIN: f64 = 1.0;

impl BurnFacts {
    /// The facts of a batch; `burns` are the burns that may happen, at least the driest.
    pub fn new(
        batch: &Batch,
        redox: &Redox,
        product: &ExpectedProduct,
        burns: &[BurnState],
        tables: &Tables,
    ) -> Self {
        let safety = &tables.safety;
        let heating = heating(batch, tables);
        let mixture = MixtureFacts::new(batch);
        let sums = Sums {
            dry: mixture.dry_mass,
            ..Sums::of(batch, safety)
        };
        let fuels = fuel_shares(batch, redox);
        // A fuel of which nothing is known, or ammonia solution, has the widest band: not told from
        // urea's.
        let slow = safety.vessels.behaviour("urea").burn_time.value.high;
        let fast_fuels = fuels
            .iter()
            .filter(|(id, _)| {
                let time = safety.vessels.behaviour(id).burn_time.value;
                time.low.get::<second>() < FAST_WITHIN && time.high < slow
            })
            .filter_map(|(id, _)| mixture.reactants.get(id).cloned())
            .collect();
        let elements = product_elements(product);
        let load = load(batch, product, burns, fuels, heating, &sums);
        let slow = heating.map(|(kind, _)| is_slow(kind));
        Self {
            fumes: FumeLoad {
                equivalence_ratio: Band::exactly(redox.equivalence_ratio),
                nitrate_nitrogen: sums.nitrate,
                hydrolysing_nitrate: sums.hydrolysing,
                free_acid: sums.free_acid,
                fuel_nitrogen: sums.fuel_nitrogen,
                fuel_carbon: sums.fuel_carbon,
                urea: sums.urea,
                ammonium: sums.ammonium,
                sulfur: sums.sulfur,
                chlorine: sums.chlorine,
                fuels: load
                    .fuels
                    .iter()
                    .map(|(id, _)| id.clone())
                    .collect::<BTreeSet<_>>(),
                slow,
                equilibrium: highest_equilibrium(burns),
                product_mass: product.mass,
                product_elements: elements.clone(),
                carried_off: None,
            },
            vapour: vapour(burns, &elements, tables),
            load,
            gas_volume_25c: burns.iter().map(|burn| burn.gas_volume_25c).fold(
                Volume::default(),
                |most, volume| if volume > most { volume } else { most },
            ),
            mixture,
            fast_fuels,
            vessel: batch.vessel.clone(),
            room: batch.room,
        }
    }
}

/// Kind of heating and the temperature it is set to.
fn heating(
    batch: &Batch,
    tables: &Tables,
) -> Option<(HeatingKind, Option<ThermodynamicTemperature>)> {
    let plan = batch.heating.as_ref()?;
    let way = tables.heating.way(plan.way.as_deref()?)?;
    let set = match way.kind() {
        HeatingKind::Plate | HeatingKind::Furnace => plan.temperature,
        HeatingKind::Microwave | HeatingKind::Flame | HeatingKind::Lamp => None,
    };
    Some((way.kind(), set))
}

/// Heats for minutes through the temperatures at which fuels decompose.
fn is_slow(kind: HeatingKind) -> bool {
    matches!(
        kind,
        HeatingKind::Plate | HeatingKind::Furnace | HeatingKind::Lamp
    )
}

/// Amounts of what fumes come from.
#[derive(Default)]
struct Sums {
    dry: Mass,
    nitrate: AmountOfSubstance,
    hydrolysing: AmountOfSubstance,
    free_acid: AmountOfSubstance,
    fuel_nitrogen: AmountOfSubstance,
    fuel_carbon: AmountOfSubstance,
    urea: AmountOfSubstance,
    ammonium: AmountOfSubstance,
    sulfur: AmountOfSubstance,
    chlorine: AmountOfSubstance,
}

impl Sums {
    fn of(batch: &Batch, safety: &SafetyTables) -> Self {
        let mut sums = Self::default();
        for ingredient in batch
            .ingredients
            .iter()
            .filter(|i| i.reactant.role != Role::Solvent)
        {
            sums.add(ingredient, safety);
        }
        sums
    }

    fn add(&mut self, ingredient: &Ingredient, safety: &SafetyTables) {
        let reactant = &ingredient.reactant;
        let n = ingredient.amount;
        let dry = reactant.formula.anhydrous();
        let nitrate = nitrate_ions(&dry) * n;
        let of = |symbol: &str| {
            Element::from_symbol(symbol).map_or(0.0, |element| dry.amount_of(element)) * n
        };
        self.nitrate += nitrate;
        self.sulfur += of("S");
        self.chlorine += of("Cl");
        let hydrolyses = reactant.metal.as_ref().is_some_and(|metal| {
            safety
                .fumes
                .hydrolysing
                .iter()
                .any(|symbol| symbol == metal.element.symbol())
        });
        if hydrolyses {
            self.hydrolysing += nitrate;
        }
        match reactant.role {
            Role::Fuel | Role::FuelLikeSalt => {
                self.fuel_carbon += of("C");
                self.fuel_nitrogen += of("N") - nitrate;
                if is_urea(&dry) {
                    self.urea += n;
                }
            }
            Role::Acid => self.free_acid += n,
            Role::Oxidiser | Role::MetalSource | Role::Flux | Role::Solvent => {
                // nitrogen that is no nitrate is ammonium in these
                self.ammonium += of("N") - nitrate;
            }
        }
    }
}

/// Urea by its composition, CH4N2O.
fn is_urea(formula: &Formula) -> bool {
    Formula::parse("CH4N2O").is_ok_and(|urea| urea.amounts() == formula.amounts())
}

/// Each fuel with its share of the reducing valence.
pub(crate) fn fuel_shares(batch: &Batch, redox: &Redox) -> Vec<(String, Ratio)> {
    let fuels = batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role == Role::Fuel);
    fuels
        .filter_map(|i| {
            let own = valence(&i.reactant.formula, &batch.states).ok()?;
            let share = own * i.amount / redox.reducing;
            Some((i.reactant.id.clone(), share))
        })
        .collect()
}

/// Share of the oxidising valence that the reactants of a kind bring.
fn oxidising_share(batch: &Batch, is_kind: impl Fn(&Formula) -> bool) -> Ratio {
    let (mut brought, mut all) = (none(), none());
    for ingredient in &batch.ingredients {
        let dry = ingredient.reactant.formula.anhydrous();
        let Ok(own) = valence(&dry, &batch.states) else {
            continue;
        };
        if own < 0.0 {
            all += -own * ingredient.amount;
            if is_kind(&dry) {
                brought += -own * ingredient.amount;
            }
        }
    }
    if all > none() {
        brought / all
    } else {
        Ratio::new::<ratio>(0.0)
    }
}

fn is_ammonium_nitrate(formula: &Formula) -> bool {
    Formula::parse("NH4NO3").is_ok_and(|salt| salt.amounts() == formula.amounts())
}

/// What is handled: all that is weighed, and what becomes of it in the pot.
fn handled(batch: &Batch) -> impl Iterator<Item = &Ingredient> {
    batch.weighed.iter().chain(&batch.ingredients)
}

/// The reactants by hazard group.
fn groups(batch: &Batch) -> BTreeMap<HazardGroup, Vec<String>> {
    let mut groups: BTreeMap<HazardGroup, Vec<String>> = BTreeMap::new();
    for reactant in handled(batch).map(|i| &i.reactant) {
        for group in &reactant.hazard_groups {
            let names = groups.entry(*group).or_default();
            if !names.contains(&reactant.name) {
                names.push(reactant.name.clone());
            }
        }
    }
    groups
}

/// Mass of free nitric acid over that of the acid and all water of the mixed batch.
fn free_acid_strength(batch: &Batch) -> Ratio {
    let acids = batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.is_in(HazardGroup::NitricAcid));
    let acid: Mass = acids
        .map(|i| -> Mass { i.amount * i.reactant.formula.anhydrous().molar_mass() })
        .sum();
    let water: Mass =
        (batch.solvent_water() + batch.crystal_water()) * crate::batch::water_molar_mass();
    let all = acid + water;
    if all > Mass::default() {
        acid / all
    } else {
        Ratio::new::<ratio>(0.0)
    }
}

/// Metals other than alkali metals over all metals and ammonium nitrate, by amount.
fn powder_share(batch: &Batch) -> Ratio {
    let (mut powder, mut all) = (none(), none());
    for ingredient in &batch.ingredients {
        let dry = ingredient.reactant.formula.anhydrous();
        if is_ammonium_nitrate(&dry) {
            all += ingredient.amount;
        }
        for (element, count) in dry.amounts().iter().filter(|(e, _)| e.is_metal()) {
            all += *count * ingredient.amount;
            if !is_alkali(*element) {
                powder += *count * ingredient.amount;
            }
        }
    }
    if all > none() {
        powder / all
    } else {
        Ratio::new::<ratio>(0.0)
    }
}

fn is_alkali(element: Element) -> bool {
    matches!(element.symbol(), "Li" | "Na" | "K" | "Rb" | "Cs")
}

/// A nitrate of nothing but alkali metals.
fn is_alkali_nitrate(formula: &Formula) -> bool {
    let mut elements = formula.amounts().keys();
    let has_alkali = elements.any(|element| is_alkali(*element));
    let only = formula
        .amounts()
        .keys()
        .all(|element| is_alkali(*element) || matches!(element.symbol(), "N" | "O"));
    has_alkali && only && nitrate_ions(formula) > 0.0
}

fn load(
    batch: &Batch,
    product: &ExpectedProduct,
    burns: &[BurnState],
    fuels: Vec<(String, Ratio)>,
    heating: Option<(HeatingKind, Option<ThermodynamicTemperature>)>,
    sums: &Sums,
) -> Load {
    let boiling = ThermodynamicTemperature::new::<kelvin>(COLDEST);
    let flames = burns.iter().map(|burn| burn.flame.unwrap_or(boiling));
    let flame = flames.fold(None, |hull: Option<Band<_>>, t| {
        let own = Band::exactly(t);
        Some(hull.map_or(own, |old| old.hull(own)))
    });
    // the burn that makes the greatest hot volume counts for the gas
    let volume = |burn: &BurnState| {
        burn.gas_amount.get::<mole>() * burn.flame.unwrap_or(boiling).get::<kelvin>()
    };
    let largest = burns.iter().max_by(|a, b| volume(a).total_cmp(&volume(b)));
    let heat = burns
        .iter()
        .map(|burn| burn.heat)
        .fold(
            Energy::default(),
            |most, heat| {
                if heat > most { heat } else { most }
            },
        );
    let nothing = Mass::new::<kilogram>(0.0);
    let gas_mass = sums.dry - product.mass;
    Load {
        solution_volume: solution_volume(batch),
        dry_mass: sums.dry,
        product_mass: product.mass,
        gas_amount: largest.map_or(none(), |burn| burn.gas_amount),
        gas_mass: if gas_mass > nothing {
            gas_mass
        } else {
            nothing
        },
        heat,
        burns: burns
            .iter()
            .map(|burn| (burn.flame, burn.gas_amount))
            .collect(),
        flame: flame.unwrap_or(Band::exactly(boiling)),
        pressure: batch.conditions.pressure,
        fuels,
        heating: heating.map(|(kind, _)| kind),
        set_temperature: heating.and_then(|(_, set)| set),
    }
}

/// The most of each gas that any of the burns has in equilibrium.
fn highest_equilibrium(burns: &[BurnState]) -> BTreeMap<String, AmountOfSubstance> {
    let mut highest = BTreeMap::new();
    for (gas, amount) in burns.iter().flat_map(|burn| &burn.equilibrium) {
        let entry = highest.entry(gas.clone()).or_insert(none());
        if *amount > *entry {
            *entry = *amount;
        }
    }
    highest
}

/// See [`BurnFacts::vapour`].
fn vapour(
    burns: &[BurnState],
    powder: &BTreeMap<Element, Mass>,
    tables: &Tables,
) -> Option<(Element, Ratio)> {
    let burns = burns.iter().filter(|burn| !burn.equilibrium.is_empty());
    let gases: Vec<Vec<(&Species, AmountOfSubstance)>> = burns
        .map(|burn| {
            let amounts = burn.equilibrium.iter();
            amounts
                .filter_map(|(id, amount)| Some((tables.species_by_id(id)?, *amount)))
                .filter(|(species, _)| species.phase == Phase::Gas)
                .collect()
        })
        .collect();
    let metals = powder.iter().filter(|(element, _)| element.is_metal());
    let shares = metals.filter_map(|(&element, &mass)| {
        let in_gas = gases.iter().map(|gas| {
            let atoms = gas
                .iter()
                .map(|(species, amount)| species.formula.amount_of(element) * amount.get::<mole>());
            atoms.sum::<f64>() * element.atomic_weight()
        });
        let least = in_gas.min_by(f64::total_cmp)?;
        Some((element, Mass::new::<gram>(least) / mass))
    });
    shares.max_by(|a: &(Element, Ratio), b| a.1.value.total_cmp(&b.1.value))
}

/// Mass of each element in the powder, without those that leave as gas where they can.
fn product_elements(product: &ExpectedProduct) -> BTreeMap<Element, Mass> {
    let mut masses: BTreeMap<Element, Mass> = BTreeMap::new();
    for phase in &product.phases {
        for (&element, &count) in phase.formula.amounts() {
            if leaves_as_gas(element) {
                continue;
            }
            let grams = count * phase.amount.get::<mole>() * element.atomic_weight();
            *masses.entry(element).or_default() += Mass::new::<gram>(grams);
        }
    }
    masses
}

fn none() -> AmountOfSubstance {
    AmountOfSubstance::new::<mole>(0.0)
}
