//! The next change: one, chosen by what it is expected to gain, less what it risks and costs; a
//! second beside it. To repeat as it is can be the best.

use crate::advice::Severity;
use crate::batch::{Batch, Instrument, Run};
use crate::choose::{Candidate, ChooseError, Goal, OtherPhases, choose};
use crate::expected::Expected;
use crate::judge::{Expectation, judgement};
use crate::learn::{LearnError, Page, deviation, learn};
use crate::prepared::{PrepareError, Prepared};
use crate::quantity::units::{kelvin, kelvins, ratio};
use crate::quantity::{EquivalenceRatio, Ratio, TemperatureInterval};
use crate::tables::Tables;
use crate::tables::cited::Cited;
use crate::tables::findings::Finding;
use crate::tables::observations::Observations;
use crate::tables::unit::Percent;
use std::collections::BTreeSet;
use std::sync::Arc;
use thiserror::Error;

/// What is proposed.
#[derive(Debug, Clone)]
pub enum Action {
    /// The same again.
    Repeat { why: Why },
    /// What the table of findings says to a fault of the last powder.
    Mend(Box<Finding>),
    /// The same fuels at another ratio.
    Ratio {
        /// φ now and then.
        from: EquivalenceRatio,
        /// φ as proposed.
        to: EquivalenceRatio,
    },
    /// Other fuels.
    Fuels {
        /// What they are called.
        name: String,
        /// φ as proposed.
        to: EquivalenceRatio,
    },
}

/// Why to repeat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// There is none yet, or one only.
    TooFewRuns,
    /// What a change would do is less than what runs differ by.
    Scatter,
    NothingGains,
}

/// One reason for the worth of a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reason {
    /// What it is.
    pub what: &'static str,
    /// What it adds, as a chance gained.
    pub worth: Ratio,
    /// Whether it was reckoned from the draws; else it stands in `tables/observations.toml`.
    pub reckoned: bool,
}

impl Reason {
    fn reckoned(what: &'static str, worth: f64) -> Self {
        Self {
            what,
            worth: Ratio::new::<ratio>(worth),
            reckoned: true,
        }
    }

    /// `times` what the table says.
    fn of_table(what: &'static str, times: f64, worth: &Cited<Percent>) -> Self {
        Self {
            what,
            worth: times * worth.value,
            reckoned: false,
        }
    }
}

/// One step with what it is worth.
#[derive(Debug, Clone)]
pub struct Step {
    /// What to do.
    pub action: Action,
    /// Chance gained that a burn does what is wanted; `None` where it is not reckoned.
    pub gain: Option<Ratio>,
    /// What makes its worth, none of them zero.
    pub reasons: Vec<Reason>,
    /// Dangers that the batch did not have.
    pub dangers: Vec<String>,
    /// The expected burn after it, if it changes.
    pub expected: Option<Expected>,
}

impl Step {
    /// Worth less risk and cost; only the order counts.
    pub fn worth(&self) -> Ratio {
        let nothing = Ratio::new::<ratio>(0.0);
        self.reasons.iter().fold(nothing, |sum, r| sum + r.worth)
    }
}

#[derive(Debug, Clone)]
pub struct Proposal {
    /// Name of the batch.
    pub name: String,
    pub file: String,
    /// The expected burn as it is, learned from the runs.
    pub expected: Expected,
    /// Chance that it does what is wanted: draws as hot as wanted, less the share of the metal in
    /// other phases; if the file or the tables say what that is.
    pub chance: Option<Ratio>,
    /// The steps, best first; never empty.
    pub steps: Vec<Step>,
    /// Reading and runs together differ by this, one standard deviation.
    pub scatter: TemperatureInterval,
    /// Why nothing was aimed at, if nothing was.
    pub no_goal: Option<String>,
}

