//! Fuel ratios at which a batch reaches a temperature: a scan that brackets, Brent that closes.

use super::ChooseError;
use crate::batch::Batch;
use crate::burn::{Burner, Heating, StateResult, species_set};
use crate::enthalpy::WaterStateName;
use crate::equilibrium::System;
use crate::formula::Element;
use crate::quantity::{EquivalenceRatio, Ratio, ThermodynamicTemperature};
use crate::tables::Tables;
use crate::tables::phases::Search;
use crate::vary::{Point, VaryError, burnt};
use roots::{SimpleConvergency, find_root_brent};
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;

/// Roots are closed to this in φ; the flame then hits the temperature within some 0.01 K.
const RATIO_TOLERANCE: f64 = 1e-7;
/// Roots are closed to this in K.
const TEMPERATURE_TOLERANCE: f64 = 1e-4;

/// A root counts only if the flame there is this near to the level, in K.
const WIDEST_MISS: f64 = 0.05;

/// Fuel ratios from one to another that are hot enough; an end at the edge of the search is open.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatioRange {
    /// Least φ.
    pub from: EquivalenceRatio,
    /// Largest φ.
    pub to: EquivalenceRatio,
    /// Whether `from` is a root and not the edge of the search.
    pub from_is_root: bool,
    /// Whether `to` is one.
    pub to_is_root: bool,
}

/// What a batch reaches in one state of the water at one loss.
#[derive(Debug, Clone)]
pub struct Reach {
    /// State of the water.
    pub state: WaterStateName,
    /// Share of the heat that is lost.
    pub loss: Ratio,
    /// Ratios that reach the least temperature that may do.
    pub least: Vec<RatioRange>,
    /// Ratios that reach the temperature that does.
    pub safe: Vec<RatioRange>,
    /// Ratio of the hottest flame.
    pub hottest_ratio: EquivalenceRatio,
    /// The hottest flame, in equilibrium.
    pub hottest: ThermodynamicTemperature,
}

/// Burns one batch at any φ in one state of the water at one loss.
pub struct Probe<'t> {
    batch: Batch,
    state: WaterStateName,
    heating: Heating,
    tables: &'t Tables,
    system: Option<System<'t>>,
}

impl<'t> Probe<'t> {
    /// A probe of `batch`, with the loss in place of that of the file.
    #[must_use]
    pub fn new(batch: &Batch, state: WaterStateName, loss: Ratio, tables: &'t Tables) -> Self {
        let mut batch = batch.clone();
        batch.conditions.heat_loss = loss;
        let heating = match state {
            WaterStateName::AtIgnition => Heating::of(&batch, tables),
            _ => Heating::NotStated,
        };
        Self {
            batch,
            state,
            heating,
            tables,
            system: None,
        }
    }

    /// The batch at φ = `phi`.
    ///
    /// # Errors
    /// [`VaryError`] if its fuels cannot give that ratio.
    pub fn batch_at(&self, phi: f64) -> Result<Batch, VaryError> {
        Ok(self
            .batch
            .with_equivalence_ratio(Ratio::new::<ratio>(phi))?)
    }

    /// The burn at φ = `phi`.
    ///
    /// # Errors
    /// [`VaryError`] if there is no such batch or it cannot be burnt.
    pub fn at(&mut self, phi: f64) -> Result<Point, VaryError> {
        let changed = self.batch_at(phi)?;
        self.burn(&changed)
    }

    /// Burns `batch`, of the same elements as that of the probe.
    ///
    /// # Errors
    /// [`VaryError`] if it cannot be burnt.
    pub fn burn(&mut self, batch: &Batch) -> Result<Point, VaryError> {
        let (system, tables) = (self.system_for(batch), self.tables);
        let after = &mut self.system;
        burnt(
            batch,
            (self.state, &self.heating),
            system,
            tables,
            after,
            |burner, result| Point::of(batch, burner.redox(), burner.product(), result, tables),
        )
    }

    fn kelvin(&mut self, phi: f64) -> Result<f64, VaryError> {
        let changed = self.batch_at(phi)?;
        let system = self.system_for(&changed);
        let after = &mut self.system;
        let take = |_: &Burner<'_, '_>, result: &StateResult| {
            let burnt = result.equilibrium.as_ref().map_err(Clone::clone)?;
            Ok(burnt.equilibrium.temperature.get::<kelvin>())
        };
        burnt(
            &changed,
            (self.state, &self.heating),
            system,
            self.tables,
            after,
            take,
        )
    }

    fn system_for(&mut self, batch: &Batch) -> System<'t> {
        self.system.take().unwrap_or_else(|| {
            let mut elements: Vec<Element> = batch.dry_elements().into_keys().collect();
            elements.extend([Element::HYDROGEN, Element::OXYGEN, Element::NITROGEN]);
            System::new(
                self.tables,
                &elements,
                species_set(batch),
                batch.conditions.solid_solutions,
            )
        })
    }
}

