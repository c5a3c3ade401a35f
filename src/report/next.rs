//! The next change, as a document and as JSON.

use super::burn::DEFERENCE;
use super::document::{Document, Section, percent_text};
use super::expected::peak_text;
use super::number::{celsius_text, interval_text, significant};
use super::view::{json_of, list, view};
use crate::expected::Expected;
use crate::next::{Action, Proposal, Reason, Step, Why, seen_apart};
use crate::quantity::units::{kelvin, percent, ratio};
use crate::quantity::{Ratio, ThermodynamicTemperature};
use serde_json::Value;

/// The proposal: what to change, what each outcome would mean, the second choice beside it.
pub fn next_document(proposal: &Proposal) -> Document {
    let mut sections = Vec::new();
    let mut now = Section::default();
    now.fact(
        "Now",
        format!("expected peak {}", peak_text(&proposal.expected)),
    );
    match (proposal.chance, &proposal.no_goal) {
        (Some(chance), _) => now.fact(
            "Chance",
            format!(
                "{} (draws that are as hot as wanted, less the metal in other phases)",
                percent_text(chance)
            ),
        ),
        (None, Some(why)) => now.text(format!("Nothing to aim at: {why}.")),
        (None, None) => {}
    }
    sections.push(now);
    for (title, step) in ["Next", "Second choice"].into_iter().zip(&proposal.steps) {
        sections.push(step_section(title, step, proposal));
    }
    let mut end = Section::new("Before you change it");
    if proposal.steps.len() < 2 {
        end.text(
            "No second choice: no other change that was looked at is worth its risk and effort.",
        );
    }
    end.text(
        "Worth is counted as chance gained. What is assumed of it sets the order of the steps and \
         nothing else.",
    );
    end.text(format!(
        "Change this one thing only. Plan the changed batch with `emberpot burn` first. {DEFERENCE}"
    ));
    sections.push(end);
    Document::new(format!("{}: the next change", proposal.name), sections)
}

fn ratio_text(value: Ratio) -> String {
    significant(value.get::<ratio>(), 3)
}

/// What to do, in words.
fn action_text(action: &Action) -> String {
    match action {
        Action::Repeat { why } => format!("repeat it as it is: {}", why_text(*why)),
        Action::Mend(finding) => finding.change.clone(),
        Action::Ratio { from, to } => {
            let way = if to > from { "raise" } else { "lower" };
            let (from, to) = (ratio_text(*from), ratio_text(*to));
            format!("{way} the fuel ratio from φ = {from} to {to}, the fuels as they are")
        }
        Action::Fuels { name, to } => {
            format!("take {name} as the fuel, at φ = {}", ratio_text(*to))
        }
    }
}

fn why_text(why: Why) -> &'static str {
    match why {
        Why::TooFewRuns => "fewer than two measured runs do not tell how runs scatter",
        Why::Scatter => "what the best change would do is less than two runs differ by chance",
        Why::NothingGains => "no change is expected to gain anything",
    }
}

fn step_section(title: &str, step: &Step, proposal: &Proposal) -> Section {
    let mut section = Section::new(title);
    section.fact("Change", action_text(&step.action));
    if let Some(expected) = &step.expected {
        section.fact("Then", format!("expected peak {}", peak_text(expected)));
    }
    if let Some(gain) = step.gain {
        let text = if gain.get::<ratio>() < 0.005 {
            "none that can be predicted".to_owned()
        } else {
            let before = proposal.chance.unwrap_or_default();
            let (before, after) = (percent_text(before), percent_text(before + gain));
            format!("the chance rises from {before} to {after}")
        };
        section.fact("Gain", text);
    }
    if !step.reasons.is_empty() {
        section.fact("Worth", worth_text(step));
    }
    for danger in &step.dangers {
        section.fact("Danger", danger.clone());
    }
    for outcome in outcomes(step, proposal) {
        section.item(outcome);
    }
    section
}

/// `+1 %: chance gained +4 %, effort of another ratio −3 % (assumed)`.
fn worth_text(step: &Step) -> String {
    let signed = |worth: Ratio| {
        let percents = worth.get::<percent>().round();
        format!("{percents:+.0} %").replace('-', "−")
    };
    let reasons: Vec<String> = step
        .reasons
        .iter()
        .map(|reason| {
            let assumed = if reason.reckoned { "" } else { " (assumed)" };
            format!("{} {}{assumed}", reason.what, signed(reason.worth))
        })
        .collect();
    format!("{}: {}", signed(step.worth()), reasons.join(", "))
}

