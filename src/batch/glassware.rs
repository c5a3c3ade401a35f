//! `[glassware]`: the volumetric flasks and pipettes at hand.

use super::section::Section;
use crate::quantity::units::milliliter;
use crate::quantity::{Volume, parse};
use crate::tables::glassware::{AccuracyClass, Standard};

/// An adjustable piston pipette.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PistonPipette {
    /// Nominal (greatest) volume.
    pub nominal: Volume,
}

/// The volumetric glassware at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Glassware {
    /// Standard that the glass is made to.
    pub standard: Standard,
    /// Accuracy class of the glass.
    pub class: AccuracyClass,
    /// Volumetric flasks, smallest first.
    pub flasks: Vec<Volume>,
    /// One-mark pipettes, smallest first.
    pub pipettes: Vec<Volume>,
    /// Adjustable piston pipettes, smallest first.
    pub pistons: Vec<PistonPipette>,
}

/// Reads `[glassware]`; mistakes are noted in the section.
pub(super) fn read(section: Section) -> Glassware {
    let standard = section.choice(
        "standard",
        &[("ISO", Standard::Iso), ("ASTM", Standard::Astm)],
    );
    let class = section.choice("class", &[("A", AccuracyClass::A), ("B", AccuracyClass::B)]);
    for (key, example) in [("standard", "\"ISO\""), ("class", "\"B\"")] {
        if !section.has(key) {
            section.missing(key, example);
        }
    }
    let volumes = |key| {
        let mut volumes: Vec<Volume> = Vec::new();
        for written in section.quantities(key, parse::volume) {
            if written.value > Volume::new::<milliliter>(0.0) {
                volumes.push(written.value);
            } else {
                section.mistake(
                    written.span,
                    format!("`{key}` holds a volume that is not above 0"),
                );
            }
        }
        volumes.sort_by(|a, b| a.value.total_cmp(&b.value));
        volumes
    };
    let glassware = Glassware {
        standard: standard.map_or(Standard::Iso, |written| written.value),
        class: class.map_or(AccuracyClass::B, |written| written.value),
        flasks: volumes("flasks"),
        pipettes: volumes("pipettes"),
        pistons: volumes("piston_pipettes")
            .into_iter()
            .map(|nominal| PistonPipette { nominal })
            .collect(),
    };
    section.finish();
    glassware
}
