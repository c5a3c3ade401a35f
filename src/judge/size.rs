//! Sizes: crystallites from diffraction widths, spheres from the surface area, foam density.

use crate::batch::{Diffraction, Peak};
use crate::quantity::units::{meter, radian, ratio};
use crate::quantity::{Angle, Band, Length, Mass, MassDensity, Ratio, SpecificArea, Volume};

/// Scherrer constant K for the full width at half maximum: 0.89 for spheres, 0.94 for cubes
/// (A. L. Patterson, Phys. Rev. 56 (1939) 978, from memory); the band spans them.
const SHAPE: (f64, f64) = (0.89, 0.94);

/// Size of crystallites along one diffraction vector, from one peak's width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crystallite {
    pub peak: Peak,
    /// Size with the usual spread: K from 0.89 to 0.94, and the instrument's width taken off as
    /// if both were Gaussian or both Lorentzian. All broadening counts as size, so strain makes
    /// the true size larger.
    pub size: Band<Length>,
}

/// Size and strain from a straight line through at least three peaks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeAndStrain {
    /// Size, K = 0.9; `None` if the line meets the axis at or below zero (no size broadening).
    pub size: Option<Length>,
    /// Microstrain ε = Δd/d; 0 if the slope is not positive.
    pub strain: Ratio,
}

/// Crystallite size D = K λ / (β cos θ) of each peak that is wider than the instrument makes it.
/// P. Scherrer, Nachr. Ges. Wiss. Göttingen (1918) 98, from memory.
pub fn crystallites(diffraction: &Diffraction) -> Vec<Crystallite> {
    let size = |peak: &Peak| {
        let (gaussian, lorentzian) = own_widths(peak.width, diffraction.instrument_width)?;
        let theta = peak.two_theta.get::<radian>() / 2.0;
        let length =
            |shape: f64, width: f64| diffraction.wavelength * (shape / (width * theta.cos()));
        // Squares take less off than the plain difference, so the Gaussian width is the larger.
        let size = Band::between(length(SHAPE.0, gaussian), length(SHAPE.1, lorentzian));
        Some(Crystallite { peak: *peak, size })
    };
    diffraction.peaks.iter().filter_map(size).collect()
}

/// Peaks no wider than the instrument makes them.
pub fn narrow_peaks(diffraction: &Diffraction) -> Vec<Peak> {
    let narrow = |peak: &&Peak| own_widths(peak.width, diffraction.instrument_width).is_none();
    diffraction.peaks.iter().filter(narrow).copied().collect()
}

/// Width due to the powder in radians, Gaussian and Lorentzian.
fn own_widths(width: Angle, instrument: Option<Angle>) -> Option<(f64, f64)> {
    let width = width.get::<radian>();
    let instrument = instrument.map_or(0.0, |w| w.get::<radian>());
    (width > instrument).then(|| {
        let difference = width - instrument;
        ((difference * (width + instrument)).sqrt(), difference)
    })
}

/// Least-squares line of β cos θ = K λ/D + 4 ε sin θ (G. K. Williamson and W. H. Hall, Acta
/// Metall. 1 (1953) 22, from memory) through the Gaussian widths; `None` for fewer than three
/// peaks or peaks at one angle.
pub fn size_and_strain(diffraction: &Diffraction) -> Option<SizeAndStrain> {
    let points: Vec<(f64, f64)> = diffraction
        .peaks
        .iter()
        .filter_map(|peak| {
            let (width, _) = own_widths(peak.width, diffraction.instrument_width)?;
            let theta = peak.two_theta.get::<radian>() / 2.0;
            Some((4.0 * theta.sin(), width * theta.cos()))
        })
        .collect();
    if points.len() < 3 {
        return None;
    }
    let n = points.len() as f64;
    let mean_x = points.iter().map(|p| p.0).sum::<f64>() / n;
    let mean_y = points.iter().map(|p| p.1).sum::<f64>() / n;
    let spread: f64 = points.iter().map(|p| (p.0 - mean_x).powi(2)).sum();
    let covariance: f64 = points.iter().map(|p| (p.0 - mean_x) * (p.1 - mean_y)).sum();
    if spread < 1e-6 {
        return None;
    }
    // A falling line means that no strain is seen; the mean then holds the size.
    let strain = (covariance / spread).max(0.0);
    let intercept = mean_y - strain * mean_x;
    Some(SizeAndStrain {
        size: (intercept > 0.0).then(|| diffraction.wavelength * (0.9 / intercept)),
        strain: Ratio::new::<ratio>(strain),
    })
}