/// What each outcome would mean.
fn outcomes(step: &Step, proposal: &Proposal) -> Vec<String> {
    match &step.action {
        Action::Repeat { .. } => {
            let apart = interval_text(seen_apart(proposal.scatter));
            vec![
                format!(
                    "Within {apart} of the last: runs scatter no more than assumed, and a change that \
                     does more can be seen."
                ),
                format!(
                    "Further apart than {apart}: something differs that the file does not say; find it \
                     (how the gel is spread, draught, a bottle) before anything is changed."
                ),
            ]
        }
        Action::Mend(finding) => vec![
            format!(
                "It goes away: {} was the cause; keep the change.",
                finding.causes[0]
            ),
            format!(
                "It stays: look at {} next, the change taken back.",
                finding
                    .causes
                    .get(1)
                    .map_or("what else differs", String::as_str)
            ),
        ],
        Action::Ratio { .. } | Action::Fuels { .. } => step
            .expected
            .as_ref()
            .map_or(Vec::new(), |then| burn_outcomes(&proposal.expected, then)),
    }
}

fn burn_outcomes(now: &Expected, then: &Expected) -> Vec<String> {
    let (Some(before), Some(after)) = (now.temperature, then.temperature) else {
        return vec![
            "A flame where none was expected, or none where one was: learn from it.".to_owned(),
        ];
    };
    let kelvins = |t: ThermodynamicTemperature| t.get::<kelvin>();
    let middle = ThermodynamicTemperature::new::<kelvin>(0.5 * (kelvins(before) + kelvins(after)));
    let (side, other) = if kelvins(after) > kelvins(before) {
        ("above", "below")
    } else {
        ("below", "above")
    };
    let middle = celsius_text(middle);
    vec![
        format!(
            "A peak {side} {middle} and the powder as wanted: the change does what was predicted; go \
             on from there in smaller steps."
        ),
        format!(
            "A peak {side} {middle} and the powder as before: temperature is not what it lacks; take \
             the change back and look at time, gas or mixing."
        ),
        format!(
            "A peak {other} {middle}: note the run and `learn`; the pot does what the file does not say."
        ),
    ]
}

/// The proposal as JSON, the best step first.
pub fn next_json(proposal: &Proposal) -> Value {
    json_of(Proposed::from(proposal))
}

view! {
    /// What `next` writes.
    result Proposed(proposal: &Proposal) {
        /// Name of the batch.
        name: String = proposal.name.clone(),
        /// The batch file.
        file: String = proposal.file.clone(),
        /// Chance that the peak lies in the wanted band; null without a goal.
        chance: Option<f64> = proposal.chance.map(|chance| chance.get::<ratio>()),
        /// Expected peak as text.
        expected: String = peak_text(&proposal.expected),
        /// Why there is no goal; null if there is one.
        no_goal: Option<String> = proposal.no_goal.clone(),
        /// Proposals, the best first.
        steps: Vec<ProposedStep> = proposal.steps.iter()
            .map(|step| ProposedStep::from((step, proposal)))
            .collect(),
    }
}

view! {
    /// One thing to do next.
    ProposedStep((step, proposal): (&Step, &Proposal)) {
        /// What is done: "repeat", "mend", "ratio" or "fuels".
        action: &'static str = match step.action {
            Action::Repeat { .. } => "repeat",
            Action::Mend(_) => "mend",
            Action::Ratio { .. } => "ratio",
            Action::Fuels { .. } => "fuels",
        },
        /// As a sentence.
        text: String = action_text(&step.action),
        /// What it adds to the chance; null if it cannot be told.
        gain: Option<f64> = step.gain.map(|gain| gain.get::<ratio>()),
        /// What it is worth, to rank by.
        worth: f64 = step.worth().get::<ratio>(),
        /// What makes its worth.
        reasons: Vec<ProposedFor> = list(&step.reasons),
        /// Dangers that it brings.
        dangers: Vec<String> = step.dangers.clone(),
        /// What each outcome would mean.
        outcomes: Vec<String> = outcomes(step, proposal),
        /// Expected peak as text; null if it stays.
        peak: Option<String> = step.expected.as_ref().map(peak_text),
    }
}

view! {
    /// A reason for a step.
    ProposedFor(reason: &Reason) {
        /// What it is.
        what: &'static str = reason.what,
        /// What it adds, as a chance gained.
        worth: f64 = reason.worth.get::<ratio>(),
        /// Whether it is assumed; else it is reckoned from the draws.
        assumed: bool = !reason.reckoned,
    }
}
