//! How violently a batch burns, in plain words, and what would calm it.
//!
//! The index is the volume of gas at flame temperature per mass of dry oxidiser and fuel and per
//! time, V/(m t) in L/(g s): gas per gram, flame temperature and reaction time in one number. Its
//! lower end takes the wettest, coldest burn over the longest time that such fuels are seen to
//! burn, its upper end the driest over the shortest. The steps from word to word are assumed and
//! stand in `tables/vessels.toml`.

use super::facts::BurnFacts;
use crate::gas::ideal_gas_volume;
use crate::quantity::{Band, Mass, Time};
use crate::tables::vessels::Vessels;
use crate::vessel::{Load, behaviour};
use std::fmt;
use uom::si::mass::gram;
use uom::si::ratio::ratio;
use uom::si::time::second;
use uom::si::volume::liter;

/// How it burns, in a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Glows and fumes.
    Smoulder,
    /// A quiet flame, powder stays.
    GentleFlame,
    /// A quick flame that throws powder.
    BriskFlame,
    /// Gas and powder leave at once.
    Eruptive,
}

impl Level {
    /// 0 for a smoulder up to 3, for the rules.
    #[must_use]
    pub fn number(self) -> f64 {
        match self {
            Self::Smoulder => 0.0,
            Self::GentleFlame => 1.0,
            Self::BriskFlame => 2.0,
            Self::Eruptive => 3.0,
        }
    }
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Smoulder => "smoulder",
            Self::GentleFlame => "gentle flame",
            Self::BriskFlame => "brisk flame",
            Self::Eruptive => "eruptive",
        })
    }
}

/// How violently a batch burns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Violence {
    /// The word, from the calmest to the most violent that the bands allow.
    pub level: Band<Level>,
    /// The index, in L/(g s).
    pub index_l_per_g_s: Band<f64>,
    /// Time of the burn that it rests on.
    pub burn_time: Band<Time>,
    /// Whether the user has stated that time.
    pub burn_time_stated: bool,
}

/// How violently `load` burns; `stated_time` is how long the flame was seen to last.
#[must_use]
pub fn violence(load: &Load, stated_time: Option<Time>, vessels: &Vessels) -> Violence {
    let assumed = &vessels.assumed;
    let burn_time =
        stated_time.map_or_else(|| behaviour(&load.fuels, vessels).burn_time, Band::exactly);
    let dry = load.dry_mass.get::<gram>();
    let index = |flame, time: Time| {
        let volume = ideal_gas_volume(load.gas_amount, flame, load.pressure).get::<liter>();
        if dry > 0.0 {
            volume / (dry * time.get::<second>())
        } else {
            0.0
        }
    };
    let index = Band::between(
        index(load.flame.low, burn_time.high),
        index(load.flame.high, burn_time.low),
    );
    let [gentle, brisk, eruptive] = assumed.violence_steps();
    let level = |index: f64| {
        if index >= eruptive.value {
            Level::Eruptive
        } else if index >= brisk.value {
            Level::BriskFlame
        } else if index >= gentle.value && load.flame.high >= assumed.smoulder_temperature.value {
            Level::GentleFlame
        } else {
            Level::Smoulder
        }
    };
    Violence {
        level: Band {
            low: level(index.low),
            high: level(index.high),
        },
        index_l_per_g_s: index,
        burn_time,
        burn_time_stated: stated_time.is_some(),
    }
}

/// One change that would calm the burn.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// A smaller batch, at most this much dry oxidiser and fuel.
    SmallerBatch {
        /// Dry oxidiser and fuel now.
        now: Mass,
        /// To try first.
        to: Mass,
    },
    /// More fuel than balanced.
    RicherMixture {
        /// Equivalence ratio now.
        now: f64,
    },
    /// More water left when it ignites.
    MoreWater,
    /// Another fuel in place of part of this one.
    SlowerFuel {
        /// The fuel that burns fast.
        instead_of: String,
    },
    /// Finished oxide powder stirred in.
    Diluent,
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SmallerBatch { now, to } => write!(
                f,
                "a smaller batch: try {:.1} g of dry oxidiser and fuel instead of {:.1} g; \
                 less gas in all, and the same powder in several burns",
                to.get::<gram>(),
                now.get::<gram>()
            ),
            Self::RicherMixture { now } => write!(
                f,
                "a richer mixture, φ about 1.5 to 2 instead of {now:.2}: colder and slower, but \
                 with more CO and NH3, so only in a hood"
            ),
            Self::MoreWater => f.write_str(
                "more water left when it ignites: do not dry the gel before it is heated; the \
                 steam takes up heat",
            ),
            Self::SlowerFuel { instead_of } => write!(
                f,
                "urea or citric acid in place of part of the {instead_of}, at the same φ: burns \
                 over tens of seconds rather than one or two"
            ),
            Self::Diluent => f.write_str(
                "finished oxide powder of an earlier burn stirred in, a tenth to a third of the \
                 product: takes up heat and keeps the gel apart",
            ),
        }
    }
}

/// Dry mass to try first, in g. Common practice for a first burn.
const FIRST_BURN: f64 = 2.0;
/// Range of the equivalence ratio in which a richer mixture is a help, not a new danger.
const NEAR_BALANCE: (f64, f64) = (0.8, 1.4);

/// What would calm the burn; empty for one that is at most a gentle flame.
#[must_use]
pub fn calming_changes(facts: &BurnFacts, violence: &Violence) -> Vec<Change> {
    if violence.level.high < Level::BriskFlame {
        return Vec::new();
    }
    let mut changes = Vec::new();
    let load = &facts.load;
    let first = Mass::new::<gram>(FIRST_BURN);
    if load.dry_mass > first {
        changes.push(Change::SmallerBatch {
            now: load.dry_mass,
            to: first,
        });
    }
    let phi = facts.fumes.equivalence_ratio.high.get::<ratio>();
    if phi > NEAR_BALANCE.0 && phi < NEAR_BALANCE.1 {
        changes.push(Change::RicherMixture { now: phi });
    }
    changes.push(Change::MoreWater);
    let fast: Vec<&str> = facts.fast_fuels.iter().map(String::as_str).collect();
    if !fast.is_empty() {
        changes.push(Change::SlowerFuel {
            instead_of: fast.join(" and "),
        });
    }
    changes.push(Change::Diluent);
    changes
}
