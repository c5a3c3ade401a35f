//! The inside of a vessel: how much it holds, and how deep a volume stands in it.
//!
//! Plain `f64` in m and m³ inside; a bowl is a spherical cap, a crucible a truncated cone. A
//! necked vessel keeps its stated volume and is never filled by these formulas: it is refused.

use crate::quantity::units::{cubic_meter, meter, square_meter};
use crate::quantity::{Area, Length, Volume};
use std::f64::consts::PI;

/// Inner form of a vessel. Lengths are inner ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Straight wall: beaker, pot, shell vial.
    Cylinder {
        /// Diameter.
        mouth: Length,
        /// Depth to the rim.
        depth: Length,
    },
    /// Part of a sphere: evaporating dish.
    Bowl {
        /// Diameter at the rim; at least twice the depth.
        mouth: Length,
        /// Depth to the rim.
        depth: Length,
    },
    /// Wider above than below: crucible.
    Cone {
        /// Diameter at the rim.
        mouth: Length,
        /// Diameter of the bottom.
        base: Length,
        /// Depth to the rim.
        depth: Length,
    },
    /// Flask, bottle, screw-cap vial: a neck narrower than the body.
    Necked {
        /// Diameter of the neck.
        mouth: Length,
        /// Greatest diameter.
        body: Length,
        /// What it holds to the brim.
        volume: Volume,
    },
}

impl Shape {
    /// Diameter of the mouth.
    pub fn mouth(&self) -> Length {
        match *self {
            Self::Cylinder { mouth, .. }
            | Self::Bowl { mouth, .. }
            | Self::Cone { mouth, .. }
            | Self::Necked { mouth, .. } => mouth,
        }
    }

    /// Open area of the mouth.
    pub fn mouth_area(&self) -> Area {
        disc(self.mouth())
    }

    /// Area of the widest level section.
    pub fn widest_area(&self) -> Area {
        match *self {
            Self::Necked { body, .. } => disc(body),
            Self::Cone { mouth, base, .. } => disc(if base > mouth { base } else { mouth }),
            Self::Cylinder { mouth, .. } | Self::Bowl { mouth, .. } => disc(mouth),
        }
    }

    /// Depth to the rim; for a necked vessel that of a cylinder of its body and volume.
    pub fn depth(&self) -> Length {
        match *self {
            Self::Cylinder { depth, .. } | Self::Bowl { depth, .. } | Self::Cone { depth, .. } => {
                depth
            }
            Self::Necked { body, volume, .. } => volume / disc(body),
        }
    }

    /// Volume to the brim.
    pub fn brimful(&self) -> Volume {
        match *self {
            Self::Necked { volume, .. } => volume,
            _ => Volume::new::<cubic_meter>(self.volume_at(self.depth().get::<meter>())),
        }
    }

    /// Depth at which `volume` stands; the full depth if it does not fit.
    pub fn depth_of(&self, volume: Volume) -> Length {
        let full = self.depth().get::<meter>();
        let wanted = volume.get::<cubic_meter>();
        if wanted <= 0.0 {
            return Length::new::<meter>(0.0);
        }
        if wanted >= self.volume_at(full) {
            return self.depth();
        }
        // volume_at rises with depth, so halving always closes in; 60 halvings reach rounding
        let (mut low, mut high) = (0.0, full);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.volume_at(middle) < wanted {
                low = middle
            } else {
                high = middle
            }
        }
        Length::new::<meter>(0.5 * (low + high))
    }

    /// Volume below a height above the floor; `None` above the rim.
    pub fn volume_below(&self, height: Length) -> Option<Volume> {
        let volume = || Volume::new::<cubic_meter>(self.volume_at(height.get::<meter>()));
        (height <= self.depth()).then(volume)
    }

    /// Inner wall and bottom up to the rim.
    pub fn inner_area(&self) -> Area {
        self.area_below(self.depth().get::<meter>())
    }

    /// Inner wall and bottom that `volume` covers; all of it if the volume does not fit.
    pub fn wetted_area(&self, volume: Volume) -> Area {
        self.area_below(self.depth_of(volume).get::<meter>())
    }

    /// Free surface of `volume`; that of the rim if it does not fit.
    pub fn free_surface(&self, volume: Volume) -> Area {
        let x = self.depth_of(volume).get::<meter>();
        let radius = match *self {
            Self::Cylinder { mouth, .. } | Self::Necked { body: mouth, .. } => {
                0.5 * mouth.get::<meter>()
            }
            Self::Bowl { mouth, depth } => {
                let (a, h) = (0.5 * mouth.get::<meter>(), depth.get::<meter>());
                (x * ((a * a + h * h) / h - x)).max(0.0).sqrt()
            }
            Self::Cone { mouth, base, depth } => {
                let (r1, r2) = (0.5 * mouth.get::<meter>(), 0.5 * base.get::<meter>());
                r2 + (r1 - r2) * x / depth.get::<meter>()
            }
        };
        Area::new::<square_meter>(PI * radius * radius)
    }

    /// Flat bottom that can stand on a plate; zero for a round one.
    pub fn flat_bottom(&self) -> Area {
        match *self {
            Self::Cylinder { mouth, .. } | Self::Necked { body: mouth, .. } => disc(mouth),
            Self::Bowl { .. } => Area::new::<square_meter>(0.0),
            Self::Cone { base, .. } => disc(base),
        }
    }

    /// Radius of curvature of a round bottom; none for a flat one.
    pub fn bottom_curvature(&self) -> Option<Length> {
        match *self {
            Self::Bowl { mouth, depth } => {
                let a = 0.5 * mouth;
                Some((a * a + depth * depth) / (2.0 * depth))
            }
            _ => None,
        }
    }

    /// Inner wall and bottom up to the depth `x`, in m.
    fn area_below(&self, x: f64) -> Area {
        let area = match *self {
            Self::Cylinder { mouth, .. } | Self::Necked { body: mouth, .. } => {
                let d = mouth.get::<meter>();
                PI * d * x + PI / 4.0 * d * d
            }
            Self::Bowl { mouth, depth } => {
                // a spherical cap of height x has the area 2 π R x
                let (a, h) = (0.5 * mouth.get::<meter>(), depth.get::<meter>());
                PI * (a * a + h * h) / h * x
            }
            Self::Cone { mouth, base, depth } => {
                let (r1, r2) = (0.5 * mouth.get::<meter>(), 0.5 * base.get::<meter>());
                let r = r2 + (r1 - r2) * x / depth.get::<meter>();
                PI * (r + r2) * x.hypot(r - r2) + PI * r2 * r2
            }
        };
        Area::new::<square_meter>(area)
    }

    /// Volume under the depth `x`, in m³.
    fn volume_at(&self, x: f64) -> f64 {
        match *self {
            Self::Cylinder { mouth, .. } | Self::Necked { body: mouth, .. } => {
                PI / 4.0 * mouth.get::<meter>().powi(2) * x
            }
            Self::Bowl { mouth, depth } => {
                let (a, h) = (0.5 * mouth.get::<meter>(), depth.get::<meter>());
                let radius = (a * a + h * h) / (2.0 * h);
                PI * x * x * (radius - x / 3.0)
            }
            Self::Cone { mouth, base, depth } => {
                let (r1, r2) = (0.5 * mouth.get::<meter>(), 0.5 * base.get::<meter>());
                let r = r2 + (r1 - r2) * x / depth.get::<meter>();
                PI / 3.0 * x * (r2 * r2 + r2 * r + r * r)
            }
        }
    }
}

