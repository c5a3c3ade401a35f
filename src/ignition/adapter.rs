//! From a batch and the tables to the numbers of the heat models, in coherent SI.

use super::batch_charge::{Fuels, charge, nitrate_amount};
use super::calibration;
use super::charge::{Charge, Face, Growth, Heater, Wall};
use super::error::IgnitionError;
use super::geometry::Areas;
use super::microwave::{Dielectric, Oven};
use super::setting::Setting;
use super::slab::Settings;
use crate::batch::{Batch, HeatingPlan};
use crate::quantity::units::{
    cubic_meter, joule_per_kilogram_kelvin, kelvin, kilogram, kilogram_per_cubic_meter, meter,
    ratio, second, square_meter, watt, watt_per_meter_kelvin, watt_per_square_meter_kelvin,
};
use crate::quantity::{Area, Ratio, ThermodynamicTemperature, Volume};
use crate::tables::Tables;
use crate::tables::heating::{Heater as WayHeater, HeatingKind, HeatingWay};
use crate::tables::kinetics::FuelKinetics;

/// Depth of the solution when the file gives no vessel, m: a common dish filling of 10 mm
/// (common practice, 10 to 15 mm).
const USUAL_DEPTH: f64 = 0.010;
/// Half width of a power or contact after a test with water, and of a measured peak in K: common
/// practice, a stopwatch and a thermometer.
const TESTED: f64 = 0.1;
const MEASURED_PEAK: f64 = 5.0;
/// Rise (K) of the dry layer in one cycle of an oven, if it took up all the power, below which the
/// power counts with its mean: well under what the peak of the gel is known to.
const FELT_RIPPLE: f64 = 2.0;
/// Name of the floor when the file gives none.
const USUAL_FLOOR: &str = "borosilicate glass";

/// Everything the models need for one batch on one heating way.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Setup {
    pub kind: HeatingKind,
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
    /// Outermost share of the depth that counts as floor or surface.
    pub outer_face: f64,
    /// How well the inputs are known.
    pub doubt: Doubt,
    /// What may leave as gas before the burn.
    pub volatile: Volatile,
}

/// Half widths of the inputs' bands: relative, temperatures in K, energies in J/mol.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Doubt {
    pub activation_energy: f64,
    pub peak: f64,
    pub metal_shift: f64,
    pub drying_peak: f64,
    pub fuel_peak: f64,
    pub escape: f64,
    pub nitrate_peak: f64,
    pub nitrate_in_gel: f64,
    pub power: f64,
    pub contact: f64,
    pub source: f64,
    pub depth: f64,
    pub froth: f64,
    pub set_water: f64,
    /// Heating rate that the peaks belong to, K/s.
    pub scan: f64,
}

/// Amounts (mol) of what may leave before the burn.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Volatile {
    /// Reactant id and amount of the volatile fuel.
    pub fuel: Option<(String, f64)>,
    /// Nitrate of the metals.
    pub nitrate: f64,
}

/// What does not depend on the heating way.
pub(super) struct Common<'a> {
    batch: &'a Batch,
    tables: &'a Tables,
    plan: HeatingPlan,
    charge: Charge,
    fuel: &'a FuelKinetics,
    volatile: Volatile,
    doubt: Doubt,
    volume: f64,
    areas: Areas,
    growth: Growth,
    assumed_area: bool,
}

impl<'a> Common<'a> {
    /// Works out the charge.
    pub fn new(batch: &'a Batch, tables: &'a Tables) -> Result<Self, IgnitionError> {
        let plan = batch.heating.clone().unwrap_or_default();
        let volume = crate::gas::solution_volume(batch).get::<cubic_meter>();
        let (areas, assumed_area) = layer_areas(batch, &plan, volume);
        let fuels = Fuels::of(batch, tables)?;
        let charge = charge(batch, tables, &plan, &fuels, areas.section)?;
        let doubt = doubt(tables, &plan, &fuels, assumed_area);
        let growth = growth(batch, &plan, &charge);
        Ok(Self {
            growth,
            batch,
            tables,
            assumed_area,
            plan,
            charge,
            fuel: fuels.leading,
            volatile: Volatile {
                fuel: fuels.volatile.map(|f| (f.id.to_owned(), f.amount)),
                nitrate: nitrate_amount(batch),
            },
            doubt,
            volume,
            areas,
        })
    }

    /// Name of the way that the file states.
    pub fn stated_way(&self) -> Option<&str> {
        self.plan.way.as_deref()
    }

