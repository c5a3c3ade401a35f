//! Whether a batch lights, as a verdict with a band.

use super::course::{Course, Ending};
use super::error::IgnitionError;
use super::sample::{self, CourseDraw};
use super::words::{duration, span};
use crate::quantity::units::second;
use crate::quantity::{Band, Time};
use std::fmt;

/// Share of the courses that have to light for a plain yes.
const NEARLY_ALL: f64 = 0.9;

/// A course with what is said of it once everything counts that is not known exactly.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The course with every input at its middle.
    pub course: Course,
    /// The verdict.
    pub verdict: Verdict,
}

/// One heating way of a comparison.
#[derive(Debug)]
pub struct WayResult {
    /// Heating way.
    pub way: String,
    /// Its course with the verdict, or why there is none.
    pub judged: Result<Judged, IgnitionError>,
}

impl Judged {
    /// Draws courses around `course` and counts them: the layer with every input at its middle,
    /// the staged balance, and the draws.
    ///
    /// # Errors
    /// [`IgnitionError`] if a draw does not come to an end.
    pub fn new(course: Course) -> Result<Self, IgnitionError> {
        let draws = sample::draws(&course.setup)?;
        let lights = |ending: &Ending| match ending {
            Ending::Ignites { time, .. } => Some(*time),
            Ending::Fails { .. } => None,
        };
        let mut times = vec![lights(&course.ending), course.staged_time];
        times.extend(draws.iter().map(|draw| draw.time));
        let times: Vec<Option<f64>> = times
            .into_iter()
            .map(|time| time.map(|t| t.get::<second>()))
            .collect();
        let mut verdict = Verdict::of(&times, course.setup.settings.time_limit);
        verdict.draws = draws;
        Ok(Self { course, verdict })
    }
}

/// What the sampled courses say, counted.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Courses that light.
    pub lit: usize,
    /// Courses in all.
    pub of: usize,
    /// Time of heating that holds eight of ten of those that light; none if none does.
    pub time: Option<Band<Time>>,
    /// Earliest of them.
    pub earliest: Option<Time>,
    /// Time within which the others did not.
    pub within: Time,
    /// The sampled courses.
    pub draws: Vec<CourseDraw>,
}

/// The verdict in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chance {
    /// It lights.
    Lights,
    /// It may.
    MayLight,
    /// It does not.
    DoesNotLight,
}

impl Chance {
    /// A short code for files.
    pub fn code(self) -> &'static str {
        match self {
            Self::Lights => "lights",
            Self::MayLight => "may_light",
            Self::DoesNotLight => "does_not_light",
        }
    }
}

impl Verdict {
    /// Counts times of lighting in s, `None` for a course that does not light within `within`.
    pub(super) fn of(times: &[Option<f64>], within: f64) -> Self {
        let mut lit: Vec<f64> = times.iter().copied().flatten().collect();
        lit.sort_by(f64::total_cmp);
        let quantile = |share: f64| {
            let place = share * (lit.len() - 1) as f64;
            let (low, part) = (place.floor() as usize, place.fract());
            let high = (low + 1).min(lit.len() - 1);
            Time::new::<second>(lit[low] + part * (lit[high] - lit[low]))
        };
        Self {
            lit: lit.len(),
            of: times.len(),
            time: (!lit.is_empty()).then(|| Band::between(quantile(0.1), quantile(0.9))),
            earliest: lit.first().map(|t| Time::new::<second>(*t)),
            within: Time::new::<second>(within),
            draws: Vec::new(),
        }
    }

    /// For a line of a table or a picture.
    pub fn brief(&self) -> String {
        match (self.chance(), self.time) {
            (Chance::Lights, Some(time)) => format!("lights after {}", span(time)),
            (Chance::MayLight, _) => format!("may light ({} of 10)", self.tenths()),
            _ => "does not light".to_owned(),
        }
    }

    /// How many of ten courses light; 1 to 9 where some do and some do not.
    fn tenths(&self) -> f64 {
        let tenths = 10.0 * self.lit as f64 / self.of as f64;
        tenths.round().clamp(1.0, 9.0)
    }

    /// In one word.
    pub fn chance(&self) -> Chance {
        if self.lit == 0 {
            Chance::DoesNotLight
        } else if self.lit as f64 >= NEARLY_ALL * self.of as f64 {
            Chance::Lights
        } else {
            Chance::MayLight
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let s = |t: Time| t.get::<second>();
        match (self.chance(), self.earliest) {
            (Chance::Lights, ..) => f.write_str(&self.brief()),
            (Chance::MayLight, Some(earliest)) => {
                write!(
                    f,
                    "{}, from {} on; treat it as live",
                    self.brief(),
                    duration(s(earliest))
                )
            }
            _ => write!(f, "{} within {}", self.brief(), duration(s(self.within))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_words_follow_the_counts() {
        let all: Vec<Option<f64>> = (0..11).map(|i| Some(360.0 + 30.0 * f64::from(i))).collect();
        let verdict = Verdict::of(&all, 7200.0);
        assert_eq!(verdict.chance(), Chance::Lights);
        // Ends at the first and ninth tenth: 390 s and 630 s.
        assert_eq!(verdict.to_string(), "lights after 6 to 10 min");
        let mut few = vec![None; 10];
        few[3] = Some(1200.0);
        assert_eq!(
            Verdict::of(&few, 7200.0).to_string(),
            "may light (1 of 10), from 20 min on; treat it as live"
        );
        let none = Verdict::of(&[None; 10], 7200.0);
        assert_eq!(none.chance(), Chance::DoesNotLight);
        assert_eq!(none.to_string(), "does not light within 120 min");
    }
}
