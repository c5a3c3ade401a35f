//! From a batch and the tables to the numbers of the heat models, in coherent SI.

use super::IgnitionError;
use super::boiling::{Sorption, Water};
use super::calibration;
use super::charge::{Charge, Face, FuelLoss, Gel, Heater, Reaction, Wall};
use super::course::Setting;
use super::microwave::{Dielectric, Oven};
use super::slab::Settings;
use super::thermal_explosion::kissinger_pre_exponential;
use crate::batch::{Batch, HeatingPlan, water_molar_mass};
use crate::enthalpy::{WaterStateName, reactant_enthalpy, water_states};
use crate::flame::complete_combustion;
use crate::product::{expected_product, leaves_as_gas};
use crate::quantity::{Area, Ratio, ThermodynamicTemperature};
use crate::redox::valence;
use crate::tables::heating::{Floor, HeatingKind, HeatingWay};
use crate::tables::kinetics::FuelKinetics;
use crate::tables::{Role, Tables};
use uom::si::amount_of_substance::mole;
use uom::si::area::square_meter;
use uom::si::energy::joule;
use uom::si::mass::kilogram;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;

/// Depth of the solution when the file gives no vessel, m: a common dish filling of 10 mm
/// (common practice, 10 to 15 mm).
const USUAL_DEPTH: f64 = 0.010;
/// Least share of the reducing valence with which a fuel sets the peak of a mixture.
const LEADING_SHARE: f64 = 0.2;
/// Name of the floor when the file gives none.
const USUAL_FLOOR: &str = "borosilicate glass";
/// Sites per formula unit of an acid or ammonium nitrate: as a metal ion of charge 1.
const CHARGE_WITHOUT_METAL: f64 = 1.0;

/// Everything the models need for one batch on one heating way.
#[derive(Debug, Clone)]
pub(super) struct Setup {
    pub setting: Setting,
    pub charge: Charge,
    pub wall: Wall,
    pub heater: Heater,
    pub settings: Settings,
    /// Kinetic row of the leading fuel.
    pub fuel: FuelKinetics,
    /// Temperature (K) above which the floor is damaged.
    pub floor_highest: f64,
    /// Volume of the solution, m³.
    pub volume: f64,
    /// Whether the layer's area was assumed.
    pub assumed_area: bool,
    /// Share of the reducing valence that the volatile fuel carries.
    pub volatile_share: f64,
}

/// What does not depend on the heating way.
pub(super) struct Common<'a> {
    batch: &'a Batch,
    tables: &'a Tables,
    plan: HeatingPlan,
    charge: Charge,
    fuel: &'a FuelKinetics,
    volatile_share: f64,
    volume: f64,
    assumed_area: bool,
}

impl<'a> Common<'a> {
    /// Works out the charge.
    pub fn new(batch: &'a Batch, tables: &'a Tables) -> Result<Self, IgnitionError> {
        let plan = batch.heating.clone().unwrap_or_default();
        let volume = crate::gas::solution_volume(batch).get::<uom::si::volume::cubic_meter>();
        let area = match plan.diameter {
            Some(diameter) => {
                let radius = 0.5 * diameter.get::<uom::si::length::meter>();
                std::f64::consts::PI * radius * radius
            }
            None => volume / USUAL_DEPTH,
        };
        let fuels = Fuels::of(batch, tables)?;
        let charge = charge(batch, tables, &plan, &fuels, area)?;
        Ok(Self {
            batch,
            tables,
            assumed_area: plan.diameter.is_none(),
            plan,
            charge,
            fuel: fuels.leading,
            volatile_share: fuels.volatile.map_or(0.0, |(_, share, _)| share),
            volume,
        })
    }

    /// Name of the way that the file states.
    pub fn stated_way(&self) -> Option<&str> {
        self.plan.way.as_deref()
    }

