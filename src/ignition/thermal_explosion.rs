//! Thermal-explosion criteria: when a self-heating layer cannot get rid of its own heat.
//!
//! Every number here is dimensionless, hence `f64`. Symbols:
//!
//! * θ  reduced temperature excess, E (T − T_wall) / (R T_wall²)
//! * δ  Frank-Kamenetskii parameter, E Q ρ A exp(−E/R T_wall) r² / (λ R T_wall²)
//! * Bi Biot number, h r / λ (r: half-thickness)
//!
//! Source: D. A. Frank-Kamenetskii, Diffusion and Heat Transfer in Chemical Kinetics, 2nd ed.,
//! Plenum 1969, ch. VII; P. C. Bowes, Self-heating, HMSO 1984 (both from memory). Exponential
//! approximation, no reactant consumption: both err towards *more* runaway.

use crate::quantity::GAS_CONSTANT;
use roots::{SimpleConvergency, find_root_brent};

/// Critical Frank-Kamenetskii parameter δ_cr of an infinite slab with the given Biot number.
///
/// * `biot`: h r / λ with the half-thickness r, greater than 0; `f64::INFINITY` for a wall held at
///   one temperature
/// * returns δ_cr, 0.8785 at infinite Biot number and Bi / e at small ones; `None` for a Biot
///   number that is not positive
///
/// u'' = −exp(u), u(0) = u'(0) = 0 has the solution u = −2 ln cosh(x/√2). With s = x/√2 every steady
/// state of the slab is a cut of this curve, and its δ is 2 s² exp(−2 ln cosh s − 2 s tanh s / Bi).
/// δ_cr is the largest, where 1/s = tanh s + (tanh s + s/cosh² s)/Bi.
fn critical_delta(biot: f64) -> Option<f64> {
    if biot.is_nan() || biot <= 0.0 {
        return None;
    }
    let slope = |s: f64| 1.0 / s - s.tanh() - (s.tanh() + s / s.cosh().powi(2)) / biot;
    // s tanh s = 1 at 1.19968 for an infinite Biot number; s → √(Bi/2) for a small one.
    let (low, high) = (0.4 * biot.min(1.0).sqrt(), 1.2);
    let s = find_root_brent(low, high, slope, &mut tolerance(1e-12)).ok()?;
    Some(2.0 * s * s * (-2.0 * s.cosh().ln() - 2.0 * s * s.tanh() / biot).exp())
}

/// Tolerance of a root, absolute.
fn tolerance(eps: f64) -> SimpleConvergency<f64> {
    SimpleConvergency { eps, max_iter: 200 }
}

/// What makes a layer self-heat; coherent SI units.
#[derive(Debug, Clone, Copy)]
pub struct SelfHeating {
    /// Activation energy E, J/mol.
    pub activation_energy: f64,
    /// Pre-exponential factor A, 1/s.
    pub pre_exponential: f64,
    /// Reaction heat Q per kilogram of layer, J/kg.
    pub reaction_heat: f64,
    /// Density ρ, kg/m³.
    pub density: f64,
    /// Thermal conductivity λ, W/(m K).
    pub thermal_conductivity: f64,
}

impl SelfHeating {
    /// First-order rate constant at `t` (K), 1/s.
    pub fn rate(&self, t: f64) -> f64 {
        self.pre_exponential * (-self.activation_energy / (GAS_CONSTANT * t)).exp()
    }

    /// Frank-Kamenetskii parameter δ of a slab of half-thickness `r` (m) whose wall is
    /// at `wall` (K).
    pub fn delta(&self, r: f64, wall: f64) -> f64 {
        self.activation_energy * self.reaction_heat * self.density * self.rate(wall) * r * r
            / (self.thermal_conductivity * GAS_CONSTANT * wall * wall)
    }

    /// Thickness (m) below which a layer on a wall at `wall` (K) cannot run away: one face loses
    /// heat with `heat_transfer`, the other is taken as insulated, so r is the whole thickness.
    ///
    /// Solves δ(r) = δ_cr(h r / λ); `None` if Q ≤ 0 or no such depth between 0.1 µm and 1 m.
    pub fn critical_depth(&self, heat_transfer: f64, wall: f64) -> Option<f64> {
        if self.reaction_heat <= 0.0 || heat_transfer <= 0.0 {
            return None;
        }
        // Against ln r, in which both sides are nearly straight.
        let excess = |ln_r: f64| {
            let r = ln_r.exp();
            let biot = heat_transfer * r / self.thermal_conductivity;
            critical_delta(biot).map_or(f64::NAN, |d| (self.delta(r, wall) / d).ln())
        };
        let (low, high) = (1.0e-7_f64.ln(), 0.0);
        find_root_brent(low, high, excess, &mut tolerance(1e-11))
            .ok()
            .map(f64::exp)
    }
}

