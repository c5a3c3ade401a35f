//! Cautions as data: when each applies, how serious it is and what it says.
//!
//! A rule holds when *all* of its conditions hold. The kinds of condition are few and fixed, see
//! [`Condition`]; the thresholds and texts stand in `tables/cautions.toml`.

use super::error::{Fault, TableError};
use super::heating::HeatingKind;
use super::reactants::HazardGroup;
use super::read::{Row, TableFile};
use crate::formula::Element;
use crate::source::{Seen, SourceId};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;

/// How serious a warning is, the most serious first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Not to be done. The tool plans no such burn.
    Stop,
    /// Can injure as it stands; needs a change or a qualified decision first.
    Danger,
    /// Needs a measure that is usual at the bench.
    Caution,
    /// Good to know.
    Note,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// When a warning matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Moment {
    /// Before anything is heated: choice, weighing, mixing, place.
    Before,
    /// On the way to ignition.
    Heating,
    /// While it burns.
    Flame,
    /// With the hot pot and the powder.
    After,
    /// With what is thrown away.
    Waste,
}

impl Moment {
    /// Every moment in the order of time.
    pub const ALL: [Self; 5] = [
        Self::Before,
        Self::Heating,
        Self::Flame,
        Self::After,
        Self::Waste,
    ];
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// A number that a rule can look at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize)]
pub enum Measure {
    /// Dry oxidiser and fuel together.
    #[serde(rename = "dry mass")]
    DryMass,
    /// Equivalence ratio φ, lower end; above 1 is fuel-rich.
    #[serde(rename = "equivalence ratio")]
    EquivalenceRatio,
    /// Equivalence ratio φ, upper end.
    #[serde(rename = "highest equivalence ratio")]
    HighestEquivalenceRatio,
    /// Share of the oxidising valence that ammonium nitrate brings.
    #[serde(rename = "ammonium nitrate share")]
    AmmoniumNitrateShare,
    /// Share of the oxidising valence that nitrates of alkali metals bring.
    #[serde(rename = "alkali nitrate share")]
    AlkaliNitrateShare,
    /// Free nitric acid over the acid and all water of the mixed batch, by mass.
    #[serde(rename = "free acid strength")]
    FreeAcidStrength,
    /// Metals that leave an oxide or metal powder, alkali metals left out, over all metals and
    /// ammonium nitrate, by amount.
    #[serde(rename = "powder share")]
    PowderShare,
    /// Adiabatic flame temperature, dried batch.
    #[serde(rename = "flame temperature")]
    FlameTemperature,
    /// Gas at 25 °C per gram of dry oxidiser and fuel.
    #[serde(rename = "gas per dry mass")]
    GasPerDryMass,
    /// Level of the violence index, 0 smoulder to 3 eruptive, upper end.
    #[serde(rename = "violence")]
    Violence,
    /// Level of the violence index, lower end.
    #[serde(rename = "violence at least")]
    ViolenceAtLeast,
    /// Froth over the brimful volume of the vessel, upper end.
    #[serde(rename = "froth fill")]
    FrothFill,
    /// Froth over the brimful volume of the vessel, lower end.
    #[serde(rename = "froth fill at least")]
    FrothFillAtLeast,
    /// Depth of the solution in the vessel.
    #[serde(rename = "liquid depth")]
    LiquidDepth,
    /// Wall temperature over the highest working temperature, upper end.
    #[serde(rename = "wall over limit")]
    WallOverLimit,
    /// Wall temperature over the highest working temperature, lower end.
    #[serde(rename = "wall at least over limit")]
    WallAtLeastOverLimit,
    /// Wall temperature over softening or melting, upper end.
    #[serde(rename = "wall over softening")]
    WallOverSoftening,
    /// Wall temperature over softening or melting, lower end.
    #[serde(rename = "wall at least over softening")]
    WallAtLeastOverSoftening,
    /// Adiabatic flame temperature over the highest working temperature of the wall.
    #[serde(rename = "flame over limit")]
    FlameOverLimit,
    /// Sudden rise of the inner wall over the thermal shock the material stands, upper ends.
    #[serde(rename = "shock over limit")]
    ShockOverLimit,
    /// Gas speed at the mouth over the fall speed of the coarsest agglomerate, lower end.
    #[serde(rename = "carry-over")]
    CarryOver,
    /// Brimful volume of the outer vessel over that of the vessel in it.
    #[serde(rename = "outer vessel share")]
    OuterVesselShare,
    /// Highest ratio of a concentration in the room to its limit, upper end.
    #[serde(rename = "over limit")]
    OverLimit,
    /// Highest ratio of a concentration in the room to its limit, lower end.
    #[serde(rename = "over limit at least")]
    OverLimitAtLeast,
    /// Highest ratio of a concentration in the room to the level dangerous at once, upper end.
    #[serde(rename = "over immediate danger")]
    OverImmediateDanger,
    /// Largest share of a metal of the powder that is in the gas in equilibrium at the flame, in the
    /// burn that loses least.
    #[serde(rename = "metal vapour")]
    MetalVapour,
    /// NO and NO2 given off, upper end.
    #[serde(rename = "nitrogen oxides")]
    NitrogenOxides,
    /// CO, NH3, HNCO and HCN given off, upper end.
    #[serde(rename = "rich gas")]
    RichGas,
    /// Mean air speed through the opening of the hood.
    #[serde(rename = "hood face velocity")]
    HoodFaceVelocity,
    /// Peak flow of hot gas over the exhaust flow of the hood.
    #[serde(rename = "hood load")]
    HoodLoad,
}

impl fmt::Display for Measure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

impl Measure {
    /// Unit, and digits behind the point when shown.
    fn row(self) -> (&'static str, usize) {
        match self {
            Self::DryMass => ("g", 1),
            Self::EquivalenceRatio => ("", 2),
            Self::HighestEquivalenceRatio => ("", 2),
            Self::AmmoniumNitrateShare => ("%", 0),
            Self::AlkaliNitrateShare => ("%", 0),
            Self::FreeAcidStrength => ("%", 0),
            Self::PowderShare => ("%", 0),
            Self::FlameTemperature => ("°C", 0),
            Self::GasPerDryMass => ("L/g", 2),
            Self::Violence => ("", 0),
            Self::ViolenceAtLeast => ("", 0),
            Self::FrothFill => ("%", 0),
            Self::FrothFillAtLeast => ("%", 0),
            Self::LiquidDepth => ("mm", 0),
            Self::WallOverLimit => ("K", 0),
            Self::WallAtLeastOverLimit => ("K", 0),
            Self::WallOverSoftening => ("K", 0),
            Self::WallAtLeastOverSoftening => ("K", 0),
            Self::FlameOverLimit => ("K", 0),
            Self::ShockOverLimit => ("K", 0),
            Self::CarryOver => ("", 0),
            Self::OuterVesselShare => ("", 1),
            Self::OverLimit => ("", 1),
            Self::OverLimitAtLeast => ("", 1),
            Self::OverImmediateDanger => ("", 2),
            Self::MetalVapour => ("%", 0),
            Self::NitrogenOxides => ("mmol", 1),
            Self::RichGas => ("mmol", 1),
            Self::HoodFaceVelocity => ("m/s", 2),
            Self::HoodLoad => ("%", 0),
        }
    }

