//! A choice of fuels as text: the answer, why, and what else helps; as CSV and JSON in [`data`].

mod data;
mod further;

pub use data::{choice_csv, choice_json};

use super::expected::{expected_line, peak_text};
use super::number::{celsius_or_dash, celsius_text, significant, whole};
use super::text::{heading, shortened, wrapped};
use crate::choose::{
    Candidate, Choice, GoalOrigin, RatioRange, RatioReason, Reach, Suggestion, Verdict,
};
use crate::quantity::Ratio;
use std::fmt::{self, Write};
use uom::si::mass::gram;
use uom::si::ratio::{percent, ratio};
use uom::si::specific_volume::cubic_meter_per_kilogram;
use uom::si::time::second;

/// Candidates in the table.
const SHOWN: usize = 12;
/// Candidates whose reasons are written out.
const EXPLAINED: usize = 3;

/// Writes the choice as text.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub fn choice_text(choice: &Choice, out: &mut impl Write) -> fmt::Result {
    writeln!(out, "{}", choice.name)?;
    writeln!(out, "{}", "═".repeat(choice.name.chars().count().min(100)))?;
    wanted(choice, out)?;
    answer(choice, out)?;
    own(choice, out)?;
    table(choice, out)?;
    for candidate in explained(choice) {
        explain(candidate, out)?;
    }
    further::help(choice, out)?;
    further::tests(choice, out)?;
    further::left_out(choice, out)?;
    further::closing(out)
}

fn percent_text(share: Ratio) -> String {
    format!("{} %", whole(share.get::<percent>()))
}

fn wanted(choice: &Choice, out: &mut impl Write) -> fmt::Result {
    let goal = &choice.goal;
    let mut words = String::from("Wanted: ");
    if let Some(phase) = &goal.phase {
        write!(words, "{}", phase.name)?;
        let differing = goal.differing.get::<percent>();
        if differing > 0.05 {
            write!(
                words,
                " (the nearest row of the tables; {} % of the cations differ)",
                significant(differing, 2)
            )?;
        }
        words.push_str(", ");
    }
    let seconds = significant(goal.time.get::<second>(), 2);
    let time = if goal.time_stated {
        format!("{seconds} s")
    } else {
        format!("{seconds} s (assumed)")
    };
    let held = goal.held.map(celsius_text).unwrap_or_default();
    let (least, safe) = (celsius_text(goal.least), celsius_text(goal.safe));
    match goal.origin {
        GoalOrigin::Stated => write!(words, "{least} for {time}, as the file says.")?,
        GoalOrigin::Lower => write!(
            words,
            "seen from {held} on in hours; in a burn of {time} that takes {least} to {safe}."
        )?,
        GoalOrigin::Typical => write!(
            words,
            "usually annealed at {held} (no lowest temperature known); in a burn of {time} that \
             takes {least} to {safe}."
        )?,
    }
    if let Some(upper) = goal.upper {
        write!(words, " Above {} it is lost.", celsius_text(upper))?;
    }
    if let Some(atmosphere) = goal.atmosphere {
        write!(words, " Gas wanted: {atmosphere}.")?;
    }
    wrapped(out, 0, &words)?;
    if goal.origin != GoalOrigin::Stated {
        wrapped(
            out,
            0,
            "The two temperatures are one activated step with 800 and 400 kJ/mol, assumed, against \
             a hold of 2 h.",
        )?;
    }
    wrapped(
        out,
        0,
        "Ranked by the expected peak; a ratio that leaves more than 2 % of the metal in other phases \
         than the wanted ones, at the peak or on cooling, is not suggested.",
    )
}

fn answer(choice: &Choice, out: &mut impl Write) -> fmt::Result {
    heading(out, "Answer")?;
    let Some(best) = choice.candidates.first() else {
        return wrapped(out, 0, "No fuel of the tables burns in this batch.");
    };
    let suggestion = &best.suggestion;
    let words = format!(
        "{} at φ = {}: {}, {} ({}).",
        best.fuels.name(),
        significant(suggestion.ratio.get::<ratio>(), 3),
        suggested_peak(suggestion),
        best.verdict,
        ratio_reason(suggestion.why),
    );
    if choice.reached() {
        wrapped(out, 0, &format!("Best: {words}"))?;
    } else {
        wrapped(
            out,
            0,
            &format!(
                "Cannot be reached under these assumptions by any fuel looked at. The best that can \
                 be had: {words} See below for what else helps."
            ),
        )?;
    }
    let weighed: Vec<String> = suggestion
        .batch
        .ingredients
        .iter()
        .map(|i| {
            format!(
                "{} {} g",
                i.reactant.name,
                significant(i.mass.get::<gram>(), 4)
            )
        })
        .collect();
    wrapped(out, 0, &format!("Weigh: {}.", weighed.join(", ")))
}

fn ratio_reason(reason: RatioReason) -> &'static str {
    match reason {
        RatioReason::NearestToOne => "nearest to φ = 1 of the ratios that do the job",
        RatioReason::MiddleOfRich => "middle of the rich ratios that are hot enough",
        RatioReason::MiddleOfLean => "middle of the lean ratios that are hot enough",
        RatioReason::NearestToWantedGas => "hot enough only with another gas than wanted",
        RatioReason::NearestToGoal => "the nearest to the temperature that does",
    }
}

