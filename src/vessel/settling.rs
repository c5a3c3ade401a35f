//! How fast powder falls in hot gas: Stokes' law with the drag correlation of Schiller and
//! Naumann. Plain `f64` in SI inside.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | `re` | Reynolds number of the particle, ρ v d / μ | 1 |
//! | `ar` | Archimedes number, g d³ ρ (ρ_p − ρ) / μ² | 1 |
//!
//! At the terminal velocity the weight equals the drag: C_D Re² = (4/3) Ar.

use crate::quantity::DynamicViscosity;
use crate::quantity::units::{
    kelvin, kelvins, kilogram_per_cubic_meter, kilogram_per_mole, meter, meter_per_second, pascal,
    pascal_second,
};
use crate::quantity::{
    GAS_CONSTANT, Length, MassDensity, MolarMass, Pressure, ThermodynamicTemperature, Velocity,
};
use crate::tables::vessels::VesselAssumptions;
use roots::{SimpleConvergency, find_root_brent};

/// Standard acceleration of free fall, m/s² (exact by definition, 3rd CGPM 1901).
const FREE_FALL: f64 = 9.806_65;
/// Where the correlation hands over to the constant of the turbulent range (Schiller & Naumann).
const TURBULENT_FROM: f64 = 1000.0;
/// Drag coefficient of the turbulent range, Re 1000 to 2·10⁵ (Newton's range; from memory).
const TURBULENT_DRAG: f64 = 0.44;
/// Temperature of the tabulated viscosity of air, K (0 °C).
const VISCOSITY_AT: f64 = 273.15;

/// A gas that powder falls through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Medium {
    /// Density.
    pub density: MassDensity,
    /// Dynamic viscosity.
    pub viscosity: DynamicViscosity,
}

impl Medium {
    /// Gas of the molar mass `molar_mass` as an ideal gas with the viscosity of air by
    /// Sutherland's formula, μ = μ₀ (T/T₀)^1.5 (T₀ + S)/(T + S).
    pub fn hot_gas(
        temperature: ThermodynamicTemperature,
        pressure: Pressure,
        molar_mass: MolarMass,
        assumed: &VesselAssumptions,
    ) -> Self {
        let t = temperature.get::<kelvin>();
        let s = assumed.sutherland_temperature.value.get::<kelvins>();
        let mu0 = assumed.air_viscosity.value.get::<pascal_second>();
        let mu = mu0 * (t / VISCOSITY_AT).powf(1.5) * (VISCOSITY_AT + s) / (t + s);
        let rho =
            pressure.get::<pascal>() * molar_mass.get::<kilogram_per_mole>() / (GAS_CONSTANT * t);
        Self {
            density: MassDensity::new::<kilogram_per_cubic_meter>(rho),
            viscosity: DynamicViscosity::new::<pascal_second>(mu),
        }
    }
}

/// Drag coefficient of a sphere, C_D = 24/Re (1 + 0.15 Re^0.687) up to Re 1000, 0.44 beyond.
///
/// Source: Schiller & Naumann 1933 (correlation from memory).
fn drag_coefficient(re: f64) -> f64 {
    if re >= TURBULENT_FROM {
        return TURBULENT_DRAG;
    }
    24.0 / re * (1.0 + 0.15 * re.powf(0.687))
}

/// Terminal velocity of a sphere of `diameter` and `density` falling in `medium`.
///
/// An agglomerate counts as a sphere of its outer diameter and effective density. Zero for one
/// that is lighter than the gas.
pub fn terminal_velocity(diameter: Length, density: MassDensity, medium: &Medium) -> Velocity {
    let d = diameter.get::<meter>();
    let rho = medium.density.get::<kilogram_per_cubic_meter>();
    let mu = medium.viscosity.get::<pascal_second>();
    let excess = density.get::<kilogram_per_cubic_meter>() - rho;
    let ar = FREE_FALL * d.powi(3) * rho * excess / (mu * mu);
    if !(ar > 0.0 && ar.is_finite()) {
        return Velocity::new::<meter_per_second>(0.0);
    }
    // Stokes, C_D = 24/Re, is the fastest that drag allows: it bounds the root from above
    let stokes = ar / 18.0;
    let balance = |re: f64| drag_coefficient(re) * re * re - 4.0 / 3.0 * ar;
    let mut converged = SimpleConvergency {
        eps: stokes * 1e-13,
        max_iter: 200,
    };
    // the bracket holds: hardly any drag at the lower end, more than the weight at the Stokes
    // value but for rounding, and then that value is the answer
    let re = find_root_brent(stokes * 1e-6, stokes, balance, &mut converged).unwrap_or(stokes);
    Velocity::new::<meter_per_second>(re * mu / (rho * d))
}

