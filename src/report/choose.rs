//! A choice of fuels as a document: the answer on one screen, the reasons in full; as CSV and JSON
//! in [`data`].

mod data;
mod further;

#[cfg(not(target_family = "wasm"))]
pub(super) use data::ChosenFuels;
use data::ratio_reason;
pub use data::{choice_csv, choice_json};

use super::burn::DEFERENCE;
use super::document::{Cell, Document, Section, Table, percent_text};
use super::expected::{expected_line, peak_celsius, peak_text};
use super::number::{celsius_or_dash, celsius_text, mass_text, plain, significant};
use super::shown::{Shown, more};
use crate::choose::{
    Candidate, Choice, GoalOrigin, OwnBurn, RatioRange, Reach, Suggestion, Verdict,
};
use crate::quantity::Ratio;
use crate::quantity::units::{cubic_meter_per_kilogram, percent, ratio, second};

/// Candidates in the table of the answer.
const FEW: usize = 5;
/// Candidates in the table of its section.
const MANY: usize = 12;
/// Candidates whose reasons are written out.
const EXPLAINED: usize = 3;

/// Sections behind the answer, by name.
pub const CHOOSE_SECTIONS: [&str; 9] = [
    "fuels", "judged", "file", "reasons", "remedy", "rivals", "tests", "dopants", "left-out",
];

/// The choice: its answer, and the sections that are asked for.
pub fn choice_document(choice: &Choice, shown: &Shown) -> Document {
    let mut sections = Vec::new();
    if shown.answer() {
        let mut first = Section::default();
        answer(choice, &mut first);
        if *shown == Shown::Answer {
            first.table(table(choice, FEW));
        }
        sections.push(first);
    }
    let mut fuels = Section::new("Fuels, best first");
    fuels.table(table(choice, MANY));
    let named = [
        ("fuels", fuels),
        ("judged", wanted(choice)),
        ("file", own(choice)),
    ];
    let reasons = explained(choice).map(|candidate| ("reasons", explain(candidate)));
    let named = named.into_iter().chain(reasons);
    sections.extend(shown.pick(named.chain(further::sections(choice))));
    sections.push(if *shown == Shown::Answer {
        short_closing(choice)
    } else {
        further::closing()
    });
    Document::new(choice.name.clone(), sections)
}

/// What stands below the answer.
fn short_closing(choice: &Choice) -> Section {
    let mut closing = Section::default();
    if let Some(remedy) = choice.remedies.first() {
        closing.fact("Also", further::remedy_text(remedy));
    }
    closing.fact(
        "Points",
        "weights are assumed; peaks are expected from assumed bands",
    );
    closing.fact(
        "Next",
        "run `emberpot burn` on the chosen batch and read its dangers",
    );
    closing.fact("Rules", DEFERENCE);
    closing.fact("More", more(&CHOOSE_SECTIONS));
    closing
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
    let seconds = plain(goal.time.get::<second>(), 2);
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
    if !goal.other_forms.is_empty() {
        let forms = goal.other_forms.join(", ");
        words.push_str(&format!(" For {forms} name it as phase under [wanted]."));
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
    section.text(
        "Ranked by the expected peak; a ratio that leaves more than 2 % of the metal in other \
         phases than the wanted ones, at the peak or on cooling, is not suggested.",
    );
    section
}

fn answer(choice: &Choice, section: &mut Section) {
    section.fact("Wanted", goal_words(choice));
    let Some(best) = choice.candidates.first() else {
        let none = "no fuel of the tables burns in this batch";
        section.fact(
            "Answer",
            match choice.failed.first() {
                Some(first) => format!("{none}; {}: {}", first.fuel, first.reason),
                None => none.to_owned(),
            },
        );
        return;
    };
    let suggestion = &best.suggestion;
    let words = format!(
        "{} at φ = {}: {}, {} ({})",
        best.fuels.name(),
        significant(suggestion.ratio.get::<ratio>(), 3),
        suggested_peak(suggestion),
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
    let weighed = suggestion.batch.weighed.iter().map(|ingredient| {
        let mass = mass_text(ingredient.mass);
        format!("{mass} {}", ingredient.reactant.name)
    });
    section.fact("Weigh", weighed.collect::<Vec<_>>().join(" + "));
    section.fact(
        "The file",
        format!(
            "its batch as it stands: {}, {}",
            peak_text(&choice.own.expected),
            choice.own.verdict
        ),
    );
}

/// The expected peak of a suggestion: the whole expectation, or its middle.
fn suggested_peak(suggestion: &Suggestion) -> String {
    match &suggestion.expected {
        Some(expected) => peak_text(expected),
        None => celsius_or_dash(suggestion.temperature),
    }
}

/// The middle of the expected peak of a suggestion.
fn suggested_middle(suggestion: &Suggestion) -> String {
    match (&suggestion.expected, suggestion.temperature) {
        (Some(expected), Some(peak)) => peak_celsius(expected, peak),
        (_, peak) => celsius_or_dash(peak),
    }
}

fn own(choice: &Choice) -> Section {
    let own = &choice.own;
    let mut section = Section::new("The batch of the file as it stands");
    section.fact(
        "Peak",
        format!("{}: {}", expected_line(&own.expected), own.verdict),
    );
    if own.other_phases.counts() {
        section.text(format!(
            "In equilibrium {} of its metal is in {}.",
            percent_text(own.other_phases.share),
            own.other_phases.phases.join(", ")
        ));
    }
    let head = [
        "limit",
        "flame",
        "verdict",
        "condensed phases in equilibrium",
    ];
    let mut table = Table::new("Limits of the batch of the file", head);
    for OwnBurn {
        state,
        point,
        verdict,
    } in &own.limits
    {
        let phases: Vec<&str> = point.condensed.iter().map(|(id, _)| id.as_str()).collect();
        table.row([
            state.to_string().into(),
            Cell::celsius(point.equilibrium),
            verdict.to_string().into(),
            phases.join(", ").into(),
        ]);
    }
    section.table(table);
    if own.limits.iter().any(|o| o.verdict == Verdict::LosesMetal) {
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
        "peak",
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
            suggested_middle(&candidate.suggestion).into(),
            candidate.verdict.to_string().into(),
            Cell::number(gas, 3),
            oxygen.map_or(Cell::Absent, Cell::log),
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
    if let Some(expected) = &candidate.suggestion.expected {
        section.fact("Peak", expected_line(expected));
    }
    let reach = &candidate.reach;
    section.text(format!(
        "φ as weighed with the middle of every band: may form {}; hot enough {}; hottest {}.",
        ranges_text(&reach.least),
        ranges_text(&reach.safe),
        hottest_text(reach),
    ));
    section
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
