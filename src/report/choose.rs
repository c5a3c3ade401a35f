//! A choice of fuels as a document: the answer on one screen, the reasons in full; as CSV and JSON
//! in [`data`].

mod data;
mod further;

pub use data::{choice_csv, choice_json};

use super::burn::DEFERENCE;
use super::document::{Cell, Document, Section, Table, percent_text};
use super::number::{celsius_text, significant};
use crate::choose::{Candidate, Choice, GoalOrigin, OwnBurn, RatioRange, RatioReason, Verdict};
use crate::quantity::{Ratio, ThermodynamicTemperature};
use uom::si::mass::gram;
use uom::si::ratio::{percent, ratio};
use uom::si::specific_volume::cubic_meter_per_kilogram;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;

/// Candidates in the table of the answer, and in full.
const SHOWN: (usize, usize) = (5, 12);
/// Candidates whose reasons are written out.
const EXPLAINED: usize = 3;

/// The choice; `full` adds the reasons.
#[must_use]
pub fn choice_document(choice: &Choice, full: bool) -> Document {
    let mut first = Section::default();
    answer(choice, &mut first);
    let shown = if full { SHOWN.1 } else { SHOWN.0 };
    first.table(table(choice, shown));
    let mut sections = vec![first];
    if full {
        sections.extend([wanted(choice), own(choice)]);
        sections.extend(explained(choice).map(explain));
        sections.extend(further::sections(choice));
        sections.push(further::closing());
    } else {
        let mut more = Section::default();
        if !choice.help.is_empty() {
            more.fact("Also", further::help_text(&choice.help[0]));
        }
        more.fact(
            "Points",
            "weights are assumed; flames are equilibrium bounds less the stated loss",
        );
        more.fact(
            "Next",
            "run `emberpot burn` on the chosen batch and read its dangers",
        );
        more.fact("Rules", DEFERENCE);
        more.fact(
            "More",
            "--full: what was wanted, reasons, other helps, tests, sources",
        );
        sections.push(more);
    }
    Document {
        title: choice.name.clone(),
        sections,
    }
}

fn celsius(temperature: ThermodynamicTemperature) -> Cell {
    Cell::Number {
        value: temperature.get::<kelvin>(),
        shown: celsius_text(temperature),
    }
}

fn share(share: Ratio) -> Cell {
    Cell::Number {
        value: share.get::<ratio>(),
        shown: percent_text(share),
    }
}

fn phi(value: Ratio) -> Cell {
    Cell::number(value.get::<ratio>(), 3)
}

