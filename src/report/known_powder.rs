//! Known powders in words: their evidence, their colour on a screen, levels of dopants; the answer to a
//! wish and the arithmetic of a dopant as documents and JSON.

use super::document::{Cell, Document, Section, Table, percent_text};
use super::expected::peak_text;
use super::number::{plain, significant};
use super::view::{json_of, list, view};
use crate::colour::light::Tristimulus;
use crate::dope::Doped;
use crate::quantity::units::{kelvin, part_per_million, percent, ratio};
use crate::source::Seen;
use crate::tables::Tables;
use crate::tables::known_powders::{KnownPowder, Level};
use crate::wish::{Answer, Candidate, CandidateError, Holds, Start, StateNeeded};
use serde_json::Value;

/// Candidates that are listed beyond those that were burnt.
const LISTED: usize = 12;

/// The colour of a powder on a screen, and where it comes from; `None` if only the word is known.
pub(super) fn swatch(powder: &KnownPowder, tables: &Tables) -> Option<([u8; 3], &'static str)> {
    if let Some(lab) = powder.lab() {
        return Some((lab.srgb(), "from L*a*b*"));
    }
    let bands = powder.bands();
    (!bands.is_empty()).then(|| {
        let light = Tristimulus::of_bands(&tables.observer.values, &bands);
        (light.srgb(), "from the emission bands, CIE 1931 2°")
    })
}

pub(super) fn hex([r, g, b]: [u8; 3]) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// What a powder gives, in one line.
fn gives(powder: &KnownPowder, tables: &Tables) -> String {
    let mut text = format!("{}: {}", powder.kind, powder.colour);
    let bands = powder.bands();
    if !bands.is_empty() {
        let list: Vec<String> = bands.iter().map(|b| plain(b.peak, 4)).collect();
        text += &format!(" light at {} nm", list.join(", "));
        let light = Tristimulus::of_bands(&tables.observer.values, &bands);
        if let Some((x, y)) = light.chromaticity() {
            text += &format!(" (x {x:.3}, y {y:.3})");
        }
    }
    if let Some(lamp) = &powder.lamp {
        text += &format!(" under {lamp}");
    }
    if !powder.absorbs.is_empty() {
        let list: Vec<String> = powder.absorbs.iter().map(|nm| plain(*nm, 4)).collect();
        text += &format!(", absorbs at {} nm", list.join(", "));
    }
    if let Some((rgb, from)) = swatch(powder, tables) {
        text += &format!("; on a screen {} ({from}; an impression)", hex(rgb));
    }
    text
}

