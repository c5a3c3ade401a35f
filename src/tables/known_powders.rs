//! Known powders: what a host with its dopants gives. `tables/known_powders.toml`.

use super::error::{Fault, TableError};
use super::purity::Use;
use super::read::{Row, TableFile};
use crate::colour::{Lab, light};
use crate::formula::{Element, Formula};
use crate::source::{Seen, SourceId};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// A colour in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)]
pub enum Hue {
    Red,
    Orange,
    Yellow,
    Green,
    Turquoise,
    Blue,
    Violet,
    Pink,
    Brown,
    Black,
    White,
}

impl Hue {
    /// Every hue with its word.
    pub const ALL: [(&'static str, Self); 11] = [
        ("red", Self::Red),
        ("orange", Self::Orange),
        ("yellow", Self::Yellow),
        ("green", Self::Green),
        ("turquoise", Self::Turquoise),
        ("blue", Self::Blue),
        ("violet", Self::Violet),
        ("pink", Self::Pink),
        ("brown", Self::Brown),
        ("black", Self::Black),
        ("white", Self::White),
    ];
}

impl fmt::Display for Hue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = Self::ALL.iter().find(|(_, hue)| hue == self);
        f.pad(word.map_or("", |(word, _)| word))
    }
}

/// Gas that a powder shall see.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Atmosphere {
    /// With oxygen to spare.
    Oxidising,
    /// Neither.
    Neutral,
    /// With hydrogen and carbon monoxide.
    Reducing,
}

impl fmt::Display for Atmosphere {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// What a powder is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize)]
pub enum Kind {
    /// A coloured powder.
    #[serde(rename = "pigment")]
    Pigment,
    /// A white powder.
    #[serde(rename = "white")]
    White,
    /// It glows under a lamp.
    #[serde(rename = "lamp phosphor")]
    LampPhosphor,
    /// It glows on in the dark.
    #[serde(rename = "afterglow")]
    Afterglow,
    /// A magnet pulls it.
    #[serde(rename = "magnet")]
    Magnet,
    /// It conducts ions or electrons.
    #[serde(rename = "conductor")]
    Conductor,
    /// It carries a catalyst.
    #[serde(rename = "catalyst support")]
    CatalystSupport,
}

impl Kind {
    /// The use against whose spoilers it is held.
    pub fn of_use(self) -> Use {
        match self {
            Self::Pigment => Use::Pigment,
            Self::White => Use::White,
            Self::LampPhosphor | Self::Afterglow => Use::Phosphor,
            Self::Magnet => Use::Magnet,
            Self::Conductor => Use::Conductor,
            Self::CatalystSupport => Use::CatalystSupport,
        }
    }

    /// Whether its colour is that of light it gives.
    pub fn glows(self) -> bool {
        matches!(self, Self::LampPhosphor | Self::Afterglow)
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// The usual level of a dopant.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Level {
    /// The dopant.
    pub element: Element,
    /// The element on whose site it sits.
    pub on: Element,
    /// Least usual level in mol % of the site.
    pub low: f64,
    /// Level beyond which nothing is gained.
    pub high: f64,
}

/// A known powder.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KnownPowder {
    /// What it is called.
    pub id: String,
    /// What it is for.
    pub kind: Kind,
    /// Powder to start from.
    pub formula: Formula,
    /// Colour of the powder, or of the light of one that glows.
    pub colour: Hue,
    /// Emission bands: peak, full width at half maximum in nm, weight.
    #[serde(default)]
    light: Vec<[f64; 3]>,
    /// Middles of the absorption bands in nm.
    #[serde(default)]
    pub absorbs: Vec<f64>,
    /// Published L*, a*, b*.
    lab: Option<[f64; 3]>,
    /// Dopants with their usual levels.
    #[serde(default)]
    pub dopants: Vec<Level>,
    /// Oxidation states that the powder needs.
    #[serde(default)]
    pub states: BTreeMap<Element, f64>,
    /// Gas that keeps them.
    pub atmosphere: Atmosphere,
    /// Flux of the trade.
    pub flux: Option<String>,
    /// Lamp that it glows under.
    pub lamp: Option<String>,
    /// What follows the burn.
    pub anneal: String,
    /// Fuel to start with, assumed.
    pub fuel: String,
    /// Fuel ratio φ to start with, assumed.
    pub ratio: f64,
    /// Weak points.
    pub weak: String,
    /// Dangers beyond those of every burn.
    pub danger: Option<String>,
    /// Key of the source.
    pub source: SourceId,
    /// Where it stands there.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

impl KnownPowder {
    /// Emission bands.
    pub fn bands(&self) -> Vec<light::EmissionBand> {
        let bands = self.light.iter();
        bands
            .map(|&[peak, width, weight]| light::EmissionBand {
                peak,
                width,
                weight,
            })
            .collect()
    }

    /// Published colour.
    pub fn lab(&self) -> Option<Lab> {
        self.lab.map(|[lightness, a, b]| Lab { lightness, a, b })
    }
}

impl Row for KnownPowder {
    const ARRAY: &'static str = "powder";

    fn id(&self) -> String {
        self.id.clone()
    }

    fn check(&self) -> Result<(), Fault> {
        for &[peak, width, weight] in &self.light {
            let sound =
                (200.0..=2000.0).contains(&peak) && (1.0..=500.0).contains(&width) && weight > 0.0;
            if !sound {
                return Err(Fault::value(
                    "a peak of `light` in nm",
                    peak,
                    "200 to 2000, with its width and weight",
                ));
            }
        }
        if self.kind.glows() == self.light.is_empty() {
            return Err(Fault::incomplete(
                "`light` belongs to what glows, and to nothing else",
            ));
        }
        for level in &self.dopants {
            let there = [level.element, level.on].map(|e| self.formula.amount_of(e) > 0.0);
            let rising = 0.0 < level.low && level.low <= level.high && level.high <= 100.0;
            if there != [true, true] || !rising {
                let what = format!(
                    "the level of {} on {} should be low to high in mol % of a site of the formula",
                    level.element, level.on
                );
                return Err(Fault::incomplete(what));
            }
        }
        if let Some(element) = self
            .states
            .keys()
            .find(|e| self.formula.amount_of(**e) <= 0.0)
        {
            return Err(Fault::incomplete(format!(
                "`states` names {element}, which the formula lacks"
            )));
        }
        Ok(())
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    powder: Vec<KnownPowder>,
}

pub(super) fn built_in() -> Result<Vec<KnownPowder>, TableError> {
    let file = TableFile::built_in("known_powders.toml");
    let rows: File = file.parse()?;
    file.check_units(
        &rows.units,
        &[("level", "%"), ("light", "nm"), ("lab", "1")],
    )?;
    file.check(&rows.powder)?;
    Ok(rows.powder)
}
