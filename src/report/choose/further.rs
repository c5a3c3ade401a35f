//! What stands below the ranking: other helps, tests for rivals, fuels left out.

use crate::choose::{Choice, Help};
use crate::report::number::{celsius_text, significant};
use crate::report::text::{heading, wrapped};
use crate::tables::phases::Note;
use std::fmt::{self, Write};
use uom::si::ratio::ratio;

fn note_text(notes: &[Note]) -> String {
    let parts: Vec<String> = notes
        .iter()
        .map(|note| format!("{} [{}; {}]", note.text, note.source, note.seen))
        .collect();
    parts.join("; ")
}

pub(super) fn help(choice: &Choice, out: &mut impl Write) -> fmt::Result {
    if choice.help.is_empty() {
        return Ok(());
    }
    heading(out, "What else helps, gentlest first")?;
    for help in &choice.help {
        wrapped(out, 2, &help_text(help))?;
    }
    Ok(())
}

pub(super) fn help_text(help: &Help) -> String {
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

pub(super) fn tests(choice: &Choice, out: &mut impl Write) -> fmt::Result {
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

pub(super) fn left_out(choice: &Choice, out: &mut impl Write) -> fmt::Result {
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

pub(super) fn closing(out: &mut impl Write) -> fmt::Result {
    writeln!(out)?;
    wrapped(
        out,
        0,
        "Points and weights are assumed (tables/phases/ranking.toml), no measured property; the \
         peak is expected from assumed bands, and kinetics and the match of fuel and cation can \
         overrule it. Run `burn` on the chosen batch before you weigh it, and read its \
         cautions: small batch, open vessel, hood, shield, and what your laboratory's safety \
         officer and local rules ask for.",
    )
}
