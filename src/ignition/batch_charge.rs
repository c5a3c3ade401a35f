//! The charge of the heat models from a batch: masses, water, binding sites, reaction, fuel loss.

use super::boiling::{Sorption, Water};
use super::charge::{Charge, Drying, FuelLoss, Gel, LossStep, NitrateLoss, Reaction};
use super::error::IgnitionError;
use super::leaving::{Leaving, POOLS, Pool};
use super::thermal_explosion::kissinger_pre_exponential;
use crate::batch::{Batch, HeatingPlan, water_molar_mass};
use crate::enthalpy::{EnthalpyError, WaterStateName, reactant_enthalpy, water_states};
use crate::flame::{Start, complete_combustion};
use crate::formula::{Element, Formula};
use crate::product::{expected_product, leaves_as_gas};
use crate::quantity::units::{
    degree_celsius, joule, kelvin, kilogram, kilogram_per_mole, mole, pascal, ratio, torr,
};
use crate::quantity::{REFERENCE_TEMPERATURE, ThermodynamicTemperature};
use crate::redox::{OxidationStates, RedoxError, valence};
use crate::tables::cited::Cited;
use crate::tables::heating::WaterProperties;
use crate::tables::kinetics::{FUEL_STEPS, FuelKinetics, FuelStep, StepGas};
use crate::tables::{Reactant, Role, Tables};

/// Least share of the reducing valence with which a fuel sets the peak of a mixture.
const LEADING_SHARE: f64 = 0.2;
/// Oxidising valence of a nitrate ion whose metal keeps its state: N +5 to 0.
const VALENCE_OF_NITRATE: f64 = 5.0;
/// Sites per formula unit of an acid or ammonium nitrate: as a metal ion of charge 1.
const CHARGE_WITHOUT_METAL: f64 = 1.0;

/// The fuels of a batch as the kinetics see them.
pub(super) struct Fuels<'a> {
    pub(super) leading: &'a FuelKinetics,
    /// The fuel that may leave.
    pub(super) volatile: Option<VolatileFuel<'a>>,
    /// Amount of dissolved fuel molecules, mol.
    amount: f64,
}

/// A fuel that may leave before it burns.
#[derive(Clone, Copy)]
pub(super) struct VolatileFuel<'a> {
    steps: [Option<Step<'a>>; FUEL_STEPS],
    /// Id of the reactant.
    pub(super) id: &'a str,
    /// Share of the reducing valence.
    pub(super) share: f64,
    /// Mass, kg.
    mass: f64,
    /// Amount, mol.
    pub(super) amount: f64,
}

/// A step of its decomposition.
#[derive(Clone, Copy)]
struct Step<'a> {
    row: &'a FuelStep,
    /// Share of the fuel's valence that leaves in it, and its half width.
    escape: (f64, f64),
    /// Heat that stays in what does not leave, J per mole of fuel.
    stored: f64,
}

impl VolatileFuel<'_> {
    fn steps(&self) -> impl Iterator<Item = &Step<'_>> {
        self.steps.iter().flatten()
    }

    /// Share of the fuel's valence that leaves if all of it decomposes, and its half width.
    pub(super) fn escape(&self) -> (f64, f64) {
        let add = |a: (f64, f64), b: (f64, f64)| (a.0 + b.0, a.1 + b.1);
        self.steps().map(|step| step.escape).fold((0.0, 0.0), add)
    }
}

