//! Runs as cases: what was read, of which charge, in which pot.

use super::pot::{Group, Kept};
use super::reading::Reading;
use super::{LearnError, Page};
use crate::batch::{Batch, Run};
use crate::expected::Expectation;
use crate::learned::PotName;
use crate::prepared::Prepared;
use crate::quantity::{Mass, Time};
use crate::tables::Tables;
use std::collections::BTreeMap;
use uom::si::ratio::ratio;

/// A run that tells nothing here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unused {
    /// The run.
    pub run: String,
    /// Why.
    pub reason: String,
}

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
    /// Time to ignition by the heating model.
    time: Option<Time>,
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
                let nothing = "it states neither a peak temperature nor whether it lit";
                let reason = refused.unwrap_or(nothing).to_owned();
                unused.push(Unused { run: name, reason });
                continue;
            };
            let weighed = run.masses.as_slice();
            let known = charges.iter().position(|charge| charge.masses == weighed);
            let known = match known {
                Some(known) => known,
                None => {
                    let (expectation, pot, time) = charge(page, at, tables)?;
                    let group = groups
                        .entry(pot.clone())
                        .or_insert_with(|| Group::new(&pot));
                    charges.push(Charge {
                        masses: weighed,
                        pot,
                        at: group.add(expectation),
                        time,
                    });
                    charges.len() - 1
                }
            };
            let charge = &charges[known];
            let factor = reading
                .time
                .zip(charge.time)
                .map(|(seen, model)| (seen / model).get::<ratio>());
            if let Some(group) = groups.get_mut(&charge.pot) {
                group.keep(Kept {
                    name,
                    reading,
                    charge: charge.at,
                    time_factor: factor,
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
) -> Result<(Expectation<'t>, PotName, Option<Time>), LearnError> {
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
    let course = prepared.heating.ignites();
    let pot = batch.pot_name(course.is_some());
    let time = course.and_then(|course| course.time_to_ignition());
    let expectation = Expectation::new(&batch, &prepared.heating, &prepared.states, tables);
    let expectation = expectation.map_err(|error| LearnError::Expected {
        file: file.clone(),
        error,
    })?;
    Ok((expectation, pot, time))
}
