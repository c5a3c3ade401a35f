//! How hot the inner wall gets: a wall heated through a film by a flame of stated length, and the
//! same wall cooling on the bench. Plain `f64` in SI inside.
//!
//! While heat has not crossed the wall, its inner face follows the semi-infinite solid with a
//! film, T = T₀ + (T_f − T₀) [1 − e^(x²) erfc x] with x = h √t / √(λ ρ c); later the thin wall
//! warms as a whole, T = T₀ + (T_f − T₀)(1 − e^(−h t / (ρ c L))). The larger of both is taken, and
//! no more heat than the batch has. Source: Carslaw & Jaeger 1959 (from memory).

use crate::quantity::units::{
    joule, joule_per_kelvin, joule_per_kilogram_kelvin, kelvins, kilogram_per_cubic_meter, meter,
    second, square_meter, watt_per_meter_kelvin, watt_per_square_meter_kelvin,
};
use crate::quantity::{
    Area, Band, Energy, HeatCapacity, HeatTransfer, Length, TemperatureInterval,
    ThermodynamicTemperature, Time, temperature_difference,
};
use crate::tables::vessels::Material;
use std::f64::consts::PI;

/// Rational approximation of e^(x²) erfc x = t (a₁ + t (a₂ + …)), t = 1/(1 + p x): Abramowitz &
/// Stegun, Handbook of Mathematical Functions, 7.1.26 (from memory).
const ERFC: [f64; 5] = [
    0.254_829_592,
    -0.284_496_736,
    1.421_413_741,
    -1.453_152_027,
    1.061_405_429,
];
const ERFC_P: f64 = 0.327_591_1;
/// Where the asymptotic series, two terms of it, becomes the better one.
const FAR_OUT: f64 = 3.0;

/// e^(x²) erfc x for x ≥ 0, within 1 %.
fn scaled_erfc(x: f64) -> f64 {
    if x > FAR_OUT {
        let inverse = 1.0 / (x * x);
        return (1.0 - 0.5 * inverse + 0.75 * inverse * inverse) / (x * PI.sqrt());
    }
    let t = 1.0 / (1.0 + ERFC_P * x);
    t * (ERFC[0] + t * (ERFC[1] + t * (ERFC[2] + t * (ERFC[3] + t * ERFC[4]))))
}

/// What heats a wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heating {
    /// Wall temperature when it starts.
    pub wall: ThermodynamicTemperature,
    /// Temperature of flame and gas.
    pub flame: ThermodynamicTemperature,
    /// Heat transfer to the wall.
    pub transfer: HeatTransfer,
    /// How long.
    pub time: Time,
    /// Heat that can go into the wall at most.
    pub heat: Energy,
    /// Part of the wall that takes it.
    pub area: Area,
}

/// Rise of the inner face of a wall of `material`, `thickness` thick, over its start.
pub fn rise(material: &Material, thickness: Length, heating: &Heating) -> TemperatureInterval {
    let span = temperature_difference(heating.flame, heating.wall).get::<kelvins>();
    if span <= 0.0 {
        return TemperatureInterval::new::<kelvins>(0.0);
    }
    let rho_c = material.density.value.get::<kilogram_per_cubic_meter>()
        * material
            .heat_capacity
            .value
            .get::<joule_per_kilogram_kelvin>();
    let lambda = material
        .thermal_conductivity
        .value
        .get::<watt_per_meter_kelvin>();
    let h = heating.transfer.get::<watt_per_square_meter_kelvin>();
    let (t, l) = (
        heating.time.get::<second>().max(0.0),
        thickness.get::<meter>(),
    );
    let face = span * (1.0 - scaled_erfc(h * t.sqrt() / (lambda * rho_c).sqrt()));
    let whole = span * (1.0 - (-h * t / (rho_c * l)).exp());
    let from_heat = heating.heat.get::<joule>() / (rho_c * l * heating.area.get::<square_meter>());
    TemperatureInterval::new::<kelvins>(face.max(whole).min(from_heat).clamp(0.0, span))
}

/// A hot vessel that cools in air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooling {
    /// Temperature at the start.
    pub hot: ThermodynamicTemperature,
    pub air: ThermodynamicTemperature,
    /// Heat capacity of vessel and contents.
    pub capacity: HeatCapacity,
    /// Area that gives off heat.
    pub area: Area,
    /// Heat transfer to the air and the surroundings.
    pub transfer: Band<HeatTransfer>,
}