/// Diameter of the sphere of `density` that just falls at `velocity` in `medium`; larger ones
/// fall faster.
pub fn diameter_falling_at(velocity: Velocity, density: MassDensity, medium: &Medium) -> Length {
    let falls = |d: f64| terminal_velocity(Length::new::<meter>(d), density, medium);
    // from far below any powder to 1 m; halving on the logarithm, 80 steps reach rounding
    let (mut low, mut high) = (1e-9_f64.ln(), 0.0_f64);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if falls(middle.exp()) < velocity {
            low = middle
        } else {
            high = middle
        }
    }
    Length::new::<meter>((0.5 * (low + high)).exp())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::{micrometer, millimeter};
    use approx::assert_relative_eq;
    use std::f64::consts::PI;

    fn medium(rho: f64, mu: f64) -> Medium {
        Medium {
            density: MassDensity::new::<kilogram_per_cubic_meter>(rho),
            viscosity: DynamicViscosity::new::<pascal_second>(mu),
        }
    }

    fn falls(d: Length, density: f64, medium: &Medium) -> f64 {
        let density = MassDensity::new::<kilogram_per_cubic_meter>(density);
        terminal_velocity(d, density, medium).get::<meter_per_second>()
    }

    #[test]
    fn fine_powder_falls_by_stokes_law() {
        let air = medium(1.2, 1.8e-5);
        let stokes = FREE_FALL * 1e-10 * (300.0 - 1.2) / (18.0 * 1.8e-5);
        let v = falls(Length::new::<micrometer>(10.0), 300.0, &air);
        // Re is 6e-4, where the correlation adds 0.15 Re^0.687 = 0.1 %
        assert_relative_eq!(v, stokes, max_relative = 2e-3);
    }

    #[test]
    fn the_drag_is_continuous_where_the_ranges_meet() {
        // the published constants themselves leave half a per cent
        assert_relative_eq!(drag_coefficient(999.999), 0.44, max_relative = 0.01);
    }

    #[test]
    fn a_coal_particle_in_water_settles_as_in_the_textbook_problem() {
        // Cutlip & Shacham, A collection of 10 numerical problems in chemical engineering (1997),
        // problem 5a: d = 0.208 mm, 1800 kg/m3 in water at 298.15 K (994.6 kg/m3, 8.931e-4 Pa s);
        // answer 0.0157816 m/s (from memory) with the drag C_D = 24/Re (1 + 0.14 Re^0.7), whose
        // constants (read in the problem's file) differ from ours by some per cent at Re 3.7
        let water = medium(994.6, 8.931e-4);
        let v = falls(Length::new::<millimeter>(0.208), 1800.0, &water);
        assert_relative_eq!(v, 0.015_781_6, max_relative = 0.03);
    }

    #[test]
    fn the_weight_equals_the_drag() {
        let gas = medium(0.24, 5.5e-5);
        for um in [1.0, 30.0, 300.0, 3000.0, 30_000.0] {
            let d = Length::new::<micrometer>(um);
            let v = falls(d, 2000.0, &gas);
            let d = d.get::<meter>();
            let re = 0.24 * v * d / 5.5e-5;
            let drag = drag_coefficient(re) * 0.12 * v * v * PI / 4.0 * d * d;
            let weight = PI / 6.0 * d.powi(3) * (2000.0 - 0.24) * FREE_FALL;
            // at the hand-over to 0.44 the drag jumps by 0.4 %
            assert_relative_eq!(drag, weight, max_relative = 5e-3);
        }
    }

    #[test]
    fn the_diameter_gives_the_velocity_back() {
        let gas = medium(0.24, 5.5e-5);
        let density = MassDensity::new::<kilogram_per_cubic_meter>(100.0);
        let velocity = Velocity::new::<meter_per_second>(0.5);
        let d = diameter_falling_at(velocity, density, &gas);
        let back = terminal_velocity(d, density, &gas).get::<meter_per_second>();
        assert_relative_eq!(back, 0.5, max_relative = 1e-6);
    }

    #[test]
    fn what_is_lighter_than_the_gas_does_not_fall() {
        let v = falls(Length::new::<micrometer>(10.0), 0.1, &medium(1.2, 1.8e-5));
        assert!(v.abs() < f64::MIN_POSITIVE);
    }
}