/// The steps of a fuel with `own` reducing valence per molecule.
///
/// Of the heat q that a step takes, its gases carry off Σ n ΔcH(gas) − s ΔcH(fuel), where s is the
/// share of the fuel's valence in them; the rest stays in what does not leave (Hess's law). Heats of
/// combustion ΔcH to CO2, steam and nitrogen.
fn steps<'a>(
    tables: &'a Tables,
    fuel: &'a Reactant,
    own: f64,
) -> Result<[Option<Step<'a>>; FUEL_STEPS], RedoxError> {
    let mut steps = [None; FUEL_STEPS];
    let states = OxidationStates::conventional();
    let whole = fuel
        .formation_enthalpy
        .as_ref()
        .and_then(|enthalpy| burning_heat(&fuel.formula.anhydrous(), enthalpy.si(), tables));
    let molar_mass = fuel.formula.anhydrous().molar_mass();
    let molar_mass = molar_mass.get::<kilogram_per_mole>();
    for (place, row) in steps.iter_mut().zip(tables.kinetics.steps_of(&fuel.id)) {
        let mut escape = (0.0, 0.0);
        let mut carried = Some(0.0);
        for gas in &row.gases {
            let share = valence(&gas.formula, &states)? / own;
            escape.0 += share * gas.number.si();
            escape.1 += share * gas.number.si_uncertainty();
            carried = carried
                .zip(whole)
                .zip(gas_heat(gas, tables))
                .map(|((sum, whole), heat)| sum + gas.number.si() * (heat - share * whole));
        }
        // Without the enthalpies all heat is taken to leave, as if the gases had carried it off.
        let stored = carried.map_or(0.0, |carried| row.heat.si() * molar_mass - carried);
        let stored = stored.max(0.0);
        *place = Some(Step {
            row,
            escape,
            stored,
        });
    }
    Ok(steps)
}

/// Heat of combustion (J/mol) to CO2, steam and nitrogen of a substance with this formula and
/// formation enthalpy (J/mol).
fn burning_heat(formula: &Formula, formation: f64, tables: &Tables) -> Option<f64> {
    let cold = |id: &str| Some(tables.species_by_id(id)?.h(REFERENCE_TEMPERATURE));
    let products = formula.amount_of(Element::CARBON) * cold("CO2")?
        + 0.5 * formula.amount_of(Element::HYDROGEN) * cold("H2O")?;
    Some(formation - products)
}

/// The same of a gas that leaves in a step.
fn gas_heat(gas: &StepGas, tables: &Tables) -> Option<f64> {
    let own = gas.formation_enthalpy.as_ref().map(Cited::si);
    let formation = own.or_else(|| {
        let species = tables.species_by_id(&gas.formula.to_string())?;
        Some(species.h(REFERENCE_TEMPERATURE))
    })?;
    burning_heat(&gas.formula, formation, tables)
}

impl<'a> Fuels<'a> {
    pub(super) fn of(batch: &'a Batch, tables: &'a Tables) -> Result<Self, IgnitionError> {
        let reducing = batch.redox()?.reducing.get::<mole>();
        let mut rows = Vec::new();
        let mut amount = 0.0;
        for ingredient in &batch.ingredients {
            let reactant = &ingredient.reactant;
            let per_molecule = valence(&reactant.formula, &batch.states)?;
            let own = per_molecule * ingredient.amount.get::<mole>();
            if reactant.role == Role::Fuel {
                amount += ingredient.amount.get::<mole>();
            }
            if own <= 0.0 {
                continue;
            }
            let row =
                tables
                    .kinetics
                    .fuel(&reactant.id)
                    .ok_or_else(|| IgnitionError::NoKinetics {
                        fuel: reactant.name.clone(),
                    })?;
            let mass = ingredient.amount * reactant.formula.anhydrous().molar_mass();
            let share = own / reducing;
            let steps = steps(tables, reactant, per_molecule)?;
            let volatile = steps[0].is_some().then_some(VolatileFuel {
                steps,
                id: &reactant.id,
                share,
                mass: mass.get::<kilogram>(),
                amount: ingredient.amount.get::<mole>(),
            });
            rows.push((row, share, volatile));
        }
        // The easiest fuel that matters starts the burn.
        let leading = rows
            .iter()
            .filter(|r| r.1 >= LEADING_SHARE)
            .min_by(|a, b| a.0.peak.si().total_cmp(&b.0.peak.si()))
            .or_else(|| rows.iter().max_by(|a, b| a.1.total_cmp(&b.1)))
            .ok_or(crate::redox::RedoxError::NoFuel)?;
        let volatile = rows
            .iter()
            .filter_map(|r| r.2)
            .max_by(|a, b| a.share.total_cmp(&b.share));
        Ok(Self {
            leading: leading.0,
            volatile,
            amount,
        })
    }
}

