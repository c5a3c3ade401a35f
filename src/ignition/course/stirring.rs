//! What stirring does: the course with a liquid that does not mix at all, the other end from the
//! mixed liquid of every course.

use super::Course;
use super::ending::LitPlace;
use super::numbers::s;
use crate::ignition::error::IgnitionError;
use crate::ignition::history::{End, Sample};
use crate::ignition::slab::{Settings, Slab};
use crate::quantity::units::kelvins;
use crate::quantity::{TemperatureInterval, Time};

/// Cells of the layers that do not mix: the times are good to a few per cent with them.
const CELLS: usize = 20;

/// The course with a liquid in layers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unstirred {
    /// Time to ignition, if it ignites.
    pub time: Option<Time>,
    /// Hottest less coldest of floor, middle and surface, at most, before the gel sets.
    pub spread: TemperatureInterval,
    /// Where it is hottest then.
    pub hottest: LitPlace,
}

/// Hottest less coldest of floor, middle and surface (K), and where it is hottest.
fn spread(sample: &Sample) -> (f64, LitPlace) {
    let places = [
        (sample.floor, LitPlace::Wall),
        (sample.middle, LitPlace::Centre),
        (sample.surface, LitPlace::Top),
    ];
    let mut hottest = places[0];
    let mut coldest = places[0].0;
    for place in places {
        coldest = coldest.min(place.0);
        if place.0 > hottest.0 {
            hottest = place;
        }
    }
    (hottest.0 - coldest, hottest.1)
}

impl Course {
    /// The same batch on the same way with every input at its middle, but with a liquid that does
    /// not mix: heat goes through it by conduction alone and each layer boils for itself.
    ///
    /// # Errors
    /// [`IgnitionError`] if the heat model does not come to an end.
    pub fn unstirred(&self) -> Result<Unstirred, IgnitionError> {
        let setup = &self.setup;
        let settings = Settings {
            stirred: false,
            cells: CELLS,
            ..setup.settings
        };
        let history = Slab::new(&setup.charge, &setup.wall, &setup.heater, settings)?.run()?;
        let liquid = history
            .samples
            .iter()
            .filter(|sample| sample.water > setup.charge.gel.set_water);
        let (most, hottest) = liquid
            .map(spread)
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .unwrap_or((0.0, LitPlace::Centre));
        let lights = matches!(history.end, End::Ignites { .. });
        Ok(Unstirred {
            time: lights.then(|| s(history.state.time)),
            spread: TemperatureInterval::new::<kelvins>(most),
            hottest,
        })
    }
}
