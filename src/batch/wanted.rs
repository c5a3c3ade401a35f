//! The section `[wanted]`: what the powder shall be, for the choice of a fuel.

use super::section::Section;
use crate::quantity::{ThermodynamicTemperature, Time, parse};
use crate::tables::Tables;
pub use crate::tables::known_powders::Atmosphere;
use crate::tables::known_powders::Hue;
use crate::tables::purity::Use;

impl Wanted {
    /// What the powder is for: as stated, else a phosphor if it shall glow and a pigment if it
    /// shall have a colour.
    pub fn use_of_powder(&self) -> Option<Use> {
        let glows = self.glow.is_some() || self.glow_lasts.is_some();
        let by_colour = self.colour.map(|hue| match hue {
            Hue::White => Use::White,
            _ => Use::Pigment,
        });
        self.for_use
            .or(glows.then_some(Use::Phosphor))
            .or(by_colour)
    }
}

/// What is wanted of the burn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Wanted {
    /// Name of a target phase in the tables, where the formula has several polymorphs.
    pub phase: Option<String>,
    /// Temperature that the flame shall reach.
    pub temperature: Option<ThermodynamicTemperature>,
    /// For how long it is that hot.
    pub time: Option<Time>,
    /// The gas.
    pub atmosphere: Option<Atmosphere>,
    /// What the powder is for.
    pub for_use: Option<Use>,
    /// Colour of the powder.
    pub colour: Option<Hue>,
    /// Colour of its light.
    pub glow: Option<Hue>,
    /// Whether it glows on in the dark.
    pub glow_lasts: Option<bool>,
}

pub(super) fn read(section: Section<'_>, tables: &Tables) -> Wanted {
    let phase = section.text("phase").and_then(|written| {
        if tables.phases.by_name(written.value).is_some() {
            return Some(written.value.to_owned());
        }
        let names = tables.phases.targets.iter().map(|p| p.name.as_str());
        let hint = match crate::names::closest(written.value, names) {
            Some(near) => format!("; did you mean \"{near}\"?"),
            None => "; leave it out to take the target's formula".to_owned(),
        };
        let message = format!("no target phase \"{}\" in the tables{hint}", written.value);
        section.mistake(written.span, message);
        None
    });
    let range = "100 °C and 2500 °C";
    let temperature = section.quantity_within("temperature", parse::temperature, range);
    let range = "0.1 s and 10 min: a burn is short";
    let time = section.quantity_within("time", parse::time, range);
    let words = [
        ("oxidising", Atmosphere::Oxidising),
        ("neutral", Atmosphere::Neutral),
        ("reducing", Atmosphere::Reducing),
    ];
    let atmosphere = section.choice("atmosphere", &words);
    let for_use = section.choice("use", &Use::WORDS);
    let colour = section.choice("colour", &Hue::ALL);
    let glow = section.choice("glow", &Hue::ALL);
    let lengths = [("long", true), ("short", false)];
    let glow_lasts = section.choice("glow_lasts", &lengths);
    section.finish();
    Wanted {
        phase,
        temperature: temperature.map(|written| written.value),
        time: time.map(|written| written.value),
        atmosphere: atmosphere.map(|written| written.value),
        for_use: for_use.map(|written| written.value),
        colour: colour.map(|written| written.value),
        glow: glow.map(|written| written.value),
        glow_lasts: glow_lasts.map(|written| written.value),
    }
}