/// The charge; `area` is that of the layer in m².
pub(super) fn charge(
    batch: &Batch,
    tables: &Tables,
    plan: &HeatingPlan,
    fuels: &Fuels<'_>,
    area: f64,
) -> Result<Charge, IgnitionError> {
    let water_mass =
        |n: crate::quantity::AmountOfSubstance| (n * water_molar_mass()).get::<kilogram>();
    let (dry_mass, sites) = dry_and_sites(batch, tables);
    let free_water = water_mass(batch.solvent_water());
    let hydrate_water = water_mass(batch.crystal_water());
    if dry_mass <= 0.0 || free_water + hydrate_water <= 0.0 {
        return Err(IgnitionError::NoWater);
    }
    let sorption_row = &tables.kinetics.sorption;
    let set_water =
        (sorption_row.set_share.si() * hydrate_water / dry_mass).max(sorption_row.set_floor.si());
    let water = &tables.heating.water;
    let gel = &tables.kinetics.gel;
    let froth = fuels.leading.froth.si().max(1.0);
    let room = plan
        .room
        .map_or(tables.heating.criteria.room_temperature.si(), |t| {
            t.get::<kelvin>()
        });
    let peak = match plan.peak {
        Some(measured) => measured.get::<kelvin>(),
        None => fuels.leading.peak.si() + mean_shift(batch, tables),
    };
    let antoine = antoine(water);
    Ok(Charge {
        dry_mass,
        free_water,
        hydrate_water,
        dry_heat_capacity: gel.heat_capacity.si(),
        water: Water {
            molar_mass: water.molar_mass.si(),
            liquid_heat_capacity: water.heat_capacity.si(),
            vapour_heat_capacity: water.vapour_heat_capacity.si(),
            latent_heat: water.latent_heat.si(),
            latent_heat_temperature: water.latent_heat_temperature.si(),
            density: water.density.si(),
            thermal_conductivity: water.conductivity.si(),
            antoine_a: antoine.0,
            antoine_b: antoine.1,
            antoine_c: antoine.2,
        },
        sorption: Sorption {
            ionic_sites: sites / dry_mass,
            molecules: fuels.amount / dry_mass,
            binding_energy: sorption_row.binding_energy.si(),
        },
        reaction: reaction(batch, tables, fuels, dry_mass, peak)?,
        fuel_loss: fuels.volatile.map(|fuel| FuelLoss {
            valence_share: fuel.share,
            mass_share: fuel.mass / dry_mass,
            leaving: fuel_leaving(batch, tables, &fuel),
            steps: loss_steps(&fuel),
        }),
        nitrate_loss: nitrate_loss(batch, tables, fuels, dry_mass)?,
        drying: drying(tables),
        gel: Gel {
            density: gel.density.si() / froth,
            thermal_conductivity: gel.conductivity.si() / froth,
            syrup_conductivity: gel.syrup_conductivity.si(),
            set_water,
        },
        area,
        start_temperature: room,
        room_temperature: room,
        pressure: batch.conditions.pressure.get::<pascal>(),
    })
}

/// Dry mass of the batch in kg, and its sites that bind water in mol.
fn dry_and_sites(batch: &Batch, tables: &Tables) -> (f64, f64) {
    let mut dry_mass = 0.0;
    let mut sites = 0.0;
    let per_charge = tables.kinetics.sorption.sites_per_charge.si();
    for ingredient in batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role != Role::Solvent)
    {
        let reactant = &ingredient.reactant;
        let n = ingredient.amount.get::<mole>();
        dry_mass +=
            (ingredient.amount * reactant.formula.anhydrous().molar_mass()).get::<kilogram>();
        match &reactant.metal {
            Some(metal) => {
                let atoms = n * reactant.formula.amount_of(metal.element);
                sites += per_charge * atoms * f64::from(metal.oxidation_state).abs();
            }
            None if matches!(reactant.role, Role::Oxidiser | Role::Acid) => {
                sites += per_charge * n * CHARGE_WITHOUT_METAL;
            }
            None => {}
        }
    }
    (dry_mass, sites)
}

/// Shift of the peak (K) by the metals, each by its share of their amount.
pub(super) fn mean_shift(batch: &Batch, tables: &Tables) -> f64 {
    let (mut metals, mut shift) = (0.0, 0.0);
    for ingredient in &batch.ingredients {
        let reactant = &ingredient.reactant;
        let metal = reactant.metal.as_ref();
        if let Some(metal) = metal.filter(|metal| !leaves_as_gas(metal.element)) {
            let atoms = ingredient.amount.get::<mole>() * reactant.formula.amount_of(metal.element);
            metals += atoms;
            shift += atoms * tables.kinetics.shift(metal.element);
        }
    }
    if metals > 0.0 { shift / metals } else { 0.0 }
}