/// What is wanted, and how hot a burn has to be for it.
fn goal_words(choice: &Choice) -> String {
    let goal = &choice.goal;
    let mut words = String::new();
    if let Some(phase) = &goal.phase {
        words.push_str(&phase.name);
        let differing = goal.differing.get::<percent>();
        if differing > 0.05 {
            words.push_str(&format!(
                " (the nearest row of the tables; {} % of the cations differ)",
                significant(differing, 2)
            ));
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
    words.push_str(&match goal.origin {
        GoalOrigin::Stated => format!("{least} for {time}, as the file says."),
        GoalOrigin::Lower => {
            format!(
                "seen from {held} on in hours; in a burn of {time} that takes {least} to {safe}."
            )
        }
        GoalOrigin::Typical => format!(
            "usually annealed at {held} (no lowest temperature known); in a burn of {time} that \
             takes {least} to {safe}."
        ),
    });
    if let Some(upper) = goal.upper {
        words.push_str(&format!(" Above {} it is lost.", celsius_text(upper)));
    }
    if let Some(atmosphere) = goal.atmosphere {
        words.push_str(&format!(" Gas wanted: {atmosphere}."));
    }
    words
}

fn wanted(choice: &Choice) -> Section {
    let mut section = Section::new("How it was judged");
    if choice.goal.origin != GoalOrigin::Stated {
        section.text(
            "The two temperatures are one activated step with 800 and 400 kJ/mol, assumed, against \
             a hold of 2 h.",
        );
    }
    section.text(format!(
        "Ranked for the water {} and {} of the heat lost; flames are those of the equilibrium.",
        choice.state,
        percent_text(choice.loss)
    ));
    section
}

fn answer(choice: &Choice, section: &mut Section) {
    section.fact("Wanted", goal_words(choice));
    let Some(best) = choice.candidates.first() else {
        section.fact("Answer", "no fuel of the tables burns in this batch");
        return;
    };
    let suggestion = &best.suggestion;
    let words = format!(
        "{} at φ = {}: {}, {} ({})",
        best.fuels.name(),
        significant(suggestion.ratio.get::<ratio>(), 3),
        celsius_text(suggestion.point.equilibrium),
        best.verdict,
        ratio_reason(suggestion.why),
    );
    if choice.reached() {
        section.fact("Answer", words);
    } else {
        section.fact(
            "Answer",
            format!(
                "cannot be reached under these assumptions by any fuel looked at; the best that can \
                 be had: {words}"
            ),
        );
    }
    let weighed = suggestion.batch.ingredients.iter().map(|ingredient| {
        let mass = significant(ingredient.mass.get::<gram>(), 4);
        format!("{mass} g {}", ingredient.reactant.name)
    });
    section.fact("Weigh", weighed.collect::<Vec<_>>().join(" + "));
    if let Some(own) = choice.own.iter().find(|own| own.state == choice.state) {
        section.fact(
            "The file",
            format!(
                "its batch as it stands: {}, {}",
                celsius_text(own.point.equilibrium),
                own.verdict
            ),
        );
    }
}

fn ratio_reason(reason: RatioReason) -> &'static str {
    match reason {
        RatioReason::MiddleOfRich => "middle of the rich ratios that are hot enough",
        RatioReason::MiddleOfLean => "middle of the lean ratios that are hot enough",
        RatioReason::NearestToWantedGas => "hot enough only with another gas than wanted",
        RatioReason::Hottest => "the hottest there is",
    }
}

fn own(choice: &Choice) -> Section {
    let mut section = Section::new("The batch of the file as it stands");
    let head = [
        "water",
        "loss",
        "flame",
        "verdict",
        "condensed phases in equilibrium",
    ];
    let mut table = Table::new("The batch of the file", head);
    for OwnBurn {
        state,
        loss,
        point,
        verdict,
    } in &choice.own
    {
        let phases: Vec<&str> = point.condensed.iter().map(|(id, _)| id.as_str()).collect();
        table.row([
            state.to_string().into(),
            share(*loss),
            celsius(point.equilibrium),
            verdict.to_string().into(),
            phases.join(", ").into(),
        ]);
    }
    section.table(table);
    if choice
        .own
        .iter()
        .any(|own| own.verdict == Verdict::LosesMetal)
    {
        section.text(
            "Loses metal: more than a tenth of one of the phase's metals is in the gas in \
             equilibrium; a burn of seconds loses less, yet the powder comes out short of it.",
        );
    }
    section
}

fn table(choice: &Choice, shown: usize) -> Table {
    let head = [
        "",
        "fuel (share of the valence)",
        "φ",
        "flame",
        "verdict",
        "L/g",
        "lg pO2",
        "points",
    ];
    let mut table = Table::new("Fuels, best first", head);
    for (at, candidate) in choice.candidates.iter().enumerate() {
        if at >= shown && !candidate.fuels.of_the_file {
            continue;
        }
        let point = &candidate.suggestion.point;
        let mark = if candidate.fuels.of_the_file {
            " (file)"
        } else {
            ""
        };
        let gas = point.gas_per_product.get::<cubic_meter_per_kilogram>();
        let oxygen = point.log10_oxygen_pressure;
        table.row([
            (at + 1).to_string().into(),
            format!("{}{mark}", candidate.fuels.name()).into(),
            phi(candidate.suggestion.ratio),
            celsius(point.equilibrium),
            candidate.verdict.to_string().into(),
            Cell::number(gas, 3),
            oxygen.map_or(Cell::Absent, |log| Cell::number(log, 3)),
            Cell::whole(100.0 * candidate.score),
        ]);
    }
    table
}

/// The first few and the file's own.
fn explained(choice: &Choice) -> impl Iterator<Item = &Candidate> {
    let candidates = choice.candidates.iter().enumerate();
    candidates
        .filter(|(at, candidate)| *at < EXPLAINED || candidate.fuels.of_the_file)
        .map(|(_, candidate)| candidate)
}

fn explain(candidate: &Candidate) -> Section {
    let mut section = Section::new(format!("Why: {}", candidate.fuels.name()));
    for criterion in &candidate.criteria {
        section.item(format!(
            "{} ({} of {}): {}",
            criterion.kind,
            significant(criterion.weight * criterion.score, 2),
            significant(criterion.weight, 2),
            criterion.words
        ));
    }
    let head = ["water", "loss", "φ, may form", "φ, hot enough", "hottest"];
    let mut table = Table::new("Fuel ratios that are hot enough", head);
    for reach in &candidate.reach {
        let hottest = format!(
            "{} at φ {}",
            celsius_text(reach.hottest),
            significant(reach.hottest_ratio.get::<ratio>(), 3)
        );
        table.row([
            reach.state.to_string().into(),
            share(reach.loss),
            ranges_text(&reach.least).into(),
            ranges_text(&reach.safe).into(),
            hottest.into(),
        ]);
    }
    section.table(table);
    section
}

fn ranges_text(ranges: &[RatioRange]) -> String {
    if ranges.is_empty() {
        return "none".to_owned();
    }
    let end = |phi: Ratio, is_root: bool, sign: &str| {
        let number = significant(phi.get::<ratio>(), 3);
        if is_root {
            number
        } else {
            format!("{sign}{number}")
        }
    };
    let parts = ranges.iter().map(|range| {
        let from = end(range.from, range.from_is_root, "≤");
        let to = end(range.to, range.to_is_root, "≥");
        format!("{from} to {to}")
    });
    parts.collect::<Vec<_>>().join(", ")
}
