//! What the person at the bench should know before weighing.

use super::dilution::DilutionError;
use crate::formula::Formula;
use crate::quantity::units::{gram, milligram, milliliter, millimole, percent, ratio};
use crate::quantity::{AmountOfSubstance, EquivalenceRatio, Mass, Ratio, Volume};
use thiserror::Error;

/// A notice on the bench sheet, most serious kinds first; its sentence is its `Display`.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum Notice {
    #[error(
        "{:.0} g of dry oxidiser and fuel in one pot is above bench scale ({:.0} g): make {pots} small burns, `--pots {pots}`",
        .dry.get::<gram>(), .limit.get::<gram>()
    )]
    TooLarge { dry: Mass, limit: Mass, pots: u32 },
    #[error(
        "{:.1} mmol of nitric acid are in the batch, but its carbonates and oxides use up {:.1} mmol: add acid, or part of them stays undissolved",
        .present.get::<millimole>(), .needed.get::<millimole>()
    )]
    AcidShort {
        present: AmountOfSubstance,
        needed: AmountOfSubstance,
    },
    #[error("{reason}")]
    NoAcidBase { reason: String },
    #[error(
        "phosphate with {} drops out of water without acid: the batch is then no solution; keep it clear with a little nitric acid, added before the phosphate and counted in the file",
        .metals.join(", ")
    )]
    PhosphateDrops { metals: Vec<String> },
    #[error("{formula} dissolves {how} in nitric acid{}{}", slow_caution(.caution), stays_text(*.stays))]
    SlowOxide {
        formula: Formula,
        how: String,
        caution: String,
        stays: bool,
    },
    #[error(
        "φ = 1 lies inside the band {:.3} ± {:.3}: whether the batch is lean or rich is not settled by these masses",
        .value.get::<ratio>(), .half_width.get::<ratio>()
    )]
    BalancedInBand {
        value: EquivalenceRatio,
        half_width: EquivalenceRatio,
    },
    #[error(
        "the cation ratio of {compound} ({system}) lies inside the band: the batch may leave that compound instead"
    )]
    NeighbourInBand { compound: String, system: String },
    #[error("within the band up to {} % of the metal can end in {compound}", percent_text(*.share))]
    NeighbourShare { compound: String, share: Ratio },
    #[error("no [[balance]] in the file: one that reads {} is assumed", grams(*.readability))]
    BalanceAssumed { readability: Mass },
    #[error(
        "below the minimum weight (in brackets) of the balance: {}",
        list(.masses, |(name, error, least)| format!("{name} ±{} % ({})", percent_text(*error), grams(*least)))
    )]
    BelowMinimum { masses: Vec<(String, Ratio, Mass)> },
    #[error(
        "better as a stock solution: {}; list flasks and pipettes under [glassware] for a plan, or use a finer balance",
        .names.join(", ")
    )]
    NoGlassware { names: Vec<String> },
    #[error("{name}: {reason}")]
    NoStock { name: String, reason: DilutionError },
    #[error(
        "the stock solutions bring {} of water, more than the {} of the batch: boil the difference off",
        millilitres(*.carried), millilitres(*.solvent)
    )]
    StockWater { carried: Volume, solvent: Volume },
    #[error(
        "the concentration of the stock solution of {name} is taken as exact: its own error comes on top"
    )]
    StockTakenExact { name: String },
    #[error(
        "taken as the hydrate that is sold: {}; see whether the bottle says so",
        list(.taken, |(asked, formula)| format!("\"{asked}\" as {formula}"))
    )]
    HydrateTaken { taken: Vec<(String, String)> },
    #[error(
        "assay taken as 100 %; the band allows for the usual one, but state `assay` from the label: {}",
        list(.usual, assay_text)
    )]
    AssayTakenPure { usual: Vec<(String, f64, f64)> },
    #[error(
        "crystal water taken as written; bottles vary, state `hydrate_range` or calcine a sample: {}",
        list(.hydrates, |(name, note)| format!("{name} ({note})"))
    )]
    WaterTakenExact { hydrates: Vec<(String, String)> },
    #[error(
        "linear and sampled bands differ by more than a tenth for {}: trust the sampled interval",
        .results.join(", ")
    )]
    BandsDiffer { results: Vec<String> },
    #[error("{name} hydrolyses in plain water: dissolve it in dilute nitric acid first")]
    Hydrolyses { name: String },
    #[error("{name} counts as fuel: its organic part is in φ")]
    CountsAsFuel { name: String },
    #[error(
        "{:.2} mmol of nitric acid are left over after the carbonates and oxides; they oxidise and are in φ",
        .excess.get::<millimole>()
    )]
    AcidExcess { excess: AmountOfSubstance },
}

/// `value` with two significant digits, no exponent.
fn two_digits(value: f64) -> String {
    let magnitude = value.abs().max(1e-6).log10().floor();
    let decimals = (1.0 - magnitude).max(0.0) as usize;
    format!("{value:.decimals$}")
}

fn percent_text(share: Ratio) -> String {
    two_digits(share.get::<percent>())
}

fn grams(mass: Mass) -> String {
    if mass.get::<gram>() < 0.1 {
        format!("{} mg", two_digits(mass.get::<milligram>()))
    } else {
        format!("{} g", two_digits(mass.get::<gram>()))
    }
}

fn millilitres(volume: Volume) -> String {
    format!("{} mL", two_digits(volume.get::<milliliter>()))
}

fn list<T>(items: &[T], text: impl Fn(&T) -> String) -> String {
    items.iter().map(text).collect::<Vec<_>>().join(", ")
}

fn assay_text((name, from, to): &(String, f64, f64)) -> String {
    if to > from {
        format!("{name} {from}–{to} %")
    } else {
        format!("{name} {from} %")
    }
}

fn slow_caution(caution: &str) -> String {
    match caution {
        "" => "; a nitrate saves the time".to_owned(),
        words => format!(": {words}"),
    }
}

fn stays_text(stays: bool) -> &'static str {
    if stays {
        "; it is taken to stay as powder (`dissolves = true` if yours dissolves)"
    } else {
        ""
    }
}
