//! Runs as cases: what was read, of which charge, in which pot.

use super::error::LearnError;
use super::page::{Page, Unused};
use super::pot::{Group, Kept};
use super::reading::Reading;
use super::sign::{self, Signs};

use crate::advice::fuel_shares;
use crate::batch::{Batch, Run};
use crate::expected::Expectation;
use crate::ignition::{Course, Judged, LitPlace};
use crate::learned::PotName;
use crate::prepared::Prepared;
use crate::quantity::units::ratio;
use crate::quantity::{Band, Mass, Time, Volume};
use crate::tables::Tables;
use crate::tables::shape::Shape;
use crate::vessel::behaviour;
use std::collections::BTreeMap;

/// Standard deviations beyond which a tenth of a normal distribution lies.
const TENTH: f64 = 1.281_551_565_5;

/// `zinc.toml, run 2 (B)`.
fn name(file: &str, at: usize, run: &Run) -> String {
    let label = run.label.as_ref().or(run.date.as_ref());
    let label = label.map_or(String::new(), |label| format!(" ({label})"));
    format!("{file}, run {}{label}", at + 1)
}

/// Why a run cannot be held against its batch.
fn other_pot(run: &Run, batch: &Batch) -> Option<&'static str> {
    let own = batch.pot_name(false);
    let other = |run: &Option<String>, batch: &Option<String>| {
        run.as_ref()
            .is_some_and(|name| batch.as_ref() != Some(name))
    };
    (other(&run.vessel, &own.vessel) || other(&run.way, &own.way)).then_some(
        "burnt in another vessel or on another way than the file's: give it a batch file of its own",
    )
}

/// A batch as it was weighed for some runs.
struct Charge<'p> {
    masses: &'p [(String, Mass)],
    pot: PotName,
    /// Place in the group of the pot.
    at: usize,
    predicted: Predicted,
}

/// What is predicted of a charge beside its draws.
#[derive(Debug, Clone)]
struct Predicted {
    /// Time to ignition by the heating model.
    time: Option<Time>,
    /// How long such fuels burn.
    burn_time: Band<Time>,
    /// Froth, and the vessel that it stands in.
    froth: Option<(Band<Volume>, Shape)>,
    /// Where the sampled courses of heating light, wettest first.
    places: Vec<LitPlace>,
}

impl Predicted {
    /// `places`: whether a run says where it lit, since the courses take a while.
    fn of(prepared: &Prepared<'_>, places: bool) -> Self {
        let vessel = prepared.advice.vessel.as_ref();
        let fuels = fuel_shares(&prepared.batch, &prepared.redox);
        let course = prepared.heating.ignites();
        Self {
            time: course.and_then(Course::time_to_ignition),
            burn_time: behaviour(&fuels, &prepared.tables.safety.vessels).burn_time,
            froth: vessel.map(|check| (check.froth, check.choice.vessel.shape)),
            // Courses that do not come to an end tell no place.
            places: course
                .filter(|_| places)
                .and_then(|course| Judged::new(course.clone()).ok())
                .map_or(Vec::new(), |judged| sign::places(&judged.verdict.draws)),
        }
    }

    /// Volume of the froth read over the middle of its band, and what the logarithm of that may be
    /// before any run: 8 of 10 within the band.
    fn froth_factor(&self, reading: &Reading) -> Option<(f64, f64)> {
        let (band, shape) = self.froth?;
        let volume = shape.volume_below(reading.froth?)?;
        let [low, high, volume] = [band.low, band.high, volume].map(|v| v.value);
        let deviation = (high / low).ln() / (2.0 * TENTH);
        Some((volume / (low * high).sqrt(), deviation))
    }
}

/// What is read in vain, with the reason.
pub fn set_aside(pages: &[Page]) -> Vec<&'static str> {
    let open = |page: &Page| {
        page.batch.vessel.is_none() && page.batch.runs.iter().any(|r| r.froth_height.is_some())
    };
    let mut reasons = Vec::new();
    if pages.iter().any(open) {
        reasons.push("Froth without a [vessel] in the file: a height alone is no volume.");
    }
    reasons
}

/// The runs by pot, and those that tell nothing.
pub fn groups<'t>(
    pages: &[Page],
    tables: &'t Tables,
) -> Result<(Vec<Group<'t>>, Vec<Unused>), LearnError> {
    let mut groups: BTreeMap<PotName, Group<'t>> = BTreeMap::new();
    let mut unused = Vec::new();
    for page in pages {
        // Runs weighed alike share their draws.
        let mut charges: Vec<Charge<'_>> = Vec::new();
        for (at, run) in page.batch.runs.iter().enumerate() {
            let name = name(&page.file, at, run);
            let reading = Reading::of(run, &tables.observations);
            let refused = other_pot(run, &page.batch);
            let Some(reading) = reading.filter(|_| refused.is_none()) else {
                let nothing =
                    "it states neither a peak temperature nor whether it lit, nor froth or fumes";
                let reason = refused.unwrap_or(nothing).to_owned();
                unused.push(Unused { run: name, reason });
                continue;
            };
            let weighed = run.masses.as_slice();
            let known = charges.iter().position(|charge| charge.masses == weighed);
            let known = match known {
                Some(known) => known,
                None => {
                    let (expectation, pot, predicted) = charge(page, at, tables)?;
                    let group = groups
                        .entry(pot.clone())
                        .or_insert_with(|| Group::new(&pot));
                    charges.push(Charge {
                        masses: weighed,
                        pot,
                        at: group.add(expectation),
                        predicted,
                    });
                    charges.len() - 1
                }
            };
            let charge = &charges[known];
            let factor = reading
                .time
                .zip(charge.predicted.time)
                .map(|(seen, model)| (seen / model).get::<ratio>());
            if let Some(group) = groups.get_mut(&charge.pot) {
                group.keep(Kept {
                    name,
                    reading,
                    charge: charge.at,
                    time_factor: factor,
                    burn_time: charge.predicted.burn_time,
                    froth: charge.predicted.froth_factor(&reading),
                    signs: Signs {
                        fumes: run.fumes,
                        lit_at: run.lit_at,
                        places: charge.predicted.places.clone(),
                    },
                });
            }
        }
    }
    Ok((groups.into_values().collect(), unused))
}

/// The batch as it was weighed for one run, ready to be burnt; its pot; its time to ignition.
fn charge<'t>(
    page: &Page,
    at: usize,
    tables: &'t Tables,
) -> Result<(Expectation<'t>, PotName, Predicted), LearnError> {
    let mut batch = page.batch.clone();
    batch.learned = None;
    let file = &page.file;
    let batch = batch
        .with_masses(&page.batch.runs[at].masses, tables)
        .map_err(|name| {
            let file = file.clone();
            LearnError::Mass {
                file,
                run: at + 1,
                name,
            }
        })?;
    let prepared = Prepared::new(&batch, tables).map_err(|error| LearnError::Prepare {
        file: file.clone(),
        error,
    })?;
    let pot = batch.pot_name(prepared.heating.ignites().is_some());
    let places = page.batch.runs.iter().any(|run| run.lit_at.is_some());
    let predicted = Predicted::of(&prepared, places);
    let expectation = Expectation::new(&batch, &prepared.heating, &prepared.states, tables);
    let expectation = expectation.map_err(|error| LearnError::Expected {
        file: file.clone(),
        error,
    })?;
    Ok((expectation, pot, predicted))
}
