//! Looks in words: their evidence, their colour on a screen, levels of dopants; the answer to a
//! wish and the arithmetic of a dopant as documents and JSON.

use super::document::{Cell, Document, Part, Section, Table, percent_text};
use super::expected::peak_text;
use super::json::SCHEMA_VERSION;
use super::number::{plain, significant};
use crate::colour::light::Tristimulus;
use crate::dope::Doped;
use crate::source::Seen;
use crate::tables::Tables;
use crate::tables::looks::Look;
use crate::wish::{Answer, Candidate, CandidateError, Holds, Start};
use serde_json::{Value, json};
use uom::si::ratio::{part_per_million, percent, ratio};
use uom::si::thermodynamic_temperature::kelvin;

/// Candidates that are listed beyond those that were burnt.
const LISTED: usize = 12;

/// The colour of a look on a screen, and where it comes from; `None` if only the word is known.
pub(super) fn swatch(look: &Look, tables: &Tables) -> Option<([u8; 3], &'static str)> {
    if let Some(lab) = look.lab() {
        return Some((lab.srgb(), "from L*a*b*"));
    }
    let bands = look.bands();
    (!bands.is_empty()).then(|| {
        let light = Tristimulus::of_bands(&tables.observer.values, &bands);
        (light.srgb(), "from the emission bands, CIE 1931 2°")
    })
}

pub(super) fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// What a look gives, in one line.
fn gives(look: &Look, tables: &Tables) -> String {
    let mut text = format!("{}: {}", look.kind, look.colour);
    let bands = look.bands();
    if !bands.is_empty() {
        let list: Vec<String> = bands.iter().map(|b| plain(b.peak, 4)).collect();
        text += &format!(" light at {} nm", list.join(", "));
        let light = Tristimulus::of_bands(&tables.observer.values, &bands);
        if let Some((x, y)) = light.chromaticity() {
            text += &format!(" (x {x:.3}, y {y:.3})");
        }
    }
    if let Some(lamp) = &look.lamp {
        text += &format!(" under {lamp}");
    }
    if !look.absorbs.is_empty() {
        let list: Vec<String> = look.absorbs.iter().map(|nm| plain(*nm, 4)).collect();
        text += &format!(", absorbs at {} nm", list.join(", "));
    }
    if let Some((rgb, from)) = swatch(look, tables) {
        text += &format!("; on a screen {} ({from}; an impression)", hex(rgb));
    }
    text
}

/// The facts of a look; its danger first.
pub(super) fn facts(look: &Look, tables: &Tables, section: &mut Section) {
    if let Some(danger) = &look.danger {
        section.fact("Danger", danger.as_str());
    }
    section.fact("Gives", gives(look, tables));
    let levels = look.dopants.iter().map(|level| {
        format!(
            "{} {} to {} mol % of the {} sites, nothing gained beyond",
            level.element,
            plain(level.low, 3),
            plain(level.high, 3),
            level.on
        )
    });
    let levels: Vec<String> = levels.collect();
    if !levels.is_empty() {
        section.fact("Levels", levels.join("; "));
    }
    let states = look.states.iter();
    let states: Vec<String> = states
        .map(|(e, n)| format!("{e} +{}", plain(*n, 2)))
        .collect();
    let needs = if states.is_empty() {
        "no state in particular".to_owned()
    } else {
        states.join(", ")
    };
    section.fact("Needs", format!("{needs}; {} gas", look.atmosphere));
    if let Some(flux) = &look.flux {
        section.fact("Flux", flux.as_str());
    }
    section.fact("After", format!("the burn: {}", look.anneal));
    section.fact("Weak", look.weak.as_str());
    section.fact("Evidence", evidence(look, tables));
}

/// Where a look was read, by the title of the source.
fn evidence(look: &Look, tables: &Tables) -> String {
    match tables.sources.get(&look.source) {
        Some(source) if look.seen == Seen::Document => {
            format!("{}; {}", source.title, look.locator)
        }
        _ => look.source.cited(&look.locator, look.seen),
    }
}

/// The answer to a wish: the best batch file, what speaks for and against it, and the others.
#[must_use]
pub fn wish_document(answer: &Answer, tables: &Tables) -> Document {
    let mut sections: Vec<Section> = Vec::new();
    for candidate in answer.candidates.iter().filter(|c| c.start.is_some()) {
        let look = &candidate.look;
        let mut section = Section::new(format!("{} ({})", look.id, look.formula));
        if let Some(Ok(start)) = &candidate.start {
            dangers(start, &mut section);
        }
        facts(look, tables, &mut section);
        match &candidate.start {
            Some(Ok(start)) => burnt(look, start, &mut section),
            Some(Err(error)) => section.fact("No file", refusal(error)),
            None => {}
        }
        sections.push(section);
    }
    let mut others = Section::new("Others");
    let head = ["look", "formula", "gives", "known"];
    let mut table = Table::new("Others", head);
    let rest = answer.candidates.iter().filter(|c| c.start.is_none());
    for candidate in rest.take(LISTED) {
        let look = &candidate.look;
        table.row([
            look.id.as_str().into(),
            look.formula.to_string().into(),
            format!("{}, {}", look.colour, look.kind).into(),
            Cell::from(look.seen.to_string()),
        ]);
    }
    others.table(table);
    if !others.parts.is_empty() {
        sections.push(others);
    }
    let first = answer.candidates.iter().find_map(|c| match &c.start {
        Some(Ok(start)) => Some(start),
        _ => None,
    });
    if let Some(start) = first {
        let mut file = Section::new("The first as a batch file");
        file.parts.push(Part::Verbatim(start.file.clone()));
        sections.push(file);
    }
    let mut end = Section::default();
    end.text(super::burn::DEFERENCE);
    sections.push(end);
    Document {
        title: format!("Wanted: {}", answer.wish),
        sections,
    }
}