    /// The unit it counts in; empty for a plain ratio.
    pub fn unit(self) -> &'static str {
        self.row().0
    }

    /// A value of it as text with its unit, rounded to what is significant.
    pub fn show(self, value: f64) -> String {
        let (unit, usual) = self.row();
        // A large number has three significant digits; a small one keeps two, so that it never reads
        // as zero.
        let digits = match value.abs() {
            size if size >= 1.0 => usual.min((2.0 - size.log10().floor()).max(0.0) as usize),
            size if size > 0.0 => usual.max((1.0 - size.log10().floor()).clamp(0.0, 6.0) as usize),
            _ => usual,
        };
        let space = if unit.is_empty() { "" } else { " " };
        let text = format!("{value:.digits$}");
        format!("{}{space}{unit}", text.trim_end_matches(".0"))
    }
}

/// A fact that holds or not, which a rule can look at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
pub enum Flag {
    /// The vessel is closed, capped, plugged or covered tightly.
    #[serde(rename = "vessel closed")]
    VesselClosed,
    /// The vessel has a narrow mouth or is a tube.
    #[serde(rename = "vessel narrow")]
    VesselNarrow,
    /// The vessel is of a material that is refused.
    #[serde(rename = "material refused")]
    MaterialRefused,
    /// The outer vessel is closed or of a refused material.
    #[serde(rename = "outer vessel refused")]
    OuterRefused,
    /// Metal vessel, cover or outer vessel in a microwave oven.
    #[serde(rename = "metal in microwave")]
    MetalInMicrowave,
    /// No vessel is named.
    #[serde(rename = "vessel not stated")]
    VesselNotStated,
    /// No vessel of the tables holds the batch.
    #[serde(rename = "no vessel fits")]
    NoVesselFits,
    /// A brittle vessel without an outer catch vessel.
    #[serde(rename = "no outer vessel")]
    NoOuterVessel,
    /// No room is described.
    #[serde(rename = "room not stated")]
    RoomNotStated,
    /// A hood whose air speed is not stated.
    #[serde(rename = "hood not known")]
    HoodNotKnown,
    /// The burn is done outdoors.
    #[serde(rename = "outdoors")]
    Outdoors,
    /// Chromium in a batch that is not clearly rich, or beside an alkali or alkaline-earth metal.
    #[serde(rename = "may form chromium(VI)")]
    FormsHexavalentChromium,
}

