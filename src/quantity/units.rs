//! Every unit that quantities are read and written in, each under one name: `kelvin` is that of a
//! temperature, `kelvins` that of a difference of two.

pub use uom::si::amount_of_substance::{micromole, millimole, mole};
pub use uom::si::angle::{degree, radian};
pub use uom::si::area::square_meter;
pub use uom::si::available_energy::kilojoule_per_kilogram;
pub use uom::si::dynamic_viscosity::pascal_second;
pub use uom::si::energy::{joule, kilojoule};
pub use uom::si::frequency::{cycle_per_hour, hertz};
pub use uom::si::heat_capacity::joule_per_kelvin;
pub use uom::si::heat_transfer::watt_per_square_meter_kelvin;
pub use uom::si::length::{meter, micrometer, millimeter, nanometer};
pub use uom::si::mass::{gram, kilogram, milligram};
pub use uom::si::mass_density::{
    gram_per_cubic_centimeter, kilogram_per_cubic_meter, milligram_per_cubic_meter,
};
pub use uom::si::molar_energy::{joule_per_mole, kilojoule_per_mole};
pub use uom::si::molar_heat_capacity::joule_per_kelvin_mole;
pub use uom::si::molar_mass::{gram_per_mole, kilogram_per_mole};
pub use uom::si::power::watt;
pub use uom::si::pressure::{atmosphere, bar, pascal, torr};
pub use uom::si::ratio::{part_per_million, percent, ratio};
pub use uom::si::specific_area::{square_meter_per_gram, square_meter_per_kilogram};
pub use uom::si::specific_heat_capacity::joule_per_kilogram_kelvin;
pub use uom::si::specific_volume::cubic_meter_per_kilogram;
pub use uom::si::temperature_interval::kelvin as kelvins;
pub use uom::si::thermal_conductivity::watt_per_meter_kelvin;
pub use uom::si::thermodynamic_temperature::{degree_celsius, kelvin};
pub use uom::si::time::{hour, minute, second};
pub use uom::si::velocity::meter_per_second;
pub use uom::si::volume::{cubic_meter, liter, milliliter};
pub use uom::si::volume_rate::{cubic_meter_per_hour, liter_per_second};
