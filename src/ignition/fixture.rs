//! Charges, walls and heaters for the tests of the heat models. Invented, round numbers.

use super::boiling::Sorption;
use super::charge::{
    Charge, Drying, Face, FuelLoss, Gel, Growth, Heater, LossStep, NitrateLoss, Reaction, Wall,
};
use super::leaving::{Leaving, Pool};
use super::microwave::tests::oven;
use super::thermal_explosion::kissinger_pre_exponential;

/// 5 g of dry nitrate–glycine gel, 20 mL of water, in a dish of 60 cm².
pub(crate) fn glycine_charge() -> Charge {
    Charge {
        dry_mass: 5e-3,
        free_water: 20e-3,
        hydrate_water: 2e-3,
        dry_heat_capacity: 1400.0,
        water: super::boiling::tests::water(),
        sorption: Sorption {
            ionic_sites: 20.0,
            molecules: 4.0,
            binding_energy: 8000.0,
        },
        reaction: Reaction {
            activation_energy: 120e3,
            pre_exponential: kissinger_pre_exponential(120e3, 488.0, 10.0 / 60.0),
            peak: 488.0,
            heat: 2.9e6,
            gas_fraction: 0.7,
            gas_heat_capacity: 1400.0,
            product_heat_capacity: 900.0,
            equivalence_ratio: 1.0,
        },
        fuel_loss: None,
        nitrate_loss: NitrateLoss::default(),
        drying: Drying {
            activation_energy: 90e3,
            pre_exponential: kissinger_pre_exponential(90e3, 413.0, 10.0 / 60.0),
        },
        gel: Gel {
            density: 500.0,
            thermal_conductivity: 0.1,
            syrup_conductivity: 0.5,
            set_water: 0.2,
        },
        area: 60e-4,
        start_temperature: 293.15,
        room_temperature: 293.15,
        pressure: 101_325.0,
    }
}

/// The same with a urea-like fuel that decomposes early and burns late.
pub(crate) fn urea_charge() -> Charge {
    let mut charge = glycine_charge();
    charge.reaction.peak = 548.0;
    charge.reaction.pre_exponential = kissinger_pre_exponential(120e3, 548.0, 10.0 / 60.0);
    let mut leaving = Leaving::default();
    leaving.pools[0] = Pool {
        share: 1.0,
        activation_energy: 84e3,
        pre_exponential: 8.5e6,
        onset: 405.0,
    };
    charge.fuel_loss = Some(FuelLoss {
        valence_share: 1.0,
        mass_share: 0.35,
        leaving,
        steps: [
            LossStep {
                span: 1.0,
                heat: 1.5e6,
                escape_share: 0.5,
                stored: 0.0,
            },
            LossStep::default(),
        ],
    });
    charge
}

/// 2.5 mm of borosilicate glass.
pub(crate) fn glass() -> Wall {
    Wall {
        thickness: 2.5e-3,
        thermal_conductivity: 1.2,
        volumetric_heat_capacity: 2230.0 * 830.0,
        boiling_transfer: 3000.0,
    }
}

/// Still air and a dull surface at room temperature.
pub(crate) fn room_air() -> Face {
    Face {
        transfer: 8.0,
        emissivity: 0.9,
        source: 293.15,
        drop: 0.0,
        recovery: 0.0,
        largest_flux: f64::INFINITY,
        imposed_flux: 0.0,
    }
}

pub(crate) fn insulated() -> Face {
    Face {
        transfer: 0.0,
        emissivity: 0.0,
        ..room_air()
    }
}

pub(crate) fn plate(temperature: f64) -> Heater {
    Heater {
        bottom: Face {
            transfer: 150.0,
            emissivity: 0.0,
            source: temperature,
            ..room_air()
        },
        top: room_air(),
        oven: None,
        evaporation: 0.0,
        growth: Growth::NONE,
        air_steam: 0.0,
    }
}

pub(crate) fn furnace(temperature: f64) -> Heater {
    let face = Face {
        transfer: 10.0,
        emissivity: 0.85,
        source: temperature,
        drop: 50.0,
        recovery: 180.0,
        ..room_air()
    };
    Heater {
        bottom: face,
        top: face,
        oven: None,
        evaporation: 0.0,
        growth: Growth::NONE,
        air_steam: 0.0,
    }
}

pub(crate) fn microwave() -> Heater {
    Heater {
        bottom: room_air(),
        top: room_air(),
        oven: Some(oven()),
        evaporation: 0.0,
        growth: Growth::NONE,
        air_steam: 0.0,
    }
}
