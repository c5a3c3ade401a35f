//! What bottles, water, vessels and stirrers bring into the powder, and what is known to spoil it:
//! `tables/purity.toml`.

use super::cited::CitedBand;
use super::error::{Fault, TableError};
use super::reactants::{Reactant, Role};
use super::read::{Row, TableFile};
use super::unit::{GramPerSquareMetre, PartPerMillion, Share, SquareDecimetre, Unit};
use crate::formula::Element;
use crate::quantity::{Band, Ratio};
use crate::source::{Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;

/// How pure a bottle or water is, after its label.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Grade {
    /// For glazes, plating or fertiliser.
    Technical,
    /// Pure or for synthesis.
    Pure,
    /// For analysis, with a printed specification.
    #[serde(rename = "for analysis")]
    ForAnalysis,
    /// 99.99 % on a metals basis and better.
    #[serde(rename = "high purity")]
    HighPurity,
    /// Water from the tap.
    Tap,
    /// Distilled water.
    Distilled,
    /// Deionised water.
    Deionised,
}

impl Grade {
    /// Grades of a bottle.
    pub const OF_BOTTLES: [Self; 4] = [
        Self::Technical,
        Self::Pure,
        Self::ForAnalysis,
        Self::HighPurity,
    ];
    /// Grades of water.
    pub const OF_WATER: [Self; 3] = [Self::Tap, Self::Distilled, Self::Deionised];

    /// As it is written.
    pub fn name(self) -> &'static str {
        match self {
            Self::Technical => "technical",
            Self::Pure => "pure",
            Self::ForAnalysis => "for analysis",
            Self::HighPurity => "high purity",
            Self::Tap => "tap",
            Self::Distilled => "distilled",
            Self::Deionised => "deionised",
        }
    }

    /// The next better one, if there is one.
    #[must_use]
    pub fn better(self) -> Option<Self> {
        match self {
            Self::Technical => Some(Self::Pure),
            Self::Pure => Some(Self::ForAnalysis),
            Self::ForAnalysis => Some(Self::HighPurity),
            Self::Tap => Some(Self::Deionised),
            Self::HighPurity | Self::Distilled | Self::Deionised => None,
        }
    }
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// What the powder is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Use {
    /// It glows.
    Phosphor,
    White,
    /// It has a colour.
    Pigment,
    /// It is sintered.
    Ceramic,
    /// It carries a catalyst.
    #[serde(rename = "catalyst support")]
    CatalystSupport,
    /// A magnet pulls it.
    Magnet,
    /// It conducts ions or electrons.
    Conductor,
}

impl Use {
    /// The plain words for a use; the first of each is its name.
    pub const WORDS: [(&'static str, Self); 21] = [
        ("phosphor", Self::Phosphor),
        ("luminescent", Self::Phosphor),
        ("glowing", Self::Phosphor),
        ("white", Self::White),
        ("pigment", Self::Pigment),
        ("coloured", Self::Pigment),
        ("stain", Self::Pigment),
        ("ceramic", Self::Ceramic),
        ("catalyst support", Self::CatalystSupport),
        ("catalyst carrier", Self::CatalystSupport),
        ("support", Self::CatalystSupport),
        ("magnet", Self::Magnet),
        ("magnetic", Self::Magnet),
        ("ferrite", Self::Magnet),
        ("conductor", Self::Conductor),
        ("conducting", Self::Conductor),
        ("conductive", Self::Conductor),
        ("ion conductor", Self::Conductor),
        ("ionic conductor", Self::Conductor),
        ("electrolyte", Self::Conductor),
        ("electrode", Self::Conductor),
    ];

    /// As it is written.
    pub fn name(self) -> &'static str {
        match self {
            Self::Phosphor => "phosphor",
            Self::White => "white",
            Self::Pigment => "pigment",
            Self::Ceramic => "ceramic",
            Self::CatalystSupport => "catalyst support",
            Self::Magnet => "magnet",
            Self::Conductor => "conductor",
        }
    }
}

impl fmt::Display for Use {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// Typical impurities of bottles of one grade.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bottle {
    /// Metals of the salt, or `any salt`, `fuel`, `acid`, `water`.
    pub of: Vec<String>,
    pub grade: Grade,
    /// Range of each element by mass of what is weighed, in ppm.
    content: BTreeMap<Element, (f64, f64)>,
    /// Key of the source.
    pub source: SourceId,
    /// Where it stands there.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

impl Row for Bottle {
    const ARRAY: &'static str = "bottle";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        format!("{} {}", self.of.join(", "), self.grade)
    }

    fn check(&self) -> Result<(), Fault> {
        for (element, &(low, high)) in &self.content {
            let (least, most) = PartPerMillion::RANGE;
            if !(least..=most).contains(&low) || !(low..=most).contains(&high) {
                let what =
                    format!("{element} should be [low, high] in ppm, from {least} to {most}");
                return Err(Fault::incomplete(what));
            }
        }
        let known = ["any salt", "fuel", "acid", "water"];
        match self
            .of
            .iter()
            .find(|of| !known.contains(&of.as_str()) && Element::from_symbol(of).is_none())
        {
            Some(of) => Err(Fault::incomplete(format!(
                "`of` has \"{of}\", which is neither a metal nor one of {}",
                known.join(", ")
            ))),
            None => Ok(()),
        }
    }
}

/// A material of vessels or stirrers, by what it loses to a batch.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Shedding {
    /// Key of the material among the vessels.
    pub id: String,
    /// Mass lost to one batch by the area that the batch touches.
    pub loss: CitedBand<GramPerSquareMetre>,
    /// Mass fraction of the elements in what is lost.
    pub share: BTreeMap<Element, f64>,
    /// Source of the composition.
    pub source: SourceId,
    /// Where it stands there.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

