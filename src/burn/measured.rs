//! A run held against its estimate: what the measured temperature and the weighed powder imply.
//!
//! The estimate is a bound without losses; a measured peak below it implies either a loss or water
//! that was still there. Both are worked out, each as if it were the only cause, by Brent's method
//! on the same flame temperature that the report gives.

use super::burner::{BurnError, Burner};
use crate::batch::Batch;
use crate::enthalpy::{WaterState, WaterStateName, with_share_left};
use crate::quantity::temperature_difference;
use crate::quantity::units::{kelvin, mole, ratio};
use crate::quantity::{AmountOfSubstance, Ratio, TemperatureInterval, ThermodynamicTemperature};
use crate::tables::Tables;
use roots::{SimpleConvergency, find_root_brent};

/// Greatest loss that is tried.
const GREATEST_LOSS: f64 = 0.95;
/// The root is found to this share of the heat or of the water: finer than any of the inputs.
const FINE: f64 = 1e-4;

/// What a run tells about its batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Measured peak less the estimate for the dried batch, if both are there.
    pub below_dried: Option<TemperatureInterval>,
    /// Share of the heat that was lost if the batch burnt dry; `None` if no loss explains it.
    pub loss_if_dry: Option<Ratio>,
    /// Share of all water still there if nothing was lost; `None` if no share explains it.
    pub water_if_no_loss: Option<Ratio>,
    /// Powder recovered over powder expected.
    pub powder_yield: Option<Ratio>,
}

/// Holds the run of a batch against the estimate; `None` if the file tells of no run.
pub fn run_against_estimate(batch: &Batch, tables: &Tables) -> Result<Option<Measured>, BurnError> {
    let Some(run) = batch.runs.last() else {
        return Ok(None);
    };
    let burner = Burner::new(batch, tables)?;
    let powder_yield = run
        .powder_mass
        .map(|mass| -> Ratio { mass / burner.product().mass });
    let mut measured = Measured {
        below_dried: None,
        loss_if_dry: None,
        water_if_no_loss: None,
        powder_yield,
    };
    let Some(peak) = run.peak_temperature else {
        return Ok(Some(measured));
    };
    let dried = dried_state();
    measured.below_dried =
        flame(batch, &dried, tables)?.map(|estimate| temperature_difference(peak, estimate));
    let peak = peak.get::<kelvin>();
    let with_loss = |loss: f64| {
        let mut lossy = batch.clone();
        lossy.conditions.heat_loss = Ratio::new::<ratio>(loss);
        kelvins(flame(&lossy, &dried, tables))
    };
    measured.loss_if_dry = root(0.0, GREATEST_LOSS, peak, with_loss)?;
    let lossless = {
        let mut lossless = batch.clone();
        lossless.conditions.heat_loss = Ratio::new::<ratio>(0.0);
        lossless
    };
    let with_water = |share: f64| {
        let state = with_share_left(&lossless, Ratio::new::<ratio>(share));
        kelvins(flame(&lossless, &state, tables))
    };
    measured.water_if_no_loss = root(0.0, 1.0, peak, with_water)?;
    Ok(Some(measured))
}

fn dried_state() -> WaterState {
    WaterState {
        name: WaterStateName::Dried,
        solvent: AmountOfSubstance::new::<mole>(0.0),
        crystal_share: Ratio::new::<ratio>(0.0),
    }
}

fn flame(
    batch: &Batch,
    state: &WaterState,
    tables: &Tables,
) -> Result<Option<ThermodynamicTemperature>, BurnError> {
    Burner::new(batch, tables)?.flame_temperature(state)
}

/// A flame temperature in K; a batch too wet to burn counts as 0 K, colder than any flame.
fn kelvins(flame: Result<Option<ThermodynamicTemperature>, BurnError>) -> Result<f64, BurnError> {
    Ok(flame?.map_or(0.0, |t| t.get::<kelvin>()))
}

/// Where `temperature`, which falls from `low` to `high`, meets `wanted`; `None` if nowhere.
fn root(
    low: f64,
    high: f64,
    wanted: f64,
    temperature: impl Fn(f64) -> Result<f64, BurnError>,
) -> Result<Option<Ratio>, BurnError> {
    if temperature(low)? < wanted || temperature(high)? > wanted {
        return Ok(None);
    }
    let mut failure = None;
    let mut convergence = SimpleConvergency {
        eps: FINE,
        max_iter: 100,
    };
    let excess = |x: f64| match temperature(x) {
        Ok(t) => t - wanted,
        Err(error) => {
            failure = Some(error);
            0.0
        }
    };
    let found = find_root_brent(low, high, excess, &mut convergence);
    match failure {
        Some(error) => Err(error),
        None => Ok(found.ok().map(Ratio::new::<ratio>)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const BATCH: &str = "[[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\nmass = \"7.5 g\"\n\
                         [[ingredient]]\nsubstance = \"urea\"\nmass = \"3 g\"\n[run]\n";

    fn measured(run: &str) -> Measured {
        let tables = Tables::built_in().unwrap();
        let batch = Batch::parse(&format!("{BATCH}{run}"), "test", &tables).unwrap();
        run_against_estimate(&batch, &tables).unwrap().unwrap()
    }

    #[test]
    fn the_loss_found_gives_the_measured_temperature_back() {
        let found = measured("peak_temperature = \"1000 °C\"\n");
        let loss = found.loss_if_dry.unwrap().get::<ratio>();
        let tables = Tables::built_in().unwrap();
        let text = BATCH.replace("[run]", "[conditions]") + &format!("heat_loss = {loss}\n");
        let batch = Batch::parse(&text, "test", &tables).unwrap();
        let t = flame(&batch, &dried_state(), &tables).unwrap().unwrap();
        // 1e-4 of the heat is worth about 0.3 K here.
        assert_relative_eq!(t.get::<kelvin>(), 1273.15, epsilon = 1.0);
        assert!(found.water_if_no_loss.unwrap().get::<ratio>() > 0.0);
    }

    #[test]
    fn a_peak_above_the_bound_has_no_explanation() {
        let found = measured("peak_temperature = \"2900 °C\"\n");
        assert_eq!(found.loss_if_dry, None);
        assert_eq!(found.water_if_no_loss, None);
    }

    #[test]
    fn half_the_powder_is_half_the_yield() {
        // 7.5 g / 375.129 g/mol / 2 × 101.961 g/mol = 1.0193 g of alumina.
        let found = measured("powder_mass = \"0.5096 g\"\n");
        assert_relative_eq!(
            found.powder_yield.unwrap().get::<ratio>(),
            0.5,
            epsilon = 1e-3
        );
        assert_eq!(found.below_dried, None);
    }
}
