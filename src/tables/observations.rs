//! The numbers of the notebook: `tables/observations.toml`.

use super::cited::Cited;
use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use super::unit::{KelvinStep, Millilitre, Number, Percent};
use crate::source::{Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What weights the sample when runs are learned from, what a next step is worth, and how a series
/// is made; the head of the table says more.
#[derive(Debug, Clone, PartialEq)]
pub struct Observations {
    /// Standard deviation of a measured peak by instrument.
    pub error: ReadingErrors,
    /// Scatter of runs of one batch.
    pub scatter: Scatter,
    /// How draws are weighted.
    pub weight: Weighting,
    /// How often fumes have each colour.
    pub fumes: FumeChances,
    /// What a next step is worth.
    pub worth: Worth,
    /// How the solutions of a series are made.
    pub series: SeriesRules,
}

/// Standard deviation of a reading: of a measured peak by instrument, of the rest as a share.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingErrors {
    /// Peak by a thermocouple.
    pub thermocouple: Cited<KelvinStep>,
    /// By a pyrometer at one wavelength.
    pub pyrometer: Cited<KelvinStep>,
    pub two_colour_pyrometer: Cited<KelvinStep>,
    /// By a thermal camera.
    pub camera: Cited<KelvinStep>,
    /// By an instrument that the file does not name.
    pub not_stated: Cited<KelvinStep>,
    /// Of how long the flame lasted.
    pub flame: Cited<Percent>,
    /// Of the height of the froth.
    pub froth: Cited<Percent>,
}

/// Standard deviation of runs of one batch in one pot.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scatter {
    pub peak: Cited<KelvinStep>,
    /// Of the time to ignition, as a share of it.
    pub time: Cited<Percent>,
    /// Of how long the flame lasts, as a share of it.
    pub flame: Cited<Percent>,
    /// Of the volume of the froth, as a share of it.
    pub froth: Cited<Percent>,
}

/// How draws are weighted.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weighting {
    /// Degrees of freedom of Student's t.
    pub freedom: Cited<Number>,
    /// Chance that a run lights against its draw, or fails against it.
    pub other_way: Cited<Percent>,
    /// Standard deviation of the time scale before any run, as a factor.
    pub time_factor: Cited<Number>,
    /// Effective draws that are aimed at.
    pub enough_draws: Cited<Number>,
    /// Effective draws below which bands are rough.
    pub few_draws: Cited<Number>,
    /// Blocks of draws at most.
    pub most_blocks: Cited<Number>,
    /// Places of a pot that are kept.
    pub places: Cited<Number>,
    /// Deviations beyond which no draw explains a reading, or a reading stands alone.
    pub far: Cited<Number>,
    /// Share of the miss before, below which that of runs predicted by the others counts as help.
    pub helps: Cited<Percent>,
    /// Chance that the eye takes another part of the layer for the first to light.
    pub place_errs: Cited<Percent>,
    /// Share of the sampled courses to both sides of a draw's rank that speak for it.
    pub near_courses: Cited<Percent>,
}

/// How often fumes have each colour, in % of all.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FumeColours {
    /// Fuel ratio φ as burnt; none where nitrate leaves before the burn.
    pub ratio: Option<f64>,
    /// None that is seen.
    pub none: f64,
    pub white: f64,
    pub brown: f64,
    pub black: f64,
    pub yellow: f64,
    /// Key of the source.
    pub source: SourceId,
    /// Where it stands there.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

impl Row for FumeColours {
    const ARRAY: &'static str = "fumes";

    fn id(&self) -> String {
        self.ratio.map_or("leaving".to_owned(), |r| r.to_string())
    }

    fn check(&self) -> Result<(), Fault> {
        let all = [self.none, self.white, self.brown, self.black, self.yellow];
        let sum: f64 = all.iter().sum();
        if (sum - 100.0).abs() > 1e-6 || all.iter().any(|chance| *chance <= 0.0) {
            return Err(Fault::value(
                "the sum of the colours in %",
                sum,
                "100, each above 0",
            ));
        }
        match self.ratio {
            Some(ratio) if ratio.is_nan() || ratio <= 0.0 => {
                Err(Fault::value("`ratio`", ratio, "above 0"))
            }
            _ => Ok(()),
        }
    }
}

