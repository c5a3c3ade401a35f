//! What is left of water, fuel and nitrate when heating ends.

use crate::ignition::charge::Charge;
use crate::ignition::history::History;

/// Shares left and lost at the end of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::ignition) struct Remains {
    /// Water per dry mass, kg/kg.
    pub water_ratio: f64,
    /// Share of all water left.
    pub water: f64,
    /// Share of the solvent left.
    pub solvent: f64,
    /// Share of the water of crystallisation left.
    pub hydrate: f64,
    /// Share of the fuel lost, by reducing valence.
    pub fuel_lost: f64,
    /// Share of the nitrate lost, by oxidising valence.
    pub nitrate_lost: f64,
    /// Share of the volatile fuel that has decomposed and left, by amount.
    pub fuel_gone: f64,
    /// Share of the nitrate that has left, by amount.
    pub nitrate_gone: f64,
}

impl Remains {
    pub fn of(charge: &Charge, history: &History) -> Self {
        let mean = |list: &[f64]| list.iter().sum::<f64>() / list.len() as f64;
        let state = &history.state;
        let water = mean(&state.w);
        let hydrate = charge.hydrate_ratio();
        let share = |part: f64, whole: f64| if whole > 0.0 { part / whole } else { 0.0 };
        let (lost, nitrate) = (mean(&state.lost), mean(&state.nitrate));
        let (fuel_left, oxidiser_left) = charge.valences_left(lost, nitrate);
        let escape = charge.fuel_loss.as_ref().map_or(0.0, |l| l.escape_share);
        Self {
            water_ratio: water,
            water: share(water, charge.initial_water()),
            solvent: share((water - hydrate).max(0.0), charge.initial_water() - hydrate),
            hydrate: share(water.min(hydrate), hydrate),
            fuel_lost: 1.0 - fuel_left,
            nitrate_lost: 1.0 - oxidiser_left,
            fuel_gone: lost * escape,
            nitrate_gone: nitrate,
        }
    }
}
