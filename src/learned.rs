//! What the pots of a laboratory were learned to do: the file `learned.toml`.
//!
//! A pot is a vessel on a heating way. What runs tell of it is kept as places within the assumed
//! bands of the expected burn (`tables/expectation.toml`), many of them and all as likely, because
//! what runs narrow is a combination of water, fuel and heat and not each of them.

use crate::quantity::units::{kelvins, ratio};
use crate::quantity::{Band, Ratio, TemperatureInterval};
use crate::visible::visible;
use serde::{Deserialize, Serialize};
use std::fmt::Write as _;
use std::io::Read;
use std::path::Path;
use thiserror::Error;

/// Version of the file.
pub const VERSION: u32 = 1;
/// Coordinates of a [`Place`].
pub const COORDINATES: usize = 6;
/// Most bytes of the file that are read.
const LARGEST: u64 = 1_000_000;
/// Most places of a pot that are read.
const MOST_PLACES: usize = 10_000;
/// Factors of time within which a pot is believed.
const TIME_FACTORS: (f64, f64) = (0.01, 100.0);

/// Most by which runs may be off what was learned from them, K: no flame is further from another.
const MOST_OFF: f64 = 3000.0;

/// Coordinate of a [`Place`] that is the speed of the front.
pub const FRONT: usize = 3;

/// A place in the bands of the expected burn, each coordinate from 0 to 1: how slowly it is heated;
/// water kept; fuel that escapes; speed of the front; share of its faces that see the room; air.
pub type Place = [f64; COORDINATES];

/// Which pot.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct PotName {
    /// The vessel, if the batch names one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vessel: Option<String>,
    /// The heating way, if the batch names one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub way: Option<String>,
    /// Whether the places are about a course of heating that ends in ignition.
    pub course: bool,
}

/// What one pot was learned to do.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedPot {
    pub name: PotName,
    /// Number of runs it was learned from.
    pub runs: usize,
    /// Effective number of draws behind the places.
    pub effective_draws: f64,
    /// How much hotter its runs were than the places give, if all lie beyond them to one side.
    pub still_off: Option<TemperatureInterval>,
    /// Time to ignition over that of the heating model: 8 of 10 lie in this band.
    pub time_factor: Option<Band<Ratio>>,
    /// Places, all as likely, slow heating last.
    pub places: Vec<Place>,
    /// What it comes to, for people: a line each.
    pub summary: Vec<String>,
}

/// The whole file.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Learned {
    /// Name of the file as the batch writes it.
    pub file: String,
    /// The runs it was learned from.
    pub from: Vec<String>,
    /// The pots.
    pub pots: Vec<LearnedPot>,
}