/// Antoine constants for ln(p/Pa) and K from those for log10(p/mmHg) and °C.
fn antoine(water: &WaterProperties) -> (f64, f64, f64) {
    let ln10 = std::f64::consts::LN_10;
    let one_torr = crate::quantity::Pressure::new::<torr>(1.0).get::<pascal>();
    let zero = ThermodynamicTemperature::new::<degree_celsius>(0.0);
    (
        ln10 * water.antoine_a.si() + one_torr.ln(),
        ln10 * water.antoine_b.si(),
        water.antoine_c.si() - zero.get::<kelvin>(),
    )
}

/// The reaction of the dried batch: heat with water as steam, gas share, kinetics.
fn reaction(
    batch: &Batch,
    tables: &Tables,
    fuels: &Fuels<'_>,
    dry_mass: f64,
    peak: f64,
) -> Result<Reaction, IgnitionError> {
    let product = expected_product(batch, tables)?;
    let states = water_states(batch, None);
    let dried = states
        .iter()
        .find(|state| state.name == WaterStateName::Dried)
        .ok_or(IgnitionError::NoWater)?;
    let reactants = reactant_enthalpy(batch, dried, tables)?;
    let start = Start {
        batch,
        product: &product,
        state: dried,
        reactants: &reactants,
        dried: &reactants,
        air: batch.conditions.air_drawn_in,
    };
    let burn = complete_combustion(&start, tables)?;
    let energy = fuels.leading.activation_energy.si();
    let gel = &tables.kinetics.gel;
    Ok(Reaction {
        activation_energy: energy,
        pre_exponential: kissinger_pre_exponential(energy, peak, tables.kinetics.scan.rate.si()),
        peak,
        heat: burn.heat_released.get::<joule>() / dry_mass,
        gas_fraction: (1.0 - product.mass.get::<kilogram>() / dry_mass).clamp(0.0, 1.0),
        gas_heat_capacity: gel.gas_heat_capacity.si(),
        product_heat_capacity: gel.product_heat_capacity.si(),
        equivalence_ratio: batch.redox()?.equivalence_ratio.get::<ratio>(),
    })
}

/// What the metals of a batch hold of a fuel.
struct Held {
    /// Amount of fuel that they can hold, mol.
    capacity: f64,
    /// Temperature (K) up to which all of them do.
    until: f64,
}

fn held(batch: &Batch, tables: &Tables, fuel: &str) -> Held {
    let mut held = Held {
        capacity: 0.0,
        until: f64::INFINITY,
    };
    for (element, atoms, _) in metals(batch) {
        if let Some(hold) = tables.gel.hold(fuel, element) {
            held.capacity += hold.per_metal.si() * atoms;
            held.until = held.until.min(hold.until.si());
        }
    }
    held
}

/// Metal, amount of it and of its nitrate (mol) of each oxidiser.
fn metals(batch: &Batch) -> impl Iterator<Item = (Element, f64, f64)> + '_ {
    batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role == Role::Oxidiser)
        .filter_map(|ingredient| {
            let reactant = &ingredient.reactant;
            let n = ingredient.amount.get::<mole>();
            let element = reactant.metal.as_ref()?.element;
            let nitrogen = Element::from_symbol("N")?;
            Some((
                element,
                n * reactant.formula.amount_of(element),
                n * reactant.formula.amount_of(nitrogen),
            ))
        })
}

/// The steps of a fuel, each an equal part of its decomposition.
fn loss_steps(fuel: &VolatileFuel<'_>) -> [LossStep; FUEL_STEPS] {
    let span = 1.0 / fuel.steps().count() as f64;
    fuel.steps.map(|step| {
        step.map_or(LossStep::default(), |step| LossStep {
            span,
            heat: step.row.heat.si(),
            escape_share: step.escape.0,
            stored: step.stored * fuel.amount / fuel.mass,
        })
    })
}

