//! Microwave heating: how much of the oven's power a load takes, and where in the layer.
//!
//! Symbols, coherent SI: λ0 free wavelength, ε' and ε'' relative permittivity and loss factor,
//! ω = 2πf, σ conductivity, D depth in which the power falls to 1/e, y dry mass fraction.
//!
//! Equations: ε'' = ε''_dipole + σ/(ε0 ω) (V. Komarov, S. Wang, J. Tang, Permittivity and
//! measurements, Encyclopedia of RF and Microwave Engineering, 2005); one-term Debye form of
//! water; D = λ0 / (2π √(2ε')) · (√(1 + (ε''/ε')²) − 1)^(−1/2); Lambert's law for the profile.
//! Lambert's law forgets reflections at the far face; it holds for layers thicker than about
//! 2.7 D (K. G. Ayappa et al., Chem. Eng. Sci. 46 (1991) 1005, from memory). In thinner layers
//! the power is more even than it says, standing waves apart.

use std::f64::consts::TAU;

/// Speed of light, m/s (exact, SI).
const LIGHT_SPEED: f64 = 299_792_458.0;
/// Electric constant ε0, F/m (CODATA 2018).
const ELECTRIC_CONSTANT: f64 = 8.854_187_812_8e-12;

/// Dielectric properties of the charge, as a function of water content and temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Dielectric {
    /// Frequency, Hz.
    pub frequency: f64,
    /// Static permittivity of water at 25 °C.
    pub water_static: f64,
    /// Its relative fall per kelvin (ln ε_s falls linearly), 1/K.
    pub water_static_fall: f64,
    /// High-frequency permittivity of water.
    pub water_infinite: f64,
    /// Debye relaxation time of water at 25 °C, s.
    pub water_relaxation: f64,
    /// Activation temperature of the relaxation time, τ ∝ exp(θ/T), K.
    pub relaxation_activation: f64,
    /// Largest ionic conductivity of the solution at 25 °C, S/m, met at half dry mass.
    pub peak_conductivity: f64,
    /// Relative rise of the conductivity per kelvin.
    pub conductivity_rise: f64,
    /// Permittivity of the dry gel.
    pub gel_permittivity: f64,
    /// Loss factor of the dry, hot gel (ionic melt).
    pub gel_loss: f64,
}

impl Dielectric {
    /// ε' and ε'' at dry mass fraction `y` and temperature `t` (K).
    fn permittivity(&self, y: f64, t: f64) -> (f64, f64) {
        let dt = t - crate::quantity::REFERENCE_TEMPERATURE;
        let fixed = self.water_static * (-self.water_static_fall * dt).exp();
        let tau = self.water_relaxation
            * (self.relaxation_activation
                * (1.0 / t - 1.0 / crate::quantity::REFERENCE_TEMPERATURE))
                .exp();
        let x = TAU * self.frequency * tau;
        let strength = (fixed - self.water_infinite) / (1.0 + x * x);
        let water = 1.0 - y;
        let real = water * (self.water_infinite + strength) + y * self.gel_permittivity;
        let ionic =
            self.peak_conductivity * 4.0 * y * water * (1.0 + self.conductivity_rise * dt).max(0.0)
                / (ELECTRIC_CONSTANT * TAU * self.frequency);
        (real, water * strength * x + ionic + y * self.gel_loss)
    }

    /// Depth (m) in which the power falls to 1/e.
    pub fn penetration_depth(&self, y: f64, t: f64) -> f64 {
        let (real, loss) = self.permittivity(y, t);
        penetration_depth(self.frequency, real, loss)
    }
}

/// Depth (m) in which the power of a plane wave falls to 1/e; infinite without loss.
pub fn penetration_depth(frequency: f64, real: f64, loss: f64) -> f64 {
    let ratio = loss / real;
    // √(1 + x²) − 1 = x² / (√(1 + x²) + 1), without cancellation for small x.
    let bracket = ratio * ratio / ((1.0 + ratio * ratio).sqrt() + 1.0);
    LIGHT_SPEED / (TAU * frequency * (2.0 * real * bracket).sqrt())
}