/// Time until `cooling` comes down to `touchable`: a lump that loses heat in proportion to its
/// excess, t = C/(h A) ln((T − T_a)/(T_t − T_a)).
///
/// Zero if it is cool already; none if the air is too warm for it ever to become touchable.
pub fn cooling_time(cooling: &Cooling, touchable: ThermodynamicTemperature) -> Option<Band<Time>> {
    let excess = temperature_difference(cooling.hot, cooling.air).get::<kelvins>();
    let left = temperature_difference(touchable, cooling.air).get::<kelvins>();
    if left <= 0.0 {
        return None;
    }
    if excess <= left {
        return Some(Band::exactly(Time::new::<second>(0.0)));
    }
    let c = cooling.capacity.get::<joule_per_kelvin>();
    let a = cooling.area.get::<square_meter>();
    Some(cooling.transfer.map(|transfer| {
        let h = transfer.get::<watt_per_square_meter_kelvin>();
        Time::new::<second>(c / (h * a) * (excess / left).ln())
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::{degree_celsius, gram_per_cubic_centimeter};
    use crate::quantity::{MassDensity, SpecificHeatCapacity, ThermalConductivity};
    use crate::tables::Tables;
    use approx::assert_relative_eq;

    fn celsius(t: f64) -> ThermodynamicTemperature {
        ThermodynamicTemperature::new::<degree_celsius>(t)
    }

    #[test]
    fn the_scaled_error_function_agrees_with_tables() {
        // Abramowitz & Stegun, table 7.1 (from memory); the approximation of erfc is off by up to
        // 1.5e-7, e^4 times that at x = 2
        let table: [(f64, f64); 4] = [
            (0.0, 1.0),
            (0.5, 0.479_500_122),
            (1.0, 0.157_299_207),
            (2.0, 0.004_677_735),
        ];
        for (x, erfc) in table {
            assert_relative_eq!(scaled_erfc(x), (x * x).exp() * erfc, max_relative = 1e-4);
        }
        // the two branches meet within the error of either, 1 %
        assert_relative_eq!(scaled_erfc(2.999), scaled_erfc(3.001), max_relative = 0.01);
    }

    #[test]
    fn a_wall_warms_as_a_deep_one_as_a_thin_one_or_as_far_as_the_heat_goes() {
        let tables = Tables::built_in().unwrap();
        let mut material = Material::clone(&tables.safety.vessels.vessels[0].material);
        // density and heat capacity give 2e6 J/(m³ K)
        material.density.value = MassDensity::new::<gram_per_cubic_centimeter>(2.0);
        material.heat_capacity.value = SpecificHeatCapacity::new::<joule_per_kilogram_kelvin>(1e3);
        material.thermal_conductivity.value =
            ThermalConductivity::new::<watt_per_meter_kelvin>(2.0);
        let rise = |thickness: f64, seconds: f64, heat: f64| {
            let heating = Heating {
                wall: celsius(25.0),
                flame: celsius(1025.0),
                transfer: HeatTransfer::new::<watt_per_square_meter_kelvin>(200.0),
                time: Time::new::<second>(seconds),
                heat: Energy::new::<joule>(heat),
                area: Area::new::<square_meter>(0.01),
            };
            super::rise(&material, Length::new::<meter>(thickness), &heating).get::<kelvins>()
        };
        // h √(t/λρc) = 1 at 100 s: 1 − e erfc 1, with erfc 1 = 0.157299 from the tables above
        let deep = 1000.0 * (1.0 - 1.0_f64.exp() * 0.157_299_207);
        assert_relative_eq!(rise(1.0, 100.0, 1e9), deep, max_relative = 1e-4);
        // h t/(ρ c l) = ln 2 for 0.1 mm: half way
        let half = 2.0_f64.ln() * 2e6 * 1e-4 / 200.0;
        assert_relative_eq!(rise(1e-4, half, 1e9), 500.0, max_relative = 1e-9);
        // 20 J into 2 J/K
        assert_relative_eq!(rise(1e-4, half, 20.0), 10.0, max_relative = 1e-9);
        assert_relative_eq!(rise(1e-4, 1e4, 1e9), 1000.0, max_relative = 1e-9);
    }

    #[test]
    fn a_lump_cools_by_its_exponential() {
        // (225 − 25)/(50 − 25) = 8, so 100 J/K over 1 W/K: 100 ln 8 s
        let mut cooling = Cooling {
            hot: celsius(225.0),
            air: celsius(25.0),
            capacity: HeatCapacity::new::<joule_per_kelvin>(100.0),
            area: Area::new::<square_meter>(0.1),
            transfer: Band::exactly(HeatTransfer::new::<watt_per_square_meter_kelvin>(10.0)),
        };
        let time = cooling_time(&cooling, celsius(50.0))
            .unwrap()
            .high
            .get::<second>();
        assert_relative_eq!(time, 100.0 * 8.0_f64.ln(), max_relative = 1e-12);
        cooling.hot = celsius(40.0);
        let cool = cooling_time(&cooling, celsius(50.0))
            .unwrap()
            .high
            .get::<second>();
        assert!(cool.abs() < f64::MIN_POSITIVE);
        cooling.air = celsius(55.0);
        assert!(cooling_time(&cooling, celsius(50.0)).is_none());
    }
}
