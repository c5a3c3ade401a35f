//! Fuel ratios at which a batch is expected to reach a temperature: a scan that brackets, Brent
//! that closes. Every peak is that of the middle of every band, see [`crate::expected`].

use super::error::ChooseError;
use crate::expected::Expectation;
use crate::quantity::units::{kelvin, ratio};
use crate::quantity::{EquivalenceRatio, Ratio, ThermodynamicTemperature};
use crate::tables::phases::Search;
use roots::{SimpleConvergency, find_root_brent};

/// Roots are closed to this in φ; finer than any balance.
const RATIO_TOLERANCE: f64 = 1e-4;
/// Roots are closed to this in K.
const TEMPERATURE_TOLERANCE: f64 = 0.1;
/// A root counts only if the peak there is this near to the level, in K: a peak that jumps over it
/// has none.
const WIDEST_MISS: f64 = 2.0;

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

/// What a batch is expected to reach.
#[derive(Debug, Clone)]
pub struct Reach {
    /// Ratios that reach the least temperature that may do.
    pub least: Vec<RatioRange>,
    /// Ratios that reach the temperature that does.
    pub safe: Vec<RatioRange>,
    /// Ratio of the hottest burn.
    pub hottest_ratio: EquivalenceRatio,
    /// The hottest burn.
    pub hottest: ThermodynamicTemperature,
}

/// One point of the scan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scanned {
    pub phi: f64,
    /// Expected peak, K; 0 without a flame.
    pub t: f64,
}

/// Expected peak (K) at φ = `phi`; 0 without a flame.
fn peak_at(expectation: &mut Expectation<'_>, phi: f64) -> f64 {
    let draw = expectation.middle(expectation.fuel_for(phi));
    draw.peak.map_or(0.0, |t| t.get::<kelvin>())
}

/// The peaks at the ratios of the search up to φ = `most`, with φ = 1 among them.
pub(super) fn scan(
    expectation: &mut Expectation<'_>,
    search: &Search,
    most: f64,
) -> Result<Vec<Scanned>, ChooseError> {
    // Even in ln φ: the lean side is as wide as the rich one. As dense whatever the end.
    let span = |end: f64| (end / search.ratio_from).ln();
    let steps = (search.steps as f64 * span(most) / span(search.ratio_to)).ceil();
    let mut ratios: Vec<f64> = (0..=steps as usize)
        .map(|i| search.ratio_from * (span(most) * i as f64 / steps).exp())
        .collect();
    ratios.push(1.0);
    ratios.sort_by(f64::total_cmp);
    // Salts that reduce may give more than a lean ratio without any fuel.
    ratios.retain(|phi| expectation.fuel_for(*phi) > 0.0);
    let scan: Vec<Scanned> = ratios
        .into_iter()
        .map(|phi| Scanned {
            phi,
            t: peak_at(expectation, phi),
        })
        .collect();
    if scan.iter().any(|s| s.t > 0.0) {
        return Ok(scan);
    }
    let reason = "no draw from the middle of the bands has a flame".to_owned();
    Err(ChooseError::NoBurn { reason })
}

/// What the scanned batch reaches of `least` and `safe`.
pub(super) fn reach(
    expectation: &mut Expectation<'_>,
    scan: &[Scanned],
    least: ThermodynamicTemperature,
    safe: ThermodynamicTemperature,
) -> Reach {
    let hottest = scan.iter().copied().max_by(|a, b| a.t.total_cmp(&b.t));
    let hottest = hottest.unwrap_or(Scanned { phi: 1.0, t: 0.0 });
    let mut ranges =
        |level: ThermodynamicTemperature| ranges(expectation, scan, level.get::<kelvin>());
    Reach {
        least: ranges(least),
        safe: ranges(safe),
        hottest_ratio: Ratio::new::<ratio>(hottest.phi),
        hottest: ThermodynamicTemperature::new::<kelvin>(hottest.t),
    }
}

/// Stretches of the scan at or above `level`, their ends closed by Brent's method.
fn ranges(expectation: &mut Expectation<'_>, scan: &[Scanned], level: f64) -> Vec<RatioRange> {
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
        // A peak that jumps over the level (out of the flame) ends at the last point above it.
        let above = if a.t >= level { a.phi } else { b.phi };
        let (end, is_root) = match root(expectation, a, b, level) {
            Some(root) => (root, true),
            None => (above, false),
        };
        match open.take() {
            None => open = Some((end, is_root)),
            Some((from, from_is_root)) => found.push(RatioRange {
                from: Ratio::new::<ratio>(from),
                to: Ratio::new::<ratio>(end),
                from_is_root,
                to_is_root: is_root,
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

fn root(expectation: &mut Expectation<'_>, a: Scanned, b: Scanned, level: f64) -> Option<f64> {
    let mut tolerance = SimpleConvergency {
        eps: RATIO_TOLERANCE,
        max_iter: 30,
    };
    // The nearest ratio that was tried counts, not what the search returns: when it stops on the
    // width of the bracket, that can be an older point.
    let mut nearest = (f64::NAN, f64::INFINITY);
    let _ = find_root_brent(
        a.phi,
        b.phi,
        |phi| {
            let off = peak_at(expectation, phi) - level;
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