/// Pre-exponential factor A (1/s) of a first-order reaction whose differential-thermal-analysis
/// peak lies at `peak` (K) under the heating rate `rate` (K/s), for a chosen activation energy
/// (J/mol): A = (E β / (R T_p²)) exp(E / (R T_p)).
///
/// Source: H. E. Kissinger, Anal. Chem. 29 (1957) 1702 (from memory).
pub fn kissinger_pre_exponential(activation_energy: f64, peak: f64, rate: f64) -> f64 {
    let e = activation_energy / (GAS_CONSTANT * peak);
    e * rate / peak * e.exp()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_critical_value_at_infinite_biot_number_is_the_textbook_one() {
        // Frank-Kamenetskii 1969: 0.88; more digits in Bowes 1984 (from memory) and in the
        // project's fact sheet: 0.8785.
        assert!((critical_delta(f64::INFINITY).unwrap() - 0.878_458).abs() < 1e-6);
    }

    /// One step of the classical Runge–Kutta method for u'' = −exp(u).
    fn advance([u, v]: [f64; 2], h: f64) -> [f64; 2] {
        let slope = |[u, v]: [f64; 2]| [v, -u.exp()];
        let along = |k: [f64; 2], h: f64| [u + h * k[0], v + h * k[1]];
        let k1 = slope([u, v]);
        let k2 = slope(along(k1, 0.5 * h));
        let k3 = slope(along(k2, 0.5 * h));
        let k4 = slope(along(k3, h));
        [0, 1].map(|i| [u, v][i] + h / 6.0 * (k1[i] + 2.0 * (k2[i] + k3[i]) + k4[i]))
    }

    #[test]
    fn no_steady_state_of_the_integrated_equation_lies_above_the_critical_value() {
        for bi in [0.05, 1.0, 20.0, f64::INFINITY] {
            let (mut state, mut largest, h) = ([0.0, 0.0], 0.0_f64, 1e-3);
            for i in 1..2500 {
                state = advance(state, h);
                let x = f64::from(i) * h;
                largest = largest.max(x * x * (state[0] + x * state[1] / bi).exp());
            }
            // The maximum lies between two points: less by (h/x)² of it.
            assert_relative_eq!(critical_delta(bi).unwrap(), largest, max_relative = 3e-5);
        }
    }

    #[test]
    fn a_small_biot_number_gives_the_limit_of_uniform_temperature() {
        // Semenov's: 1/e, with the heat-transfer coefficient instead of conduction.
        let bi = 1e-4;
        let critical = critical_delta(bi).unwrap() / bi;
        assert_relative_eq!(critical, (-1.0_f64).exp(), max_relative = 1e-4);
    }

    #[test]
    fn no_criterion_without_a_positive_biot_number() {
        for bi in [0.0, -1.0, f64::NAN] {
            assert!(critical_delta(bi).is_none());
        }
    }

    #[test]
    fn critical_depth_sits_on_the_criterion() {
        let gel = SelfHeating {
            activation_energy: 120e3,
            pre_exponential: kissinger_pre_exponential(120e3, 473.15, 1.0),
            reaction_heat: 2.9e6,
            density: 1700.0,
            thermal_conductivity: 0.3,
        };
        let depth = gel.critical_depth(730.0, 473.15).unwrap();
        let bi = 730.0 * depth / 0.3;
        let delta = critical_delta(bi).unwrap();
        assert_relative_eq!(gel.delta(depth, 473.15), delta, max_relative = 1e-9);
        // The fact sheet's own estimate for this film: 30 to 55 µm at ψ between 0.6 and 1.2;
        // the bare criterion ψ = 1/e is the lower bound of it.
        assert!(depth > 10e-6 && depth < 55e-6, "{depth}");
        assert!(gel.critical_depth(730.0, 400.0).unwrap() > depth);
    }

    #[test]
    fn kissinger_relation_matches_the_rate_maximum() {
        let (e, peak, rate) = (120e3, 473.15, 10.0 / 60.0);
        let a = kissinger_pre_exponential(e, peak, rate);
        // Integrate dξ/dt = k (1 − ξ) under linear heating; its maximum is the peak.
        let (mut xi, mut best, mut at, mut t) = (0.0_f64, 0.0, 0.0, 350.0);
        while t < 600.0 {
            let k = a * (-e / (crate::quantity::GAS_CONSTANT * t)).exp();
            let r = k * (1.0 - xi);
            if r > best {
                (best, at) = (r, t)
            }
            xi = 1.0 - (1.0 - xi) * (-k * 0.01 / rate).exp();
            t += 0.01;
        }
        assert!((at - peak).abs() < 0.05, "{at}");
    }
}
