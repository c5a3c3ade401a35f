//! Areas through which a vessel takes up heat, over the mean section of the layer.
//!
//! The layer model has one area. What the floor, the wetted wall and the free surface take up beyond
//! it, or less than it, is put into the exchange coefficients as a ratio of areas.

use super::charge::{Face, Growth};
use crate::quantity::Volume;
use crate::quantity::units::{cubic_meter, meter, ratio, square_meter};
use crate::tables::shape::Shape;
use crate::tables::vessels::Vessel;
use std::f64::consts::PI;

/// Thermal conductivity of air between a hot plate and a vessel, W/(m K), near 250 °C (from memory).
const GAP_AIR: f64 = 0.042;
/// Effective emissivity between a plate and the curved glass above it (assumed).
const GAP_EMISSIVITY: f64 = 0.8;

/// Ratios to the mean section of the layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Areas {
    /// Mean section, m².
    pub section: f64,
    /// Wetted wall and bottom.
    pub wetted: f64,
    /// Free surface.
    pub surface: f64,
    /// Flat bottom.
    pub flat: f64,
    /// Radius of curvature of a round bottom, m.
    pub curvature: Option<f64>,
}

impl Areas {
    /// A layer of which only the section is known: flat, without side wall.
    pub fn flat(section: f64) -> Self {
        Self {
            section,
            wetted: 1.0,
            surface: 1.0,
            flat: 1.0,
            curvature: None,
        }
    }

    /// The layer of `volume` in `vessel`; `None` if it holds nothing.
    pub fn of(vessel: &Vessel, volume: Volume) -> Option<Self> {
        let shape: &Shape = &vessel.shape;
        let depth = shape.depth_of(volume).get::<meter>();
        if depth <= 0.0 {
            return None;
        }
        let section = volume.get::<cubic_meter>() / depth;
        let relative = |area: crate::quantity::Area| area.get::<square_meter>() / section;
        Some(Self {
            section,
            wetted: relative(shape.wetted_area(volume)),
            surface: relative(shape.free_surface(volume)),
            flat: relative(shape.flat_bottom()),
            curvature: shape.bottom_curvature().map(|r| r.get::<meter>()),
        })
    }

    /// How wetted wall and free surface grow from the level of the solution to that of the froth; what
    /// the solution has wetted stays wet if the froth is lower.
    pub fn growth(vessel: &Vessel, solution: Volume, froth: Volume) -> Growth {
        let shape = &vessel.shape;
        let level = if froth > solution { froth } else { solution };
        let growth = |area: fn(&Shape, Volume) -> crate::quantity::Area| {
            (area(shape, level) / area(shape, solution)).get::<ratio>()
        };
        Growth {
            bottom: growth(Shape::wetted_area),
            top: growth(Shape::free_surface),
        }
    }

    /// Scales a face by a ratio of areas.
    pub fn scale(face: &mut Face, factor: f64) {
        face.transfer *= factor;
        face.emissivity *= factor;
        face.imposed_flux *= factor;
    }

    /// The contact of a plate: on a flat bottom as tabulated; under a round one through the air gap
    /// that widens from the middle as r²/2R, besides radiation. Mean over the disc of the surface:
    /// U = 2 π R λ ln(1 + a²/(2 R g)) / A, g = λ/U_flat the gap of a flat bottom.
    pub fn on_plate(&self, face: &mut Face) {
        let Some(curvature) = self.curvature else {
            Self::scale(face, self.flat);
            return;
        };
        let gap = GAP_AIR / face.transfer.max(1e-6);
        let disc = self.surface * self.section;
        let rise = disc / (2.0 * PI * curvature);
        face.transfer = 2.0 * PI * curvature * GAP_AIR * (rise / gap).ln_1p() / self.section;
        face.emissivity = GAP_EMISSIVITY * self.surface;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ignition::fixture::room_air;
    use crate::quantity::units::milliliter;
    use approx::assert_relative_eq;

    fn bowl(curvature: f64) -> Areas {
        Areas {
            section: 30e-4,
            wetted: 1.2,
            surface: 1.0,
            flat: 0.0,
            curvature: Some(curvature),
        }
    }

    #[test]
    fn a_nearly_flat_bowl_takes_up_heat_as_a_flat_bottom() {
        let mut face = Face {
            transfer: 150.0,
            ..room_air()
        };
        bowl(1e4).on_plate(&mut face);
        assert_relative_eq!(face.transfer, 150.0, max_relative = 1e-3);
    }

    #[test]
    fn froth_in_a_beaker_climbs_the_wall_and_in_a_bowl_the_surface_too() {
        let tables = crate::tables::Tables::built_in().unwrap();
        let growth = |name: &str, factor: f64| {
            let vessel = tables.safety.vessels.vessel(name).unwrap();
            let solution = Volume::new::<milliliter>(10.0);
            Areas::growth(vessel, solution, factor * solution)
        };
        // No froth, or less than the solution stood: as before.
        for factor in [0.0, 0.5, 1.0] {
            assert_eq!(growth("100 mL beaker", factor), Growth::NONE);
        }
        let beaker = growth("100 mL beaker", 4.0);
        assert_relative_eq!(beaker.top, 1.0, max_relative = 1e-12);
        assert!(beaker.bottom > 1.2);
        let bowl = growth("100 mL evaporating dish", 4.0);
        assert!(bowl.top > 1.2 && bowl.bottom > 1.2);
    }

    #[test]
    fn a_rounder_bowl_takes_up_less() {
        let contact = |curvature: f64| {
            let mut face = Face {
                transfer: 150.0,
                ..room_air()
            };
            bowl(curvature).on_plate(&mut face);
            face.transfer
        };
        assert!(contact(0.05) < contact(0.1) && contact(0.1) < 0.3 * 150.0);
    }
}
