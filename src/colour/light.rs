//! The colour of emitted light: bands → CIE 1931 X, Y, Z → x, y and a screen.

use palette::convert::IntoColorUnclamped;
use palette::white_point::D65;
use palette::{IntoColor, Srgb};

/// A band that is Gaussian in photon energy, as vibrations make it; its width is told in wavelength at
/// the peak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EmissionBand {
    /// Peak in nm.
    pub peak: f64,
    /// Full width at half maximum in nm.
    pub width: f64,
    /// Height against the other bands.
    pub weight: f64,
}

impl EmissionBand {
    /// Spectral power at a wavelength in nm.
    fn power(&self, wavelength: f64) -> f64 {
        let away = (1.0 / wavelength - 1.0 / self.peak) * self.peak * self.peak / self.width;
        self.weight * (-4.0 * std::f64::consts::LN_2 * away * away).exp()
    }
}

/// Tristimulus values of a light, to a common factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tristimulus {
    /// X.
    pub x: f64,
    /// Y, the luminance.
    pub y: f64,
    /// Z.
    pub z: f64,
}

/// Steps of one nanometre between the rows of the observer, so that narrow lines are not missed.
const FINE: f64 = 1.0;

impl Tristimulus {
    /// Of a spectrum of power by wavelength in nm; `observer` are rows of wavelength, x̄, ȳ, z̄ with
    /// rising wavelength, linear in between.
    pub fn of(observer: &[[f64; 4]], power: impl Fn(f64) -> f64) -> Self {
        let mut sum = [0.0; 3];
        for pair in observer.windows(2) {
            let [from, to] = [pair[0], pair[1]];
            let steps = ((to[0] - from[0]) / FINE).round().max(1.0);
            for step in 0..steps as usize {
                let share = (step as f64 + 0.5) / steps;
                let at = |i: usize| from[i] + share * (to[i] - from[i]);
                let power = power(at(0)) * (to[0] - from[0]) / steps;
                for (i, sum) in sum.iter_mut().enumerate() {
                    *sum += power * at(i + 1);
                }
            }
        }
        let [x, y, z] = sum;
        Self { x, y, z }
    }

    /// Of Gaussian bands.
    pub fn of_bands(observer: &[[f64; 4]], bands: &[EmissionBand]) -> Self {
        Self::of(observer, |wavelength| {
            bands.iter().map(|band| band.power(wavelength)).sum()
        })
    }

    /// Chromaticity x, y; `None` of no light.
    pub fn chromaticity(self) -> Option<(f64, f64)> {
        let sum = self.x + self.y + self.z;
        (sum > 0.0).then(|| (self.x / sum, self.y / sum))
    }

    /// The light on a screen as 8-bit sRGB, as bright as it goes; what a screen cannot show is
    /// moved to its edge. An impression.
    pub fn srgb(self) -> [u8; 3] {
        let scale = if self.y > 0.0 { 1.0 / self.y } else { 0.0 };
        let xyz = palette::Xyz::<D65, f64>::new(scale * self.x, scale * self.y, scale * self.z);
        let linear: palette::LinSrgb<f64> = xyz.into_color_unclamped();
        let top = linear.red.max(linear.green).max(linear.blue);
        if top <= 0.0 {
            return [0, 0, 0];
        }
        let part = |x: f64| (x / top).max(0.0);
        let linear = palette::LinSrgb::new(part(linear.red), part(linear.green), part(linear.blue));
        let rgb: Srgb<f64> = linear.into_color();
        let byte = |x: f64| (x.clamp(0.0, 1.0) * 255.0).round() as u8;
        [byte(rgb.red), byte(rgb.green), byte(rgb.blue)]
    }
}
