//! Afterglow: brightness against time in the dark, fitted by a power law and by two exponentials.
//!
//! Both models are fitted to the logarithm of the brightness, since a reading's error goes with
//! its size. The better one is chosen by the corrected Akaike criterion
//! AICc = N ln(RSS/N) + 2k + 2k(k + 1)/(N − k − 1), k counting the variance too (C. M. Hurvich and
//! C.-L. Tsai, Biometrika 76 (1989) 297, from memory).

use crate::batch::note::{other_delimiter, with_point};
use crate::quantity::units::{minute, ratio, second};
use crate::quantity::{Ratio, Time};
use rmpfit::{MPFitter, MPResult};
use roots::{SimpleConvergency, find_root_brent};
use thiserror::Error;

/// Luminance down to which an afterglow counts, in mcd/m²: about 100 times the limit of the eye
/// used to the dark. DIN 67510-1 and ISO 17398, from memory (0.3 in the newer, 0.32 in the older).
pub const THRESHOLD: f64 = 0.32;

/// Most readings that a file may hold.
const MOST_READINGS: usize = 100_000;

/// Why readings cannot be used.
#[derive(Debug, Error, Clone, PartialEq)]
#[non_exhaustive]
pub enum DecayError {
    #[error(
        "{file}, line 1: the columns are {found}, but should be a time (`time_s` or `time_min`), \
         a brightness (`luminance_mcd_m2`, `luminance_cd_m2` or `counts`) and, if there is one, \
         `reference`, the same of a reference read at the same times"
    )]
    Header { file: String, found: String },
    #[error("{file}, line {line}: `{column}` is \"{text}\", but should be a number above 0")]
    Field {
        file: String,
        line: u64,
        column: String,
        text: String,
    },
    #[error("{file}, line {line}: the times should rise from line to line")]
    Order { file: String, line: u64 },
    #[error("{file} holds {count} readings; a decay needs 5 to {MOST_READINGS}")]
    Count { file: String, count: usize },
    #[error("{file}: {message}")]
    Table { file: String, message: String },
    #[error("the two exponentials do not settle on these readings: {message}")]
    Fit { message: String },
}

/// Readings of one powder in the dark.
#[derive(Debug, Clone, PartialEq)]
pub struct Afterglow {
    /// Time since the lamp went off, in s, rising.
    pub time_s: Vec<f64>,
    /// Brightness at these times, in mcd/m² if `calibrated`, else in counts.
    pub brightness: Vec<f64>,
    /// Brightness of a reference at the same times, in the same unit.
    pub reference: Option<Vec<f64>>,
    /// Whether the brightness is a luminance.
    pub calibrated: bool,
}

/// A fitted model; times in s, brightness in the unit of the readings.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
#[serde(tag = "kind")]
pub enum Model {
    /// L = A t⁻ⁿ.
    #[serde(rename = "power law")]
    PowerLaw {
        /// Brightness at 1 s.
        at_one_second: f64,
        /// Exponent n.
        exponent: f64,
    },
    /// L = A₁ exp(−t/τ₁) + A₂ exp(−t/τ₂), the faster first.
    #[serde(rename = "two exponentials")]
    TwoExponentials {
        /// A₁ and A₂.
        amplitudes: [f64; 2],
        /// τ₁ and τ₂.
        times_s: [f64; 2],
    },
}

impl Model {
    /// Brightness after `time` in s.
    pub fn at(&self, time: f64) -> f64 {
        match self {
            Self::PowerLaw {
                at_one_second,
                exponent,
            } => at_one_second * time.powf(-exponent),
            Self::TwoExponentials {
                amplitudes: [a1, a2],
                times_s: [t1, t2],
            } => a1 * (-time / t1).exp() + a2 * (-time / t2).exp(),
        }
    }

    fn parameters(&self) -> f64 {
        match self {
            Self::PowerLaw { .. } => 3.0,
            Self::TwoExponentials { .. } => 5.0,
        }
    }
}

/// A model with how well it fits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    pub model: Model,
    /// Root mean square deviation as a share of the brightness.
    pub deviation: Ratio,
    /// Corrected Akaike criterion; the smaller is the better. `None` with too few readings.
    pub aicc: Option<f64>,
}

