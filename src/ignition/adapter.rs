//! From a batch and the tables to the numbers of the heat models, in coherent SI.

use super::IgnitionError;
use super::batch_charge::{Fuels, charge};
use super::calibration;
use super::charge::{Charge, Face, Heater, Wall};
use super::course::Setting;
use super::microwave::{Dielectric, Oven};
use super::slab::Settings;
use crate::batch::{Batch, HeatingPlan};
use crate::quantity::{Area, Ratio, ThermodynamicTemperature};
use crate::tables::Tables;
use crate::tables::heating::{HeatingKind, HeatingWay};
use crate::tables::kinetics::FuelKinetics;
use uom::si::area::square_meter;
use uom::si::length::meter;
use uom::si::mass::kilogram;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::ratio::ratio;
use uom::si::specific_heat_capacity::joule_per_kilogram_kelvin;
use uom::si::thermal_conductivity::watt_per_meter_kelvin;
use uom::si::thermodynamic_temperature::kelvin;

/// Depth of the solution when the file gives no vessel, m: a common dish filling of 10 mm
/// (common practice, 10 to 15 mm).
const USUAL_DEPTH: f64 = 0.010;
/// Name of the floor when the file gives none.
const USUAL_FLOOR: &str = "borosilicate glass";

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
        let (area, assumed_area) = layer_area(batch, &plan, volume);
        let fuels = Fuels::of(batch, tables)?;
        let charge = charge(batch, tables, &plan, &fuels, area)?;
        Ok(Self {
            batch,
            tables,
            assumed_area,
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
        let floor = self.floor()?;
        if way.kind == HeatingKind::Microwave && floor.metal {
            return Err(IgnitionError::MetalInMicrowave { floor: floor.name });
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
            wall: floor.wall,
            heater,
            settings,
            fuel: self.fuel.clone(),
            floor_highest: floor.highest,
            volume: self.volume,
            assumed_area: self.assumed_area,
            volatile_share: self.volatile_share,
        })
    }

    /// The floor of the vessel: the one under [heating], else the named vessel's, else glass.
    fn floor(&self) -> Result<FloorOfVessel, IgnitionError> {
        let boiling_transfer = self.tables.heating.water.si("boiling_transfer");
        let thickness = self.plan.floor_thickness.map(|t| t.get::<meter>());
        if let (None, Some(choice)) = (&self.plan.floor, &self.batch.vessel) {
            let material = &choice.vessel.material;
            let density = material.density.value.get::<kilogram_per_cubic_meter>();
            let capacity = material
                .heat_capacity
                .value
                .get::<joule_per_kilogram_kelvin>();
            return Ok(FloorOfVessel {
                name: material.name.clone(),
                metal: material.metal,
                highest: material.highest_wall.value.get::<kelvin>(),
                wall: Wall {
                    thickness: thickness.unwrap_or(choice.vessel.wall.get::<meter>()),
                    thermal_conductivity: material
                        .thermal_conductivity
                        .value
                        .get::<watt_per_meter_kelvin>(),
                    volumetric_heat_capacity: density * capacity,
                    boiling_transfer,
                },
            });
        }
        let name = self.plan.floor.as_deref().unwrap_or(USUAL_FLOOR);
        let row = self
            .tables
            .heating
            .floor(name)
            .ok_or_else(|| IgnitionError::UnknownFloor {
                name: name.to_owned(),
            })?;
        let n = &row.numbers;
        Ok(FloorOfVessel {
            name: row.id.clone(),
            metal: !row.microwave,
            highest: n.si("highest"),
            wall: Wall {
                thickness: thickness.unwrap_or(n.si("thickness")),
                thermal_conductivity: n.si("conductivity"),
                volumetric_heat_capacity: n.si("density") * n.si("heat_capacity"),
                boiling_transfer,
            },
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
                let own_power = self.plan.power.filter(|_| own).map(calibration::watts);
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
            .map_or(n.si_or("power", f64::NAN), calibration::watts);
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
                    let wall = self.floor()?.wall;
                    let inner =
                        wall.thickness / wall.thermal_conductivity + 1.0 / wall.boiling_transfer;
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
            .map_or(rated, |t| calibration::watts(calibration::oven_power(t)));
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

/// Floor of the vessel, coherent SI.
struct FloorOfVessel {
    name: String,
    metal: bool,
    /// Temperature above which it is damaged, K.
    highest: f64,
    wall: Wall,
}

/// Area of the layer (m²) and whether it was assumed: from the diameter under [heating], else the
/// mean section of the named vessel up to the level of the solution, else the usual depth.
fn layer_area(batch: &Batch, plan: &HeatingPlan, volume: f64) -> (f64, bool) {
    if let Some(diameter) = plan.diameter {
        let radius = 0.5 * diameter.get::<meter>();
        return (std::f64::consts::PI * radius * radius, false);
    }
    if let Some(choice) = &batch.vessel {
        let solution = crate::gas::solution_volume(batch);
        let depth = choice.vessel.shape.depth_of(solution).get::<meter>();
        if depth > 0.0 {
            return (volume / depth, false);
        }
    }
    (volume / USUAL_DEPTH, true)
}