/// The facts of a powder; its danger first.
pub(super) fn facts(powder: &KnownPowder, tables: &Tables, section: &mut Section) {
    if let Some(danger) = &powder.danger {
        section.fact("Danger", danger.as_str());
    }
    section.fact("Gives", gives(powder, tables));
    let levels = powder.dopants.iter().map(|level| {
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
    let states = powder.states.iter();
    let states: Vec<String> = states
        .map(|(e, n)| format!("{e} +{}", plain(*n, 2)))
        .collect();
    let needs = if states.is_empty() {
        "no state in particular".to_owned()
    } else {
        states.join(", ")
    };
    section.fact("Needs", format!("{needs}; {} gas", powder.atmosphere));
    if let Some(flux) = &powder.flux {
        section.fact("Flux", flux.as_str());
    }
    section.fact("After", format!("the burn: {}", powder.anneal));
    section.fact("Weak", powder.weak.as_str());
    section.fact("Evidence", evidence(powder, tables));
}

/// Where a powder was read, by the title of the source.
fn evidence(powder: &KnownPowder, tables: &Tables) -> String {
    match tables.sources.get(&powder.source) {
        Some(source) if powder.seen == Seen::Document => {
            format!("{}; {}", source.title, powder.locator)
        }
        _ => powder.source.cited(&powder.locator, powder.seen),
    }
}

/// The answer to a wish: the best batch file, what speaks for and against it, and the others.
pub fn wish_document(answer: &Answer, tables: &Tables) -> Document {
    let mut sections: Vec<Section> = Vec::new();
    for candidate in answer.candidates.iter().filter(|c| c.start.is_some()) {
        let powder = &candidate.powder;
        let mut section = Section::new(format!("{} ({})", powder.id, powder.formula));
        if let Some(Ok(start)) = &candidate.start {
            dangers(start, &mut section);
        }
        facts(powder, tables, &mut section);
        match &candidate.start {
            Some(Ok(start)) => burnt(powder, start, &mut section),
            Some(Err(error)) => section.fact("No file", refusal(error)),
            None => {}
        }
        sections.push(section);
    }
    let mut others = Section::new("Others");
    let head = ["powder", "formula", "gives", "known"];
    let mut table = Table::new("Others", head);
    let rest = answer.candidates.iter().filter(|c| c.start.is_none());
    for candidate in rest.take(LISTED) {
        let powder = &candidate.powder;
        table.row([
            powder.id.as_str().into(),
            powder.formula.to_string().into(),
            format!("{}, {}", powder.colour, powder.kind).into(),
            Cell::from(powder.seen.to_string()),
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
        file.verbatim(start.file.clone());
        sections.push(file);
    }
    let mut end = Section::default();
    end.text(super::burn::DEFERENCE);
    sections.push(end);
    Document::new(format!("Wanted: {}", answer.wish), sections)
}

fn dangers(start: &Start, section: &mut Section) {
    if !start.dangers.is_empty() {
        section.fact("Decide", start.dangers.join(" "));
    }
}

fn burnt(powder: &KnownPowder, start: &Start, section: &mut Section) {
    section.fact(
        "Burn",
        format!(
            "φ {} with {}: {}",
            plain(powder.ratio, 3),
            powder.fuel,
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
pub fn wish_json(answer: &Answer, tables: &Tables) -> Value {
    json_of(WishAnswer::from((answer, tables)))
}

view! {
    /// Powders that answer a wish, as batches to start from.
    result WishAnswer((answer, tables): (&Answer, &Tables)) {
        /// The wish in words.
        wish: String = answer.wish.clone(),
        /// What answers it, the best first.
        candidates: Vec<WishCandidate> = answer.candidates.iter()
            .map(|candidate| WishCandidate::from((candidate, tables)))
            .collect(),
    }
}

view! {
    /// A powder that answers a wish.
    WishCandidate((candidate, tables): (&Candidate, &Tables)) {
        /// The powder of the tables.
        powder: KnownPowderRow = KnownPowderRow::from((&candidate.powder, tables)),
        /// The batch to start from; null if none can be made.
        start: Option<WishStart> = candidate.start.as_ref().map(|start| match start {
            Ok(start) => WishStart::Batch(start.into()),
            Err(error) => WishStart::Refused { refused: error.to_string() },
        }),
    }
}

/// A batch to start from, or why it is refused.
#[derive(serde::Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
#[serde(untagged)]
pub(in crate::report) enum WishStart {
    Batch(StartBatch),
    /// The refusal.
    Refused {
        /// Why it is refused.
        refused: String,
    },
}

view! {
    /// A batch to start from.
    StartBatch(start: &Start) {
        /// Text of the batch file.
        file: String = start.file.clone(),
        /// Expected peak; null without flame.
        expected_peak_k: Option<f64> = start.expected.temperature.map(|t| t.get::<kelvin>()),
        /// Dangers.
        dangers: Vec<String> = start.dangers.clone(),
        /// Oxidation states it needs.
        states: Vec<StateHeld> = list(&start.states),
    }
}

view! {
    /// An oxidation state that a powder needs.
    StateHeld(needed: &StateNeeded) {
        /// Symbol of the element.
        element: &'static str = needed.element.symbol(),
        /// Oxidation state.
        state: f64 = needed.state,
        /// Whether the burn gives it: "yes", "open", "no" or "unknown".
        holds: &'static str = match needed.holds {
            Holds::Yes => "yes",
            Holds::Open => "open",
            Holds::No => "no",
            Holds::Unknown => "unknown",
        },
    }
}

view! {
    /// A powder of the tables.
    KnownPowderRow((powder, tables): (&KnownPowder, &Tables)) {
        /// Name in the tables.
        id: String = powder.id.clone(),
        /// Kind.
        kind: String = powder.kind.to_string(),
        /// Formula of the powder.
        formula: String = powder.formula.to_string(),
        /// Colour.
        colour: String = powder.colour.to_string(),
        /// Impression as sRGB; null if unknown.
        srgb: Option<String> = swatch(powder, tables).map(|(rgb, _)| hex(rgb)),
        /// Peaks of the emission bands.
        light_nm: Vec<f64> = powder.bands().iter().map(|band| band.peak).collect(),
        /// Usual levels of the dopants.
        levels: Vec<LookLevel> = list(&powder.dopants),
        /// Gas that is wanted.
        atmosphere: String = powder.atmosphere.to_string(),
        /// Anneal that is usual.
        anneal: String = powder.anneal.clone(),
        /// Weak point.
        weak: String = powder.weak.clone(),
        /// Danger; null if none is known.
        danger: Option<String> = powder.danger.clone(),
        /// Key of the source.
        source: String = powder.source.to_string(),
        /// How it was found: document, computed, from memory or estimated.
        seen: String = powder.seen.to_string(),
    }
}

view! {
    /// Usual level of a dopant.
    LookLevel(level: &Level) {
        /// Symbol of the dopant.
        element: &'static str = level.element.symbol(),
        /// Element whose site it takes.
        on: &'static str = level.on.symbol(),
        /// Lowest usual level.
        low_mol_percent: f64 = level.low,
        /// Highest usual level.
        high_mol_percent: f64 = level.high,
    }
}

/// A dopant counted in every way.
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
    for (powder, level) in &doped.known {
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
                powder.id,
                plain(level.low, 3),
                plain(level.high, 3),
                powder.source,
                powder.seen
            ),
        );
    }
    Document::new(
        format!(
            "{} for {} ({} of the site)",
            doped.element,
            doped.on,
            percent_text(doped.of_site)
        ),
        vec![section],
    )
}

/// The same as a JSON value.
pub fn doped_json(doped: &Doped) -> Value {
    json_of(DopantCounted::from(doped))
}

view! {
    /// What `dope` writes.
    result DopantCounted(doped: &Doped) {
        /// Formula with the dopant.
        formula: String = doped.formula.to_string(),
        /// Symbol of the dopant.
        element: &'static str = doped.element.symbol(),
        /// Element whose site it takes.
        on: &'static str = doped.on.symbol(),
        /// Share of the site.
        of_site: f64 = doped.of_site.get::<ratio>(),
        /// Mass fraction of the dopant.
        mass_fraction: f64 = doped.mass.get::<ratio>(),
        /// Its oxide.
        oxide: String = doped.oxide.0.to_string(),
        /// Mass fraction as that oxide.
        oxide_mass_fraction: f64 = doped.oxide.1.get::<ratio>(),
        /// Levels of the tables for this pair.
        known: Vec<KnownLevel> = list(&doped.known),
    }
}

view! {
    /// A level of the tables.
    KnownLevel((powder, level): &(KnownPowder, Level)) {
        /// Name of the powder.
        powder: String = powder.id.clone(),
        /// Lowest usual level.
        low_mol_percent: f64 = level.low,
        /// Highest usual level.
        high_mol_percent: f64 = level.high,
        /// Key of the source.
        source: String = powder.source.to_string(),
    }
}