fn disc(diameter: Length) -> Area {
    diameter * diameter * (PI / 4.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::{milliliter, millimeter};
    use approx::assert_relative_eq;

    fn mm(x: f64) -> Length {
        Length::new::<millimeter>(x)
    }

    #[test]
    fn a_half_sphere_holds_two_thirds_of_its_cylinder() {
        let bowl = Shape::Bowl {
            mouth: mm(100.0),
            depth: mm(50.0),
        };
        let cylinder = Shape::Cylinder {
            mouth: mm(100.0),
            depth: mm(50.0),
        };
        let ratio = bowl.brimful() / cylinder.brimful();
        assert_relative_eq!(ratio.value, 2.0 / 3.0, max_relative = 1e-12);
        assert_relative_eq!(
            bowl.inner_area().value,
            2.0 * PI * 0.05 * 0.05,
            max_relative = 1e-12
        );
    }

    #[test]
    fn a_half_full_half_sphere_has_the_surface_of_its_chord() {
        let bowl = Shape::Bowl {
            mouth: mm(100.0),
            depth: mm(50.0),
        };
        // At half the radius the chord's half width is R √3/2, the cap holds 5/16 of the half sphere.
        let volume = bowl.brimful() * (5.0 / 16.0);
        let surface = bowl.free_surface(volume);
        assert_relative_eq!(surface.value, PI * 0.75 * 0.05 * 0.05, max_relative = 1e-9);
        assert_relative_eq!(
            bowl.bottom_curvature().unwrap().value,
            0.05,
            max_relative = 1e-12
        );
        assert!(bowl.flat_bottom().value.abs() < 1e-15);
    }

    #[test]
    fn a_cone_with_equal_ends_is_a_cylinder() {
        let cone = Shape::Cone {
            mouth: mm(40.0),
            base: mm(40.0),
            depth: mm(30.0),
        };
        let cylinder = Shape::Cylinder {
            mouth: mm(40.0),
            depth: mm(30.0),
        };
        assert_relative_eq!(
            cone.brimful().get::<milliliter>(),
            cylinder.brimful().get::<milliliter>(),
            max_relative = 1e-12
        );
        assert_relative_eq!(cone.inner_area().value, cylinder.inner_area().value);
    }

    #[test]
    fn the_depth_of_a_volume_gives_the_volume_back() {
        let shapes = [
            Shape::Cylinder {
                mouth: mm(66.0),
                depth: mm(92.0),
            },
            Shape::Bowl {
                mouth: mm(120.0),
                depth: mm(45.0),
            },
            Shape::Cone {
                mouth: mm(60.0),
                base: mm(30.0),
                depth: mm(50.0),
            },
        ];
        for shape in shapes {
            for share in [0.01, 0.3, 0.9] {
                let volume = shape.brimful() * share;
                let depth = shape.depth_of(volume).get::<meter>();
                assert_relative_eq!(shape.volume_at(depth), volume.value, max_relative = 1e-9);
            }
            assert_eq!(shape.depth_of(shape.brimful() * 2.0), shape.depth());
        }
    }
}
