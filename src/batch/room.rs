//! `[room]`: where the batch is burnt, and what air there is.

use super::section::{Section, value};
use crate::quantity::Frequency;
use crate::quantity::units::cycle_per_hour;
use crate::quantity::{Length, Velocity, Volume, VolumeRate, parse};
use std::fmt;

/// Where the burn is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BurnPlace {
    /// In the room, without a hood.
    Room,
    /// In a fume hood.
    Hood,
    /// Outdoors.
    Outdoors,
}

impl fmt::Display for BurnPlace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Room => "open room",
            Self::Hood => "fume hood",
            Self::Outdoors => "outdoors",
        })
    }
}

/// The room or hood of a batch. What is not stated is taken from the assumptions of the tables.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Where.
    pub place: BurnPlace,
    /// Volume of the room.
    pub volume: Option<Volume>,
    /// Air changes of the room.
    pub air_changes: Option<Frequency>,
    /// Air that the hood, or the fan of the room, takes away.
    pub exhaust: Option<VolumeRate>,
    /// Width and height of the opening of the hood, as the sash stands.
    pub opening: Option<(Length, Length)>,
    /// Mean air speed through that opening.
    pub face_velocity: Option<Velocity>,
}

/// Reads `[room]`; mistakes are noted in the section.
pub(super) fn read(section: Section<'_>) -> Option<Room> {
    let words = [
        ("room", BurnPlace::Room),
        ("hood", BurnPlace::Hood),
        ("outdoors", BurnPlace::Outdoors),
    ];
    if !section.has("place") {
        section.missing("place", "\"hood\"");
    }
    let place = section.choice("place", &words);
    let range = "1 m3 and 100000 m3";
    let room_volume = section.quantity_within("volume", parse::volume, range);
    let air_changes = section.number_read("air_changes", parse::changes_per_hour, (0.0, 200.0));
    let range = "0.1 L/s and 50 m3/s";
    let exhaust = section.quantity_within("exhaust", parse::volume_rate, range);
    let side = |key| value(section.quantity_within(key, parse::length, "2 cm and 5 m"));
    let (width, height) = (side("opening_width"), side("opening_height"));
    for (has, key, other) in [
        (section.has("opening_width"), "opening_height", "\"0.3 m\""),
        (section.has("opening_height"), "opening_width", "\"1.2 m\""),
    ] {
        if has && !section.has(key) {
            section.missing(key, other);
        }
    }
    let range = "0 m/s and 10 m/s";
    let face_velocity = section.quantity_within("face_velocity", parse::velocity, range);
    section.finish();
    Some(Room {
        place: place?.value,
        volume: room_volume.map(|written| written.value),
        air_changes: air_changes.map(|written| Frequency::new::<cycle_per_hour>(written.value)),
        exhaust: exhaust.map(|written| written.value),
        opening: width.zip(height),
        face_velocity: face_velocity.map(|written| written.value),
    })
}