/// Why nothing is proposed.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum NextError {
    #[error(transparent)]
    Learn(#[from] LearnError),
    #[error(transparent)]
    Prepare(#[from] PrepareError),
    #[error(transparent)]
    Choose(#[from] ChooseError),
}

/// Proposes the next change of the batch of the last page; the runs of all pages teach.
///
/// # Errors
/// [`NextError`] if a batch is refused or cannot be burnt.
pub fn next(pages: &[Page], tables: &Tables) -> Result<Option<Proposal>, NextError> {
    let Some(page) = pages.last() else {
        return Ok(None);
    };
    let mut batch = page.batch.clone();
    match learn(pages, tables) {
        Ok(lesson) => batch.learned = Some(Arc::new(lesson.learned("the runs"))),
        Err(LearnError::NoRuns | LearnError::NothingRead { .. }) => {}
        Err(error) => return Err(error.into()),
    }
    let prepared = Prepared::new(&batch, tables)?;
    let scatter = deviation_of_last(&page.batch, &tables.observations);
    let (mut steps, chance, no_goal) = match changes(&prepared) {
        Ok((steps, chance)) => (steps, Some(chance), None),
        Err(error @ ChooseError::NothingWanted { .. }) => {
            (Vec::new(), None, Some(error.to_string()))
        }
        Err(error) => return Err(error.into()),
    };
    steps.extend(page.batch.runs.last().and_then(|run| mend(&prepared, run)));
    let repeat = repeat(&prepared, &steps, scatter);
    steps.push(repeat);
    // To do the same costs nothing: what is worth less is not proposed.
    steps.retain(|step| step.worth() >= Ratio::new::<ratio>(0.0));
    steps.sort_by(|a, b| b.worth().value.total_cmp(&a.worth().value));
    Ok(Some(Proposal {
        name: batch.name.clone(),
        file: page.file.clone(),
        expected: prepared.expected,
        chance,
        steps,
        scatter,
        no_goal,
    }))
}

/// One standard deviation of a reading and of runs together: with the instrument of the last run
/// that was measured, else with a thermocouple.
fn deviation_of_last(batch: &Batch, tables: &Observations) -> TemperatureInterval {
    let measured = batch.runs.iter().rev();
    let last = measured.clone().find(|run| run.peak_temperature.is_some());
    let thermocouple = || Run {
        instrument: Some(Instrument::Thermocouple),
        ..Run::default()
    };
    deviation(last.unwrap_or(&thermocouple()), tables)
}

/// Share of the draws that are as hot as wanted, less the share of the metal in other phases.
fn chance(expected: &Expected, others: &OtherPhases, goal: &Goal) -> f64 {
    let does = |t| goal.verdict_at(t).may_do();
    let count = expected
        .draws
        .iter()
        .filter(|draw| draw.peak.is_some_and(does))
        .count();
    let hot = count as f64 / expected.draws.len().max(1) as f64;
    hot * (1.0 - others.share.get::<ratio>()).clamp(0.0, 1.0)
}

/// Other ratios and other fuels, and the chance as it is.
fn changes(prepared: &Prepared<'_>) -> Result<(Vec<Step>, Ratio), ChooseError> {
    let choice = choose(prepared)?;
    let own = chance(&prepared.expected, &choice.own.other_phases, &choice.goal);
    let of_file = choice.candidates.iter().find(|c| c.fuels.of_the_file);
    let other = choice.candidates.iter().find(|c| !c.fuels.of_the_file);
    let steps = [of_file, other]
        .into_iter()
        .flatten()
        .filter_map(|candidate| change(prepared, candidate, &choice.goal, own))
        .collect();
    Ok((steps, Ratio::new::<ratio>(own)))
}

fn change(prepared: &Prepared<'_>, candidate: &Candidate, goal: &Goal, own: f64) -> Option<Step> {
    let suggestion = &candidate.suggestion;
    let from = prepared.redox.equivalence_ratio;
    let off = (suggestion.ratio - from).get::<ratio>().abs();
    let worth = &prepared.tables.observations.worth;
    if candidate.fuels.of_the_file && off < worth.same_ratio.si() {
        return None;
    }
    // What is refused is not proposed.
    let after = Prepared::new(&suggestion.batch, prepared.tables).ok()?;
    let dangers = new_dangers(prepared, &after);
    let there = chance(&after.expected, &suggestion.other_phases, goal);
    let (action, effort) = if candidate.fuels.of_the_file {
        let to = suggestion.ratio;
        let effort = Reason::of_table("effort of another ratio", -1.0, &worth.new_ratio);
        (Action::Ratio { from, to }, effort)
    } else {
        let (name, to) = (candidate.fuels.name(), suggestion.ratio);
        let effort = Reason::of_table("effort of another fuel", -1.0, &worth.new_fuel);
        (Action::Fuels { name, to }, effort)
    };
    let mut reasons = vec![Reason::reckoned("chance gained", there - own), effort];
    if !dangers.is_empty() {
        let count = -(dangers.len() as f64);
        reasons.push(Reason::of_table("new dangers", count, &worth.new_danger));
    }
    Some(Step {
        action,
        gain: Some(Ratio::new::<ratio>(there - own)),
        reasons,
        dangers,
        expected: Some(after.expected),
    })
}

/// Dangers of the changed batch that the batch did not have.
fn new_dangers(before: &Prepared<'_>, after: &Prepared<'_>) -> Vec<String> {
    let serious = |prepared: &Prepared<'_>| -> Vec<(String, String)> {
        let warnings = prepared.advice.warnings.iter();
        let dangers = warnings.filter(|w| w.severity <= Severity::Danger);
        dangers.map(|w| (w.code.clone(), w.text.clone())).collect()
    };
    let known: BTreeSet<String> = serious(before).into_iter().map(|(code, _)| code).collect();
    let new = serious(after)
        .into_iter()
        .filter(|(code, _)| !known.contains(code));
    new.map(|(_, text)| text).collect()
}

/// What the last powder asks for.
fn mend(prepared: &Prepared<'_>, run: &Run) -> Option<Step> {
    let expected = Expectation::of(prepared);
    let found = judgement(
        &prepared.batch,
        run,
        &expected,
        None,
        &prepared.tables.findings,
    );
    let finding = found.findings.into_iter().next()?;
    let worth = &prepared.tables.observations.worth;
    let mut reasons = vec![Reason::of_table(
        "a fault of the powder mended",
        1.0,
        &worth.mending,
    )];
    if finding.rank > 0 {
        let rank = -f64::from(finding.rank);
        reasons.push(Reason::of_table("not the likeliest", rank, &worth.rank));
    }
    Some(Step {
        reasons,
        dangers: finding.danger.iter().cloned().collect(),
        action: Action::Mend(Box::new(finding)),
        gain: None,
        expected: None,
    })
}

/// By how much two runs have to be apart to be told from chance: they differ by √2 deviations, and
/// twice that is seen.
pub fn seen_apart(deviation: TemperatureInterval) -> TemperatureInterval {
    8.0_f64.sqrt() * deviation
}

/// The same again: what that is worth beside the other steps.
fn repeat(prepared: &Prepared<'_>, steps: &[Step], scatter: TemperatureInterval) -> Step {
    let (expected, batch) = (&prepared.expected, &prepared.batch);
    let worth = &prepared.tables.observations.worth;
    let measured = batch
        .runs
        .iter()
        .filter(|run| run.peak_temperature.is_some())
        .count();
    let shift = |step: &Step| {
        let (then, now) = (step.expected.as_ref()?.temperature?, expected.temperature?);
        Some((then.get::<kelvin>() - now.get::<kelvin>()).abs())
    };
    let best = steps
        .iter()
        .max_by(|a, b| a.worth().value.total_cmp(&b.worth().value));
    let hidden = best
        .and_then(shift)
        .is_some_and(|shift| shift < seen_apart(scatter).get::<kelvins>());
    let table = |what, worth| vec![Reason::of_table(what, 1.0, worth)];
    let (why, reasons) = if measured < 2 {
        let reasons = table("a second measured run", &worth.second_run);
        (Why::TooFewRuns, reasons)
    } else if hidden {
        (Why::Scatter, table("a further run", &worth.further_run))
    } else {
        (Why::NothingGains, Vec::new())
    };
    Step {
        action: Action::Repeat { why },
        gain: None,
        reasons,
        dangers: Vec::new(),
        expected: None,
    }
}
