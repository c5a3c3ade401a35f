//! A choice of fuels as text and JSON: the answer, why, and what else helps.

use super::number::{celsius_text, significant, whole};
use super::text::{shortened, wrapped};
use super::vary::{csv_cell, point_json};
use crate::choose::{Candidate, Choice, GoalOrigin, Help, RatioRange, RatioReason, Reach, Verdict};
use crate::quantity::Ratio;
use crate::tables::phases::Note;
use serde_json::{Value, json};
use std::fmt::{self, Write};
use uom::si::mass::gram;
use uom::si::ratio::{percent, ratio};
use uom::si::specific_volume::cubic_meter_per_kilogram;
use uom::si::thermodynamic_temperature::kelvin;
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
    help(choice, out)?;
    tests(choice, out)?;
    left_out(choice, out)?;
    closing(out)
}

fn heading(out: &mut impl Write, title: &str) -> fmt::Result {
    writeln!(out, "\n{title}\n{}", "─".repeat(title.chars().count()))
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
        &format!(
            "Ranked for the water {} and {} of the heat lost; flames are those of the equilibrium.",
            choice.state,
            percent_text(choice.loss)
        ),
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
        celsius_text(suggestion.point.equilibrium),
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
        RatioReason::MiddleOfRich => "middle of the rich ratios that are hot enough",
        RatioReason::MiddleOfLean => "middle of the lean ratios that are hot enough",
        RatioReason::NearestToWantedGas => "hot enough only with another gas than wanted",
        RatioReason::Hottest => "the hottest there is",
    }
}