/// A microwave oven as the charge meets it; coherent SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct Oven {
    /// Output into one litre of water, W.
    pub power: f64,
    /// Share of the time the magnetron is on, 0 to 1.
    pub duty: f64,
    /// Length of an on–off cycle, s; zero for an oven that turns its power down instead.
    pub cycle: f64,
    /// Start delay of the cold magnetron, s.
    pub start_delay: f64,
    /// Share of the one-litre output that smaller loads take: (volume in m³, share), rising.
    pub load_shares: Vec<(f64, f64)>,
    /// Factor on the shares from the user's own water test at the volume of the batch.
    pub load_factor: f64,
    /// Volume of water that one volume of dry gel is worth as a load.
    pub gel_load: f64,
    /// Share of the power that enters through the top face; the rest enters from below.
    pub top_share: f64,
    /// Dielectric properties of the charge.
    pub dielectric: Dielectric,
}

impl Oven {
    /// Share of the one-litre output that a load of `volume` (m³ of water) takes.
    ///
    /// Straight lines in the logarithm of the volume between the stated points; below the first
    /// point the line from zero volume, above the last the last share.
    pub fn load_share(&self, volume: f64) -> f64 {
        let mut previous: Option<(f64, f64)> = None;
        for &(v, share) in &self.load_shares {
            if volume <= v {
                let raw = match previous {
                    None => share * volume / v,
                    Some((v0, s0)) => s0 + (share - s0) * (volume / v0).ln() / (v / v0).ln(),
                };
                return (raw * self.load_factor).clamp(0.0, 1.0);
            }
            previous = Some((v, share));
        }
        previous
            .map_or(1.0, |(_, share)| share * self.load_factor)
            .clamp(0.0, 1.0)
    }

    /// Power (W) on at time `t` (s), before the load share; the duty cycle switches it.
    pub fn power_at(&self, t: f64) -> f64 {
        let running = t - self.start_delay;
        if running < 0.0 {
            0.0
        } else if self.cycle <= 0.0 {
            self.power * self.duty
        } else if running.rem_euclid(self.cycle) < self.duty * self.cycle {
            self.power
        } else {
            0.0
        }
    }

    /// The next time after `t` at which the power jumps; infinite if it never does again.
    pub fn next_switch(&self, t: f64) -> f64 {
        if t < self.start_delay {
            return self.start_delay;
        }
        if self.cycle <= 0.0 || self.duty >= 1.0 || self.duty <= 0.0 {
            return f64::INFINITY;
        }
        let running = t - self.start_delay;
        let start = (running / self.cycle).floor() * self.cycle;
        let off = start + self.duty * self.cycle;
        let next = if running < off {
            off
        } else {
            start + self.cycle
        };
        // A time that lies on the switch itself, up to rounding, belongs to what follows.
        let next = if next - running > 1e-9 * self.cycle {
            next
        } else if running < off + 1e-9 * self.cycle {
            start + self.cycle
        } else {
            start + self.cycle * (1.0 + self.duty)
        };
        self.start_delay + next
    }
}

