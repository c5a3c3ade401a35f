//! What a series says: how a reading goes with the level, and whether it stops going.
//!
//! Least squares of a constant, a line, and a line that turns flat at one of the levels; chosen by
//! the corrected Akaike criterion AICc = N ln(RSS/N) + 2k + 2k(k + 1)/(N − k − 1), k counting the
//! variance (C. M. Hurvich and C.-L. Tsai, Biometrika 76 (1989) 297, from memory).

use super::page::Page;
use crate::batch::Run;
use crate::quantity::units::{degree_celsius, gram, percent, square_meter_per_kilogram};
use std::collections::BTreeMap;

/// Readings that a trend needs at least.
const FEWEST: usize = 4;
/// Levels that it needs at least.
const FEWEST_LEVELS: usize = 3;
/// Student's t of 90 % by degrees of freedom from 1, from memory: 8 of 10 lie within ± t.
const T_90: [f64; 12] = [
    3.078, 1.886, 1.638, 1.533, 1.476, 1.440, 1.415, 1.397, 1.383, 1.372, 1.363, 1.356,
];
/// The same for more.
const T_90_MORE: f64 = 1.3;
/// A sum of squares below this share of the values' own is rounding.
const ROUNDING: f64 = 1e-24;

/// How a reading goes with the level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Course {
    /// It does not, as far as the readings tell.
    None,
    /// It rises or falls all along.
    Steady,
    /// It does so up to this level and no further.
    Plateau {
        /// Level beyond which nothing changes.
        from: f64,
    },
}

/// One reading over the levels of a series.
#[derive(Debug, Clone, PartialEq)]
pub struct Trend {
    pub series: String,
    /// What it changes.
    pub over: String,
    /// Unit of the levels, such as "%"; empty without one.
    pub unit: String,
    /// What was read, with its unit.
    pub measure: &'static str,
    /// Levels and readings, by level.
    pub points: Vec<(f64, f64)>,
    /// How it goes.
    pub course: Course,
    /// Change of the reading per unit of the level, by a line through all of them, or through those
    /// up to the plateau.
    pub slope: f64,
    /// 8 of 10 about that slope, to each side.
    pub slope_band: f64,
    /// Scatter of the readings about the course, one standard deviation.
    pub scatter: f64,
    /// The next level, as far beyond the last as that is from the one before, and what the course
    /// predicts there.
    pub next: (f64, f64),
}

