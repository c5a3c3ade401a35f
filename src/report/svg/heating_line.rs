//! What the pictures of heating show of one way.

use crate::quantity::Band;
use crate::quantity::Ratio;
use crate::quantity::Time;

/// A stage of heating.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatingStage {
    /// What happens, such as "boils".
    pub name: String,
    /// When it ends, from the start of heating.
    pub until: Time,
    /// Whether there is dry gel that has not lit yet.
    pub live: bool,
}

/// One heating way.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatingLine {
    /// What it is called.
    pub way: String,
    /// Stages in order.
    pub stages: Vec<HeatingStage>,
    /// When it lights, if it may.
    pub lights: Option<Band<Time>>,
    /// Whether nearly every course lights.
    pub sure: bool,
    /// Where its heat enters, if it takes up any.
    pub heat: Option<HeatEntrance>,
    /// How it ends, in a few words.
    pub ending: String,
}

/// How the heat of one way enters, as shares of all that is taken up until it lights.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatEntrance {
    /// Through the floor.
    pub below: Ratio,
    /// Through the free surface.
    pub above: Ratio,
    /// Made inside by microwaves.
    pub inside: Ratio,
}