/// Chances of the colours of the fumes: by φ as burnt, rising, and where nitrate leaves before.
#[derive(Debug, Clone, PartialEq)]
pub struct FumeChances {
    burning: Vec<(f64, FumeColours)>,
    leaving: FumeColours,
}

impl FumeChances {
    fn of(rows: Vec<FumeColours>) -> Option<Self> {
        let leaving = rows.iter().find(|row| row.ratio.is_none())?.clone();
        let burning = rows.into_iter().filter_map(|row| Some((row.ratio?, row)));
        let mut burning: Vec<(f64, FumeColours)> = burning.collect();
        burning.sort_by(|a, b| a.0.total_cmp(&b.0));
        (!burning.is_empty()).then_some(Self { burning, leaving })
    }

    /// Chance of the colour that `of` takes, at φ as burnt.
    pub fn burning(&self, of: fn(&FumeColours) -> f64, phi: f64) -> f64 {
        let rows = &self.burning;
        let at = rows.partition_point(|(ratio, _)| *ratio < phi);
        let percent = match (at.checked_sub(1).map(|below| &rows[below]), rows.get(at)) {
            (Some((low, below)), Some((high, above))) => {
                let part = (phi / low).ln() / (high / low).ln();
                of(below) + part * (of(above) - of(below))
            }
            (Some((_, only)), None) | (None, Some((_, only))) => of(only),
            (None, None) => of(&self.leaving),
        };
        percent / 100.0
    }

    /// The same where nitrate leaves.
    pub fn leaving(&self, of: fn(&FumeColours) -> f64) -> f64 {
        of(&self.leaving) / 100.0
    }
}

/// What a next step is worth, as a chance gained that the burn does what is wanted.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Worth {
    /// A fault that the powder shows, mended.
    pub mending: Cited<Percent>,
    /// Less for each rank of a finding behind the first.
    pub rank: Cited<Percent>,
    /// A second run, when one alone does not tell how runs scatter.
    pub second_run: Cited<Percent>,
    /// A further run, when the best change would be hidden by scatter.
    pub further_run: Cited<Percent>,
    /// Cost of another ratio.
    pub new_ratio: Cited<Percent>,
    /// Cost of another fuel.
    pub new_fuel: Cited<Percent>,
    /// Cost of each danger that the batch did not have.
    pub new_danger: Cited<Percent>,
    /// A change of φ below this is none.
    pub same_ratio: Cited<Percent>,
}

/// How the solutions of a series are made.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SeriesRules {
    /// What is made beyond what is split.
    pub spare: Cited<Percent>,
    /// Steps in which a piston pipette is set, over its greatest volume.
    pub pipette_steps: Cited<Number>,
    /// The piston pipette taken where the file lists none.
    pub usual_piston: Cited<Millilitre>,
    /// Runs of each of two neighbours at most.
    pub most_runs: Cited<Number>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    error: ReadingErrors,
    scatter: Scatter,
    weight: Weighting,
    fumes: Vec<FumeColours>,
    worth: Worth,
    series: SeriesRules,
}

const UNITS: [(&str, &str); 4] = [
    ("interval", "K"),
    ("share", "%"),
    ("number", "1"),
    ("volume", "mL"),
];

/// Reads the table.
pub(super) fn built_in() -> Result<Observations, TableError> {
    let file = TableFile::built_in("observations.toml");
    let rows: File = file.parse()?;
    file.check_units(&rows.units, &UNITS)?;
    file.check(&rows.fumes)?;
    let without = || Fault::incomplete("`fumes` needs a row without `ratio` and one with it");
    let fumes = FumeChances::of(rows.fumes.clone());
    let fumes = fumes.ok_or_else(|| file.row_error(&rows.fumes, 0, without()))?;
    Ok(Observations {
        fumes,
        error: rows.error,
        scatter: rows.scatter,
        weight: rows.weight,
        worth: rows.worth,
        series: rows.series,
    })
}
