//! How heating ends: whether, when and where the batch ignites.

use crate::ignition::explain::NoIgnition;
use crate::quantity::{ThermodynamicTemperature, Time};
use std::fmt;

/// Whether and where the batch ignites.
#[derive(Debug, Clone, PartialEq)]
pub enum Ending {
    /// It runs away.
    Ignites {
        /// After this time of heating.
        time: Time,
        /// Where.
        place: LitPlace,
        /// Temperature of that place then.
        temperature: ThermodynamicTemperature,
    },
    /// It does not.
    Fails {
        /// After this time of heating it was over or given up.
        time: Time,
        /// Why.
        reason: NoIgnition,
    },
}

/// Part of the layer where the burn starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LitPlace {
    /// At the floor of the vessel.
    Wall,
    /// Inside the layer.
    Centre,
    /// At its free surface.
    Top,
}

impl LitPlace {
    /// A short code for files.
    pub fn code(self) -> &'static str {
        match self {
            Self::Wall => "wall",
            Self::Centre => "centre",
            Self::Top => "top",
        }
    }

    /// In a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::Wall => "at the floor",
            Self::Centre => "in the middle",
            Self::Top => "at the surface",
        }
    }
}

impl fmt::Display for LitPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Wall => "floor",
            Self::Centre => "middle",
            Self::Top => "surface",
        })
    }
}

/// The place with the share `at` of the layer below it; wall and top are its outermost share
/// `outer` (0 to 0.5).
pub(in crate::ignition) fn place(at: f64, outer: f64) -> LitPlace {
    if at < outer {
        LitPlace::Wall
    } else if at > 1.0 - outer {
        LitPlace::Top
    } else {
        LitPlace::Centre
    }
}
