//! `[vessel]`: what the batch is burnt in, what covers it and what stands round it.

use super::section::{Section, Written, value};
use crate::names::closest;
use crate::quantity::units::millimeter;
use crate::quantity::{Length, Time, parse};
use crate::source::{Seen, SourceId};
use crate::tables::Tables;
use crate::tables::shape::Shape;
use crate::tables::vessels::{Vessel, Vessels};
use std::fmt;
use std::sync::Arc;

/// Wall taken for a vessel of one's own that states none, in mm. Assumed: usual laboratory ware.
const USUAL_WALL: f64 = 2.0;

/// What is on the mouth of the vessel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Cover {
    /// Nothing.
    #[default]
    Open,
    /// A loose steel mesh that keeps powder back.
    Mesh,
    /// A larger dish upside down, held off the rim.
    LooseDish,
    /// A lid or watch glass that lies on the rim.
    Lid,
    /// A stopper, cap or screw closure.
    Stopper,
    /// A plug of cotton or glass wool.
    Plug,
    /// Foil or film.
    Foil,
}

impl Cover {
    /// Holds the gas back: refused.
    pub fn closes(self) -> bool {
        matches!(self, Self::Lid | Self::Stopper | Self::Plug | Self::Foil)
    }

    /// Is of metal.
    pub fn is_metal(self) -> bool {
        matches!(self, Self::Mesh | Self::Foil)
    }
}

impl fmt::Display for Cover {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Open => "open",
            Self::Mesh => "steel mesh",
            Self::LooseDish => "loose dish",
            Self::Lid => "lid",
            Self::Stopper => "stopper",
            Self::Plug => "plug",
            Self::Foil => "foil",
        })
    }
}

/// The vessel of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct VesselChoice {
    /// The vessel that holds the batch.
    pub vessel: Arc<Vessel>,
    /// What is on its mouth.
    pub cover: Cover,
    /// The vessel round it that catches the batch if it breaks.
    pub outer: Option<Arc<Vessel>>,
    /// How long the flame lasts, if the user has seen it.
    pub flame_lasts: Option<Time>,
    /// Name of the stirrer among the purity tables, if the file names one.
    pub stirrer: Option<String>,
}

/// Reads `[vessel]`; mistakes are noted in the section.
pub(super) fn read(section: Section<'_>, tables: &Tables) -> Option<VesselChoice> {
    let vessels = &tables.safety.vessels;
    let words = [
        ("open", Cover::Open),
        ("steel mesh", Cover::Mesh),
        ("loose dish", Cover::LooseDish),
        ("lid", Cover::Lid),
        ("stopper", Cover::Stopper),
        ("plug", Cover::Plug),
        ("foil", Cover::Foil),
    ];
    let cover = value(section.choice("cover", &words)).unwrap_or_default();
    let flame_lasts =
        value(section.quantity_within("flame_lasts", parse::time, "0.1 s and 30 min"));
    let stirrers = &tables.purity.stirrers;
    let stirrers: Vec<_> = stirrers
        .iter()
        .map(|s| (s.id.as_str(), s.id.as_str()))
        .collect();
    let stirrer = section
        .choice("stirrer", &stirrers)
        .map(|written| written.value.to_owned());
    let name = section.text("name");
    let own = described(&section, vessels);
    let outer = section.text("outer").and_then(|written| {
        named(
            &section,
            &written,
            vessels,
            "take one of the tables, such as \"2 L steel pot\"",
        )
    });
    let vessel = match (name, own) {
        (Some(name), None) => named(
            &section,
            &name,
            vessels,
            "describe it by `material`, `mouth` and `depth`",
        ),
        (None, Some(vessel)) => vessel,
        (Some(name), Some(_)) => {
            let message = "give either the `name` of a vessel or its `material` and lengths";
            section.mistake(name.span, message);
            None
        }
        (None, None) => {
            if !section.has("name") {
                section.missing("name", "\"250 mL beaker\"");
            }
            None
        }
    };
    section.finish();
    Some(VesselChoice {
        vessel: vessel?,
        cover,
        outer,
        flame_lasts,
        stirrer,
    })
}

/// The vessel of the tables with this name; `otherwise` says what to do if no name is near it.
fn named(
    section: &Section<'_>,
    written: &Written<&str>,
    vessels: &Vessels,
    otherwise: &str,
) -> Option<Arc<Vessel>> {
    let found = vessels.vessel(written.value);
    if found.is_none() {
        let hint = match closest(written.value, vessels.vessel_names()) {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => {
                let kind = written.value.trim().to_lowercase();
                let sizes = vessels.vessel_names();
                let sizes: Vec<&str> = sizes.filter(|name| name.ends_with(&kind)).collect();
                match sizes.is_empty() || kind.is_empty() {
                    true => otherwise.to_owned(),
                    false => format!("there are {}", sizes.join(", ")),
                }
            }
        };
        let message = format!("no vessel is called \"{}\"; {hint}", written.value);
        section.mistake(written.span.clone(), message);
    }
    found.cloned()
}

/// A vessel described by its material and inner lengths; the outer option says whether any such
/// key is written.
fn described(section: &Section<'_>, vessels: &Vessels) -> Option<Option<Arc<Vessel>>> {
    let length = |key| value(section.quantity_within(key, parse::length, "0.2 mm and 1 m"));
    let known = vessels.materials.iter().map(|m| m.id.as_str());
    let material = section.named(("material", "material"), |m| vessels.material(m), known);
    let (mouth, depth) = (length("mouth"), length("depth"));
    let (body, wall) = (length("body"), length("wall"));
    let keys = ["material", "mouth", "depth", "body", "wall"];
    if !keys.iter().any(|key| section.has(key)) {
        return None;
    }
    for (key, example) in [
        ("material", "\"borosilicate\""),
        ("mouth", "\"66 mm\""),
        ("depth", "\"92 mm\""),
    ] {
        if !section.has(key) {
            section.missing(key, example);
        }
    }
    let (Some(found), Some(mouth), Some(depth)) = (material, mouth, depth) else {
        return Some(None);
    };
    let shape = match body {
        Some(body) if body > mouth => {
            let wide = Shape::Cylinder { mouth: body, depth };
            Shape::Necked {
                mouth,
                body,
                volume: wide.brimful(),
            }
        }
        _ => Shape::Cylinder { mouth, depth },
    };
    Some(Some(Arc::new(Vessel {
        name: format!("{} vessel of the batch file", found.name),
        aliases: Vec::new(),
        material: Arc::clone(found),
        shape,
        wall: wall.unwrap_or_else(|| Length::new::<millimeter>(USUAL_WALL)),
        closed: false,
        source: SourceId("common-practice".to_owned()),
        locator: "lengths as written in the batch file".to_owned(),
        seen: Seen::Document,
    })))
}