/// Diameter of equal dense spheres with the specific surface area, d = 6/(ρ S). Pores inside the
/// grains make the true grains larger.
pub fn equivalent_diameter(area: SpecificArea, density: MassDensity) -> Length {
    let length = 6.0 / (density * area);
    Length::new::<meter>(length.value)
}

/// Apparent density of the foam.
pub fn foam_density(powder: Mass, foam: Volume) -> MassDensity {
    powder / foam
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::{
        degree, gram_per_cubic_centimeter, nanometer, square_meter_per_gram,
    };
    use approx::assert_relative_eq;

    fn diffraction(size_nm: f64, strain: f64, instrument: Option<f64>) -> Diffraction {
        let wavelength = 0.154_06;
        let peak = |two_theta: f64| {
            let theta = (two_theta / 2.0).to_radians();
            let own = 0.9 * wavelength / (size_nm * theta.cos()) + 4.0 * strain * theta.tan();
            let width = own.hypot(instrument.unwrap_or(0.0).to_radians());
            Peak {
                two_theta: Angle::new::<degree>(two_theta),
                width: Angle::new::<radian>(width),
            }
        };
        Diffraction {
            wavelength: Length::new::<nanometer>(wavelength),
            instrument_width: instrument.map(Angle::new::<degree>),
            peaks: [31.3, 36.8, 44.8, 59.3, 65.2].map(peak).to_vec(),
        }
    }

    #[test]
    fn widths_made_from_a_size_give_it_back() {
        for found in crystallites(&diffraction(20.0, 0.0, Some(0.1))) {
            let (low, high) = (
                found.size.low.get::<nanometer>(),
                found.size.high.get::<nanometer>(),
            );
            // K of 0.89 instead of 0.9 and the Gaussian width: the low end is 20 · 0.89/0.9.
            assert_relative_eq!(low, 20.0 * 0.89 / 0.9, max_relative = 1e-9);
            assert!(high > 20.0);
        }
    }

    #[test]
    fn the_line_separates_size_from_strain() {
        let found = size_and_strain(&diffraction(35.0, 1.5e-3, None)).unwrap();
        assert_relative_eq!(
            found.size.unwrap().get::<nanometer>(),
            35.0,
            max_relative = 1e-9
        );
        assert_relative_eq!(found.strain.get::<ratio>(), 1.5e-3, max_relative = 1e-9);
    }

    #[test]
    fn strain_counted_as_size_makes_the_size_small() {
        let strained = crystallites(&diffraction(35.0, 1.5e-3, None));
        assert!(
            strained
                .iter()
                .all(|c| c.size.high.get::<nanometer>() < 35.0)
        );
    }

    #[test]
    fn a_peak_as_narrow_as_the_instrument_has_no_size() {
        let mut peaks = diffraction(20.0, 0.0, None);
        peaks.instrument_width = Some(Angle::new::<degree>(5.0));
        assert!(crystallites(&peaks).is_empty());
        assert_eq!(narrow_peaks(&peaks).len(), 5);
    }

    #[test]
    fn spheres_of_100_nm_have_the_area_of_their_formula() {
        let density = MassDensity::new::<gram_per_cubic_centimeter>(5.0);
        // S = 6/(ρ d) = 6/(5000 kg/m3 × 1e-7 m) = 12 000 m2/kg.
        let area = SpecificArea::new::<square_meter_per_gram>(12.0);
        let d = equivalent_diameter(area, density).get::<nanometer>();
        assert_relative_eq!(d, 100.0, max_relative = 1e-12);
    }
}
