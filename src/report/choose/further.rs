//! What stands below the ranking: other helps, tests for rivals, fuels left out.

use crate::choose::{Choice, Remedy};
use crate::quantity::units::ratio;
use crate::report::burn::DEFERENCE;
use crate::report::document::Section;
use crate::report::number::{celsius_text, significant};
use crate::tables::phases::Note;

fn note_text(notes: &[Note]) -> String {
    let parts: Vec<String> = notes
        .iter()
        .map(|note| format!("{} [{}]", note.text, note.source.cited("", note.seen)))
        .collect();
    parts.join("; ")
}

/// The sections below the ranking with their names.
pub(super) fn sections(choice: &Choice) -> impl Iterator<Item = (&'static str, Section)> {
    [
        ("remedy", remedies(choice)),
        ("rivals", rivals(choice)),
        ("tests", tests(choice)),
        ("dopants", dopants(choice)),
        ("left-out", left_out(choice)),
    ]
    .into_iter()
}

fn remedies(choice: &Choice) -> Section {
    let mut section = Section::new("What else helps, gentlest first");
    for remedy in &choice.remedies {
        section.item(remedy_text(remedy));
    }
    section
}

pub(super) fn remedy_text(remedy: &Remedy) -> String {
    match remedy {
        Remedy::Anneal { temperature, notes } => {
            let at = temperature.map_or(String::new(), |t| format!(" at {}", celsius_text(t)));
            let notes = if notes.is_empty() {
                "for 1 to 2 h, common practice".to_owned()
            } else {
                note_text(notes)
            };
            format!("Anneal the powder{at}: {notes}.")
        }
        Remedy::Flux { notes } => format!("Flux: {}.", note_text(notes)),
        Remedy::OtherFuel {
            name,
            ratio: phi,
            temperature,
        } => format!(
            "Other fuel: {name} at φ = {} gives {}.",
            significant(phi.get::<ratio>(), 3),
            celsius_text(*temperature)
        ),
        Remedy::LessWater { state, verdict } => format!(
            "Water decides: {state}, the file's batch would be {verdict}. Let the pot boil down in \
             one go to ignition; never dry or keep the gel apart, and expect a fiercer burn."
        ),
        Remedy::Preheat { start } => format!(
            "A start at {} (ignition inside a furnace, its door between it and you) brings the \
             file's batch to the least temperature; the burn is fiercer then, and losses to the \
             wall smaller. An anneal does the same calmly.",
            celsius_text(*start)
        ),
    }
}

fn rivals(choice: &Choice) -> Section {
    let mut section = Section::new("What may form instead");
    let phase = choice
        .goal
        .phase
        .as_ref()
        .filter(|phase| !phase.competing.is_empty());
    let Some(phase) = phase else {
        return section;
    };
    section.text(format!("{}.", note_text(&phase.competing)));
    if !phase.polymorph.is_empty() {
        section.text(format!("Forms: {}.", note_text(&phase.polymorph)));
    }
    if !phase.caution.is_empty() {
        section.text(format!("Mind: {}.", note_text(&phase.caution)));
    }
    section
}

fn tests(choice: &Choice) -> Section {
    let mut section = Section::new("Cheap tests (common practice; X-ray diffraction decides)");
    for rival in &choice.tests {
        section.item(format!(
            "{}: {}. Then: {}.",
            rival.name, rival.test, rival.cure
        ));
    }
    section
}

fn dopants(choice: &Choice) -> Section {
    let mut section = Section::new("Published dopant levels");
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
        section.item(format!(
            "{} {}: {} [{}]",
            note.additive,
            note.state,
            parts.join("; "),
            note.source.cited("", note.seen)
        ));
    }
    section
}

fn left_out(choice: &Choice) -> Section {
    let mut section = Section::new("Not looked at");
    let all: Vec<String> = choice
        .left_out
        .iter()
        .chain(&choice.failed)
        .map(|fuel| format!("{} ({})", fuel.fuel, fuel.reason))
        .collect();
    if !all.is_empty() {
        section.text(format!("{}.", all.join("; ")));
    }
    section
}

pub(super) fn closing() -> Section {
    let mut section = Section::default();
    section.text(format!(
        "Points and weights are assumed (tables/phases/ranking.toml), no measured property; the \
         peak is expected from assumed bands, and kinetics and the match of fuel and cation can \
         overrule it. Run `burn` on the chosen batch before you weigh it, and read its \
         cautions: small batch, open vessel, hood, shield. {DEFERENCE}"
    ));
    section
}