    /// The set-up for one way; the file's power and temperatures count for the stated way only.
    pub fn setup(&self, way: &HeatingWay) -> Result<Setup, IgnitionError> {
        let own = self.plan.way.as_deref() == Some(way.id.as_str());
        let floor = self.floor()?;
        if way.kind() == HeatingKind::Microwave && floor.metal {
            return Err(IgnitionError::MetalInMicrowave { floor: floor.name });
        }
        let criteria = &self.tables.heating.criteria;
        let settings = Settings {
            time_limit: self
                .plan
                .time_limit
                .map_or(criteria.time_limit.si(), |t| t.get::<second>()),
            runaway_rate: criteria.runaway_rate.si(),
            kept_share: criteria.kept_share.si(),
            ..Settings::default()
        };
        let heater = self.heater(way, own)?;
        Ok(Setup {
            outer_face: criteria.outer_face.si(),
            kind: way.kind(),
            setting: self.setting(way, own, &heater),
            charge: self.charge,
            wall: floor.wall,
            heater,
            settings,
            fuel: self.fuel.clone(),
            floor_highest: floor.highest,
            volume: self.volume,
            assumed_area: self.assumed_area,
            doubt: self.doubt_on(own),
            volatile: self.volatile.clone(),
        })
    }

    /// The floor of the vessel: the one under [heating], else the named vessel's, else glass.
    fn floor(&self) -> Result<FloorOfVessel, IgnitionError> {
        let (material, usual) = match (&self.plan.floor, &self.batch.vessel) {
            (None, Some(choice)) => (&choice.vessel.material, choice.vessel.wall.get::<meter>()),
            (name, _) => {
                let name = name.as_deref().unwrap_or(USUAL_FLOOR);
                let row = self.tables.heating.floor(name);
                let found = row.and_then(|row| {
                    let material = self.tables.safety.vessels.material(&row.id)?;
                    Some((material, row.thickness.si()))
                });
                found.ok_or_else(|| IgnitionError::UnknownFloor {
                    name: name.to_owned(),
                })?
            }
        };
        let density = material.density.value.get::<kilogram_per_cubic_meter>();
        let capacity = &material.heat_capacity.value;
        let conductivity = &material.thermal_conductivity.value;
        let thickness = self.plan.floor_thickness.map(|t| t.get::<meter>());
        Ok(FloorOfVessel {
            name: material.name.clone(),
            metal: material.metal,
            highest: material.highest_wall.value.get::<kelvin>(),
            wall: Wall {
                thickness: thickness.unwrap_or(usual),
                thermal_conductivity: conductivity.get::<watt_per_meter_kelvin>(),
                volumetric_heat_capacity: density * capacity.get::<joule_per_kilogram_kelvin>(),
                boiling_transfer: self.tables.heating.water.boiling_transfer.si(),
            },
        })
    }

    fn setting(&self, way: &HeatingWay, own: bool, heater: &Heater) -> Setting {
        let watts = |value: f64| Some(crate::quantity::Power::new::<watt>(value));
        let hot = Some(ThermodynamicTemperature::new::<kelvin>(
            heater.bottom.source,
        ));
        match &way.heater {
            WayHeater::Microwave { .. } => {
                heater
                    .oven
                    .as_ref()
                    .map_or_else(Setting::default, |oven| Setting {
                        power: watts(oven.power),
                        duty: Some(Ratio::new::<ratio>(oven.duty)),
                        temperature: None,
                    })
            }
            WayHeater::Plate { .. } | WayHeater::Furnace { .. } | WayHeater::Flame { .. } => {
                Setting {
                    temperature: hot,
                    ..Setting::default()
                }
            }
            WayHeater::Lamp { power, .. } => {
                let own_power = self.plan.power.filter(|_| own).map(calibration::watts);
                Setting {
                    power: watts(own_power.unwrap_or(power.si())),
                    ..Setting::default()
                }
            }
        }
    }