    /// The set-up for one way; the file's power and temperatures count for the stated way only.
    pub fn setup(&self, way: &HeatingWay) -> Result<Setup, IgnitionError> {
        let own = self.plan.way.as_deref() == Some(way.id.as_str());
        let floor_name = self.plan.floor.as_deref().unwrap_or(USUAL_FLOOR);
        let floor =
            self.tables
                .heating
                .floor(floor_name)
                .ok_or_else(|| IgnitionError::UnknownFloor {
                    name: floor_name.to_owned(),
                })?;
        if way.kind == HeatingKind::Microwave && !floor.microwave {
            return Err(IgnitionError::MetalInMicrowave {
                floor: floor.id.clone(),
            });
        }
        let criteria = &self.tables.heating.criteria;
        let settings = Settings {
            time_limit: self.plan.time_limit.map_or(criteria.si("time_limit"), |t| {
                t.get::<uom::si::time::second>()
            }),
            runaway_rate: criteria.si("runaway_rate"),
            kept_share: criteria.si("kept_share"),
            ..Settings::default()
        };
        let heater = self.heater(way, own)?;
        Ok(Setup {
            setting: self.setting(way, own, &heater),
            charge: self.charge,
            wall: wall(floor, &self.plan, self.tables),
            heater,
            settings,
            fuel: self.fuel.clone(),
            floor_highest: floor.numbers.si("highest"),
            volume: self.volume,
            assumed_area: self.assumed_area,
            volatile_share: self.volatile_share,
        })
    }

    fn setting(&self, way: &HeatingWay, own: bool, heater: &Heater) -> Setting {
        let watts = |value: f64| Some(crate::quantity::Power::new::<uom::si::power::watt>(value));
        let hot = Some(ThermodynamicTemperature::new::<kelvin>(
            heater.bottom.source,
        ));
        match way.kind {
            HeatingKind::Microwave => {
                heater
                    .oven
                    .as_ref()
                    .map_or_else(Setting::default, |oven| Setting {
                        power: watts(oven.power),
                        duty: Some(Ratio::new::<ratio>(oven.duty)),
                        temperature: None,
                    })
            }
            HeatingKind::Plate | HeatingKind::Furnace | HeatingKind::Flame => Setting {
                temperature: hot,
                ..Setting::default()
            },
            HeatingKind::Lamp => {
                let own_power = self.plan.power.filter(|_| own).map(calibration::in_watt);
                Setting {
                    power: watts(own_power.unwrap_or(way.numbers.si("power"))),
                    ..Setting::default()
                }
            }
        }
    }

    fn heater(&self, way: &HeatingWay, own: bool) -> Result<Heater, IgnitionError> {
        let n = &way.numbers;
        let room = self.charge.room_temperature;
        let area = self.charge.area;
        let plan = &self.plan;
        let power = plan
            .power
            .filter(|_| own)
            .map_or(n.si_or("power", f64::NAN), calibration::in_watt);
        let source = plan
            .temperature
            .filter(|_| own)
            .map_or(n.si_or("temperature", f64::NAN), |t| t.get::<kelvin>());
        let face = |side: &str| Face {
            transfer: n.si(&format!("{side}_transfer")),
            emissivity: n.si(&format!("{side}_emissivity")),
            source: room,
            drop: 0.0,
            recovery: 0.0,
            largest_flux: f64::INFINITY,
            imposed_flux: 0.0,
        };
        let (mut bottom, mut top) = (face("bottom"), face("top"));
        let mut oven = None;
        match way.kind {
            HeatingKind::Microwave => oven = Some(self.oven(way, own, power)?),
            HeatingKind::Plate => {
                bottom.source = source;
                (bottom.drop, bottom.recovery) = (source - room, n.si("warm_up"));
                bottom.largest_flux = power / area;
                if let Some(test) = &plan.boil_test {
                    let plate = ThermodynamicTemperature::new::<kelvin>(source);
                    let found =
                        calibration::plate_transfer(test, plate, Area::new::<square_meter>(area))
                            .ok_or(IgnitionError::PlateTooCold { plate_k: source })?;
                    // The test gives plate to liquid; the model adds floor and boiling itself.
                    let overall =
                        found.get::<uom::si::heat_transfer::watt_per_square_meter_kelvin>();
                    let wall = self
                        .tables
                        .heating
                        .floor(plan.floor.as_deref().unwrap_or(USUAL_FLOOR));
                    let inner = wall.map_or(0.0, |f| {
                        f.numbers.si("thickness") / f.numbers.si("conductivity")
                            + 1.0 / self.tables.heating.water.si("boiling_transfer")
                    });
                    let resistance = 1.0 / overall - inner;
                    // A test faster than floor and boiling allow means better boiling, not a
                    // negative contact: keep a thousandth of the whole resistance.
                    bottom.transfer = 1.0 / resistance.max(1e-3 / overall);
                    // A plate that was warmed up in the test is taken as warm now.
                    (bottom.drop, bottom.recovery) = (0.0, 0.0);
                }
            }
            HeatingKind::Furnace => {
                for face in [&mut bottom, &mut top] {
                    face.source = source;
                    (face.drop, face.recovery) = (n.si("door_drop"), n.si("recovery"));
                }
            }
            HeatingKind::Flame => {
                bottom.source = source;
                bottom.largest_flux = power * n.si("vessel_share") / area;
            }
            HeatingKind::Lamp => {
                let spread = n.si("area_power") / n.si("power");
                top.imposed_flux = spread * power * n.si("absorbed_share");
            }
        }
        let water = &self.tables.heating.water;
        Ok(Heater {
            bottom,
            top,
            oven,
            evaporation: water.si("evaporation_still")
                + n.si("air_speed") * water.si("evaporation_wind"),
            air_steam: self.air_steam(),
        })
    }

