//! The charge of the heat models from a batch: masses, water, binding sites, reaction, fuel loss.

use super::IgnitionError;
use super::boiling::{Sorption, Water};
use super::charge::{Charge, FuelLoss, Gel, Reaction};
use super::thermal_explosion::kissinger_pre_exponential;
use crate::batch::{Batch, HeatingPlan, water_molar_mass};
use crate::enthalpy::{WaterStateName, reactant_enthalpy, water_states};
use crate::flame::complete_combustion;
use crate::product::{expected_product, leaves_as_gas};
use crate::quantity::ThermodynamicTemperature;
use crate::redox::valence;
use crate::tables::kinetics::FuelKinetics;
use crate::tables::{Role, Tables};
use uom::si::amount_of_substance::mole;
use uom::si::energy::joule;
use uom::si::mass::kilogram;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;

/// Least share of the reducing valence with which a fuel sets the peak of a mixture.
const LEADING_SHARE: f64 = 0.2;
/// Sites per formula unit of an acid or ammonium nitrate: as a metal ion of charge 1.
const CHARGE_WITHOUT_METAL: f64 = 1.0;

/// The fuels of a batch as the kinetics see them.
pub(super) struct Fuels<'a> {
    pub(super) leading: &'a FuelKinetics,
    /// Row, share of the reducing valence, mass (kg) of the fuel that may leave.
    pub(super) volatile: Option<(&'a FuelKinetics, f64, f64)>,
    /// Amount of dissolved fuel molecules, mol.
    amount: f64,
}

impl<'a> Fuels<'a> {
    pub(super) fn of(batch: &Batch, tables: &'a Tables) -> Result<Self, IgnitionError> {
        let reducing = batch.redox()?.reducing.get::<mole>();
        let mut rows = Vec::new();
        let mut amount = 0.0;
        for ingredient in &batch.ingredients {
            let reactant = &ingredient.reactant;
            let own = valence(&reactant.formula, &batch.states)? * ingredient.amount.get::<mole>();
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
            rows.push((row, own / reducing, mass.get::<kilogram>()));
        }
        // The easiest fuel that matters starts the burn.
        let leading = rows
            .iter()
            .filter(|r| r.1 >= LEADING_SHARE)
            .min_by(|a, b| a.0.numbers.si("peak").total_cmp(&b.0.numbers.si("peak")))
            .or_else(|| rows.iter().max_by(|a, b| a.1.total_cmp(&b.1)))
            .ok_or(crate::redox::RedoxError::NoFuel)?;
        let volatile = rows
            .iter()
            .filter(|r| r.0.numbers.get("loss_share").is_some())
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|r| (r.0, r.1, r.2));
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
    let mut dry_mass = 0.0;
    let mut sites = 0.0;
    let per_charge = tables.kinetics.sorption.si("sites_per_charge");
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
    let free_water = water_mass(batch.solvent_water());
    let hydrate_water = water_mass(batch.crystal_water());
    if dry_mass <= 0.0 || free_water + hydrate_water <= 0.0 {
        return Err(IgnitionError::NoWater);
    }
    let sorption_row = &tables.kinetics.sorption;
    let set_water =
        (sorption_row.si("set_share") * hydrate_water / dry_mass).max(sorption_row.si("set_floor"));
    let water = &tables.heating.water;
    let gel = &tables.kinetics.gel;
    let froth = fuels.leading.numbers.si("froth").max(1.0);
    let room = plan
        .room
        .map_or(tables.heating.criteria.si("room_temperature"), |t| {
            t.get::<kelvin>()
        });
    let peak = match plan.peak {
        Some(measured) => measured.get::<kelvin>(),
        None => fuels.leading.numbers.si("peak") + mean_shift(batch, tables),
    };
    let antoine = antoine(water);
    Ok(Charge {
        dry_mass,
        free_water,
        hydrate_water,
        dry_heat_capacity: gel.si("heat_capacity"),
        water: Water {
            molar_mass: water.si("molar_mass"),
            liquid_heat_capacity: water.si("heat_capacity"),
            vapour_heat_capacity: water.si("vapour_heat_capacity"),
            latent_heat: water.si("latent_heat"),
            latent_heat_temperature: water.si("latent_heat_temperature"),
            density: water.si("density"),
            thermal_conductivity: water.si("conductivity"),
            antoine_a: antoine.0,
            antoine_b: antoine.1,
            antoine_c: antoine.2,
        },
        sorption: Sorption {
            ionic_sites: sites / dry_mass,
            molecules: fuels.amount / dry_mass,
            binding_energy: sorption_row.si("binding_energy"),
        },
        reaction: reaction(batch, tables, fuels, dry_mass, peak)?,
        fuel_loss: fuels.volatile.map(|(row, share, mass)| FuelLoss {
            valence_share: share,
            mass_share: mass / dry_mass,
            activation_energy: row.numbers.si("loss_activation_energy"),
            pre_exponential: row.numbers.si("loss_pre_exponential"),
            onset: row.numbers.si("loss_onset"),
            heat: row.numbers.si("loss_heat"),
            escape_share: row.numbers.si("loss_share"),
        }),
        gel: Gel {
            density: gel.si("density") / froth,
            thermal_conductivity: gel.si("conductivity") / froth,
            syrup_conductivity: gel.si("syrup_conductivity"),
            set_water,
        },
        area,
        start_temperature: room,
        room_temperature: room,
        pressure: batch.conditions.pressure.get::<uom::si::pressure::pascal>(),
    })
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
fn antoine(water: &crate::tables::numbers::Numbers) -> (f64, f64, f64) {
    let ln10 = std::f64::consts::LN_10;
    let torr = crate::quantity::Pressure::new::<uom::si::pressure::torr>(1.0)
        .get::<uom::si::pressure::pascal>();
    let zero =
        ThermodynamicTemperature::new::<uom::si::thermodynamic_temperature::degree_celsius>(0.0);
    (
        ln10 * water.si("antoine_a") + torr.ln(),
        ln10 * water.si("antoine_b"),
        water.si("antoine_c") - zero.get::<kelvin>(),
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
    let burn = complete_combustion(
        batch,
        &product,
        dried,
        &reactants,
        &reactants,
        batch.conditions.air_drawn_in,
        tables,
    )?;
    let energy = fuels.leading.numbers.si("activation_energy");
    let gel = &tables.kinetics.gel;
    Ok(Reaction {
        activation_energy: energy,
        pre_exponential: kissinger_pre_exponential(energy, peak, tables.kinetics.scan.si("rate")),
        peak,
        heat: burn.heat_released.get::<joule>() / dry_mass,
        gas_fraction: (1.0 - product.mass.get::<kilogram>() / dry_mass).clamp(0.0, 1.0),
        gas_heat_capacity: gel.si("gas_heat_capacity"),
        product_heat_capacity: gel.si("product_heat_capacity"),
        equivalence_ratio: batch.redox()?.equivalence_ratio.get::<ratio>(),
    })
}
