//! The `[run]` or `[[run]]` sections of a batch file: what was seen and weighed each time the
//! batch was burnt.

use super::powder::{self, Powder};
use super::run_key::{Kind, RunKey, key};
use super::section::{Section, value, words};
use crate::quantity::units::ratio;
use crate::quantity::{
    Length, Mass, Ratio, TemperatureInterval, ThermodynamicTemperature, Time, parse,
};

/// What the peak temperature was measured with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Instrument {
    /// A thermocouple in the gel or foam.
    Thermocouple,
    /// A pyrometer at one wavelength band.
    Pyrometer,
    /// A pyrometer at two wavelengths, which needs no emissivity.
    TwoColourPyrometer,
    /// A thermal camera.
    Camera,
}

/// Where the gel lit first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LitAt {
    /// At the floor of the vessel.
    Floor,
    /// At the wall.
    Wall,
    /// In the middle.
    Middle,
    /// On the free surface.
    Surface,
    /// In many places at once.
    Throughout,
}

/// Colour of the fumes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fumes {
    /// None that could be seen.
    None,
    /// White: steam, ammonium salts.
    White,
    /// Brown: nitrogen dioxide.
    Brown,
    /// Black: soot.
    Black,
    /// Yellow.
    Yellow,
}

/// What was seen of one run. Everything may be left out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Run {
    /// Day of the run, as written.
    pub date: Option<String>,
    /// Who ran it.
    pub by: Option<String>,
    /// A label for the powder, so that it can be judged blind.
    pub label: Option<String>,
    /// The vessel, if not that of the batch.
    pub vessel: Option<String>,
    /// The heating way, if not that of the batch.
    pub way: Option<String>,
    /// Its setting, in words.
    pub setting: Option<String>,
    /// Masses as weighed, by the name of the ingredient as the file writes it.
    pub masses: Vec<(String, Mass)>,
    /// Time from the start of heating to ignition.
    pub ignited_after: Option<Time>,
    /// Whether it lit at all; `None` if the file does not say and nothing else shows it.
    pub ignited: Option<bool>,
    /// Hottest temperature measured in or above the powder.
    pub peak_temperature: Option<ThermodynamicTemperature>,
    /// Standard uncertainty of that temperature, if stated.
    pub peak_error: Option<TemperatureInterval>,
    /// What it was measured with.
    pub instrument: Option<Instrument>,
    /// Emissivity that the instrument was set to.
    pub emissivity: Option<Ratio>,
    /// How long the flame or glow lasted.
    pub flame_lasted: Option<Time>,
    /// Where it lit first.
    pub lit_at: Option<LitAt>,
    /// Colour of the fumes.
    pub fumes: Option<Fumes>,
    /// Height of the froth above the floor of the vessel.
    pub froth_height: Option<Length>,
    /// Mass of the powder recovered.
    pub powder_mass: Option<Mass>,
    /// Mass lost by the powder when it is calcined, as a share of it.
    pub loss_on_ignition: Option<Ratio>,
    /// Anything else, in words.
    pub remarks: Option<String>,
    /// File names of photographs.
    pub photographs: Vec<String>,
    /// What the powder showed when it was judged.
    pub powder: Option<Powder>,
}

/// Reads the `[run]` table or every `[[run]]`.
pub(super) fn read_all(root: &Section<'_>) -> Vec<Run> {
    root.section_or_sections("run")
        .into_iter()
        .map(read)
        .collect()
}

fn read(section: Section<'_>) -> Run {
    let temperatures = "0 °C and 3000 °C";
    let peak_temperature =
        value(section.quantity_within("peak_temperature", parse::temperature, temperatures));
    let ignited_after = time(&section, "ignited_after");
    let flame_lasted = time(&section, "flame_lasted");
    let run = Run {
        date: words(&section, "date"),
        by: words(&section, "by"),
        label: words(&section, "label"),
        vessel: words(&section, "vessel"),
        way: words(&section, "way"),
        setting: words(&section, "setting"),
        masses: section.section("masses").map(masses).unwrap_or_default(),
        ignited: value(section.flag("ignited"))
            .or((ignited_after.is_some() || flame_lasted.is_some()).then_some(true)),
        ignited_after,
        peak_temperature,
        peak_error: value(section.quantity_within(
            "peak_error",
            parse::temperature_interval,
            "0.1 K and 500 K",
        )),
        instrument: value(section.choice("instrument", INSTRUMENTS)),
        emissivity: share(&section, "emissivity", (0.02, 1.0)),
        flame_lasted,
        lit_at: value(section.choice("lit_at", PLACES)),
        fumes: value(section.choice("fumes", FUMES)),
        froth_height: value(section.quantity_within("froth_height", parse::length, "1 mm and 2 m")),
        powder_mass: mass(&section, "powder_mass"),
        loss_on_ignition: share(&section, "loss_on_ignition", (-0.2, 0.95)),
        remarks: words(&section, "remarks"),
        photographs: section.texts("photographs"),
        powder: section.section("powder").map(powder::read),
    };
    section.finish();
    run
}