/// A reading of a run as a number.
type Measure = (&'static str, fn(&Run) -> Option<f64>);

const MEASURES: [Measure; 6] = [
    ("peak / °C", |run| {
        run.peak_temperature.map(|t| t.get::<degree_celsius>())
    }),
    ("powder / g", |run| run.powder_mass.map(|m| m.get::<gram>())),
    ("loss on ignition / %", |run| {
        run.loss_on_ignition.map(|l| l.get::<percent>())
    }),
    ("L*", |run| Some(run.powder.as_ref()?.lab?.lightness)),
    ("surface / m²/g", |run| {
        let area = run.powder.as_ref()?.surface_area?;
        Some(area.get::<square_meter_per_kilogram>() / 1000.0)
    }),
    ("live flakes / %", |run| {
        let (live, all) = run.powder.as_ref()?.flakes?;
        Some(100.0 * f64::from(live) / f64::from(all))
    }),
];

/// The runs of a series with their levels, and the unit of these.
#[derive(Default)]
struct Levels<'p> {
    unit: &'p str,
    runs: Vec<(f64, &'p Run)>,
}

/// The trends of all series among the pages whose levels are numbers.
pub fn trends(pages: &[Page]) -> Vec<Trend> {
    let mut series: BTreeMap<(&str, &str), Levels<'_>> = BTreeMap::new();
    for page in pages {
        let Some(mark) = &page.batch.series else {
            continue;
        };
        let Some((level, unit)) = mark.level.as_deref().and_then(number) else {
            continue;
        };
        let runs = page.batch.runs.iter().map(|run| (level, run));
        let levels = series.entry((&mark.name, &mark.over)).or_default();
        // A blank is 0 without a unit.
        if !unit.is_empty() {
            levels.unit = unit;
        }
        levels.runs.extend(runs);
    }
    let mut trends = Vec::new();
    for ((name, over), Levels { unit, runs }) in series {
        for (measure, of) in MEASURES {
            let points = runs
                .iter()
                .filter_map(|(level, run)| Some((*level, of(run)?)));
            trends.extend(trend(points.collect()).map(|trend| Trend {
                series: name.to_owned(),
                over: over.to_owned(),
                unit: unit.to_owned(),
                measure,
                ..trend
            }));
        }
    }
    trends
}

/// The number at the head of a level such as "1.5 %", and its unit; `None` for a name or several
/// levels.
fn number(level: &str) -> Option<(f64, &str)> {
    let level = level.trim();
    if level.contains(',') {
        return None;
    }
    let end = level.find(|c: char| c.is_whitespace() || c == '%');
    let (number, unit) = level.split_at(end.unwrap_or(level.len()));
    Some((number.parse().ok()?, unit.trim()))
}

/// The trend of these points; `None` if they are too few.
pub fn trend(mut points: Vec<(f64, f64)>) -> Option<Trend> {
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut levels: Vec<f64> = points.iter().map(|point| point.0).collect();
    levels.dedup_by(|a, b| (*a - *b).abs() < f64::EPSILON * b.abs().max(1.0));
    if points.len() < FEWEST || levels.len() < FEWEST_LEVELS {
        return None;
    }
    let line = Fit::of(&points, f64::INFINITY);
    let mean = points.iter().map(|p| p.1).sum::<f64>() / points.len() as f64;
    let flat: f64 = points.iter().map(|p| (p.1 - mean).powi(2)).sum();
    let count = points.len() as f64;
    let rounding = ROUNDING * points.iter().map(|p| p.1 * p.1).sum::<f64>();
    let criterion = |squares: f64, k: f64| {
        let room = count - k - 1.0;
        if room <= 0.0 {
            return f64::INFINITY;
        }
        count * (squares.max(rounding) / count).ln() + 2.0 * k + 2.0 * k * (k + 1.0) / room
    };
    // With so few points that the criterion cannot judge a line, its own band does.
    let slope_band = t_90(points.len() - 2) * line.slope_deviation;
    let mut best = (Course::None, criterion(flat, 2.0), Fit::flat(mean, flat));
    let seen = line.slope.abs() > slope_band;
    let by_line = criterion(line.squares, 3.0);
    if by_line < best.1 || (by_line.is_infinite() && seen) {
        best = (Course::Steady, by_line, line);
    }
    for &from in &levels[1..levels.len() - 1] {
        let bent = Fit::of(&points, from);
        let value = criterion(bent.squares, 4.0);
        if value < best.1 {
            best = (Course::Plateau { from }, value, bent);
        }
    }
    let [before, last] = levels[levels.len() - 2..] else {
        return None;
    };
    let next = 2.0 * last - before;
    let parameters: u8 = match best.0 {
        Course::None => 1,
        Course::Steady => 2,
        Course::Plateau { .. } => 3,
    };
    let freedom = (points.len() - usize::from(parameters)).max(1);
    let (slope, slope_band) = match best.0 {
        Course::Plateau { .. } => {
            // The level of the turn is a parameter too.
            let spare = (points.len() - 2) as f64 / freedom as f64;
            let deviation = spare.sqrt() * best.2.slope_deviation;
            (best.2.slope, t_90(freedom) * deviation)
        }
        Course::None | Course::Steady => (line.slope, slope_band),
    };
    Some(Trend {
        series: String::new(),
        over: String::new(),
        unit: String::new(),
        measure: "",
        course: best.0,
        slope,
        slope_band,
        scatter: (best.2.squares / freedom as f64).sqrt(),
        next: (next, best.2.at(next)),
        points,
    })
}

fn t_90(freedom: usize) -> f64 {
    T_90.get(freedom.saturating_sub(1))
        .copied()
        .unwrap_or(T_90_MORE)
}

/// A line in min(level, `turn`).
#[derive(Debug, Clone, Copy)]
struct Fit {
    turn: f64,
    intercept: f64,
    slope: f64,
    slope_deviation: f64,
    squares: f64,
}

impl Fit {
    fn flat(mean: f64, squares: f64) -> Self {
        Self {
            turn: f64::INFINITY,
            intercept: mean,
            slope: 0.0,
            slope_deviation: 0.0,
            squares,
        }
    }

    fn of(points: &[(f64, f64)], turn: f64) -> Self {
        let count = points.len() as f64;
        let x = |point: &(f64, f64)| point.0.min(turn);
        let mean_x = points.iter().map(x).sum::<f64>() / count;
        let mean_y = points.iter().map(|p| p.1).sum::<f64>() / count;
        let spread: f64 = points.iter().map(|p| (x(p) - mean_x).powi(2)).sum();
        let together: f64 = points
            .iter()
            .map(|p| (x(p) - mean_x) * (p.1 - mean_y))
            .sum();
        let slope = together / spread;
        let intercept = mean_y - slope * mean_x;
        let off = |p: &(f64, f64)| (p.1 - intercept - slope * x(p)).powi(2);
        let squares: f64 = points.iter().map(off).sum();
        Self {
            turn,
            intercept,
            slope,
            slope_deviation: (squares / (count - 2.0).max(1.0) / spread).sqrt(),
            squares,
        }
    }

    fn at(&self, level: f64) -> f64 {
        self.intercept + self.slope * level.min(self.turn)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Noise of one unit that adds up to little.
    const NOISE: [f64; 10] = [0.4, -0.7, 0.9, -0.2, -0.6, 0.8, -0.9, 0.3, 0.5, -0.5];

    fn points(of: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
        let levels = [0.5, 1.0, 1.5, 2.0, 3.0].into_iter().flat_map(|x| [x, x]);
        levels
            .zip(NOISE)
            .map(|(x, noise)| (x, of(x) + noise))
            .collect()
    }

    #[test]
    fn a_line_is_found_with_its_slope() {
        let found = trend(points(|x| 10.0 + 20.0 * x)).unwrap();
        assert_eq!(found.course, Course::Steady);
        assert!((found.slope - 20.0).abs() < found.slope_band, "{found:?}");
        assert_relative_eq!(found.next.0, 4.0);
        assert_relative_eq!(found.next.1, 90.0, epsilon = 2.0);
        assert!((0.3..1.5).contains(&found.scatter), "{}", found.scatter);
    }

    #[test]
    fn a_plateau_is_found_where_it_starts() {
        let found = trend(points(|x| 20.0 * x.min(1.5))).unwrap();
        assert_eq!(found.course, Course::Plateau { from: 1.5 });
        assert_relative_eq!(found.next.1, 30.0, epsilon = 1.0);
        // The slope is that before the plateau, not that of a line through all.
        assert!((found.slope - 20.0).abs() < found.slope_band, "{found:?}");
    }

    #[test]
    fn scatter_alone_is_no_trend() {
        assert_eq!(trend(points(|_| 50.0)).unwrap().course, Course::None);
        assert!(trend(vec![(1.0, 2.0), (2.0, 3.0), (3.0, 4.0)]).is_none());
        assert!(trend(vec![(1.0, 2.0); 8]).is_none());
    }

    #[test]
    fn the_slope_is_that_of_the_closed_form() {
        // By hand: x 1, 2, 3, 4; y 2, 4, 5, 8: slope 9.5/5, RSS 0.7, deviation √(0.35/5).
        let found = trend(vec![(1.0, 2.0), (2.0, 4.0), (3.0, 5.0), (4.0, 8.0)]).unwrap();
        assert_relative_eq!(found.slope, 1.9, max_relative = 1e-12);
        assert_relative_eq!(
            found.slope_band,
            1.886 * 0.07_f64.sqrt(),
            max_relative = 1e-9
        );
    }

    #[test]
    fn levels_are_read_with_their_unit() {
        assert_eq!(number("1.5 %"), Some((1.5, "%")));
        assert_eq!(number("2%"), Some((2.0, "%")));
        assert_eq!(number("8 mL"), Some((8.0, "mL")));
        assert_eq!(number("0"), Some((0.0, "")));
        assert_eq!(number("urea"), None);
        assert_eq!(number("1, 8 mL"), None);
    }
}
