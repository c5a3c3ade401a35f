//! A wish instead of a target: a colour, a glow, a magnet, answered by a batch to start from.
//!
//! The powders of the tables that fit are ranked by how well their row is known; the first few are
//! written as batch files, made ready like any batch, and asked whether the oxidation states that
//! the powder needs can hold in equilibrium at the flame.

use crate::batch::{Batch, BatchError, StartError, Wanted, starting_file};
use crate::burn::StateResult;
use crate::expected::Expected;
use crate::formula::Element;
use crate::oxygen::{BandPlace, dopant_outlook, metal_state};
use crate::prepared::{PrepareError, Prepared};
use crate::quantity::Ratio;
use crate::quantity::units::ratio;
use crate::tables::Tables;
use crate::tables::known_powders::{Hue, Kind, KnownPowder};
use crate::tables::purity::Use;
use thiserror::Error;

/// Candidates that are burnt; the others are named only.
const BURNT: usize = 3;
/// Mass of powder of a first burn. Assumed: small, and enough to see.
const FIRST_MASS: &str = "1 g";
/// A mean oxidation state counts as the wanted one within this.
const STATE_WITHIN: f64 = 0.25;

/// Why a wish has no answer.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum WishError {
    #[error("[wanted] names neither `colour`, `glow` nor `use`: nothing to choose by")]
    Nothing,
    #[error("the tables know no {wish}; they know {known}")]
    Unknown { wish: String, known: String },
}