/// Why the file cannot be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LearnedError {
    #[error("{file} cannot be read: {error}")]
    Unreadable { file: String, error: std::io::Error },
    #[error("{file}: {message}; write it with `emberpot learn`")]
    Form { file: String, message: String },
    #[error(
        "{file} is of version {found}, this program reads version {VERSION}: learn from the runs \
         again with `emberpot learn`"
    )]
    Version { file: String, found: u32 },
    #[error("{file}, pot {pot}: {message}")]
    Range {
        file: String,
        pot: usize,
        message: String,
    },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenFile {
    version: u32,
    #[serde(default)]
    learned_from: Vec<String>,
    #[serde(default)]
    pot: Vec<WrittenPot>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WrittenPot {
    vessel: Option<String>,
    way: Option<String>,
    course: bool,
    runs: usize,
    effective_draws: f64,
    still_off_k: Option<f64>,
    time_factor: Option<[f64; 2]>,
    places: Vec<Place>,
}

impl Learned {
    /// Reads the file at `path`; `name` is what the batch calls it.
    ///
    /// # Errors
    /// [`LearnedError`] if it cannot be read, is no such file, or holds numbers out of range.
    pub fn read(path: &Path, name: &str) -> Result<Self, LearnedError> {
        let unreadable = |error| LearnedError::Unreadable {
            file: visible(name).into_owned(),
            error,
        };
        if path.metadata().map_err(unreadable)?.is_dir() {
            return Err(unreadable(std::io::ErrorKind::IsADirectory.into()));
        }
        let mut text = String::new();
        std::fs::File::open(path)
            .and_then(|file| file.take(LARGEST).read_to_string(&mut text))
            .map_err(unreadable)?;
        Self::parse(&text, name)
    }

    /// Reads the text of a file called `name`.
    ///
    /// # Errors
    /// [`LearnedError`] as for [`Learned::read`].
    pub fn parse(text: &str, name: &str) -> Result<Self, LearnedError> {
        let file = visible(name).into_owned();
        let written: WrittenFile = toml::from_str(text).map_err(|error| {
            let at = error.span().map_or(0, |span| span.start);
            let line = text
                .get(..at)
                .map_or(1, |before| before.lines().count().max(1));
            LearnedError::Form {
                file: file.clone(),
                message: format!("line {line}: {}", error.message()),
            }
        })?;
        if written.version != VERSION {
            return Err(LearnedError::Version {
                file,
                found: written.version,
            });
        }
        let mut pots = Vec::new();
        for (at, pot) in written.pot.into_iter().enumerate() {
            let pot = pot.checked().map_err(|message| LearnedError::Range {
                file: file.clone(),
                pot: at + 1,
                message,
            })?;
            pots.push(pot);
        }
        Ok(Self {
            file,
            from: written.learned_from,
            pots,
        })
    }

    /// What it holds of a pot.
    pub fn pot(&self, name: &PotName) -> Option<&LearnedPot> {
        self.pots.iter().find(|pot| pot.name == *name)
    }

    /// The text of the file.
    pub fn text(&self) -> String {
        let mut text = format!(
            "# What the pots of this laboratory do, learned from runs by `emberpot learn`.\n\
             # A batch takes it in with this line at the top of its file:\n\
             #   learned = {}\n\
             # Its next expectation is then narrower where vessel and heating way are the same.\n\
             version = {VERSION}\nlearned_from = [\n",
            quoted(&self.file)
        );
        for run in &self.from {
            text += &format!("  {},\n", quoted(run));
        }
        text += "]\n";
        for pot in &self.pots {
            pot.write(&mut text);
        }
        text
    }
}

fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}

impl WrittenPot {
    fn checked(self) -> Result<LearnedPot, String> {
        let inside = |x: &f64| (0.0..=1.0).contains(x);
        if self.places.is_empty() || self.places.len() > MOST_PLACES {
            let count = self.places.len();
            return Err(format!(
                "`places` holds {count} rows, but should hold 1 to {MOST_PLACES}"
            ));
        }
        if let Some(wrong) = self.places.iter().flatten().find(|x| !inside(x)) {
            return Err(format!(
                "`places` holds {wrong}, but should hold numbers from 0 to 1"
            ));
        }
        if !(self.effective_draws.is_finite() && self.effective_draws >= 1.0) {
            let draws = self.effective_draws;
            return Err(format!(
                "`effective_draws` is {draws}, but should be 1 or more"
            ));
        }
        if let Some(off) = self
            .still_off_k
            .filter(|off| !(-MOST_OFF..=MOST_OFF).contains(off))
        {
            return Err(format!(
                "`still_off_k` is {off}, but should be between −{MOST_OFF} and {MOST_OFF}"
            ));
        }
        let (least, most) = TIME_FACTORS;
        if let Some(wrong) = self
            .time_factor
            .iter()
            .flatten()
            .find(|f| !(least..=most).contains(*f))
        {
            return Err(format!(
                "`time_factor` holds {wrong}, but should hold numbers from {least} to {most}"
            ));
        }
        let factor = |[low, high]: [f64; 2]| {
            Band::between(Ratio::new::<ratio>(low), Ratio::new::<ratio>(high))
        };
        let mut places = self.places;
        places.sort_by(|a, b| a[0].total_cmp(&b[0]));
        Ok(LearnedPot {
            name: PotName {
                vessel: self.vessel,
                way: self.way,
                course: self.course,
            },
            runs: self.runs,
            effective_draws: self.effective_draws,
            still_off: self.still_off_k.map(TemperatureInterval::new::<kelvins>),
            time_factor: self.time_factor.map(factor),
            places,
            summary: Vec::new(),
        })
    }
}