    fn heater(&self, way: &HeatingWay, own: bool) -> Result<Heater, IgnitionError> {
        let room = self.charge.room_temperature;
        let area = self.charge.area;
        let own_power = self.plan.power.filter(|_| own).map(calibration::watts);
        let stated = self.plan.temperature.filter(|_| own);
        let stated = stated.map(|t| t.get::<kelvin>());
        let face = |transfer: f64, emissivity: f64| Face {
            transfer,
            emissivity,
            source: room,
            drop: 0.0,
            recovery: 0.0,
            largest_flux: f64::INFINITY,
            imposed_flux: 0.0,
        };
        let mut bottom = face(way.bottom_transfer.si(), way.bottom_emissivity.si());
        let mut top = face(way.top_transfer.si(), way.top_emissivity.si());
        Areas::scale(&mut top, self.areas.surface);
        let mut oven = None;
        let mut growth = self.growth;
        match &way.heater {
            WayHeater::Microwave { .. } => oven = self.oven(way, own)?,
            WayHeater::Plate {
                temperature,
                power,
                warm_up,
            } => {
                // A plate touches the bottom alone, however high the froth stands.
                growth.bottom = 1.0;
                bottom.source = stated.unwrap_or(temperature.si());
                (bottom.drop, bottom.recovery) = (bottom.source - room, warm_up.si());
                bottom.largest_flux = own_power.unwrap_or(power.si()) / area;
                self.areas.on_plate(&mut bottom);
                self.apply_boil_test(&mut bottom)?;
            }
            WayHeater::Furnace {
                temperature,
                door_drop,
                recovery,
            } => {
                Areas::scale(&mut bottom, self.areas.wetted);
                for face in [&mut bottom, &mut top] {
                    face.source = stated.unwrap_or(temperature.si());
                    (face.drop, face.recovery) = (door_drop.si(), recovery.si());
                }
            }
            WayHeater::Flame {
                temperature,
                power,
                vessel_share,
            } => {
                bottom.source = stated.unwrap_or(temperature.si());
                let power = own_power.unwrap_or(power.si());
                Areas::scale(&mut bottom, self.areas.wetted);
                bottom.largest_flux = power * vessel_share.si() / area;
            }
            WayHeater::Lamp {
                power,
                area_power,
                absorbed_share,
            } => {
                let spread = area_power.si() / power.si();
                let power = own_power.unwrap_or(power.si());
                top.imposed_flux = spread * power * absorbed_share.si() * self.areas.surface;
            }
        }
        let water = &self.tables.heating.water;
        Ok(Heater {
            bottom,
            top,
            growth,
            oven,
            evaporation: self.areas.surface
                * (water.evaporation_still.si() + way.air_speed.si() * water.evaporation_wind.si()),
            air_steam: self.air_steam(),
        })
    }

    /// Puts the user's boil test, if there is one, in place of the plate's usual contact.
    fn apply_boil_test(&self, bottom: &mut Face) -> Result<(), IgnitionError> {
        let Some(test) = &self.plan.boil_test else {
            return Ok(());
        };
        let source = bottom.source;
        let plate = ThermodynamicTemperature::new::<kelvin>(source);
        let area = Area::new::<square_meter>(self.charge.area);
        let found = calibration::plate_transfer(test, plate, area)
            .ok_or(IgnitionError::PlateTooCold { plate_k: source })?;
        // The test gives plate to liquid; the model adds floor and boiling itself.
        let overall = found.get::<watt_per_square_meter_kelvin>();
        let wall = self.floor()?.wall;
        let inner = wall.thickness / wall.thermal_conductivity + 1.0 / wall.boiling_transfer;
        let resistance = 1.0 / overall - inner;
        // A test faster than floor and boiling allow means better boiling, not a
        // negative contact: keep a thousandth of the whole resistance.
        bottom.transfer = 1.0 / resistance.max(1e-3 / overall);
        bottom.emissivity = 0.0;
        // A plate that was warmed up in the test is taken as warm now.
        (bottom.drop, bottom.recovery) = (0.0, 0.0);
        Ok(())
    }

    /// Steam pressure of room air at half of saturation, Pa.
    fn air_steam(&self) -> f64 {
        0.5 * self
            .charge
            .water
            .saturation_pressure(self.charge.room_temperature)
    }

    /// The oven with the user's setting and tests.
    fn oven(&self, way: &HeatingWay, own: bool) -> Result<Option<Oven>, IgnitionError> {
        let WayHeater::Microwave {
            power,
            duty,
            cycle,
            start_delay,
            top_share,
            gel_load,
        } = &way.heater
        else {
            return Ok(None);
        };
        let plan = &self.plan;
        let own_power = plan.power.filter(|_| own).map(calibration::watts);
        let power = plan
            .oven_test
            .as_ref()
            .map_or(own_power.unwrap_or(power.si()), |t| {
                calibration::watts(calibration::oven_power(t))
            });
        let d = &self.tables.heating.dielectric;
        let mut oven = Oven {
            power,
            duty: plan
                .setting
                .filter(|_| own)
                .map_or(duty.si(), calibration::bare),
            cycle: plan
                .cycle
                .filter(|_| own)
                .map_or(cycle.si(), |t| t.get::<second>()),
            start_delay: start_delay.si(),
            load_shares: self.tables.heating.load_shares(),
            load_factor: 1.0,
            gel_load: gel_load.si(),
            top_share: top_share.si(),
            dielectric: Dielectric {
                frequency: d.frequency.si(),
                water_static: d.water_static.si(),
                water_static_fall: d.water_static_fall.si(),
                water_infinite: d.water_infinite.si(),
                water_relaxation: d.water_relaxation.si(),
                relaxation_activation: d.relaxation_activation.si(),
                peak_conductivity: d.peak_conductivity.si(),
                conductivity_rise: d.conductivity_rise.si(),
                gel_permittivity: d.gel_permittivity.si(),
                gel_loss: d.gel_loss.si(),
            },
        };
        if let Some(test) = &plan.load_test {
            let volume = test.water.get::<kilogram>() / self.tables.heating.water.density.si();
            let share = Ratio::new::<ratio>(oven.load_share(volume));
            let output = crate::quantity::Power::new::<watt>(power);
            let factor = calibration::bare(calibration::load_factor(test, output, share));
            if !(factor.is_finite() && factor > 0.0) {
                return Err(IgnitionError::LoadTest { factor });
            }
            oven.load_factor = factor;
        }
        let capacity = self.charge.dry_mass * self.charge.dry_heat_capacity;
        let ripple = oven.power * oven.duty * (1.0 - oven.duty) * oven.cycle / capacity;
        if ripple < FELT_RIPPLE {
            oven.cycle = 0.0;
        }
        Ok(Some(oven))
    }