/// The free part of a fuel goes step by step, each from its onset on, the held part once it is set
/// free.
fn fuel_leaving(batch: &Batch, tables: &Tables, fuel: &VolatileFuel<'_>) -> Leaving {
    let held = held(batch, tables, fuel.id);
    let bound = (held.capacity / fuel.amount).clamp(0.0, 1.0);
    let span = 1.0 / fuel.steps().count() as f64;
    let mut leaving = Leaving::default();
    let mut places = leaving.pools.iter_mut();
    for step in fuel.steps() {
        let onset = step.row.onset.si();
        for (share, onset) in [(1.0 - bound, onset), (bound, onset.max(held.until))] {
            if let Some(place) = places.next().filter(|_| share > 0.0) {
                *place = Pool {
                    share: share * span,
                    activation_energy: step.row.activation_energy.si(),
                    pre_exponential: step.row.pre_exponential.si(),
                    onset,
                };
            }
        }
    }
    leaving
}

/// Loss of nitrate by metal. A metal that holds fuel keeps its nitrate until it sets the fuel
/// free. Of more pools than the model follows those that go last stay.
fn nitrate_loss(
    batch: &Batch,
    tables: &Tables,
    fuels: &Fuels<'_>,
    dry_mass: f64,
) -> Result<NitrateLoss, IgnitionError> {
    let gel = &tables.gel;
    let rate = tables.kinetics.scan.rate.si();
    let energy = gel.nitrate_loss.activation_energy.si();
    let total: f64 = metals(batch).map(|(_, _, nitrate)| nitrate).sum();
    if total <= 0.0 {
        return Ok(NitrateLoss::default());
    }
    let mut pools: Vec<(f64, Pool)> = Vec::new();
    for (element, _, nitrate) in metals(batch) {
        let Some(step) = gel.nitrate(element) else {
            continue;
        };
        let hold = fuels
            .volatile
            .and_then(|fuel| Some((fuel, gel.hold(fuel.id, element)?)));
        let bound = hold.map_or(0.0, |(fuel, _)| {
            (fuel.amount / held(batch, tables, fuel.id).capacity).min(1.0)
        });
        let whole = nitrate / total * step.share.si() * gel.nitrate_loss.in_gel.si();
        let until = hold.map_or(0.0, |(_, hold)| hold.until.si());
        for (share, onset) in [(1.0 - bound, 0.0), (bound, until)] {
            if share * whole > 0.0 {
                let pool = Pool {
                    share: share * whole,
                    activation_energy: energy,
                    pre_exponential: kissinger_pre_exponential(energy, step.peak.si(), rate),
                    onset,
                };
                pools.push((step.peak.si().max(onset), pool));
            }
        }
    }
    pools.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut leaving = Leaving::default();
    for (place, (_, pool)) in leaving.pools.iter_mut().zip(pools.into_iter().take(POOLS)) {
        *place = pool;
    }
    let oxidising = batch.redox()?.oxidising.get::<mole>();
    Ok(NitrateLoss {
        valence_share: (VALENCE_OF_NITRATE * total / oxidising).min(1.0),
        leaving,
        heat: gel.nitrate_loss.heat.si() * total / dry_mass,
        stored: nitrate_gain(tables)?.max(0.0) * total / dry_mass,
    })
}

/// Enthalpy that the rest gains for a mole of nitrate that leaves as NO2 and O2, J/mol: the heat
/// of the step less what the gas takes along.
pub(crate) fn nitrate_gain(tables: &Tables) -> Result<f64, EnthalpyError> {
    let gas = tables.species_by_id("NO2");
    let gas = gas.ok_or_else(|| EnthalpyError::NoEnthalpy {
        substance: "nitrogen dioxide".to_owned(),
    })?;
    Ok(tables.gel.nitrate_loss.heat.si() - gas.h(REFERENCE_TEMPERATURE))
}

/// Amount of nitrate (mol) of the metals.
pub(super) fn nitrate_amount(batch: &Batch) -> f64 {
    metals(batch).map(|(_, _, nitrate)| nitrate).sum()
}

fn drying(tables: &Tables) -> Drying {
    let row = &tables.gel.drying;
    let energy = row.activation_energy.si();
    let rate = tables.kinetics.scan.rate.si();
    Drying {
        activation_energy: energy,
        pre_exponential: kissinger_pre_exponential(energy, row.peak.si(), rate),
    }
}