/// What the readings say.
#[derive(Debug, Clone, PartialEq)]
pub struct Decay {
    /// The better fit.
    pub chosen: Fit,
    /// The other one.
    pub other: Fit,
    /// Time until the chosen model falls to the threshold; `None` if the readings are no
    /// luminance, or it never does within 1000 h.
    pub until_threshold: Option<Time>,
    /// Whether that time lies beyond the last reading.
    pub beyond_readings: bool,
    /// Geometric mean of brightness over the reference's.
    pub against_reference: Option<Ratio>,
}

impl Afterglow {
    /// Reads a CSV text with a header line; `file` is its name in errors.
    ///
    /// # Errors
    /// [`DecayError`] with the line of the first thing that is wrong.
    pub fn parse(text: &str, file: &str) -> Result<Self, DecayError> {
        let text = text.trim_start_matches('\u{feff}');
        let delimiter = other_delimiter(text);
        let mut reader = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .delimiter(delimiter.unwrap_or(b','))
            .comment(Some(b'#'))
            .from_reader(text.as_bytes());
        let table = |error: csv::Error| DecayError::Table {
            file: file.to_owned(),
            message: error.to_string(),
        };
        let headers = reader.headers().map_err(table)?.clone();
        let column = |name: &str| headers.iter().position(|header| header == name);
        let named = |names: &[(&str, f64)]| {
            let found = names
                .iter()
                .find_map(|(name, factor)| Some((column(name)?, *factor)));
            found.ok_or_else(|| DecayError::Header {
                file: file.to_owned(),
                found: headers.iter().collect::<Vec<_>>().join(", "),
            })
        };
        let minutes = Time::new::<minute>(1.0).get::<second>();
        let (time, per_second) = named(&[("time_s", 1.0), ("time_min", minutes)])?;
        let calibrated = column("counts").is_none();
        let (value, unit) = named(&[
            ("luminance_mcd_m2", 1.0),
            ("luminance_cd_m2", 1000.0),
            ("counts", 1.0),
        ])?;
        let reference = column("reference");
        let mut found = Self {
            time_s: Vec::new(),
            brightness: Vec::new(),
            reference: reference.map(|_| Vec::new()),
            calibrated,
        };
        for record in reader.records() {
            let record = record.map_err(table)?;
            let line = record.position().map_or(0, csv::Position::line);
            let number = |index: usize| {
                let text = record.get(index).unwrap_or_default();
                let written = delimiter.map_or(text.to_owned(), |_| with_point(text));
                let number = written
                    .parse::<f64>()
                    .ok()
                    .filter(|x| x.is_finite() && *x > 0.0);
                number.ok_or_else(|| DecayError::Field {
                    file: file.to_owned(),
                    line,
                    column: headers.get(index).unwrap_or_default().to_owned(),
                    text: text.to_owned(),
                })
            };
            let t = number(time)? * per_second;
            if found.time_s.last().is_some_and(|last| *last >= t) {
                return Err(DecayError::Order {
                    file: file.to_owned(),
                    line,
                });
            }
            found.time_s.push(t);
            found.brightness.push(number(value)? * unit);
            if let (Some(list), Some(index)) = (&mut found.reference, reference) {
                list.push(number(index)? * unit);
            }
        }
        match found.time_s.len() {
            5..=MOST_READINGS => Ok(found),
            count => Err(DecayError::Count {
                file: file.to_owned(),
                count,
            }),
        }
    }

    /// Fits both models and chooses.
    ///
    /// # Errors
    /// [`DecayError::Fit`] if the two exponentials cannot be fitted.
    pub fn decay(&self) -> Result<Decay, DecayError> {
        let (power, exponentials) = (self.power_law(), self.two_exponentials()?);
        let score = |fit: &Fit| fit.aicc.unwrap_or(f64::INFINITY);
        let (chosen, other) = if score(&exponentials) < score(&power) {
            (exponentials, power)
        } else {
            (power, exponentials)
        };
        let last = self.time_s.last().copied().unwrap_or_default();
        let until = self
            .calibrated
            .then(|| time_at(&chosen.model, THRESHOLD))
            .flatten();
        let mean_log = |reference: &Vec<f64>| {
            let pairs = self.brightness.iter().zip(reference);
            let sum: f64 = pairs.map(|(b, r)| (b / r).ln()).sum();
            Ratio::new::<ratio>((sum / reference.len() as f64).exp())
        };
        Ok(Decay {
            chosen,
            other,
            until_threshold: until.map(Time::new::<second>),
            beyond_readings: until.is_some_and(|t| t > last),
            against_reference: self.reference.as_ref().map(mean_log),
        })
    }

