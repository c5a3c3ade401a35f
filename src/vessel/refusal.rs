//! Why a vessel is refused, whatever the batch.

use crate::batch::VesselChoice;
use crate::quantity::units::{bar, percent, ratio};
use crate::quantity::{Pressure, Ratio};
use crate::tables::heating::HeatingKind;
use crate::tables::vessels::VesselAssumptions;
use std::fmt;

/// A reason to refuse a vessel.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// Lid, stopper, plug, foil, or a vessel made to be closed.
    Closed {
        /// What closes it.
        by: String,
        /// Pressure that the gas would reach.
        pressure: Pressure,
    },
    /// The mouth is a neck.
    Neck {
        /// Open area over the widest section.
        open: Ratio,
    },
    /// The vessel is a tube.
    Tube {
        /// Depth over the diameter of the mouth.
        slenderness: Ratio,
    },
    Material {
        /// The material and why.
        reason: String,
    },
    /// The outer vessel.
    Outer {
        /// What is wrong with it.
        reason: String,
    },
    /// Metal in a microwave oven.
    MetalInMicrowave {
        /// What is of metal.
        what: String,
    },
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Closed { by, pressure } => write!(
                f,
                "{by}; held back, the gas would come to about {:.0} bar by the ideal-gas law, \
                 and the vessel would burst long before",
                pressure.get::<bar>()
            ),
            Self::Neck { open } => {
                write!(
                    f,
                    "its mouth has {:.0} % of its widest section",
                    open.get::<percent>()
                )
            }
            Self::Tube { slenderness } => {
                write!(
                    f,
                    "it is {:.1} times as deep as its mouth is wide",
                    slenderness.get::<ratio>()
                )
            }
            Self::Material { reason } | Self::Outer { reason } => f.write_str(reason),
            Self::MetalInMicrowave { what } => f.write_str(what),
        }
    }
}

/// Every reason to refuse `choice`.
pub(super) fn refusals(
    choice: &VesselChoice,
    heating: Option<HeatingKind>,
    pressure: Pressure,
    assumed: &VesselAssumptions,
) -> Vec<Refusal> {
    let vessel = &choice.vessel;
    let mut found = Vec::new();
    if vessel.closed {
        found.push(Refusal::Closed {
            by: format!("{} is a pressure vessel", vessel.name),
            pressure,
        });
    } else if choice.cover.closes() {
        found.push(Refusal::Closed {
            by: format!("a {} covers it", choice.cover),
            pressure,
        });
    }
    let shape = &vessel.shape;
    let open: Ratio = shape.mouth_area() / shape.widest_area();
    if open < assumed.open_share.value {
        found.push(Refusal::Neck { open });
    }
    let slenderness: Ratio = shape.depth() / shape.mouth();
    if slenderness > assumed.slenderness.value {
        found.push(Refusal::Tube { slenderness });
    }
    if let Some(why) = &vessel.material.refused {
        found.push(Refusal::Material {
            reason: format!("{}: {why}", vessel.material.name),
        });
    }
    if let Some(outer) = &choice.outer {
        let shape = &outer.shape;
        let open: Ratio = shape.mouth_area() / shape.widest_area();
        if let Some(why) = &outer.material.refused {
            found.push(Refusal::Outer {
                reason: format!("{}: {why}", outer.material.name),
            });
        } else if outer.closed || open < assumed.open_share.value {
            let reason = format!("{} is closed or has a neck", outer.name);
            found.push(Refusal::Outer { reason });
        } else if shape.mouth() <= vessel.shape.mouth() {
            let reason = format!("{} does not take in {}", outer.name, vessel.name);
            found.push(Refusal::Outer { reason });
        }
    }
    if heating == Some(HeatingKind::Microwave) {
        let mut metal = Vec::new();
        if vessel.material.metal {
            metal.push(vessel.name.clone());
        }
        if choice.cover.is_metal() {
            metal.push(choice.cover.to_string());
        }
        if let Some(outer) = choice.outer.as_ref().filter(|outer| outer.material.metal) {
            metal.push(outer.name.clone());
        }
        if !metal.is_empty() {
            found.push(Refusal::MetalInMicrowave {
                what: metal.join(", "),
            });
        }
    }
    found
}