impl LearnedPot {
    fn write(&self, text: &mut String) {
        *text += "\n[[pot]]\n";
        for (key, value) in [("vessel", &self.name.vessel), ("way", &self.name.way)] {
            if let Some(value) = value {
                // Writing into a text cannot fail.
                let _ = writeln!(text, "{key} = {}", quoted(value));
            }
        }
        let _ = writeln!(text, "course = {}", self.name.course);
        let _ = writeln!(text, "runs = {}", self.runs);
        let _ = writeln!(text, "effective_draws = {:.1}", self.effective_draws);
        if let Some(off) = self.still_off {
            let _ = writeln!(text, "still_off_k = {:.0}", off.get::<kelvins>());
        }
        if let Some(factor) = self.time_factor {
            let (low, high) = (factor.low.get::<ratio>(), factor.high.get::<ratio>());
            let _ = writeln!(text, "time_factor = [{low:.3}, {high:.3}]");
        }
        for line in &self.summary {
            let _ = writeln!(text, "# {line}");
        }
        *text += "# Places in the bands of tables/expectation.toml, 0 to 1, all as likely: slow heating, water\n\
                  # kept, fuel that escapes, speed of the front, face that sees the room, air.\n\
                  places = [\n";
        for place in &self.places {
            let numbers: Vec<String> = place.iter().map(|x| format!("{x:.4}")).collect();
            let _ = writeln!(text, "  [{}],", numbers.join(", "));
        }
        *text += "]\n";
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn learned() -> Learned {
        Learned {
            file: "learned.toml".to_owned(),
            from: vec!["a \"quoted\" file, run 1".to_owned()],
            pots: vec![LearnedPot {
                name: PotName {
                    vessel: Some("dish".to_owned()),
                    way: None,
                    course: true,
                },
                runs: 3,
                effective_draws: 41.5,
                still_off: Some(TemperatureInterval::new::<kelvins>(-120.0)),
                time_factor: Some(Band::between(
                    Ratio::new::<ratio>(0.8),
                    Ratio::new::<ratio>(1.25),
                )),
                places: vec![[0.125, 0.25, 0.5, 0.75, 0.0, 1.0], [0.5; COORDINATES]],
                summary: Vec::new(),
            }],
        }
    }

    #[test]
    fn what_is_written_is_read_again() {
        let learned = learned();
        assert_eq!(
            Learned::parse(&learned.text(), "learned.toml").unwrap(),
            learned
        );
    }

    #[test]
    fn wrong_files_are_told_with_their_place() {
        let text = learned().text();
        for (old, new, told) in [
            ("version = 1", "version = 2", "of version 2"),
            (
                "0.5000, 0.5000]",
                "0.5000, 1.5]",
                "pot 1: `places` holds 1.5",
            ),
            ("0.5000, 0.5000]", "0.5000]", "line"),
            ("runs = 3", "runs = \"3\"", "line 13"),
            ("[0.800, 1.250]", "[0.800, nan]", "`time_factor` holds NaN"),
            (
                "effective_draws = 41.5",
                "effective_draws = 0",
                "`effective_draws` is 0",
            ),
            (
                "still_off_k = -120",
                "still_off_k = nan",
                "`still_off_k` is NaN",
            ),
            ("runs = 3", "runs = 3\nluck = 7", "luck"),
        ] {
            assert!(text.contains(old), "{old}");
            let error = Learned::parse(&text.replacen(old, new, 1), "learned.toml").unwrap_err();
            assert!(error.to_string().contains(told), "{error}");
        }
    }
}