fn dangers(start: &Start, section: &mut Section) {
    if !start.dangers.is_empty() {
        section.fact("Decide", start.dangers.join(" "));
    }
}

fn burnt(look: &Look, start: &Start, section: &mut Section) {
    section.fact(
        "Burn",
        format!(
            "φ {} with {}: {}",
            plain(look.ratio, 3),
            look.fuel,
            peak_text(&start.expected)
        ),
    );
    let states = start.states.iter();
    let states: Vec<String> = states
        .map(|needed| {
            let word = match needed.holds {
                Holds::Yes => "holds in equilibrium",
                Holds::Open => "open: it depends on the host and the water left",
                Holds::No => "does not hold: the anneal has to make it",
                Holds::Unknown => "no line in the tables",
            };
            format!("{} +{} {word}", needed.element, plain(needed.state, 2))
        })
        .collect();
    if !states.is_empty() {
        section.fact("States", states.join("; "));
    }
}

fn refusal(error: &CandidateError) -> String {
    let text = error.to_string();
    text.lines()
        .take(3)
        .map(str::trim)
        .collect::<Vec<_>>()
        .join(" ")
}

/// The answer as a JSON value.
#[must_use]
pub fn wish_json(answer: &Answer, tables: &Tables) -> Value {
    json!({
        "schema_version": SCHEMA_VERSION,
        "wish": answer.wish,
        "candidates": answer.candidates.iter()
            .map(|candidate| candidate_json(candidate, tables))
            .collect::<Vec<_>>(),
    })
}

fn candidate_json(candidate: &Candidate, tables: &Tables) -> Value {
    let look = &candidate.look;
    let start = match &candidate.start {
        Some(Ok(start)) => json!({
            "file": start.file,
            "expected_peak_k": start.expected.temperature.map(|t| t.get::<kelvin>()),
            "dangers": start.dangers,
            "states": start.states.iter().map(|needed| json!({
                "element": needed.element.symbol(),
                "state": needed.state,
                "holds": match needed.holds {
                    Holds::Yes => "yes",
                    Holds::Open => "open",
                    Holds::No => "no",
                    Holds::Unknown => "unknown",
                },
            })).collect::<Vec<_>>(),
        }),
        Some(Err(error)) => json!({ "refused": error.to_string() }),
        None => Value::Null,
    };
    json!({ "look": look_json(look, tables), "start": start })
}

pub(super) fn look_json(look: &Look, tables: &Tables) -> Value {
    json!({
        "id": look.id,
        "kind": look.kind.to_string(),
        "formula": look.formula.to_string(),
        "colour": look.colour.to_string(),
        "srgb": swatch(look, tables).map(|(rgb, _)| hex(rgb)),
        "light_nm": look.bands().iter().map(|band| band.peak).collect::<Vec<_>>(),
        "levels": look.dopants.iter().map(|level| json!({
            "element": level.element.symbol(),
            "on": level.on.symbol(),
            "low_mol_percent": level.low,
            "high_mol_percent": level.high,
        })).collect::<Vec<_>>(),
        "atmosphere": look.atmosphere.to_string(),
        "anneal": look.anneal,
        "weak": look.weak,
        "danger": look.danger,
        "source": look.source.to_string(),
        "seen": look.seen.to_string(),
    })
}

/// A dopant counted in every way.
#[must_use]
pub fn doped_document(doped: &Doped) -> Document {
    let mut section = Section::default();
    section.fact("Formula", doped.formula.to_string());
    section.fact(
        "Of site",
        format!(
            "{} mol % of the {} sites",
            plain(doped.of_site.get::<percent>(), 5),
            doped.on
        ),
    );
    section.fact(
        "By mass",
        format!(
            "{} ppm of {} ({} %)",
            significant(doped.mass.get::<part_per_million>(), 4),
            doped.element,
            significant(doped.mass.get::<percent>(), 4)
        ),
    );
    let (oxide, share) = &doped.oxide;
    section.fact(
        "As oxide",
        format!(
            "{} % {oxide} by mass",
            significant(share.get::<percent>(), 4)
        ),
    );
    section.text("The oxygen of the host is left as written.");
    for (look, level) in &doped.known {
        let x = doped.of_site.get::<percent>();
        let place = if x > level.high {
            "beyond: nothing is gained"
        } else if x < level.low {
            "below the usual range"
        } else {
            "within it"
        };
        section.fact(
            "Known",
            format!(
                "{}: {} to {} mol %, here {place} [{}, {}]",
                look.id,
                plain(level.low, 3),
                plain(level.high, 3),
                look.source,
                look.seen
            ),
        );
    }
    Document {
        title: format!(
            "{} for {} ({} of the site)",
            doped.element,
            doped.on,
            percent_text(doped.of_site)
        ),
        sections: vec![section],
    }
}

/// The same as a JSON value.
#[must_use]
pub fn doped_json(doped: &Doped) -> Value {
    json!({
        "schema_version": SCHEMA_VERSION,
        "formula": doped.formula.to_string(),
        "element": doped.element.symbol(),
        "on": doped.on.symbol(),
        "of_site": doped.of_site.get::<ratio>(),
        "mass_fraction": doped.mass.get::<ratio>(),
        "oxide": doped.oxide.0.to_string(),
        "oxide_mass_fraction": doped.oxide.1.get::<ratio>(),
        "known": doped.known.iter().map(|(look, level)| json!({
            "look": look.id,
            "low_mol_percent": level.low,
            "high_mol_percent": level.high,
            "source": look.source.to_string(),
        })).collect::<Vec<_>>(),
    })
}