/// When a rule applies.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(try_from = "Written")]
pub enum Condition {
    /// In every report.
    Always,
    /// The number is known and above the limit.
    Above(Measure, f64),
    /// The number is known and below the limit.
    Below(Measure, f64),
    /// The fact holds.
    Flag(Flag),
    /// The product holds one of these elements.
    ProductHas(Vec<Element>),
    /// The product holds an element that `toxic.toml` puts into this class.
    Toxic(String),
    /// One of these reactants is in the batch, by the ids of the reactant tables.
    Reactant(Vec<String>),
    /// A reactant of one of these hazard groups is in the batch.
    HazardGroup(Vec<HazardGroup>),
    /// One of these heats the vessel.
    HeatedBy(Vec<HeatingKind>),
}

/// One caution.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// Code of the warning.
    pub id: String,
    /// How serious it is.
    pub severity: Severity,
    /// Of the rules of one group only the most serious that holds is shown.
    pub group: Option<String>,
    /// When it matters.
    pub moment: Moment,
    /// Whether it holds for every batch, so that it is told once, after what is special.
    #[serde(default)]
    pub standing: bool,
    /// All of these have to hold.
    pub when: Vec<Condition>,
    /// What it says. `{value}` and `{limit}` stand for the first number looked at, `{about}` for
    /// its agent, `{found}` for the elements or reactants found, `{detail}` for what a fact is about.
    pub text: String,
    /// The same in a line; the first sentence of the text if none is given.
    pub brief: Option<String>,
    /// Keys of the sources in the bibliography.
    #[serde(rename = "source")]
    pub sources: Vec<SourceId>,
    /// Where in the sources, or how it is known.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<Measure, String>,
    #[serde(default)]
    caution: Vec<Rule>,
}

/// One condition as written: exactly one kind, `above` and `below` only beside `measure`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    always: Option<bool>,
    measure: Option<Measure>,
    above: Option<f64>,
    below: Option<f64>,
    flag: Option<Flag>,
    product_has: Option<Vec<Element>>,
    toxic: Option<String>,
    reactant: Option<Vec<String>>,
    hazard_group: Option<Vec<HazardGroup>>,
    heated_by: Option<Vec<HeatingKind>>,
}

