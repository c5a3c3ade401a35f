//! Equilibrium at given enthalpy and pressure: the temperature that balances H.
//!
//! H of the equilibrium never falls with T, so the root is bracketed and every step tightens the
//! bracket. Steps are Newton's, with dH/dT along the equilibrium; a step that would leave the
//! bracket means that H jumps inside it (melting, a transition, a decomposition at fixed
//! pressure). Then the step goes to the temperature where the phase on the other side becomes
//! stable, and when the bracket has closed around a jump the answer is a mixture of both sides.
//!
//! The bracket is kept here and not by a library root finder: those see only the sign of the
//! imbalance, need some forty evaluations to close on a jump, and give no phase fraction.

use super::gibbs::Evidence;
use super::kernel::{COLDEST, HOTTEST, Kernel, Point};
use super::problem::Failure;
use super::problem::Heat;

/// Half width of the bracket around a jump, relative. The affinity that this leaves, about
/// 1e-8 ΔH/RT, is still told from rounding.
const NARROW: f64 = 1e-8;
/// Largest factor between two temperatures while there is no bracket yet.
const LEAP: f64 = 1.8;
/// Share of the bracket that counts as near a jump just found.
const NEAR: f64 = 0.02;
const MOST_SOLVES: usize = 120;

/// Why there is no temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Unbalanced {
    /// The minimisation at `t` failed.
    At { t: f64, failure: Failure },
    /// Even at the end `t` of the range the products' enthalpy is off by `excess`, J.
    OutOfRange { t: f64, excess: f64 },
    /// The bracket did not close.
    Open { low: f64, high: f64 },
}

/// The answer, with the two sides of the jump it lies on, if it does.
#[derive(Clone, Debug)]
pub(super) struct Balance {
    pub point: Point,
    /// Share of the way from the colder to the hotter side, and both.
    pub jump: Option<(f64, Point, Point)>,
    /// Newton's step that was left to go, K.
    pub rest: f64,
    pub solves: usize,
    pub iterations: usize,
}

/// Solves H(T, p, b) = what `heat` leaves at T.
pub(super) fn balance(
    kernel: &mut Kernel,
    heat: &Heat,
    p: f64,
    b: &[f64],
) -> Result<Balance, Unbalanced> {
    let mut low: Option<Point> = None;
    let mut high: Option<Point> = None;
    let mut point = Point::default();
    let mut t = heat.first.clamp(COLDEST, HOTTEST);
    let mut iterations = 0;
    let mut jumped = false;
    for solves in 1..=MOST_SOLVES {
        kernel
            .at(t, p, b, &mut point)
            .map_err(|failure| Unbalanced::At { t, failure })?;
        iterations += point.evidence.iterations;
        let (left, slope) = heat.left(t);
        let missing = left - point.h;
        let step = missing / (point.c - slope);
        if step.abs() < heat.found * t {
            return Ok(Balance {
                point,
                jump: None,
                rest: step,
                solves,
                iterations,
            });
        }
        let upwards = missing > 0.0;
        let side = if upwards { &mut low } else { &mut high };
        std::mem::swap(side.get_or_insert_with(Point::default), &mut point);
        t = match (&low, &high) {
            (Some(low), Some(high)) => {
                if high.t - low.t < 3.0 * NARROW * high.t {
                    return Ok(across(low, high, left, solves, iterations));
                }
                let (here, there) = if upwards { (low, high) } else { (high, low) };
                let middle = 0.5 * (low.t + high.t);
                let inside = |t: &f64| low.t < *t && *t < high.t;
                let newton = Some(t + step).filter(inside);
                let jump = crossing(kernel, here, there).filter(inside);
                // Coming from a jump that cannot be seen from this side (a gas that is to boil
                // off, a decomposition): the true place is near, so look a little beyond.
                let near = t + NEAR * (there.t - t);
                let hidden = jumped && jump.is_none();
                jumped = jump.is_some();
                match (newton, jump) {
                    _ if solves > 40 && solves % 2 == 0 => middle,
                    (Some(newton), None) if hidden && (near - t).abs() < (newton - t).abs() => near,
                    (None, None) if hidden => near,
                    (Some(newton), Some(jump)) if (jump - t).abs() < (newton - t).abs() => jump,
                    (Some(newton), _) => newton,
                    (None, jump) => jump.unwrap_or(middle),
                }
            }
            _ => {
                let end = if upwards { HOTTEST } else { COLDEST };
                if if upwards { t >= end } else { t <= end } {
                    return Err(Unbalanced::OutOfRange {
                        t,
                        excess: -missing,
                    });
                }
                let step = if step.is_finite() {
                    step
                } else {
                    missing.signum() * t
                };
                (t + step).clamp(t / LEAP, t * LEAP).clamp(COLDEST, HOTTEST)
            }
        };
    }
    Err(Unbalanced::Open {
        low: low.map_or(COLDEST, |p| p.t),
        high: high.map_or(HOTTEST, |p| p.t),
    })
}

/// Just beyond the temperature, next to `here`, where a phase of `there` becomes stable (or just
/// before it, if `there` is just beyond). `here` must be the point that the kernel solved last.
fn crossing(kernel: &Kernel, here: &Point, there: &Point) -> Option<f64> {
    let sign = (there.t - here.t).signum();
    let mut nearest: Option<f64> = None;
    for (j, (n_here, n_there)) in here.amounts.iter().zip(&there.amounts).enumerate() {
        if *n_there > 0.0 && *n_here <= 0.0 {
            let Some(onset) = kernel.onset(j, here.t) else {
                continue;
            };
            let ahead = sign * (onset - here.t) > -NARROW * here.t;
            if ahead && nearest.is_none_or(|t| sign * (onset - t) < 0.0) {
                nearest = Some(onset);
            }
        }
    }
    nearest.map(|t| {
        let beyond = t * (1.0 + sign * NARROW);
        // The other side is there already: close the bracket from this one.
        if sign * (there.t - beyond) < NARROW * t {
            t * (1.0 - sign * NARROW)
        } else {
            beyond
        }
    })
}

/// Lever rule between the two sides of a jump.
fn across(low: &Point, high: &Point, h: f64, solves: usize, iterations: usize) -> Balance {
    let share = ((h - low.h) / (high.h - low.h)).clamp(0.0, 1.0);
    let mix = |a: f64, b: f64| a + share * (b - a);
    let both = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| mix(*a, *b)).collect();
    let worse = |f: fn(&Evidence) -> f64| f(&low.evidence).max(f(&high.evidence));
    let point = Point {
        t: mix(low.t, high.t),
        h,
        c: f64::INFINITY,
        amounts: both(&low.amounts, &high.amounts),
        potentials: both(&low.potentials, &high.potentials),
        evidence: Evidence {
            iterations: low.evidence.iterations.max(high.evidence.iterations),
            changes: low.evidence.changes.max(high.evidence.changes),
            balance: worse(|e| e.balance),
            potential: worse(|e| e.potential),
            affinity: worse(|e| e.affinity),
        },
    };
    Balance {
        point,
        jump: Some((share, low.clone(), high.clone())),
        rest: 0.0,
        solves,
        iterations,
    }
}