/// The keys of a run as they are asked for; those that are tables of their own stand elsewhere.
pub(super) const KEYS: &[RunKey] = &[
    key("date", "Date", Kind::Text),
    key("by", "Who ran it", Kind::Text),
    key("label", "Label for blind judging", Kind::Text),
    key("vessel", "Vessel, if not the batch's", Kind::Text),
    key("way", "Way of heating, if not the batch's", Kind::Text),
    key("setting", "Its setting", Kind::Text),
    key("ignited", "Did it light (yes, no)", Kind::Flag),
    key(
        "ignited_after",
        "Time to ignition, such as 7 min",
        Kind::Quantity,
    ),
    key(
        "lit_at",
        "Where it lit: floor, wall, middle, surface, throughout",
        Kind::Text,
    ),
    key(
        "flame_lasted",
        "How long the flame lasted, such as 20 s",
        Kind::Quantity,
    ),
    key(
        "peak_temperature",
        "Peak temperature, such as 1120 °C",
        Kind::Quantity,
    ),
    key(
        "peak_error",
        "Its uncertainty, such as 30 K",
        Kind::Quantity,
    ),
    key(
        "instrument",
        "Measured with: thermocouple, pyrometer, two-colour pyrometer, camera",
        Kind::Text,
    ),
    key("emissivity", "Emissivity it was set to", Kind::Quantity),
    key(
        "fumes",
        "Colour of the fumes: none, white, brown, black, yellow",
        Kind::Text,
    ),
    key(
        "froth_height",
        "Height of the froth, such as 6 cm",
        Kind::Quantity,
    ),
    key("powder_mass", "Mass of the powder", Kind::Quantity),
    key(
        "loss_on_ignition",
        "Loss on ignition, such as 3 %",
        Kind::Quantity,
    ),
    key("remarks", "Remarks", Kind::Text),
    key(
        "photographs",
        "Photographs (file names, parted by ;)",
        Kind::Texts,
    ),
];

/// Words of `instrument`.
pub const INSTRUMENTS: &[(&str, Instrument)] = &[
    ("thermocouple", Instrument::Thermocouple),
    ("pyrometer", Instrument::Pyrometer),
    ("two-colour pyrometer", Instrument::TwoColourPyrometer),
    ("camera", Instrument::Camera),
];

/// Words of `lit_at`.
pub const PLACES: &[(&str, LitAt)] = &[
    ("floor", LitAt::Floor),
    ("wall", LitAt::Wall),
    ("middle", LitAt::Middle),
    ("surface", LitAt::Surface),
    ("throughout", LitAt::Throughout),
];

/// Words of `fumes`.
pub const FUMES: &[(&str, Fumes)] = &[
    ("none", Fumes::None),
    ("white", Fumes::White),
    ("brown", Fumes::Brown),
    ("black", Fumes::Black),
    ("yellow", Fumes::Yellow),
];

/// Masses that are read.
const MASSES: &str = "0.01 mg and 5 kg";

fn masses(section: Section<'_>) -> Vec<(String, Mass)> {
    section.named_quantities(parse::mass, MASSES)
}

fn mass(section: &Section<'_>, key: &'static str) -> Option<Mass> {
    value(section.quantity_within(key, parse::mass, MASSES))
}

fn time(section: &Section<'_>, key: &'static str) -> Option<Time> {
    value(section.quantity_within(key, parse::time, "0.1 s and 24 h"))
}

fn share(section: &Section<'_>, key: &'static str, range: (f64, f64)) -> Option<Ratio> {
    value(section.number_within(key, range)).map(Ratio::new::<ratio>)
}
