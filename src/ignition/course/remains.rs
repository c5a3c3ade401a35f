//! What is left of water, fuel and nitrate when heating ends.

use crate::ignition::charge::Charge;
use crate::ignition::history::History;
use crate::tables::kinetics::FUEL_STEPS;

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
    /// Heat stored in what stays of the fuel, J per kg dry mass.
    pub stored: f64,
    /// How far each step of the volatile fuel has come.
    pub fuel_steps: [f64; FUEL_STEPS],
    /// Share of the nitrate that has left, by amount.
    pub nitrate_gone: f64,
}

impl Remains {
    pub fn of(charge: &Charge, history: &History) -> Self {
        let water = history.mean_of(|cell| cell.w);
        let hydrate = charge.hydrate_ratio();
        let share = |part: f64, whole: f64| if whole > 0.0 { part / whole } else { 0.0 };
        let nitrate = history.mean_of(|cell| cell.nitrate);
        let mut fuel_steps = [0.0; FUEL_STEPS];
        if let Some(loss) = &charge.fuel_loss {
            for (cell, share) in history.state.cells.iter().zip(&history.shares) {
                for (step, done) in fuel_steps.iter_mut().zip(loss.progress(cell.lost)) {
                    *step += done * share;
                }
            }
        }
        Self {
            water_ratio: water,
            water: share(water, charge.initial_water()),
            solvent: share((water - hydrate).max(0.0), charge.initial_water() - hydrate),
            hydrate: share(water.min(hydrate), hydrate),
            fuel_lost: history.mean_of(|cell| cell.left.escaped),
            nitrate_lost: 1.0 - charge.oxidiser_left(nitrate),
            stored: history.mean_of(|cell| charge.stored_heat(cell.lost)),
            fuel_steps,
            nitrate_gone: nitrate,
        }
    }
}
