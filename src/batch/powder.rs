//! The section `[run.powder]`: what the powder of one run showed when it was judged.

use super::run_key::{Kind, RunKey, key};
use super::section::{Section, value, words};
use crate::colour::Lab;
use crate::quantity::units::nanometer;
use crate::quantity::{Angle, Length, MassDensity, SpecificArea, Volume, parse};

/// How strongly something shows: pull of a magnet, fizz in dilute acid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Strength {
    /// Not at all.
    None,
    /// A little.
    Weak,
    /// Plainly.
    Strong,
}

/// One diffraction peak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Peak {
    /// Diffraction angle 2θ.
    pub two_theta: Angle,
    /// Full width at half maximum as measured, on the 2θ scale.
    pub width: Angle,
}

/// Diffraction peaks and what they were measured with.
#[derive(Debug, Clone, PartialEq)]
pub struct Diffraction {
    /// Wavelength; 0.15406 nm (Cu Kα1) if not stated.
    pub wavelength: Length,
    /// Width that the instrument gives a coarse, strain-free powder; `None` if it is not known.
    pub instrument_width: Option<Angle>,
    /// The peaks.
    pub peaks: Vec<Peak>,
}

/// What the powder showed. Everything may be left out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Powder {
    /// Colour in words.
    pub colour: Option<String>,
    /// Colour as CIE L*a*b*.
    pub lab: Option<Lab>,
    /// Colour of the reference that it is held against.
    pub reference_lab: Option<Lab>,
    /// Pull of a magnet.
    pub magnet: Option<Strength>,
    /// Fizz in dilute acid.
    pub fizz: Option<Strength>,
    /// Diffraction peaks.
    pub diffraction: Option<Diffraction>,
    /// Specific surface area by gas adsorption.
    pub surface_area: Option<SpecificArea>,
    /// Density of the crystal.
    pub crystal_density: Option<MassDensity>,
    /// Volume of the foam before it was crushed.
    pub foam_volume: Option<Volume>,
    /// Flakes that glow or have the colour, and all that were counted.
    pub flakes: Option<(u32, u32)>,
    /// Light under a lamp of 254 nm, in words.
    pub under_254_nm: Option<String>,
    /// Light under a lamp of 365 nm, in words.
    pub under_365_nm: Option<String>,
    /// Name of a CSV file with the afterglow's time and brightness.
    pub afterglow: Option<String>,
}

const STRENGTHS: &[(&str, Strength)] = &[
    ("none", Strength::None),
    ("no", Strength::None),
    ("weak", Strength::Weak),
    ("strong", Strength::Strong),
];

/// The keys of a powder as they are asked for; diffraction peaks are written into the file.
pub(super) const KEYS: &[RunKey] = &[
    key("powder.colour", "Colour of the powder in words", Kind::Text),
    key("powder.lab", "L*; a*; b*", Kind::Numbers),
    key(
        "powder.reference_lab",
        "L*; a*; b* of the reference",
        Kind::Numbers,
    ),
    key(
        "powder.magnet",
        "Pull of a magnet: none, weak, strong",
        Kind::Text,
    ),
    key(
        "powder.fizz",
        "Fizz in dilute acid: none, weak, strong",
        Kind::Text,
    ),
    key(
        "powder.surface_area",
        "Surface area, such as 25 m2/g",
        Kind::Quantity,
    ),
    key(
        "powder.crystal_density",
        "Density of the crystal, such as 4.6 g/cm3",
        Kind::Quantity,
    ),
    key(
        "powder.foam_volume",
        "Volume of the foam, such as 120 mL",
        Kind::Quantity,
    ),
    key(
        "powder.flakes",
        "Flakes counted, such as 41 live, 3 dead",
        Kind::Text,
    ),
    key(
        "powder.under_254_nm",
        "Light under 254 nm in words",
        Kind::Text,
    ),
    key(
        "powder.under_365_nm",
        "Light under 365 nm in words",
        Kind::Text,
    ),
    key("powder.afterglow", "CSV file of the afterglow", Kind::Text),
];

/// Wavelength of Cu Kα1, from memory (International Tables for Crystallography, vol. C).
const COPPER_K_ALPHA_1_NM: f64 = 0.154_06;

pub(super) fn read(section: Section<'_>) -> Powder {
    let areas = "0.001 m2/g and 3000 m2/g";
    let densities = "0.5 g/cm3 and 25 g/cm3";
    let powder = Powder {
        colour: words(&section, "colour"),
        lab: lab(&section, "lab"),
        reference_lab: lab(&section, "reference_lab"),
        magnet: value(section.choice("magnet", STRENGTHS)),
        fizz: value(section.choice("fizz", STRENGTHS)),
        diffraction: section.section("diffraction").map(diffraction),
        surface_area: value(section.quantity_within("surface_area", parse::specific_area, areas)),
        crystal_density: value(section.quantity_within(
            "crystal_density",
            parse::density,
            densities,
        )),
        foam_volume: value(section.quantity_within(
            "foam_volume",
            parse::volume,
            "0.1 mL and 20 L",
        )),
        flakes: flakes(&section),
        under_254_nm: words(&section, "under_254_nm"),
        under_365_nm: words(&section, "under_365_nm"),
        afterglow: words(&section, "afterglow"),
    };
    section.finish();
    powder
}

fn lab(section: &Section<'_>, key: &'static str) -> Option<Lab> {
    let numbers = section.numbers(key, (-200.0, 200.0))?;
    match numbers.value[..] {
        [lightness, a, b] if (0.0..=100.0).contains(&lightness) => Some(Lab { lightness, a, b }),
        _ => {
            let message = format!(
                "`{key}` should be L*, a*, b* with L* from 0 to 100, such as [62.5, -4.0, -31.2]"
            );
            section.mistake(numbers.span, message);
            None
        }
    }
}

fn diffraction(section: Section<'_>) -> Diffraction {
    let widths = "0.001° and 20°";
    let peaks = section
        .sections("peak")
        .into_iter()
        .filter_map(|peak| {
            let two_theta = peak.quantity_within("two_theta", parse::angle, "1° and 179°");
            let width = peak.quantity_within("width", parse::angle, widths);
            for (key, example) in [("two_theta", "\"36.8°\""), ("width", "\"0.42°\"")] {
                if !peak.has(key) {
                    peak.missing(key, example);
                }
            }
            peak.finish();
            Some(Peak {
                two_theta: two_theta?.value,
                width: width?.value,
            })
        })
        .collect();
    let diffraction = Diffraction {
        wavelength: value(section.quantity_within(
            "wavelength",
            parse::length,
            "0.01 nm and 0.5 nm",
        ))
        .unwrap_or_else(|| Length::new::<nanometer>(COPPER_K_ALPHA_1_NM)),
        instrument_width: value(section.quantity_within("instrument_width", parse::angle, widths)),
        peaks,
    };
    section.finish();
    diffraction
}

fn flakes(section: &Section<'_>) -> Option<(u32, u32)> {
    let flakes = section.section("flakes")?;
    let count = |key| value(flakes.number_within(key, (0.0, 1.0e6)));
    let (live, dead) = (count("live"), count("dead"));
    let span = flakes.span.clone();
    flakes.finish();
    let (live, dead) = live.zip(dead)?;
    let whole = |x: f64| (x - x.round()).abs() < f64::EPSILON;
    if live + dead < 1.0 || !whole(live) || !whole(dead) {
        let message = "`flakes` should be two whole numbers of which one is above 0, such as \
                       { live = 41, dead = 3 }";
        section.mistake(span, message);
        return None;
    }
    // Both are whole and at most a million.
    Some((live as u32, (live + dead) as u32))
}