    fn fit(&self, model: Model) -> Fit {
        let pairs = self.time_s.iter().zip(&self.brightness);
        let rss: f64 = pairs
            .map(|(t, b)| (b.ln() - model.at(*t).ln()).powi(2))
            .sum();
        let (n, k) = (self.time_s.len() as f64, model.parameters());
        // Readings made by a formula fit to the last bit; a part in 1e12 is as good as that.
        let variance = (rss / n).max(1e-24);
        let correction = (n > k + 1.0).then(|| 2.0 * k * (k + 1.0) / (n - k - 1.0));
        Fit {
            model,
            deviation: Ratio::new::<ratio>((rss / n).sqrt()),
            aicc: correction.map(|correction| n * variance.ln() + 2.0 * k + correction),
        }
    }

    /// The straight line of ln L against ln t.
    fn power_law(&self) -> Fit {
        let n = self.time_s.len() as f64;
        let x: Vec<f64> = self.time_s.iter().map(|t| t.ln()).collect();
        let y: Vec<f64> = self.brightness.iter().map(|b| b.ln()).collect();
        let (mean_x, mean_y) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
        let covariance: f64 = x
            .iter()
            .zip(&y)
            .map(|(x, y)| (x - mean_x) * (y - mean_y))
            .sum();
        let spread: f64 = x.iter().map(|x| (x - mean_x).powi(2)).sum();
        let slope = covariance / spread;
        self.fit(Model::PowerLaw {
            at_one_second: (mean_y - slope * mean_x).exp(),
            exponent: -slope,
        })
    }

    /// Least squares by the Levenberg–Marquardt method from several pairs of times.
    fn two_exponentials(&self) -> Result<Fit, DecayError> {
        let (first, last) = (self.time_s[0], self.time_s[self.time_s.len() - 1]);
        let (bright, faint) = (
            self.brightness[0],
            self.brightness[self.brightness.len() - 1],
        );
        let span = (last / first).ln();
        let mut best: Option<Fit> = None;
        let mut failure = String::new();
        for (fast, slow) in [(0.2, 0.9), (0.4, 0.9), (0.6, 1.0), (0.3, 0.7), (0.5, 1.3)] {
            let [fast, slow] = [fast, slow].map(|share: f64| first * (share * span).exp());
            let mut parameters = [
                bright.ln(),
                fast.ln(),
                (faint * (last / slow).min(50.0).exp())
                    .ln()
                    .min(bright.ln()),
                slow.ln(),
            ];
            match Exponentials(self).mpfit(&mut parameters) {
                Ok(_) => {
                    let fit = self.fit(exponentials(&parameters));
                    let better = |old: &Fit| fit.deviation < old.deviation;
                    if fit.deviation.get::<ratio>().is_finite() && best.as_ref().is_none_or(better)
                    {
                        best = Some(fit);
                    }
                }
                Err(error) => failure = error.to_string(),
            }
        }
        best.ok_or(DecayError::Fit { message: failure })
    }
}

/// Residuals of two exponentials for the fit; parameters ln A₁, ln τ₁, ln A₂, ln τ₂.
struct Exponentials<'a>(&'a Afterglow);

impl MPFitter for Exponentials<'_> {
    fn eval(&mut self, parameters: &[f64], deviates: &mut [f64]) -> MPResult<()> {
        let model = exponentials(parameters);
        let readings = self.0.time_s.iter().zip(&self.0.brightness);
        for (deviate, (t, b)) in deviates.iter_mut().zip(readings) {
            // The floor keeps the logarithm finite where both terms have died away.
            *deviate = b.ln() - model.at(*t).max(1e-300).ln();
        }
        Ok(())
    }

    fn number_of_points(&self) -> usize {
        self.0.time_s.len()
    }
}

fn exponentials(parameters: &[f64]) -> Model {
    let [a1, t1, a2, t2] = [0, 1, 2, 3].map(|i| parameters[i].exp());
    let (amplitudes, times_s) = if t1 <= t2 {
        ([a1, a2], [t1, t2])
    } else {
        ([a2, a1], [t2, t1])
    };
    Model::TwoExponentials {
        amplitudes,
        times_s,
    }
}

