//! The `[run]` section of a batch file: what was seen and weighed when the batch was burnt.

use super::section::Section;
use crate::quantity::{Mass, ThermodynamicTemperature, Time, parse};
use uom::si::mass::{kilogram, milligram};
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::time::{hour, second};

/// What was seen of one run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Run {
    /// Hottest temperature measured in or above the powder.
    pub peak_temperature: Option<ThermodynamicTemperature>,
    /// Time from the start of heating to ignition.
    pub ignited_after: Option<Time>,
    /// How long the flame or glow lasted.
    pub flame_lasted: Option<Time>,
    /// Mass of the powder recovered.
    pub powder_mass: Option<Mass>,
    /// Anything else, in words.
    pub remarks: Option<String>,
}

/// Reads the section.
pub(super) fn read(section: Section<'_>) -> Run {
    let celsius = ThermodynamicTemperature::new::<degree_celsius>;
    let temperatures = (celsius(0.0), celsius(3000.0), "between 0 °C and 3000 °C");
    let times = || {
        (
            Time::new::<second>(0.1),
            Time::new::<hour>(24.0),
            "between 0.1 s and 24 h",
        )
    };
    let masses = (
        Mass::new::<milligram>(0.1),
        Mass::new::<kilogram>(5.0),
        "between 0.1 mg and 5 kg",
    );
    let run = Run {
        peak_temperature: section
            .quantity_within("peak_temperature", parse::temperature, temperatures)
            .map(|w| w.value),
        ignited_after: section
            .quantity_within("ignited_after", parse::time, times())
            .map(|w| w.value),
        flame_lasted: section
            .quantity_within("flame_lasted", parse::time, times())
            .map(|w| w.value),
        powder_mass: section
            .quantity_within("powder_mass", parse::mass, masses)
            .map(|w| w.value),
        remarks: section.text("remarks").map(|w| w.value.to_owned()),
    };
    section.finish();
    run
}
