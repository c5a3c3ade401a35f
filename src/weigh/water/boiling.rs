//! Boiling the water off: its heat, its time, and where the solution boils.

use super::error::WaterError;
use crate::batch::water_molar_mass;
use crate::formula::Formula;
use crate::quantity::units::{degree_celsius, kelvin, kelvins, pascal, ratio, watt};
use crate::quantity::{
    Energy, Mass, MolarEnergy, Power, Pressure, Ratio, TemperatureInterval,
    ThermodynamicTemperature, Time, gas_constant,
};
use crate::redox::{metal_atoms, nitrate_ions};
use crate::tables::Tables;

/// What the water costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterCost {
    /// Heat to warm it to its boiling point and boil it off.
    pub energy: Energy,
    /// Time at the stated power.
    pub time: Option<Time>,
}

/// Heat, and time at `power`, to boil off `water` from `start` at `boiling`, from the enthalpies of
/// liquid water and steam in the tables.
pub fn cost(
    water: Mass,
    start: ThermodynamicTemperature,
    boiling: ThermodynamicTemperature,
    power: Option<Power>,
    tables: &Tables,
) -> Result<WaterCost, WaterError> {
    let species = |id| tables.species_by_id(id).ok_or(WaterError::NoWater);
    let (liquid, steam) = (species("H2O(l)")?, species("H2O")?);
    let below = liquid
        .molar_enthalpy(start)
        .map_err(|_| WaterError::NoWater)?;
    let above = steam
        .molar_enthalpy(boiling)
        .map_err(|_| WaterError::NoWater)?;
    let energy: Energy = (above - below) * (water / water_molar_mass());
    let time = match power {
        None => None,
        Some(power) if power > Power::new::<watt>(0.0) => Some(energy / power),
        Some(power) => {
            return Err(WaterError::NoPower {
                watt: power.get::<watt>(),
            });
        }
    };
    Ok(WaterCost { energy, time })
}

/// Heat of boiling of pure water at `temperature`, from the tables.
pub fn heat_of_boiling(
    temperature: ThermodynamicTemperature,
    tables: &Tables,
) -> Result<MolarEnergy, WaterError> {
    let enthalpy = |id| {
        let species = tables.species_by_id(id)?;
        species.molar_enthalpy(temperature).ok()
    };
    let (steam, liquid) = (enthalpy("H2O"), enthalpy("H2O(l)"));
    steam
        .zip(liquid)
        .map(|(steam, liquid)| steam - liquid)
        .ok_or(WaterError::NoWater)
}

/// Boiling point of pure water at `pressure`: from 100 °C at 1 atm along the line of
/// Clausius–Clapeyron with the tabulated heat of boiling there: 0.1 K too low at 0.9 bar, 0.9 K at
/// 0.3 bar.
pub fn boiling_point(
    pressure: Pressure,
    tables: &Tables,
) -> Result<ThermodynamicTemperature, WaterError> {
    // 99.974 °C (ITS-90) at 101 325 Pa; the 0.03 K count for nothing here.
    let normal = ThermodynamicTemperature::new::<degree_celsius>(99.974);
    let atmosphere = Pressure::new::<pascal>(101_325.0);
    let heat = heat_of_boiling(normal, tables)?;
    let share: Ratio = pressure / atmosphere;
    Ok(shifted(normal, share.get::<ratio>(), heat))
}

/// Temperature at which water boils if its vapour has to reach `share` of the pressure that it
/// has at `from` (above 1: hotter).
fn shifted(
    from: ThermodynamicTemperature,
    share: f64,
    heat: MolarEnergy,
) -> ThermodynamicTemperature {
    let one_kelvin = TemperatureInterval::new::<kelvins>(1.0);
    let per_kelvin: Ratio = gas_constant() * one_kelvin / heat;
    let inverse = 1.0 / from.get::<kelvin>() - per_kelvin.get::<ratio>() * share.ln();
    ThermodynamicTemperature::new::<kelvin>(1.0 / inverse)
}