    /// Steam pressure of room air at half of saturation, Pa.
    fn air_steam(&self) -> f64 {
        0.5 * self
            .charge
            .water
            .saturation_pressure(self.charge.room_temperature)
    }

    fn oven(&self, way: &HeatingWay, own: bool, rated: f64) -> Result<Oven, IgnitionError> {
        let n = &way.numbers;
        let plan = &self.plan;
        let power = plan
            .oven_test
            .as_ref()
            .map_or(rated, |t| calibration::in_watt(calibration::oven_power(t)));
        let d = &self.tables.heating.dielectric;
        let mut oven = Oven {
            power,
            duty: plan
                .setting
                .filter(|_| own)
                .map_or(n.si("duty"), calibration::bare),
            cycle: plan
                .cycle
                .filter(|_| own)
                .map_or(n.si("cycle"), |t| t.get::<uom::si::time::second>()),
            start_delay: n.si("start_delay"),
            load_shares: self.tables.heating.loads.clone(),
            load_factor: 1.0,
            gel_load: n.si("gel_load"),
            top_share: n.si("top_share"),
            dielectric: Dielectric {
                frequency: d.si("frequency"),
                water_static: d.si("water_static"),
                water_static_fall: d.si("water_static_fall"),
                water_infinite: d.si("water_infinite"),
                water_relaxation: d.si("water_relaxation"),
                relaxation_activation: d.si("relaxation_activation"),
                peak_conductivity: d.si("peak_conductivity"),
                conductivity_rise: d.si("conductivity_rise"),
                gel_permittivity: d.si("gel_permittivity"),
                gel_loss: d.si("gel_loss"),
            },
        };
        if let Some(test) = &plan.load_test {
            let volume = test.water.get::<kilogram>() / self.tables.heating.water.si("density");
            let share = Ratio::new::<ratio>(oven.load_share(volume));
            let output = crate::quantity::Power::new::<uom::si::power::watt>(power);
            let factor = calibration::bare(calibration::load_factor(test, output, share));
            if !(factor.is_finite() && factor > 0.0) {
                return Err(IgnitionError::LoadTest { factor });
            }
            oven.load_factor = factor;
        }
        Ok(oven)
    }

    /// Temperature above which the vessel may hurt, K.
    pub fn touch(&self) -> f64 {
        self.tables.heating.criteria.si("touch")
    }

    pub fn batch(&self) -> &'a Batch {
        self.batch
    }

    pub fn tables(&self) -> &'a Tables {
        self.tables
    }
}

/// The fuels of a batch as the kinetics see them.
struct Fuels<'a> {
    leading: &'a FuelKinetics,
    /// Row, share of the reducing valence, mass (kg) of the fuel that may leave.
    volatile: Option<(&'a FuelKinetics, f64, f64)>,
    /// Amount of dissolved fuel molecules, mol.
    amount: f64,
}

impl<'a> Fuels<'a> {
    fn of(batch: &Batch, tables: &'a Tables) -> Result<Self, IgnitionError> {
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

fn charge(
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
    let (mut metals, mut shift) = (0.0, 0.0);
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
                if !leaves_as_gas(metal.element) {
                    metals += atoms;
                    shift += atoms * tables.kinetics.shift(metal.element);
                }
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
        None => fuels.leading.numbers.si("peak") + if metals > 0.0 { shift / metals } else { 0.0 },
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

fn wall(floor: &Floor, plan: &HeatingPlan, tables: &Tables) -> Wall {
    let n = &floor.numbers;
    Wall {
        thickness: plan
            .floor_thickness
            .map_or(n.si("thickness"), |t| t.get::<uom::si::length::meter>()),
        thermal_conductivity: n.si("conductivity"),
        volumetric_heat_capacity: n.si("density") * n.si("heat_capacity"),
        boiling_transfer: tables.heating.water.si("boiling_transfer"),
    }
}
