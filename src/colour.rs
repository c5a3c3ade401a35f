//! Colours: CIE L*a*b*, colour differences, names, and a swatch on a screen.
//!
//! L*a*b* is taken for the 2° observer and illuminant D65, as most powder colorimeters give it.
//! Conversions and ΔE are those of the crate `palette` (CIE 15:2018; ΔE00 after Sharma, Wu and
//! Dalal, Color Research and Application 30 (2005) 21).

pub(crate) mod light;

pub use light::{EmissionBand, Tristimulus};

use palette::color_difference::{Ciede2000, EuclideanDistance};
use palette::white_point::D65;
use palette::{IntoColor, Srgb};

/// A colour as CIE L*a*b*, 2° observer, illuminant D65.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab {
    /// Lightness L*, 0 (black) to 100 (white).
    pub lightness: f64,
    /// a*: green below 0, red above.
    pub a: f64,
    /// b*: blue below 0, yellow above.
    pub b: f64,
}

impl Lab {
    fn palette(self) -> palette::Lab<D65, f64> {
        palette::Lab::new(self.lightness, self.a, self.b)
    }

    /// Chroma C*ab.
    #[must_use]
    fn chroma(self) -> f64 {
        self.a.hypot(self.b)
    }

    /// Colour difference ΔE*ab (CIE 1976): the distance in L*a*b*.
    #[must_use]
    pub fn difference_1976(self, other: Self) -> f64 {
        self.palette().distance(other.palette())
    }

    /// Colour difference ΔE00 (CIEDE2000). About 1 is just seen side by side, common practice.
    #[must_use]
    pub fn difference_2000(self, other: Self) -> f64 {
        self.palette().difference(other.palette())
    }

    /// The nearest colour of a usual screen as 8-bit sRGB; an impression, since a screen shows
    /// less than a powder can be.
    #[must_use]
    pub fn srgb(self) -> [u8; 3] {
        let rgb: Srgb<f64> = self.palette().into_color();
        let byte = |x: f64| (x.clamp(0.0, 1.0) * 255.0).round() as u8;
        [byte(rgb.red), byte(rgb.green), byte(rgb.blue)]
    }

    /// A name in plain words, such as "pale blue": hue in twelve sectors, with lightness and
    /// chroma as adjectives. The sectors are our own.
    #[must_use]
    pub fn name(self) -> String {
        let chroma = self.chroma();
        if chroma < 5.0 {
            let grey = [
                (15.0, "black"),
                (40.0, "dark grey"),
                (70.0, "grey"),
                (90.0, "light grey"),
            ];
            let name = grey.iter().find(|(below, _)| self.lightness < *below);
            return name.map_or("white", |(_, name)| name).to_owned();
        }
        let hue = self.b.atan2(self.a).to_degrees().rem_euclid(360.0);
        let hue = HUES
            .iter()
            .find(|(below, _)| hue < *below)
            .map_or(HUES[0].1, |(_, name)| name);
        let hue = if hue == "orange" && self.lightness < 45.0 {
            "brown"
        } else {
            hue
        };
        let shade = match (self.lightness, chroma) {
            (l, c) if l > 75.0 && c < 35.0 => "pale ",
            (l, _) if l < 30.0 => "dark ",
            (_, c) if c < 15.0 => "greyish ",
            (_, c) if c > 60.0 => "strong ",
            _ => "",
        };
        format!("{shade}{hue}")
    }
}

/// Upper ends of the hue sectors in degrees of the a*b* plane.
const HUES: [(f64, &str); 12] = [
    (20.0, "pink"),
    (45.0, "red"),
    (70.0, "orange"),
    (100.0, "yellow"),
    (125.0, "yellow-green"),
    (165.0, "green"),
    (195.0, "blue-green"),
    (230.0, "turquoise"),
    (265.0, "sky blue"),
    (295.0, "blue"),
    (325.0, "violet"),
    (360.0, "purple"),
];

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn lab(lightness: f64, a: f64, b: f64) -> Lab {
        Lab { lightness, a, b }
    }

    #[test]
    fn white_and_black_are_the_ends_of_the_screen() {
        assert_eq!(lab(100.0, 0.0, 0.0).srgb(), [255, 255, 255]);
        assert_eq!(lab(0.0, 0.0, 0.0).srgb(), [0, 0, 0]);
    }

    #[test]
    fn a_difference_along_one_axis_is_its_length() {
        assert_relative_eq!(
            lab(50.0, 3.0, 4.0).difference_1976(lab(50.0, 0.0, 0.0)),
            5.0
        );
        assert_relative_eq!(
            lab(50.0, 3.0, 4.0).difference_2000(lab(50.0, 3.0, 4.0)),
            0.0
        );
    }

    #[test]
    fn names_follow_hue_lightness_and_chroma() {
        assert_eq!(lab(98.0, 0.2, 1.0).name(), "white");
        assert_eq!(lab(40.0, 5.0, -45.0).name(), "blue");
        assert_eq!(lab(50.0, -30.0, 12.0).name(), "green");
        assert_eq!(lab(35.0, 15.0, 20.0).name(), "brown");
        assert_eq!(lab(85.0, -3.0, -14.0).name(), "pale sky blue");
    }
}