/// One point of the scan.
#[derive(Clone, Copy)]
struct Scanned {
    phi: f64,
    t: f64,
}

/// What `probe` reaches of `least` and `safe` between the ratios of `search`.
///
/// # Errors
/// [`ChooseError::NoBurn`] if the batch burns at no ratio of the search.
pub fn reach(
    probe: &mut Probe<'_>,
    least: ThermodynamicTemperature,
    safe: ThermodynamicTemperature,
    search: &Search,
) -> Result<Reach, ChooseError> {
    let mut scan = Vec::new();
    let mut first_error = None;
    for i in 0..=search.steps {
        // Even in ln φ: the lean side is as wide as the rich one.
        let share = i as f64 / search.steps as f64;
        let phi = search.ratio_from * (search.ratio_to / search.ratio_from).powf(share);
        match probe.kelvin(phi) {
            Ok(t) => scan.push(Scanned { phi, t }),
            Err(error) => first_error = first_error.or(Some(error)),
        }
    }
    let Some(hottest) = scan.iter().copied().max_by(|a, b| a.t.total_cmp(&b.t)) else {
        let reason = first_error.map_or_else(String::new, |error| error.to_string());
        return Err(ChooseError::NoBurn { reason });
    };
    let hottest = refine(probe, &scan, hottest);
    if let Some(at) = scan.iter().position(|s| s.phi > hottest.phi) {
        if scan[at.saturating_sub(1)].phi < hottest.phi {
            scan.insert(at, hottest);
        }
    }
    let mut ranges = |level: ThermodynamicTemperature| ranges(probe, &scan, level.get::<kelvin>());
    Ok(Reach {
        least: ranges(least),
        safe: ranges(safe),
        state: probe.state,
        loss: probe.batch.conditions.heat_loss,
        hottest_ratio: Ratio::new::<ratio>(hottest.phi),
        hottest: ThermodynamicTemperature::new::<kelvin>(hottest.t),
    })
}

/// The hottest point between its neighbours in the scan, by golden sections; so narrow a peak that
/// the scan jumps over it is not missed.
fn refine(probe: &mut Probe<'_>, scan: &[Scanned], best: Scanned) -> Scanned {
    const GOLDEN: f64 = 0.618_033_988_749_894_8;
    let at = scan
        .iter()
        .position(|s| s.phi >= best.phi)
        .unwrap_or_default();
    let mut low = scan[at.saturating_sub(1)].phi;
    let mut high = scan[(at + 1).min(scan.len() - 1)].phi;
    let mut best = best;
    for _ in 0..12 {
        let (a, b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        let (Ok(t_a), Ok(t_b)) = (probe.kelvin(a), probe.kelvin(b)) else {
            return best;
        };
        for (phi, t) in [(a, t_a), (b, t_b)] {
            if t > best.t {
                best = Scanned { phi, t };
            }
        }
        if t_a > t_b {
            high = b;
        } else {
            low = a;
        }
    }
    best
}

/// Stretches of the scan at or above `level`, their ends closed by Brent's method.
fn ranges(probe: &mut Probe<'_>, scan: &[Scanned], level: f64) -> Vec<RatioRange> {
    let mut found = Vec::new();
    let mut open: Option<(f64, bool)> = scan
        .first()
        .filter(|s| s.t >= level)
        .map(|s| (s.phi, false));
    for pair in scan.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if (a.t >= level) == (b.t >= level) {
            continue;
        }
        let Some(root) = root(probe, a, b, level) else {
            continue;
        };
        match open.take() {
            None => open = Some((root, true)),
            Some((from, from_is_root)) => found.push(RatioRange {
                from: Ratio::new::<ratio>(from),
                to: Ratio::new::<ratio>(root),
                from_is_root,
                to_is_root: true,
            }),
        }
    }
    if let (Some((from, from_is_root)), Some(last)) = (open, scan.last()) {
        found.push(RatioRange {
            from: Ratio::new::<ratio>(from),
            to: Ratio::new::<ratio>(last.phi),
            from_is_root,
            to_is_root: false,
        });
    }
    found
}

fn root(probe: &mut Probe<'_>, a: Scanned, b: Scanned, level: f64) -> Option<f64> {
    let mut tolerance = SimpleConvergency {
        eps: RATIO_TOLERANCE,
        max_iter: 60,
    };
    // The nearest ratio that was tried counts, not what the search returns: when it stops on the
    // width of the bracket, that can be an older point. A failed burn ends it as no number.
    let mut nearest = (f64::NAN, f64::INFINITY);
    let _ = find_root_brent(
        a.phi,
        b.phi,
        |phi| {
            let off = probe.kelvin(phi).map_or(f64::NAN, |t| t - level);
            if off.abs() < nearest.1 {
                nearest = (phi, off.abs());
            }
            if off.abs() < TEMPERATURE_TOLERANCE {
                0.0
            } else {
                off
            }
        },
        &mut tolerance,
    );
    (nearest.1 < WIDEST_MISS).then_some(nearest.0)
}