/// Shares of the absorbed power by cell, bottom first; they add up to 1.
///
/// * `optical[i]`: thickness of cell i over its penetration depth
/// * `top_share`: share of the power that enters from above
pub fn lambert_shares(optical: &[f64], top_share: f64, shares: &mut [f64]) {
    let total: f64 = optical.iter().sum();
    let mut below = 0.0;
    let mut sum = 0.0;
    for (share, &x) in shares.iter_mut().zip(optical) {
        let above = total - below - x;
        // Absorbed in a cell: e^(−before) (1 − e^(−x)), from each side.
        let own = -(-x).exp_m1();
        *share = own * (top_share * (-above.max(0.0)).exp() + (1.0 - top_share) * (-below).exp());
        sum += *share;
        below += x;
    }
    let even = 1.0 / shares.len() as f64;
    for share in shares.iter_mut() {
        *share = if sum > 0.0 { *share / sum } else { even };
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use approx::assert_relative_eq;

    pub(crate) fn dielectric() -> Dielectric {
        Dielectric {
            frequency: 2.45e9,
            water_static: 78.4,
            water_static_fall: 4.58e-3,
            water_infinite: 5.2,
            water_relaxation: 8.27e-12,
            relaxation_activation: 1950.0,
            peak_conductivity: 20.0,
            conductivity_rise: 0.02,
            gel_permittivity: 5.0,
            gel_loss: 1.0,
        }
    }

    pub(crate) fn oven() -> Oven {
        Oven {
            power: 800.0,
            duty: 1.0,
            cycle: 0.0,
            start_delay: 2.0,
            load_shares: vec![
                (10e-6, 0.33),
                (50e-6, 0.5),
                (100e-6, 0.6),
                (250e-6, 0.8),
                (500e-6, 0.95),
                (1e-3, 1.0),
            ],
            load_factor: 1.0,
            gel_load: 0.5,
            top_share: 0.5,
            dielectric: dielectric(),
        }
    }

    #[test]
    fn pure_water_has_the_known_permittivity_and_depth() {
        // One-term Debye values at 2.45 GHz worked out apart from this program:
        // 25 °C 77, 9.2, 19 mm; 50 °C 70, 4.7, 35 mm; 90 °C 58, 2.2, 68 mm.
        for (celsius, real, loss, depth) in [
            (25.0, 77.0, 9.2, 19e-3),
            (50.0, 70.0, 4.7, 35e-3),
            (90.0, 58.0, 2.2, 68e-3),
        ] {
            let t = celsius + 273.15;
            let (e1, e2) = dielectric().permittivity(0.0, t);
            assert!((e1 - real).abs() < 1.0, "{celsius} {e1}");
            // The relaxation time follows one activation temperature here: 8 % of the loss.
            assert!((e2 - loss).abs() < 0.08 * loss, "{celsius} {e2}");
            assert!((dielectric().penetration_depth(0.0, t) - depth).abs() < 0.09 * depth);
        }
    }

    #[test]
    fn electrolyte_shrinks_the_depth_to_millimetres() {
        // ε' 68 with 2, 10, 20 S/m: 6.8, 2.2, 1.4 mm (worked out from the same relation).
        for (loss, depth) in [(24.0, 6.8e-3), (83.0, 2.2e-3), (156.0, 1.4e-3)] {
            assert!((penetration_depth(2.45e9, 68.0, loss) - depth).abs() < 0.05e-3);
        }
        let syrup = dielectric().penetration_depth(0.5, 383.0);
        assert!(syrup < 3e-3, "{syrup}");
    }

    #[test]
    fn small_loss_gives_the_textbook_limit() {
        // D → λ0 √ε' / (2π ε'').
        let d = penetration_depth(2.45e9, 5.0, 1e-6);
        assert_relative_eq!(
            d,
            LIGHT_SPEED / 2.45e9 * 5.0_f64.sqrt() / (TAU * 1e-6),
            max_relative = 1e-9
        );
    }

    #[test]
    fn lambert_shares_add_up_and_follow_the_exponential() {
        let optical = vec![0.05; 40];
        let mut shares = vec![0.0; 40];
        lambert_shares(&optical, 0.0, &mut shares);
        assert_relative_eq!(shares.iter().sum::<f64>(), 1.0, max_relative = 1e-12);
        assert_relative_eq!(shares[10] / shares[30], 1.0_f64.exp(), max_relative = 1e-12);
        lambert_shares(&optical, 0.5, &mut shares);
        assert_relative_eq!(shares[0], shares[39], max_relative = 1e-12);
        assert!(shares[20] < shares[0]);
    }

    #[test]
    fn load_share_meets_its_points_and_rises() {
        let oven = oven();
        assert_relative_eq!(oven.load_share(50e-6), 0.5, max_relative = 1e-12);
        assert_relative_eq!(oven.load_share(2e-3), 1.0, max_relative = 1e-12);
        let mut last = 0.0;
        for k in 1..60 {
            let share = oven.load_share(1e-6 * 1.15_f64.powi(k));
            assert!(share >= last);
            last = share;
        }
    }

    #[test]
    fn duty_cycle_switches_and_keeps_its_mean() {
        let mut oven = oven();
        (oven.duty, oven.cycle) = (0.3, 22.0);
        let mut t = 0.0;
        let mut energy = 0.0;
        let end = oven.start_delay + 100.0 * oven.cycle;
        while t < end - 1e-6 {
            let next = oven.next_switch(t).min(end);
            assert!(next > t);
            energy += oven.power_at(0.5 * (t + next)) * (next - t);
            t = next;
        }
        assert_relative_eq!(
            energy / (100.0 * oven.cycle),
            0.3 * 800.0,
            max_relative = 1e-9
        );
    }
}
