//! What was read of a run, with the error of its instrument.

use crate::batch::{Instrument, Run};
use crate::quantity::units::kelvins;
use crate::quantity::{Length, TemperatureInterval, ThermodynamicTemperature, Time};
use crate::tables::observations::Observations;

/// What was read of one run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// The peak, and one standard deviation of its reading and of runs together.
    pub peak: Option<(ThermodynamicTemperature, TemperatureInterval)>,
    /// Whether it lit.
    pub lit: Option<bool>,
    /// Time to ignition.
    pub time: Option<Time>,
    /// How long the flame lasted.
    pub flame: Option<Time>,
    /// Height of the froth above the floor of the vessel.
    pub froth: Option<Length>,
}

impl Reading {
    /// What `run` tells; `None` if it states nothing that is predicted. What lit somewhere, lit.
    pub(super) fn of(run: &Run, tables: &Observations) -> Option<Self> {
        let reading = Self {
            peak: run
                .peak_temperature
                .map(|peak| (peak, deviation(run, tables))),
            lit: run
                .ignited
                .or((run.peak_temperature.is_some() || run.lit_at.is_some()).then_some(true)),
            time: run.ignited_after,
            flame: run.flame_lasted,
            froth: run.froth_height,
        };
        let tells = reading.peak.is_some()
            || reading.lit.is_some()
            || reading.froth.is_some()
            || run.fumes.is_some();
        tells.then_some(reading)
    }
}

/// One standard deviation of the reading and of runs together.
pub(crate) fn deviation(run: &Run, tables: &Observations) -> TemperatureInterval {
    let errors = &tables.error;
    let error = run.peak_error.unwrap_or(match run.instrument {
        Some(Instrument::Thermocouple) => errors.thermocouple.value,
        Some(Instrument::Pyrometer) => errors.pyrometer.value,
        Some(Instrument::TwoColourPyrometer) => errors.two_colour_pyrometer.value,
        Some(Instrument::Camera) => errors.camera.value,
        None => errors.not_stated.value,
    });
    let both = error.get::<kelvins>().hypot(tables.scatter.peak.si());
    TemperatureInterval::new::<kelvins>(both)
}