impl Row for Shedding {
    const ARRAY: &'static str = "material";

    fn id(&self) -> String {
        self.id.clone()
    }

    fn check(&self) -> Result<(), Fault> {
        let sum: f64 = self.share.values().sum();
        if self
            .share
            .values()
            .any(|share| !(0.0..=1.0).contains(share))
            || sum > 1.0
        {
            return Err(Fault::value("the sum of `share`", sum, "at most 1"));
        }
        Ok(())
    }
}

#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stirrer {
    /// What it is called.
    pub id: String,
    /// Key of its material.
    pub material: String,
    /// Area in the batch.
    pub area: CitedBand<SquareDecimetre>,
}

impl Row for Stirrer {
    const ARRAY: &'static str = "stirrer";

    fn id(&self) -> String {
        self.id.clone()
    }
}

/// An element of which a part leaves with the gas.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Volatile {
    pub element: Element,
    /// Share that stays in the powder.
    pub stays: CitedBand<Share>,
}

impl Row for Volatile {
    const ARRAY: &'static str = "volatile";

    fn id(&self) -> String {
        self.element.to_string()
    }
}

/// A level at which elements are known to spoil a use.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spoiler {
    /// What the powder is for.
    #[serde(rename = "use")]
    pub of_use: Use,
    /// The elements, each by itself.
    pub elements: Vec<Element>,
    /// Mass fraction in the powder: below it nobody reports harm, above it harm is expected.
    pub level: CitedBand<PartPerMillion>,
    /// What it does.
    pub effect: String,
}

impl Row for Spoiler {
    const ARRAY: &'static str = "spoiler";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        let elements: Vec<String> = self.elements.iter().map(Element::to_string).collect();
        format!("{} in a {}", elements.join(", "), self.of_use)
    }

    fn check(&self) -> Result<(), Fault> {
        if self.level.value.low.value > 0.0 {
            return Ok(());
        }
        Err(Fault::incomplete("`level` should start above 0 ppm"))
    }
}

/// A range of one element with its source.
#[derive(Debug, Clone, PartialEq)]
pub struct Typical {
    /// Mass fraction in what is weighed.
    pub content: Band<Ratio>,
    /// Key of the source.
    pub source: SourceId,
    /// How it was found.
    pub seen: Seen,
}

/// All of `tables/purity.toml`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PurityTables {
    units: BTreeMap<String, String>,
    /// Bottles and water.
    #[serde(rename = "bottle")]
    pub bottles: Vec<Bottle>,
    /// Walls.
    #[serde(rename = "material")]
    pub materials: Vec<Shedding>,
    #[serde(rename = "stirrer")]
    pub stirrers: Vec<Stirrer>,
    /// What leaves in part.
    #[serde(rename = "volatile")]
    pub volatiles: Vec<Volatile>,
    /// What spoils.
    #[serde(rename = "spoiler")]
    pub spoilers: Vec<Spoiler>,
}

impl PurityTables {
    /// Reads the built-in table; every stirrer has to be of a material that is there.
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("purity.toml");
        let table: Self = file.parse()?;
        let units = [
            ("content", PartPerMillion::NAME),
            ("loss", GramPerSquareMetre::NAME),
            ("area", SquareDecimetre::NAME),
            ("share", Share::NAME),
        ];
        file.check_units(&table.units, &units)?;
        file.check(&table.bottles)?;
        file.check(&table.materials)?;
        file.check(&table.stirrers)?;
        file.check(&table.volatiles)?;
        file.check(&table.spoilers)?;
        for (at, row) in table.stirrers.iter().enumerate() {
            if !table.materials.iter().any(|m| m.id == row.material) {
                let fault = Fault::Reference(row.material.clone());
                return Err(file.row_error(&table.stirrers, at, fault));
            }
        }
        Ok(table)
    }

    /// Typical content of each element in a bottle of `reactant` of this grade, by mass of what is
    /// weighed. A row of its metal goes before that of any salt; its own metal is none.
    pub fn typical(&self, reactant: &Reactant, grade: Grade) -> BTreeMap<Element, Typical> {
        let metal = reactant.metal.as_ref().map(|metal| metal.element);
        let symbol = metal.map(Element::symbol);
        let general = match reactant.role {
            Role::Solvent => "water",
            Role::Acid => "acid",
            Role::Fuel => "fuel",
            _ => "any salt",
        };
        let mut found = BTreeMap::new();
        for of in [Some(general), symbol].into_iter().flatten() {
            for row in &self.bottles {
                if row.grade != grade || !row.of.iter().any(|name| name == of) {
                    continue;
                }
                for (&element, &(low, high)) in &row.content {
                    let typical = Typical {
                        content: Band {
                            low: PartPerMillion::quantity(low),
                            high: PartPerMillion::quantity(high),
                        },
                        source: row.source.clone(),
                        seen: row.seen,
                    };
                    found.insert(element, typical);
                }
            }
        }
        found.retain(|element, _| reactant.formula.amount_of(*element) <= 0.0);
        found
    }

    /// What the material of this key loses.
    pub fn material(&self, id: &str) -> Option<&Shedding> {
        self.materials.iter().find(|row| row.id == id)
    }

    /// Share of an element that stays in the powder.
    pub fn stays(&self, element: Element) -> Band<Ratio> {
        let row = self.volatiles.iter().find(|row| row.element == element);
        row.map_or(Band::exactly(Share::quantity(1.0)), |row| row.stays.value)
    }
}