impl TryFrom<Written> for Condition {
    type Error = &'static str;

    fn try_from(row: Written) -> Result<Self, &'static str> {
        if row.measure.is_none() && (row.above.is_some() || row.below.is_some()) {
            return Err("a condition has `above` or `below` without `measure`");
        }
        let mut kinds = [
            row.measure
                .map(|measure| number_condition(measure, row.above, row.below))
                .transpose()?,
            row.flag.map(Self::Flag),
            row.product_has.map(Self::ProductHas),
            row.toxic.map(Self::Toxic),
            row.reactant.map(Self::Reactant),
            row.hazard_group.map(Self::HazardGroup),
            row.heated_by.map(Self::HeatedBy),
            match row.always {
                Some(false) => return Err("`always = false`: remove the rule instead"),
                Some(true) => Some(Self::Always),
                None => None,
            },
        ]
        .into_iter()
        .flatten();
        match (kinds.next(), kinds.next()) {
            (Some(condition), None) => Ok(condition),
            _ => Err("a condition should have exactly one kind; split it"),
        }
    }
}

fn number_condition(
    measure: Measure,
    above: Option<f64>,
    below: Option<f64>,
) -> Result<Condition, &'static str> {
    match (above, below) {
        (Some(limit), None) if limit.is_finite() => Ok(Condition::Above(measure, limit)),
        (None, Some(limit)) if limit.is_finite() => Ok(Condition::Below(measure, limit)),
        _ => Err("a number is looked at without one finite `above` or `below`"),
    }
}

/// Reads the rules of a file in their order.
pub(super) fn read(file: &TableFile) -> Result<Vec<Rule>, TableError> {
    let rows: File = file.parse()?;
    file.check_units_of(&rows.units, |measure| match measure.unit() {
        "" => None,
        unit => Some(unit),
    })?;
    file.check(&rows.caution)?;
    Ok(rows.caution)
}

impl Row for Rule {
    const ARRAY: &'static str = "caution";

    fn id(&self) -> String {
        self.id.clone()
    }

    /// Refuses a rule that could not be shown: no condition, no source, or a place in the text
    /// that none of its conditions fills.
    fn check(&self) -> Result<(), Fault> {
        let Self { when, text, .. } = self;
        let has = |wanted: fn(&Condition) -> bool| when.iter().any(wanted);
        let number = has(|c| matches!(c, Condition::Above(..) | Condition::Below(..)));
        let about = has(|c| {
            matches!(
                c,
                Condition::Above(
                    Measure::OverLimit
                        | Measure::OverLimitAtLeast
                        | Measure::OverImmediateDanger
                        | Measure::MetalVapour,
                    _
                )
            )
        });
        let named = has(|c| {
            matches!(
                c,
                Condition::ProductHas(_)
                    | Condition::Toxic(_)
                    | Condition::Reactant(_)
                    | Condition::HazardGroup(_)
            )
        });
        let flag = has(|c| matches!(c, Condition::Flag(_)));
        let missing = if when.is_empty() {
            "has no condition; write `when = [{ always = true }]` if it always applies"
        } else if self.sources.is_empty() {
            "cites no source; name one, `common-practice` if there is none"
        } else if text.trim().is_empty() {
            "has no text"
        } else if (text.contains("{value}") || text.contains("{limit}")) && !number {
            "speaks of {value} or {limit} but looks at no number"
        } else if text.contains("{about}") && !about {
            "speaks of {about} but looks at no number that is about an agent"
        } else if text.contains("{found}") && !named {
            "speaks of {found} but looks for no element or reactant"
        } else if text.contains("{detail}") && !flag {
            "speaks of {detail} but looks at no flag"
        } else {
            return Ok(());
        };
        Err(Fault::incomplete(missing))
    }
}
