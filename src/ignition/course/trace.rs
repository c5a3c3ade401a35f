//! The course as points for charts: at most [`TRACE_POINTS`] of the solver's steps, chosen so that
//! straight lines between them follow every curve.

use super::numbers::{k, r, share};
use super::stage::StageName;
use crate::ignition::charge::Charge;
use crate::ignition::course::stage::Stage;
use crate::ignition::history::Sample;
use crate::quantity::units::{kelvin, ratio, second, watt};
use crate::quantity::{Power, Ratio, ThermodynamicTemperature, Time};

/// Most points of a trace.
pub const TRACE_POINTS: usize = 200;

/// A point of the course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoursePoint {
    /// Time.
    pub time: Time,
    /// Temperature of the layer at the floor.
    pub floor: ThermodynamicTemperature,
    /// In the middle of its depth.
    pub middle: ThermodynamicTemperature,
    /// At its free surface.
    pub surface: ThermodynamicTemperature,
    /// Share of all water left.
    pub water_left: Ratio,
    /// Share of the fuel left, by reducing valence.
    pub fuel_left: Ratio,
    /// Share of the nitrate left, by oxidising valence.
    pub nitrate_left: Ratio,
    /// Power taken up from the heating way, mean since the point before.
    pub power: Power,
    /// Stage of the course.
    pub stage: StageName,
}

/// The trace of a run.
pub(super) fn trace(samples: &[Sample], stages: &[Stage], charge: &Charge) -> Vec<CoursePoint> {
    let curves: Vec<[f64; 6]> = samples.iter().map(|s| curves(s, charge)).collect();
    let times: Vec<f64> = samples.iter().map(|s| s.time).collect();
    let chosen = followed(&times, &curves, TRACE_POINTS);
    let mut before = samples.first().copied();
    chosen
        .into_iter()
        .map(|at| {
            let sample = &samples[at];
            let power = before.map_or(0.0, |b| {
                share((sample.heat - b.heat) * charge.area, sample.time - b.time)
            });
            before = Some(*sample);
            let time = Time::new::<second>(sample.time);
            CoursePoint {
                time,
                floor: k(sample.floor),
                middle: k(sample.middle),
                surface: k(sample.surface),
                water_left: r(share(sample.water, charge.initial_water())),
                fuel_left: r(1.0 - sample.fuel_lost),
                nitrate_left: r(charge.oxidiser_left(sample.nitrate)),
                power: Power::new::<watt>(power),
                stage: stages
                    .iter()
                    .find(|s| time <= s.end)
                    .map_or(StageName::Runaway, |s| s.name),
            }
        })
        .collect()
}

/// The points of a trace, at most `most`, between which straight lines follow its curves best.
pub fn thinned(trace: &[CoursePoint], most: usize) -> Vec<&CoursePoint> {
    let times: Vec<f64> = trace.iter().map(|p| p.time.get::<second>()).collect();
    let curves = |p: &CoursePoint| {
        let [floor, middle, surface] =
            [p.floor, p.middle, p.surface].map(|t| t.get::<kelvin>() / KELVINS);
        let [water, fuel, nitrate] =
            [p.water_left, p.fuel_left, p.nitrate_left].map(|share| share.get::<ratio>());
        [floor, middle, surface, water, fuel, nitrate]
    };
    let curves: Vec<[f64; 6]> = trace.iter().map(curves).collect();
    let chosen = followed(&times, &curves, most).into_iter();
    chosen.map(|at| &trace[at]).collect()
}

/// Usual range of the temperatures, K.
const KELVINS: f64 = 300.0;

/// The curves that have to be followed, each scaled to its usual range.
fn curves(sample: &Sample, charge: &Charge) -> [f64; 6] {
    [
        sample.floor / KELVINS,
        sample.middle / KELVINS,
        sample.surface / KELVINS,
        share(sample.water, charge.initial_water()),
        sample.fuel_lost,
        sample.nitrate,
    ]
}

/// Indices, rising, of at most `most` points between which straight lines follow all curves best:
/// the interval with the largest deviation is split where it is largest, again and again.
fn followed<const N: usize>(times: &[f64], curves: &[[f64; N]], most: usize) -> Vec<usize> {
    let last = match times.len() {
        0 => return Vec::new(),
        1 => return vec![0],
        n => n - 1,
    };
    let worst = |from: usize, to: usize| {
        let mut worst = (0.0, from);
        for at in from + 1..to {
            let part = (times[at] - times[from]) / (times[to] - times[from]);
            for (c, value) in curves[at].iter().enumerate() {
                let line = curves[from][c] + part * (curves[to][c] - curves[from][c]);
                let off = (value - line).abs();
                if off > worst.0 {
                    worst = (off, at);
                }
            }
        }
        worst
    };
    let mut chosen = vec![0, last];
    let mut off = vec![worst(0, last)];
    while chosen.len() < most {
        let Some((gap, &(size, at))) = off
            .iter()
            .enumerate()
            .max_by(|a, b| a.1.0.total_cmp(&b.1.0))
        else {
            break;
        };
        if size < 1e-4 {
            break;
        }
        let (from, to) = (chosen[gap], chosen[gap + 1]);
        chosen.insert(gap + 1, at);
        off[gap] = worst(from, at);
        off.insert(gap + 1, worst(at, to));
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_are_kept_and_straight_stretches_are_not() {
        let times: Vec<f64> = (0..1000).map(f64::from).collect();
        let curves: Vec<[f64; 1]> = times
            .iter()
            .map(|t| [if *t < 400.0 { *t / 400.0 } else { 1.0 }])
            .collect();
        assert_eq!(followed(&times, &curves, 200), [0, 400, 999]);
    }

    #[test]
    fn no_more_points_than_asked_for_and_lines_stay_close() {
        let times: Vec<f64> = (0..3000).map(f64::from).collect();
        let curves: Vec<[f64; 1]> = times.iter().map(|t| [(t / 200.0).sin()]).collect();
        let chosen = followed(&times, &curves, 200);
        assert!(chosen.len() <= 200 && chosen.windows(2).all(|p| p[0] < p[1]));
        for pair in chosen.windows(2) {
            for at in pair[0]..pair[1] {
                let part = (times[at] - times[pair[0]]) / (times[pair[1]] - times[pair[0]]);
                let line = curves[pair[0]][0] + part * (curves[pair[1]][0] - curves[pair[0]][0]);
                assert!((line - curves[at][0]).abs() < 0.01);
            }
        }
    }
}