/// The expected peak of a suggestion: the whole expectation, or its middle.
fn suggested_peak(suggestion: &Suggestion) -> String {
    match &suggestion.expected {
        Some(expected) => peak_text(expected),
        None => celsius_or_dash(suggestion.temperature),
    }
}

fn own(choice: &Choice, out: &mut impl Write) -> fmt::Result {
    heading(out, "The batch of the file as it stands")?;
    let own = &choice.own;
    let line = format!(
        "Peak      {}: {}.",
        expected_line(&own.expected),
        own.verdict
    );
    wrapped(out, 0, &line)?;
    if own.other_phases.counts() {
        let text = format!(
            "In equilibrium {} of its metal is in {}.",
            percent_text(own.other_phases.share),
            own.other_phases.phases.join(", ")
        );
        wrapped(out, 0, &text)?;
    }
    writeln!(
        out,
        "{:<14}{:>10}  {:<12} condensed phases in equilibrium",
        "limits", "flame", "verdict"
    )?;
    for burn in &own.limits {
        let phases: Vec<&str> = burn
            .point
            .condensed
            .iter()
            .map(|(id, _)| id.as_str())
            .collect();
        writeln!(
            out,
            "{:<14}{:>10}  {:<12} {}",
            burn.state,
            celsius_text(burn.point.equilibrium),
            burn.verdict,
            shortened(&phases.join(", "), 60),
        )?;
    }
    if own.limits.iter().any(|o| o.verdict == Verdict::LosesMetal) {
        wrapped(
            out,
            0,
            "Loses metal: more than a tenth of one of the phase's metals is in the gas in \
             equilibrium; a burn of seconds loses less, yet the powder comes out short of it.",
        )?;
    }
    Ok(())
}

fn table(choice: &Choice, out: &mut impl Write) -> fmt::Result {
    heading(out, "Fuels, best first")?;
    writeln!(
        out,
        "{:>2} {:<38}{:>7}{:>10}  {:<11}{:>7}{:>8}{:>7}",
        "", "fuel (share of the valence)", "φ", "peak", "verdict", "L/g", "lg pO2", "points"
    )?;
    for (at, candidate) in choice.candidates.iter().enumerate() {
        if at >= SHOWN && !candidate.fuels.of_the_file {
            continue;
        }
        let point = &candidate.suggestion.point;
        let mark = if candidate.fuels.of_the_file {
            " (file)"
        } else {
            ""
        };
        let name = format!("{}{mark}", candidate.fuels.name());
        writeln!(
            out,
            "{:>2} {:<38}{:>7}{:>10}  {:<11}{:>7}{:>8}{:>7}",
            at + 1,
            shortened(&name, 37),
            significant(candidate.suggestion.ratio.get::<ratio>(), 3),
            celsius_or_dash(candidate.suggestion.temperature),
            candidate.verdict,
            significant(point.gas_per_product.get::<cubic_meter_per_kilogram>(), 3),
            point
                .log10_oxygen_pressure
                .map_or("–".to_owned(), |log| significant(log, 3)),
            whole(100.0 * candidate.score),
        )?;
    }
    Ok(())
}

/// The first few and the file's own.
fn explained(choice: &Choice) -> impl Iterator<Item = &Candidate> {
    choice
        .candidates
        .iter()
        .enumerate()
        .filter(|(at, c)| *at < EXPLAINED || c.fuels.of_the_file)
        .map(|(_, c)| c)
}

fn explain(candidate: &Candidate, out: &mut impl Write) -> fmt::Result {
    heading(out, &format!("Why: {}", candidate.fuels.name()))?;
    for criterion in &candidate.criteria {
        let line = format!(
            "{} ({} of {}): {}",
            criterion.kind,
            significant(criterion.weight * criterion.score, 2),
            significant(criterion.weight, 2),
            criterion.words
        );
        wrapped(out, 2, &line)?;
    }
    if let Some(expected) = &candidate.suggestion.expected {
        wrapped(
            out,
            2,
            &format!("expected peak: {}", expected_line(expected)),
        )?;
    }
    let reach = &candidate.reach;
    let line = format!(
        "φ as weighed with the middle of every band: may form {}; hot enough {}; hottest {}",
        ranges_text(&reach.least),
        ranges_text(&reach.safe),
        hottest_text(reach),
    );
    wrapped(out, 2, &line)
}

fn hottest_text(reach: &Reach) -> String {
    format!(
        "{} at φ {}",
        celsius_text(reach.hottest),
        significant(reach.hottest_ratio.get::<ratio>(), 3)
    )
}

fn ranges_text(ranges: &[RatioRange]) -> String {
    if ranges.is_empty() {
        return "none".to_owned();
    }
    let parts: Vec<String> = ranges
        .iter()
        .map(|r| {
            let end = |phi: Ratio, is_root: bool, sign: &str| {
                let number = significant(phi.get::<ratio>(), 3);
                if is_root {
                    number
                } else {
                    format!("{sign}{number}")
                }
            };
            format!(
                "{} to {}",
                end(r.from, r.from_is_root, "≤"),
                end(r.to, r.to_is_root, "≥")
            )
        })
        .collect();
    parts.join(", ")
}
