//! The user's own oven and plate: from a water test to the numbers of the model.

use crate::batch::WaterTest;
use crate::quantity::SpecificHeatCapacity;
use crate::quantity::units::{
    joule_per_kilogram_kelvin, kelvins, kilogram, ratio, second, square_meter, watt,
    watt_per_square_meter_kelvin,
};
use crate::quantity::{
    Area, HeatTransfer, Power, Ratio, ThermodynamicTemperature, temperature_difference,
};

/// Specific heat capacity of water in the output test, J/(kg K), as the test prescribes it
/// (4187 W for 1 L, 1 K, 1 s: service manual; 4.187 in IEC 60705).
const TEST_WATER: f64 = 4187.0;
/// Specific heat capacity of the glass vessel in the output test, J/(kg K), as IEC 60705
/// prescribes it (from memory).
const TEST_GLASS: f64 = 550.0;

/// Output of a microwave oven from the rise of a known mass of water in a stated time:
/// P = [c_w m_w (T2 − T1) + c_g m_g (T2 − T0)] / t.
///
/// Without the mass of the vessel its term is left out, as the test's short form with one litre
/// of cold water does: P = 4187 ΔT/t.
///
/// Source: IEC 60705; the short form as printed in a service manual.
pub fn oven_power(test: &WaterTest) -> Power {
    let specific = SpecificHeatCapacity::new::<joule_per_kilogram_kelvin>;
    let mut heat = specific(TEST_WATER) * test.water * test.rise();
    if let Some(vessel) = test.vessel {
        let from = test.room.unwrap_or(test.from);
        heat += specific(TEST_GLASS) * vessel * temperature_difference(test.to, from);
    }
    heat / test.time
}

/// Factor on the tabulated shares of small loads: the power that `test` shows over what the
/// table says for its mass of water in an oven of `output` into one litre.
pub fn load_factor(test: &WaterTest, output: Power, tabulated_share: Ratio) -> Ratio {
    oven_power(test) / (output * tabulated_share)
}

/// Heat-transfer coefficient from a plate at `plate` into the water of a vessel with the base
/// `area`, from the time in which a known mass of water warmed from T1 to T2:
/// U = m c ln((T_p − T1)/(T_p − T2)) / (A t), the solution of m c dT/dt = U A (T_p − T).
///
/// Losses from the water's surface are in it; so it is the user's own net value. `None` if the
/// plate is not hotter than the water.
pub fn plate_transfer(
    test: &WaterTest,
    plate: ThermodynamicTemperature,
    area: Area,
) -> Option<HeatTransfer> {
    let before = temperature_difference(plate, test.from).get::<kelvins>();
    let after = temperature_difference(plate, test.to).get::<kelvins>();
    if !(after > 0.0 && before > after) {
        return None;
    }
    let capacity = TEST_WATER * test.water.get::<kilogram>();
    let u =
        capacity * (before / after).ln() / (area.get::<square_meter>() * test.time.get::<second>());
    u.is_finite()
        .then(|| HeatTransfer::new::<watt_per_square_meter_kelvin>(u))
}

/// Power in W, for messages, reports and kernels.
pub fn watts(power: Power) -> f64 {
    power.get::<watt>()
}

/// A ratio as a bare number.
pub(crate) fn bare(value: Ratio) -> f64 {
    value.get::<ratio>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::{degree_celsius, gram, square_meter};
    use crate::quantity::{Mass, Time};
    use approx::assert_relative_eq;

    fn test(grams: f64, from: f64, to: f64, seconds: f64) -> WaterTest {
        WaterTest {
            water: Mass::new::<gram>(grams),
            from: ThermodynamicTemperature::new::<degree_celsius>(from),
            to: ThermodynamicTemperature::new::<degree_celsius>(to),
            time: Time::new::<second>(seconds),
            vessel: None,
            room: None,
        }
    }

    #[test]
    fn output_follows_the_lines_of_the_service_manual() {
        // Heating time for a rise of 10 K in one litre, and the rated output: 70 s 600 W,
        // 56 s 750 W, 52 s 800 W, 47 s 900 W, 42 s 1000 W. The manual rounds the seconds.
        for (seconds, rated) in [
            (70.0, 600.0),
            (56.0, 750.0),
            (52.0, 800.0),
            (47.0, 900.0),
            (42.0, 1000.0),
        ] {
            let power = watts(oven_power(&test(1000.0, 10.0, 20.0, seconds)));
            assert!(
                (power - rated).abs() < rated * 0.6 / seconds,
                "{seconds}: {power}"
            );
        }
    }

    #[test]
    fn vessel_adds_its_heat() {
        let mut with_vessel = test(1000.0, 10.0, 20.0, 50.0);
        with_vessel.vessel = Some(Mass::new::<gram>(400.0));
        with_vessel.room = Some(ThermodynamicTemperature::new::<degree_celsius>(20.0));
        // Vessel starts at 20 °C and ends at 20 °C: nothing to add.
        assert_relative_eq!(
            watts(oven_power(&with_vessel)),
            4187.0 * 10.0 / 50.0,
            max_relative = 1e-12
        );
        with_vessel.room = None;
        assert_relative_eq!(
            watts(oven_power(&with_vessel)),
            (41870.0 + 2200.0) / 50.0,
            max_relative = 1e-12
        );
    }

    #[test]
    fn older_two_beaker_test_agrees() {
        // 2 × 500 mL, 60 s, P = 70 ΔT (service page); c m/t = 4187/60 = 69.8.
        assert_relative_eq!(
            watts(oven_power(&test(1000.0, 15.0, 25.0, 60.0))),
            700.0,
            max_relative = 0.004
        );
    }

    #[test]
    fn load_factor_compares_with_the_table() {
        let small = test(50.0, 20.0, 60.0, 25.0); // 335 W
        let factor = load_factor(&small, Power::new::<watt>(800.0), Ratio::new::<ratio>(0.5));
        assert_relative_eq!(
            bare(factor),
            4187.0 * 0.05 * 40.0 / 25.0 / 400.0,
            max_relative = 1e-12
        );
    }

    #[test]
    fn plate_transfer_inverts_the_heating_curve() {
        let (u, area, mass, plate) = (150.0, 60e-4, 0.1, 300.0);
        let (from, to) = (20.0, 95.0_f64);
        let seconds = 4187.0 * mass / (u * area) * ((plate - from) / (plate - to)).ln();
        let found = plate_transfer(
            &test(100.0, from, to, seconds),
            ThermodynamicTemperature::new::<degree_celsius>(plate),
            Area::new::<square_meter>(area),
        );
        assert_relative_eq!(
            found.unwrap().get::<watt_per_square_meter_kelvin>(),
            u,
            max_relative = 1e-9
        );
        let cold = ThermodynamicTemperature::new::<degree_celsius>(90.0);
        assert!(
            plate_transfer(
                &test(100.0, from, to, seconds),
                cold,
                Area::new::<square_meter>(area)
            )
            .is_none()
        );
    }
}
