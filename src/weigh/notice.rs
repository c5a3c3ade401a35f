//! What the person at the bench should know before weighing.

use super::dilution::DilutionError;
use crate::formula::Formula;
use crate::quantity::{AmountOfSubstance, EquivalenceRatio, Mass, Ratio, Volume};
use thiserror::Error;
use uom::si::amount_of_substance::millimole;
use uom::si::mass::{gram, milligram};
use uom::si::ratio::{percent, ratio};
use uom::si::volume::milliliter;

/// A notice on the bench sheet, most serious kinds first; its sentence is its `Display`.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum Notice {
    /// More than bench scale in one pot.
    #[error(
        "{:.0} g of dry oxidiser and fuel in one pot is above bench scale ({:.0} g): make {pots} small burns, `--pots {pots}`",
        .dry.get::<gram>(), .limit.get::<gram>()
    )]
    TooLarge {
        /// Dry oxidiser and fuel.
        dry: Mass,
        /// Where the cautions draw the line.
        limit: Mass,
        /// Number of equal pots that stay below it.
        pots: u32,
    },
    /// Fewer mol of acid than the carbonates and oxides use up.
    #[error(
        "{:.1} mmol of nitric acid are in the batch, but its carbonates and oxides use up {:.1} mmol: add acid, or part of them stays undissolved",
        .present.get::<millimole>(), .needed.get::<millimole>()
    )]
    AcidShort {
        /// HNO3 in the batch.
        present: AmountOfSubstance,
        /// HNO3 used up.
        needed: AmountOfSubstance,
    },
    /// A source that does not dissolve by acid and base alone.
    #[error("{reason}")]
    NoAcidBase {
        /// Why.
        reason: String,
    },
    /// Phosphate that drops out with metals of the batch.
    #[error(
        "phosphate with {} drops out of water without acid: the batch is then no solution; keep it clear with a little nitric acid, added before the phosphate and counted in the file",
        .metals.join(", ")
    )]
    PhosphateDrops {
        /// Symbols of the metals.
        metals: Vec<String>,
    },
    /// An ignited oxide that takes badly to the acid.
    #[error("{formula} dissolves {how} in nitric acid{}{}", slow_caution(.caution), stays_text(*.stays))]
    SlowOxide {
        /// The oxide.
        formula: Formula,
        /// "slowly" or "hardly".
        how: String,
        /// What to watch for.
        caution: String,
        /// Whether it is taken to stay as powder.
        stays: bool,
    },
    /// φ = 1 lies inside the band.
    #[error(
        "φ = 1 lies inside the band {:.3} ± {:.3}: whether the batch is lean or rich is not settled by these masses",
        .value.get::<ratio>(), .half_width.get::<ratio>()
    )]
    BalancedInBand {
        /// φ.
        value: EquivalenceRatio,
        /// Half width of its band.
        half_width: EquivalenceRatio,
    },
    /// A neighbour compound lies inside the band of the cation ratio.
    #[error(
        "the cation ratio of {compound} ({system}) lies inside the band: the batch may leave that compound instead"
    )]
    NeighbourInBand {
        /// The compound.
        compound: String,
        /// The system.
        system: String,
    },
    /// Part of the metal can end in a neighbour compound.
    #[error("within the band up to {} % of the metal can end in {compound}", percent_text(*.share))]
    NeighbourShare {
        /// The compound.
        compound: String,
        /// Most of the metal atoms that can be in it.
        share: Ratio,
    },
    /// No balance is listed.
    #[error("no [[balance]] in the file: one that reads {} is assumed", grams(*.readability))]
    BalanceAssumed {
        /// Readability taken.
        readability: Mass,
    },
    /// Masses below the minimum weight of their balance.
    #[error(
        "below the minimum weight (in brackets) of the balance: {}",
        list(.masses, |(name, error, least)| format!("{name} ±{} % ({})", percent_text(*error), grams(*least)))
    )]
    BelowMinimum {
        /// Substance, expanded relative error, least mass that its balance should weigh.
        masses: Vec<(String, Ratio, Mass)>,
    },
    /// Dopants that should have a stock solution, but no glassware is listed.
    #[error(
        "better as a stock solution: {}; list flasks and pipettes under [glassware] for a plan, or use a finer balance",
        .names.join(", ")
    )]
    NoGlassware {
        /// The substances.
        names: Vec<String>,
    },
    /// A dopant for which no stock solution can be planned.
    #[error("{name}: {reason}")]
    NoStock {
        /// The substance.
        name: String,
        /// Why.
        reason: DilutionError,
    },
    /// A stock solution brings more water than the batch was to have.
    #[error(
        "the stock solutions bring {} of water, more than the {} of the batch: boil the difference off",
        millilitres(*.carried), millilitres(*.solvent)
    )]
    StockWater {
        /// Water from stock solutions.
        carried: Volume,
        /// Solvent of the batch.
        solvent: Volume,
    },
    /// A stock solution named in the file, with an unknown error of its concentration.
    #[error(
        "the concentration of the stock solution of {name} is taken as exact: its own error comes on top"
    )]
    StockTakenExact {
        /// The substance.
        name: String,
    },
    /// Names that leave the hydrate open.
    #[error(
        "taken as the hydrate that is sold: {}; see whether the bottle says so",
        list(.taken, |(asked, formula)| format!("\"{asked}\" as {formula}"))
    )]
    HydrateTaken {
        /// What the file says, and the substance taken.
        taken: Vec<(String, String)>,
    },
    /// Assays not stated.
    #[error(
        "assay taken as 100 %; the band allows for the usual one, but state `assay` from the label: {}",
        list(.usual, assay_text)
    )]
    AssayTakenPure {
        /// Substances with their usual assay in percent.
        usual: Vec<(String, f64, f64)>,
    },
    /// Hydrates whose crystal water is known to vary.
    #[error(
        "crystal water taken as written; bottles vary, state `hydrate_range` or calcine a sample: {}",
        list(.hydrates, |(name, note)| format!("{name} ({note})"))
    )]
    WaterTakenExact {
        /// Substances with what is known.
        hydrates: Vec<(String, String)>,
    },
    /// Linear and sampled bands differ.
    #[error(
        "linear and sampled bands differ by more than a tenth for {}: trust the sampled interval",
        .results.join(", ")
    )]
    BandsDiffer {
        /// Which results.
        results: Vec<String>,
    },
    /// A salt that hydrolyses in water without acid.
    #[error("{name} hydrolyses in plain water: dissolve it in dilute nitric acid first")]
    Hydrolyses {
        /// The substance.
        name: String,
    },
    /// A metal source that counts as fuel.
    #[error("{name} counts as fuel: its organic part is in φ")]
    CountsAsFuel {
        /// The substance.
        name: String,
    },
    /// Acid left over oxidises.
    #[error(
        "{:.2} mmol of nitric acid are left over after the carbonates and oxides; they oxidise and are in φ",
        .excess.get::<millimole>()
    )]
    AcidExcess {
        /// HNO3 left over.
        excess: AmountOfSubstance,
    },
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
