//! Colours: CIE L*a*b*, colour differences, and a swatch on a screen.
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

    /// Colour difference ΔE*ab (CIE 1976): the distance in L*a*b*.
    pub fn difference_1976(self, other: Self) -> f64 {
        self.palette().distance(other.palette())
    }

    /// Colour difference ΔE00 (CIEDE2000). About 1 is just seen side by side, common practice.
    pub fn difference_2000(self, other: Self) -> f64 {
        self.palette().difference(other.palette())
    }

    /// The nearest colour of a usual screen as 8-bit sRGB; an impression, since a screen shows
    /// less than a powder can be.
    pub fn srgb(self) -> [u8; 3] {
        let rgb: Srgb<f64> = self.palette().into_color();
        let byte = |x: f64| (x.clamp(0.0, 1.0) * 255.0).round() as u8;
        [byte(rgb.red), byte(rgb.green), byte(rgb.blue)]
    }
}

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
}