/// Boiling point of the solution at the pressure where pure water boils at `pure`, if every ion
/// and molecule dilutes the water ideally (Raoult) and the heat of boiling is constant:
/// 1/T = 1/T_b + (R/ΔH) ln x_w.
///
/// Right for dilute solutions (it gives the ebullioscopic constant 0.51 K kg/mol); concentrated
/// nitrates of small, highly charged ions boil higher, as they bind water.
///
/// * `dissolved`: amount of ions and molecules per amount of water
pub fn ideal_boiling_point(
    pure: ThermodynamicTemperature,
    dissolved: Ratio,
    heat_of_boiling: MolarEnergy,
) -> ThermodynamicTemperature {
    // The vapour pressure is x_w times that of pure water, x_w = 1/(1 + dissolved per water).
    shifted(pure, 1.0 + dissolved.get::<ratio>(), heat_of_boiling)
}

/// Ions and molecules from one formula unit: metals and nitrate ions of a salt, else one molecule.
pub fn particles(formula: &Formula) -> f64 {
    let nitrate = nitrate_ions(formula);
    let metal = metal_atoms(formula);
    match () {
        () if metal > 0.0 => metal + nitrate.max(1.0),
        // Ammonium nitrate and nitric acid: cation and anion.
        () if nitrate > 0.0 => 2.0 * nitrate,
        () => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::{bar, gram, kilojoule, kilojoule_per_mole, minute};
    use approx::assert_relative_eq;

    fn celsius(t: f64) -> ThermodynamicTemperature {
        ThermodynamicTemperature::new::<degree_celsius>(t)
    }

    #[test]
    fn boiling_off_a_mole_takes_the_tabulated_heat() {
        // 25 °C liquid to 100 °C steam: 75.3 J/(mol K) · 75 K + 40.65 kJ/mol = 46.3 kJ/mol (CRC
        // heat capacity and heat of vaporisation, from memory); steam is taken as ideal gas.
        let tables = Tables::built_in().unwrap();
        let mole = Mass::new::<gram>(18.015);
        let power = Some(Power::new::<watt>(100.0));
        let found = cost(mole, celsius(25.0), celsius(100.0), power, &tables).unwrap();
        assert_relative_eq!(found.energy.get::<kilojoule>(), 46.3, max_relative = 6e-3);
        let minutes = found.time.unwrap().get::<minute>();
        assert_relative_eq!(minutes, 46.3 / 6.0, max_relative = 6e-3);
        let none = Some(Power::new::<watt>(0.0));
        assert!(cost(mole, celsius(25.0), celsius(100.0), none, &tables).is_err());
    }

    #[test]
    fn dilute_solutions_have_the_ebullioscopic_constant() {
        // K_b of water = 0.513 K kg/mol (CRC, from memory): 0.01 mol of molecules per kg.
        let heat = MolarEnergy::new::<kilojoule_per_mole>(40.66);
        let per_water = Ratio::new::<ratio>(0.01 * 0.018_015);
        let found = ideal_boiling_point(celsius(100.0), per_water, heat);
        let rise = found.get::<kelvin>() - 373.15;
        assert_relative_eq!(rise / 0.01, 0.513, max_relative = 2e-3);
    }

    #[test]
    fn pure_water_boils_lower_on_a_mountain() {
        // Steam table (from memory): 96.69 °C at 0.9 bar, 69.10 °C at 0.3 bar.
        let tables = Tables::built_in().unwrap();
        for (p_bar, expected, within) in
            [(1.01325, 99.97, 0.01), (0.9, 96.69, 0.1), (0.3, 69.1, 0.9)]
        {
            let pressure = Pressure::new::<bar>(p_bar);
            let found = boiling_point(pressure, &tables)
                .unwrap()
                .get::<degree_celsius>();
            assert_relative_eq!(found, expected, epsilon = within);
        }
    }

    #[test]
    fn salts_count_their_ions() {
        let of = |text: &str| particles(&Formula::parse(text).unwrap());
        for (text, count) in [
            ("Al(NO3)3·9H2O", 4.0),
            ("KNO3", 2.0),
            ("CO(NH2)2", 1.0),
            ("NH4NO3", 2.0),
            ("Zn(NO3)2", 3.0),
        ] {
            assert_relative_eq!(of(text), count);
        }
    }
}
