//! How violently a batch burns, in plain words, and what would calm it.
//!
//! The index is the volume of gas at flame temperature per mass of dry oxidiser and fuel and per
//! time, V/(m t) in L/(g s): gas per gram, flame temperature and reaction time in one number. Each
//! burn in question has its own, from the longest to the shortest time that its fuel and its flame
//! temperature allow; a state of the water without flame has none. The index of the batch is the
//! hull of them. Water that makes a flame colder never raises it: n T can rise by a per cent with
//! the steam where a heavy powder holds most of the heat, and the longer burn outweighs that. The steps from word to word are assumed and stand in `tables/vessels.toml`.

use super::facts::BurnFacts;
use crate::gas::ideal_gas_volume;
use crate::quantity::units::{gram, liter, second};
use crate::quantity::{AmountOfSubstance, Band, Mass, ThermodynamicTemperature, Time};
use crate::tables::vessels::Vessels;
use crate::vessel::{Load, behaviour};
use std::fmt;

/// How it burns, in a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Nothing burns.
    NoFlame,
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
    pub fn number(self) -> f64 {
        match self {
            Self::NoFlame | Self::Smoulder => 0.0,
            Self::GentleFlame => 1.0,
            Self::BriskFlame => 2.0,
            Self::Eruptive => 3.0,
        }
    }
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::NoFlame => "no flame",
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
    /// The most violent that the calmest burn in question can be: the wettest.
    pub wettest: Level,
    /// The index, in L/(g s).
    pub index_l_per_g_s: Band<f64>,
    /// Time of the burn that it rests on.
    pub burn_time: Band<Time>,
    /// Whether the user has stated that time.
    pub burn_time_stated: bool,
}

impl Violence {
    /// In words: one level, two next to each other, or "up to" the upper one where the time of the
    /// burn is known so badly that a span would decide nothing.
    pub fn words(&self) -> String {
        let Band { low, high } = self.level;
        if low == high {
            high.to_string()
        } else if self.is_decided() {
            format!("{low} to {high}")
        } else {
            format!("up to {high}")
        }
    }

    /// Whether the band spans no more than two levels next to each other.
    pub fn is_decided(&self) -> bool {
        let steps = self.level.high as u8 - self.level.low as u8;
        steps <= 1
    }
}

/// How violently `load` burns; `stated_time` is how long the flame was seen to last.
pub fn violence(load: &Load, stated_time: Option<Time>, vessels: &Vessels) -> Violence {
    let assumed = &vessels.assumed;
    let behaviour = behaviour(&load.fuels, vessels);
    let burn_time =
        stated_time.map_or_else(|| behaviour.burn_time_of(load, assumed), Band::exactly);
    let dry = load.dry_mass.get::<gram>();
    let index = |gas, flame, time: Time| {
        let volume = ideal_gas_volume(gas, flame, load.pressure).get::<liter>();
        if dry > 0.0 {
            volume / (dry * time.get::<second>())
        } else {
            0.0
        }
    };
    let [gentle, brisk, eruptive] = assumed.violence_steps();
    let level = |index: f64, flame| {
        if index >= eruptive.value {
            Level::Eruptive
        } else if index >= brisk.value {
            Level::BriskFlame
        } else if index >= gentle.value && flame >= assumed.smoulder_temperature.value {
            Level::GentleFlame
        } else {
            Level::Smoulder
        }
    };
    let of_burn = |(flame, gas): &(Option<ThermodynamicTemperature>, AmountOfSubstance)| {
        let Some(flame) = *flame else {
            return (Band::exactly(Level::NoFlame), Band::exactly(0.0));
        };
        let time =
            stated_time.map_or_else(|| behaviour.burn_time_at(flame, assumed), Band::exactly);
        let own = Band::between(index(*gas, flame, time.high), index(*gas, flame, time.low));
        let levels = Band {
            low: level(own.low, flame),
            high: level(own.high, flame),
        };
        (levels, own)
    };
    let highest = load.burns.iter().map(|burn| of_burn(burn).0.high);
    let wettest = highest.min().unwrap_or(Level::NoFlame);
    let hull = load.burns.iter().map(of_burn).reduce(|all, own| {
        let levels = Band {
            low: all.0.low.min(own.0.low),
            high: all.0.high.max(own.0.high),
        };
        (levels, all.1.hull(own.1))
    });
    let nothing = (Band::exactly(Level::NoFlame), Band::exactly(0.0));
    let (level, index) = hull.unwrap_or(nothing);
    Violence {
        level,
        wettest,
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
            Self::MoreWater => f.write_str(
                "more water left when it ignites: do not dry the gel before it is heated; the \
                 steam takes up heat",
            ),
            Self::SlowerFuel { instead_of } => write!(
                f,
                "urea in place of part of the {instead_of}, at the same φ: by the table of fuels it \
                 burns over seconds to a minute rather than about one; it gives off ammonia and \
                 isocyanic acid, so only in a hood"
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
/// What would calm the burn; empty for one that is at most a gentle flame.
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