/// Why a candidate has no batch to start from.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CandidateError {
    #[error(transparent)]
    Start(#[from] StartError),
    #[error(transparent)]
    Batch(#[from] BatchError),
    #[error(transparent)]
    Prepare(#[from] PrepareError),
}

/// Whether a state holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// In every burn of the file.
    Yes,
    /// In some, or within the band of the line.
    Open,
    /// In none.
    No,
    /// The tables have no line for it.
    Unknown,
}

/// A needed oxidation state.
#[derive(Debug, Clone, PartialEq)]
pub struct StateNeeded {
    pub element: Element,
    /// Its needed state.
    pub state: f64,
    /// Whether it holds in equilibrium at the flame.
    pub holds: Holds,
}

/// A batch to start from, and what its burn would do.
#[derive(Debug, Clone)]
pub struct Start {
    /// The batch file.
    pub file: String,
    /// The expected burn.
    pub expected: Expected,
    /// The states that the powder needs.
    pub states: Vec<StateNeeded>,
    /// Dangers that the burn has, briefly.
    pub dangers: Vec<String>,
}

/// One powder that fits the wish.
#[derive(Debug)]
pub struct Candidate {
    pub powder: KnownPowder,
    /// Its batch; `None` where it was not burnt.
    pub start: Option<Result<Start, CandidateError>>,
}

#[derive(Debug)]
pub struct Answer {
    /// The wish in words.
    pub wish: String,
    /// What fits, best first.
    pub candidates: Vec<Candidate>,
}

/// The powders that fit what is wanted, the best known first.
///
/// # Errors
/// [`WishError`] if nothing is wished for or nothing fits.
pub fn answer(wanted: &Wanted, tables: &Tables) -> Result<Answer, WishError> {
    let wish = words(wanted);
    if wish.is_empty() {
        return Err(WishError::Nothing);
    }
    let mut powders: Vec<&KnownPowder> = tables
        .known_powders
        .iter()
        .filter(|powder| fits(powder, wanted))
        .collect();
    if powders.is_empty() {
        return Err(WishError::Unknown {
            known: known(wanted, tables),
            wish,
        });
    }
    // Stable: rows of the same standing stay in the order of the table.
    powders.sort_by_key(|powder| powder.seen);
    let mut burnt = 0;
    let mut candidates: Vec<Candidate> = powders
        .into_iter()
        .map(|powder| {
            let start = (burnt < BURNT).then(|| start(powder, tables));
            burnt += usize::from(start.as_ref().is_some_and(Result::is_ok));
            Candidate {
                powder: powder.clone(),
                start,
            }
        })
        .collect();
    // What can be started from goes first.
    candidates.sort_by_key(|c| !matches!(c.start, Some(Ok(_))));
    Ok(Answer { wish, candidates })
}

fn fits(powder: &KnownPowder, wanted: &Wanted) -> bool {
    let by_use = wanted.for_use.is_none_or(|of_use| match of_use {
        Use::Ceramic => powder.kind == Kind::White,
        _ => powder.kind.of_use() == of_use,
    });
    let by_colour = wanted.colour.is_none_or(|hue| {
        let coloured = matches!(powder.kind, Kind::Pigment | Kind::White);
        powder.colour == hue && (coloured || wanted.for_use.is_some())
    });
    let by_glow = wanted
        .glow
        .is_none_or(|hue| powder.kind.glows() && powder.colour == hue);
    let by_length = wanted.glow_lasts.is_none_or(|long| match powder.kind {
        Kind::Afterglow => long,
        Kind::LampPhosphor => !long,
        _ => false,
    });
    by_use && by_colour && by_glow && by_length
}

fn words(wanted: &Wanted) -> String {
    let mut words: Vec<String> = Vec::new();
    match wanted.glow_lasts {
        Some(true) => words.push("long".to_owned()),
        Some(false) => words.push("short".to_owned()),
        None => {}
    }
    words.extend(wanted.glow.map(|hue| format!("{hue} glow")));
    words.extend(wanted.colour.map(|hue| format!("{hue} colour")));
    words.extend(wanted.for_use.map(|of_use| of_use.to_string()));
    words.join(" ")
}

/// The colours that there are for what is wished.
fn known(wanted: &Wanted, tables: &Tables) -> String {
    let glow = wanted.glow.is_some() || wanted.glow_lasts.is_some();
    let powders = tables
        .known_powders
        .iter()
        .filter(|powder| powder.kind.glows() == glow);
    let mut hues: Vec<Hue> = powders.map(|powder| powder.colour).collect();
    hues.sort();
    hues.dedup();
    let hues: Vec<String> = hues.iter().map(Hue::to_string).collect();
    hues.join(", ")
}

/// The batch to start from, made ready.
fn start(powder: &KnownPowder, tables: &Tables) -> Result<Start, CandidateError> {
    let formula = powder.formula.to_string();
    let file = starting_file(&formula, &powder.fuel, FIRST_MASS, powder.ratio, tables)?;
    let file = with_notes(powder, &file);
    let batch = Batch::parse(&file, "the batch file to start from", tables)?;
    let prepared = Prepared::new(&batch, tables)?;
    let dangers = prepared
        .advice
        .warnings
        .iter()
        .filter(|warning| warning.severity <= crate::advice::Severity::Danger)
        .map(|warning| warning.brief().to_owned())
        .collect();
    Ok(Start {
        states: states(powder, &prepared, tables),
        expected: prepared.expected.clone(),
        dangers,
        file,
    })
}

/// The file with what the row says as comments and with its use.
fn with_notes(powder: &KnownPowder, file: &str) -> String {
    let mut text = format!("# {}: to start from, assumed ratio and fuel.\n", powder.id);
    text += &format!(
        "# Weak: {}\n# After the burn: {}\n",
        powder.weak, powder.anneal
    );
    if let Some(flux) = &powder.flux {
        text += &format!("# Flux of the trade, not in this file: {flux}\n");
    }
    if let Some(danger) = &powder.danger {
        text += &format!("# Danger: {danger}\n");
    }
    text + file + &format!("\n[wanted]\nuse = \"{}\"\n", powder.kind.of_use())
}

/// Whether each needed state holds in equilibrium at the flames of the file.
fn states(powder: &KnownPowder, prepared: &Prepared<'_>, tables: &Tables) -> Vec<StateNeeded> {
    let needed = powder.states.iter();
    needed
        .map(|(&element, &state)| {
            let burns = prepared.states.iter();
            let burns = burns.filter(|r| r.complete.flame.temperature().is_some());
            let found: Vec<Holds> = burns
                .map(|result| holds(powder, element, state, result, tables))
                .collect();
            let all = |wanted: Holds| !found.is_empty() && found.iter().all(|h| *h == wanted);
            let holds = if all(Holds::Yes) {
                Holds::Yes
            } else if all(Holds::No) {
                Holds::No
            } else if found.is_empty() || all(Holds::Unknown) {
                Holds::Unknown
            } else {
                Holds::Open
            };
            StateNeeded {
                element,
                state,
                holds,
            }
        })
        .collect()
}

fn holds(
    powder: &KnownPowder,
    element: Element,
    state: f64,
    burn: &StateResult,
    tables: &Tables,
) -> Holds {
    let Some(settled) = burn.settled() else {
        return Holds::Unknown;
    };
    let (Some(pressure), Some(temperature)) = (
        settled.log10_oxygen_pressure,
        burn.equilibrium_temperature(),
    ) else {
        return Holds::Unknown;
    };
    if let Some(share) = share(powder, element) {
        if let Some(outlook) = dopant_outlook(element, share, temperature, pressure, tables) {
            let reduced = charge(&outlook.dopant.reduced);
            let oxidised = charge(&outlook.dopant.oxidised);
            let near = |of: Option<f64>| of.is_some_and(|of| (of - state).abs() < STATE_WITHIN);
            return match outlook.place {
                BandPlace::Inside => Holds::Open,
                BandPlace::Below if near(reduced) => Holds::Yes,
                BandPlace::Above if near(oxidised) => Holds::Yes,
                BandPlace::Below | BandPlace::Above => Holds::No,
            };
        }
    }
    match metal_state(element, temperature, pressure, tables) {
        None => Holds::Unknown,
        Some(found) if found.on_the_line => Holds::Open,
        Some(found) if (found.field.oxidation_state - state).abs() < STATE_WITHIN => Holds::Yes,
        Some(_) => Holds::No,
    }
}

/// Share of the dopant on its site, if the row knows the site.
fn share(powder: &KnownPowder, element: Element) -> Option<Ratio> {
    let level = powder
        .dopants
        .iter()
        .find(|level| level.element == element)?;
    let dopants = powder.dopants.iter().filter(|other| other.on == level.on);
    let on_site: f64 = dopants
        .map(|other| powder.formula.amount_of(other.element))
        .sum::<f64>()
        + powder.formula.amount_of(level.on);
    Some(Ratio::new::<ratio>(
        powder.formula.amount_of(element) / on_site,
    ))
}

/// The charge of an ion written like `Eu2+`.
fn charge(ion: &str) -> Option<f64> {
    let digits: String = ion.chars().filter(char::is_ascii_digit).collect();
    digits.parse().ok()
}