    /// The bands on one way: the user's own tests and settings narrow those of the stated way.
    fn doubt_on(&self, own: bool) -> Doubt {
        let mut doubt = self.doubt;
        if own && (self.plan.oven_test.is_some() || self.plan.load_test.is_some()) {
            doubt.power = doubt.power.min(TESTED);
        }
        if own && self.plan.boil_test.is_some() {
            doubt.contact = doubt.contact.min(TESTED);
        }
        doubt
    }

    /// Temperature above which the vessel may hurt, K.
    pub fn touch(&self) -> f64 {
        self.tables.heating.criteria.touch.si()
    }

    pub fn batch(&self) -> &'a Batch {
        self.batch
    }

    pub fn tables(&self) -> &'a Tables {
        self.tables
    }
}

/// The bands from the tables.
fn doubt(tables: &Tables, plan: &HeatingPlan, fuels: &Fuels<'_>, assumed_area: bool) -> Doubt {
    let gel = &tables.gel;
    let bands = &gel.bands;
    let leading = fuels.leading;
    let measured = plan.peak.is_some();
    let shifts = tables.kinetics.metals.iter();
    let nitrates = gel.nitrates.iter().map(|n| n.peak.si_uncertainty());
    let (escape, escape_band) = fuels.volatile.map_or((0.0, 0.0), |f| f.escape());
    Doubt {
        activation_energy: leading.activation_energy.si_uncertainty(),
        peak: if measured {
            MEASURED_PEAK
        } else {
            leading.peak.si_uncertainty()
        },
        metal_shift: if measured {
            0.0
        } else {
            shifts.map(|m| m.shift.si_uncertainty()).fold(0.0, f64::max)
        },
        drying_peak: gel.drying.peak.si_uncertainty(),
        fuel_peak: gel.drying.peak.si_uncertainty(),
        escape: if escape > 0.0 {
            escape_band / escape
        } else {
            0.0
        },
        nitrate_peak: nitrates.fold(f64::INFINITY, f64::min),
        nitrate_in_gel: gel.nitrate_loss.in_gel.si_uncertainty() / gel.nitrate_loss.in_gel.si(),
        power: bands.power.si(),
        contact: bands.contact.si(),
        source: bands.source_temperature.si(),
        depth: if assumed_area {
            bands.depth_assumed.si()
        } else {
            bands.depth.si()
        },
        froth: bands.froth.si(),
        set_water: bands.set_water.si(),
        scan: tables.kinetics.scan.rate.si(),
    }
}

/// Floor of the vessel, coherent SI.
struct FloorOfVessel {
    name: String,
    metal: bool,
    /// Temperature above which it is damaged, K.
    highest: f64,
    wall: Wall,
}

/// How the froth of the gel enlarges the wetted wall and the free surface of a named vessel.
fn growth(batch: &Batch, plan: &HeatingPlan, charge: &Charge) -> Growth {
    let (None, Some(choice)) = (plan.diameter, &batch.vessel) else {
        return Growth::NONE;
    };
    let water = charge.gel.set_water.min(charge.initial_water()) / charge.water.density;
    let froth = charge.dry_mass * (1.0 / charge.gel.density + water);
    let froth = Volume::new::<cubic_meter>(froth);
    Areas::growth(&choice.vessel, crate::gas::solution_volume(batch), froth)
}

/// Areas of the layer and whether they were assumed: from the diameter under [heating], else the
/// named vessel up to the level of the solution, else the usual depth.
fn layer_areas(batch: &Batch, plan: &HeatingPlan, volume: f64) -> (Areas, bool) {
    if let Some(diameter) = plan.diameter {
        let radius = 0.5 * diameter.get::<meter>();
        return (Areas::flat(std::f64::consts::PI * radius * radius), false);
    }
    let in_vessel = batch
        .vessel
        .as_ref()
        .and_then(|choice| Areas::of(&choice.vessel, crate::gas::solution_volume(batch)));
    match in_vessel {
        Some(areas) => (areas, false),
        None => (Areas::flat(volume / USUAL_DEPTH), true),
    }
}
