//! The numbers of the notebook: `tables/observations.toml`.

use super::TableError;
use super::cited::Cited;
use super::read::TableFile;
use super::unit::{KelvinStep, Millilitre, Number, Percent};
use serde::Deserialize;
use std::collections::BTreeMap;

/// What weights the sample when runs are learned from, what a next step is worth, and how a series
/// is made; the head of the table says more.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Observations {
    /// Standard deviation of a measured peak by instrument.
    pub error: ReadingErrors,
    /// Scatter of runs of one batch.
    pub scatter: Scatter,
    /// How draws are weighted.
    pub weight: Weighting,
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
    /// By a pyrometer at two.
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
    /// Of the peak.
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
    /// Share of the miss before, below which that of runs foretold by the others counts as help.
    pub helps: Cited<Percent>,
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
    Ok(Observations {
        error: rows.error,
        scatter: rows.scatter,
        weight: rows.weight,
        worth: rows.worth,
        series: rows.series,
    })
}