/// Time in s at which the model has fallen to `brightness`, up to 1000 h.
fn time_at(model: &Model, brightness: f64) -> Option<f64> {
    let (early, late) = (1e-3_f64.ln(), 3.6e6_f64.ln());
    let excess = |log_time: f64| (model.at(log_time.exp()).max(1e-300) / brightness).ln();
    if excess(early) < 0.0 || excess(late) > 0.0 {
        return None;
    }
    let mut convergence = SimpleConvergency {
        eps: 1e-12,
        max_iter: 200,
    };
    find_root_brent(early, late, excess, &mut convergence)
        .ok()
        .map(f64::exp)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn readings(model: Model) -> Afterglow {
        let time_s: Vec<f64> = (0..40).map(|i| 5.0 * 1.2_f64.powi(i)).collect();
        Afterglow {
            brightness: time_s.iter().map(|t| model.at(*t)).collect(),
            time_s,
            reference: None,
            calibrated: true,
        }
    }

    #[test]
    fn a_spreadsheet_with_semicolons_has_decimal_commas() {
        let commas = "time_s;luminance_mcd_m2\n1,5;90,5\n2;80\n3;70\n4;60\n5;50,25\n";
        let points = "time_s,luminance_mcd_m2\n1.5,90.5\n2,80\n3,70\n4,60\n5,50.25\n";
        let read = |text| Afterglow::parse(text, "glow.csv").unwrap();
        assert_eq!(read(commas), read(points));
    }

    #[test]
    fn a_power_law_is_found_with_its_time_to_the_threshold() {
        let found = readings(Model::PowerLaw {
            at_one_second: 3200.0,
            exponent: 1.0,
        });
        let decay = found.decay().unwrap();
        let Model::PowerLaw { exponent, .. } = decay.chosen.model else {
            panic!("{decay:?}");
        };
        assert_relative_eq!(exponent, 1.0, max_relative = 1e-9);
        // 3200/t = 0.32 at 10 000 s, beyond the last reading at 6100 s.
        let until = decay.until_threshold.unwrap().get::<second>();
        assert_relative_eq!(until, 1.0e4, max_relative = 1e-9);
        assert!(decay.beyond_readings);
    }

    #[test]
    fn two_exponentials_are_told_from_a_power_law() {
        let made = Model::TwoExponentials {
            amplitudes: [800.0, 60.0],
            times_s: [40.0, 1500.0],
        };
        let decay = readings(made).decay().unwrap();
        let Model::TwoExponentials {
            amplitudes,
            times_s,
        } = decay.chosen.model
        else {
            panic!("{decay:?}");
        };
        for (found, made) in [
            (amplitudes[0], 800.0),
            (amplitudes[1], 60.0),
            (times_s[0], 40.0),
            (times_s[1], 1500.0),
        ] {
            assert_relative_eq!(found, made, max_relative = 1e-4);
        }
        assert!(decay.chosen.aicc < decay.other.aicc);
    }

    #[test]
    fn a_table_names_the_line_that_is_wrong() {
        let text = "time_s,counts\n1,10\n2,9\n3,x\n4,7\n5,6\n";
        let error = Afterglow::parse(text, "glow.csv").unwrap_err();
        assert!(
            matches!(error, DecayError::Field { line: 4, .. }),
            "{error}"
        );
        let error = Afterglow::parse("time_s,counts\n2,10\n1,9\n", "glow.csv").unwrap_err();
        assert!(
            matches!(error, DecayError::Order { line: 3, .. }),
            "{error}"
        );
        let error = Afterglow::parse("t,counts\n2,10\n", "glow.csv").unwrap_err();
        assert!(matches!(error, DecayError::Header { .. }), "{error}");
    }

    #[test]
    fn half_as_bright_as_the_reference_is_half() {
        let text = "time_min,counts,reference\n1,50,100\n2,25,50\n4,10,20\n8,5,10\n16,2,4\n";
        let decay = Afterglow::parse(text, "glow.csv").unwrap().decay().unwrap();
        let share = decay.against_reference.unwrap().get::<ratio>();
        assert_relative_eq!(share, 0.5, max_relative = 1e-12);
        assert_eq!(decay.until_threshold, None);
    }
}