fn own(choice: &Choice, out: &mut impl Write) -> fmt::Result {
    heading(out, "The batch of the file as it stands")?;
    writeln!(
        out,
        "{:<12}{:>6}{:>10}  {:<11} condensed phases in equilibrium",
        "water", "loss", "flame", "verdict"
    )?;
    for burn in &choice.own {
        let phases: Vec<&str> = burn
            .point
            .condensed
            .iter()
            .map(|(id, _)| id.as_str())
            .collect();
        writeln!(
            out,
            "{:<12}{:>6}{:>10}  {:<11} {}",
            burn.state,
            percent_text(burn.loss),
            celsius_text(burn.point.equilibrium),
            burn.verdict,
            shortened(&phases.join(", "), 57),
        )?;
    }
    let lost = choice.own.iter().any(|o| o.verdict == Verdict::LosesMetal);
    if lost {
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
        "", "fuel (share of the valence)", "φ", "flame", "verdict", "L/g", "lg pO2", "points"
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
            celsius_text(point.equilibrium),
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
    writeln!(
        out,
        "  {:<12}{:>6}  {:<24}{:<24}{:>18}",
        "water", "loss", "φ, may form", "φ, hot enough", "hottest"
    )?;
    for reach in &candidate.reach {
        writeln!(
            out,
            "  {:<12}{:>6}  {:<24}{:<24}{:>18}",
            reach.state,
            percent_text(reach.loss),
            ranges_text(&reach.least),
            ranges_text(&reach.safe),
            hottest_text(reach),
        )?;
    }
    Ok(())
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

fn note_text(notes: &[Note]) -> String {
    let parts: Vec<String> = notes
        .iter()
        .map(|note| format!("{} [{}; {}]", note.text, note.source, note.seen))
        .collect();
    parts.join("; ")
}

fn help(choice: &Choice, out: &mut impl Write) -> fmt::Result {
    if choice.help.is_empty() {
        return Ok(());
    }
    heading(out, "What else helps, gentlest first")?;
    for help in &choice.help {
        wrapped(out, 2, &help_text(help))?;
    }
    Ok(())
}

fn help_text(help: &Help) -> String {
    match help {
        Help::Anneal { temperature, notes } => {
            let at = temperature.map_or(String::new(), |t| format!(" at {}", celsius_text(t)));
            let notes = if notes.is_empty() {
                "for 1 to 2 h, common practice".to_owned()
            } else {
                note_text(notes)
            };
            format!("Anneal the powder{at}: {notes}.")
        }
        Help::Flux { notes } => format!("Flux: {}.", note_text(notes)),
        Help::OtherFuel {
            name,
            ratio: phi,
            temperature,
        } => format!(
            "Other fuel: {name} at φ = {} gives {}.",
            significant(phi.get::<ratio>(), 3),
            celsius_text(*temperature)
        ),
        Help::LessWater { state, verdict } => format!(
            "Water decides: {state}, the file's batch would be {verdict}. Let the pot boil down in \
             one go to ignition; never dry or keep the gel apart, and expect a fiercer burn."
        ),
        Help::Preheat { start } => format!(
            "A start at {} (ignition inside a furnace, its door between it and you) brings the \
             file's batch to the least temperature; the burn is fiercer then, and losses to the \
             wall smaller. An anneal does the same calmly.",
            celsius_text(*start)
        ),
    }
}

fn tests(choice: &Choice, out: &mut impl Write) -> fmt::Result {
    if let Some(phase) = choice
        .goal
        .phase
        .as_ref()
        .filter(|p| !p.competing.is_empty())
    {
        heading(out, "What may form instead")?;
        wrapped(out, 0, &format!("{}.", note_text(&phase.competing)))?;
        if !phase.polymorph.is_empty() {
            wrapped(out, 0, &format!("Forms: {}.", note_text(&phase.polymorph)))?;
        }
        if !phase.caution.is_empty() {
            wrapped(out, 0, &format!("Mind: {}.", note_text(&phase.caution)))?;
        }
    }
    if !choice.tests.is_empty() {
        heading(
            out,
            "Cheap tests (common practice; X-ray diffraction decides)",
        )?;
        for rival in &choice.tests {
            let line = format!("{}: {}. Then: {}.", rival.name, rival.test, rival.cure);
            wrapped(out, 2, &line)?;
        }
    }
    if !choice.dopants.is_empty() {
        heading(out, "Published dopant levels")?;
        for note in &choice.dopants {
            let levels: Vec<String> = [("from", note.low), ("best", note.best), ("to", note.high)]
                .iter()
                .filter_map(|(word, value)| Some(format!("{word} {}", significant((*value)?, 3))))
                .collect();
            let parts: Vec<String> = [
                format!("{} {}", levels.join(", "), note.unit),
                note.basis.clone(),
                note.atmosphere.clone(),
                note.finding.clone(),
            ]
            .into_iter()
            .map(|part| part.trim().to_owned())
            .filter(|part| !part.is_empty())
            .collect();
            let line = format!(
                "{} {}: {} [{}; {}]",
                note.additive,
                note.state,
                parts.join("; "),
                note.source,
                note.seen
            );
            wrapped(out, 2, &line)?;
        }
    }
    Ok(())
}

fn left_out(choice: &Choice, out: &mut impl Write) -> fmt::Result {
    let all: Vec<String> = choice
        .left_out
        .iter()
        .chain(&choice.failed)
        .map(|l| format!("{} ({})", l.fuel, l.reason))
        .collect();
    if all.is_empty() {
        return Ok(());
    }
    heading(out, "Not looked at")?;
    wrapped(out, 0, &format!("{}.", all.join("; ")))
}

fn closing(out: &mut impl Write) -> fmt::Result {
    writeln!(out)?;
    wrapped(
        out,
        0,
        "Points and weights are assumed (tables/phases/ranking.toml), no measured property; the \
         flame is an adiabatic bound less the stated loss, and kinetics and the match of fuel and \
         cation can overrule it. Run `burn` on the chosen batch before you weigh it, and read its \
         cautions: small batch, open vessel, hood, shield, and what your laboratory's safety \
         officer and local rules ask for.",
    )
}

/// The ranked candidates as CSV.
#[must_use]
pub fn choice_csv(choice: &Choice) -> String {
    let mut text = String::from(
        "place,fuels,of_the_file,equivalence_ratio,equilibrium_temperature_k,verdict,\
         gas_per_product_l_per_g,log10_oxygen_pressure_bar,points\n",
    );
    for (at, candidate) in choice.candidates.iter().enumerate() {
        let point = &candidate.suggestion.point;
        let cells = [
            (at + 1).to_string(),
            csv_cell(&candidate.fuels.name()),
            candidate.fuels.of_the_file.to_string(),
            candidate.suggestion.ratio.get::<ratio>().to_string(),
            point.equilibrium.get::<kelvin>().to_string(),
            candidate.verdict.to_string(),
            point
                .gas_per_product
                .get::<cubic_meter_per_kilogram>()
                .to_string(),
            point
                .log10_oxygen_pressure
                .map_or(String::new(), |log| log.to_string()),
            candidate.score.to_string(),
        ];
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    text
}

/// The choice as a JSON value, fields as in the README.
#[must_use]
pub fn choice_json(choice: &Choice) -> Value {
    let goal = &choice.goal;
    let candidates: Vec<Value> = choice.candidates.iter().map(candidate_json).collect();
    let own: Vec<Value> = choice
        .own
        .iter()
        .map(|burn| {
            json!({
                "water_state": burn.state.to_string(),
                "heat_loss_fraction": burn.loss.get::<ratio>(),
                "verdict": burn.verdict.to_string(),
                "burn": point_json(&burn.point),
            })
        })
        .collect();
    let left_out: Vec<Value> = choice
        .left_out
        .iter()
        .chain(&choice.failed)
        .map(|l| json!({ "fuel": l.fuel, "reason": l.reason }))
        .collect();
    let tests: Vec<Value> = choice
        .tests
        .iter()
        .map(|r| json!({ "rival": r.name, "test": r.test, "cure": r.cure }))
        .collect();
    json!({
        "schema_version": super::json::SCHEMA_VERSION,
        "name": choice.name,
        "wanted": {
            "phase": goal.phase.as_ref().map(|p| p.name.clone()),
            "differing_cation_fraction": goal.differing.get::<ratio>(),
            "origin": match goal.origin {
                GoalOrigin::Stated => "stated",
                GoalOrigin::Lower => "lowest published",
                GoalOrigin::Typical => "usual anneal",
            },
            "held_temperature_k": goal.held.map(|t| t.get::<kelvin>()),
            "least_temperature_k": goal.least.get::<kelvin>(),
            "safe_temperature_k": goal.safe.get::<kelvin>(),
            "upper_temperature_k": goal.upper.map(|t| t.get::<kelvin>()),
            "time_s": goal.time.get::<second>(),
            "time_assumed": !goal.time_stated,
            "atmosphere": goal.atmosphere.map(|a| a.to_string()),
        },
        "water_state": choice.state.to_string(),
        "heat_loss_fraction": choice.loss.get::<ratio>(),
        "reached": choice.reached(),
        "own_batch": own,
        "candidates": candidates,
        "help": choice.help.iter().map(help_text).collect::<Vec<_>>(),
        "tests": tests,
        "left_out": left_out,
    })
}

fn candidate_json(candidate: &Candidate) -> Value {
    let suggestion = &candidate.suggestion;
    let fuels: Vec<Value> = candidate
        .fuels
        .parts
        .iter()
        .map(|(fuel, share)| {
            json!({ "name": fuel.name, "formula": fuel.formula.to_string(), "valence_fraction": share })
        })
        .collect();
    let weighed: Vec<Value> = suggestion
        .batch
        .ingredients
        .iter()
        .map(|i| json!({ "name": i.reactant.name, "mass_g": i.mass.get::<gram>() }))
        .collect();
    let criteria: Vec<Value> = candidate
        .criteria
        .iter()
        .map(|c| {
            json!({
                "name": c.kind.to_string(),
                "score": c.score,
                "weight": c.weight,
                "words": c.words,
            })
        })
        .collect();
    let ranges = |ranges: &[RatioRange]| -> Vec<Value> {
        ranges
            .iter()
            .map(|r| {
                json!({
                    "from": r.from.get::<ratio>(),
                    "to": r.to.get::<ratio>(),
                    "from_is_root": r.from_is_root,
                    "to_is_root": r.to_is_root,
                })
            })
            .collect()
    };
    let reach: Vec<Value> = candidate
        .reach
        .iter()
        .map(|r| {
            json!({
                "water_state": r.state.to_string(),
                "heat_loss_fraction": r.loss.get::<ratio>(),
                "equivalence_ratios_may_form": ranges(&r.least),
                "equivalence_ratios_hot_enough": ranges(&r.safe),
                "hottest_temperature_k": r.hottest.get::<kelvin>(),
                "hottest_equivalence_ratio": r.hottest_ratio.get::<ratio>(),
            })
        })
        .collect();
    json!({
        "fuels": fuels,
        "of_the_file": candidate.fuels.of_the_file,
        "equivalence_ratio": suggestion.ratio.get::<ratio>(),
        "ratio_reason": ratio_reason(suggestion.why),
        "verdict": candidate.verdict.to_string(),
        "hot_enough": candidate.verdict == Verdict::Forms,
        "points": candidate.score,
        "criteria": criteria,
        "burn": point_json(&suggestion.point),
        "weigh": weighed,
        "reach": reach,
    })
}
