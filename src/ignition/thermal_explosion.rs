//! Thermal-explosion criteria: when a self-heating layer cannot get rid of its own heat.
//!
//! Every number here is dimensionless, hence `f64`. Symbols:
//!
//! * `j` shape, 0 slab, 1 cylinder, 2 sphere
//! * θ  reduced temperature excess, E (T − T_wall) / (R T_wall²)
//! * δ  Frank-Kamenetskii parameter, E Q ρ A exp(−E/R T_wall) r² / (λ R T_wall²)
//! * Bi Biot number, h r / λ (r: half-thickness or radius)
//! * ψ  Semenov parameter, δ taken with the heat-transfer coefficient instead of conduction
//!
//! Source: D. A. Frank-Kamenetskii, Diffusion and Heat Transfer in Chemical Kinetics, 2nd ed.,
//! Plenum 1969, ch. VII; P. C. Bowes, Self-heating, HMSO 1984 (both from memory). Exponential
//! approximation, no reactant consumption: both err towards *more* runaway.

use crate::quantity::GAS_CONSTANT;

/// Shape of a self-heating body.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Infinite slab; r is the half-thickness.
    Slab,
    /// Infinite cylinder; r is the radius.
    Cylinder,
    /// Sphere; r is the radius.
    Sphere,
}

impl Shape {
    /// The geometry exponent j of x⁻ʲ d/dx (xʲ dθ/dx).
    fn exponent(self) -> f64 {
        match self {
            Self::Slab => 0.0,
            Self::Cylinder => 1.0,
            Self::Sphere => 2.0,
        }
    }
}

/// Critical Semenov parameter of a body of uniform temperature, 1/e.
#[must_use]
pub fn semenov_critical() -> f64 {
    (-1.0_f64).exp()
}

/// Critical Frank-Kamenetskii parameter δ_cr for a body with the given Biot number.
///
/// * `biot`: h r / λ, greater than 0; `f64::INFINITY` for a wall held at one temperature
/// * returns δ_cr, 0.8785 (slab), 2 (cylinder), 3.3220 (sphere) at infinite Biot number and
///   (1 + j) Bi / e at small ones; `None` for a Biot number that is not positive
///
/// With u'' + (j/x) u' = −exp(u), u(0) = u'(0) = 0, every steady state of the body is a cut of
/// the one curve u at x = X, and its δ is X² exp(u(X) + X u'(X)/Bi). δ_cr is the largest.
#[must_use]
pub fn critical_delta(shape: Shape, biot: f64) -> Option<f64> {
    if biot.is_nan() || biot <= 0.0 {
        return None;
    }
    let j = shape.exponent();
    let resistance = if biot.is_infinite() { 0.0 } else { 1.0 / biot };
    let ln_delta = |x: f64, u: f64, v: f64| 2.0 * x.ln() + u + x * v * resistance;
    // The maximum lies where x is of order √δ_cr e^(θ0/2); it shrinks as √Bi for small Biot.
    let step = 2.0e-3 * (biot.min(1.0)).sqrt();
    let mut state = [0.0, 0.0, 0.0]; // x, u, u'
    let mut previous = f64::NEG_INFINITY;
    let mut before = state;
    for _ in 0..20_000 {
        let next = advance(state, step, j);
        let value = ln_delta(next[0], next[1], next[2]);
        if value < previous {
            return Some(refine(before, 2.0 * step, j, &ln_delta).exp());
        }
        previous = value;
        before = state;
        state = next;
    }
    None
}

/// Golden-section search for the maximum of `ln_delta` within `span` after `start`.
fn refine(start: [f64; 3], span: f64, j: f64, ln_delta: &impl Fn(f64, f64, f64) -> f64) -> f64 {
    let ratio = (5.0_f64.sqrt() - 1.0) / 2.0;
    let value = |h: f64| {
        let s = advance(start, h, j);
        ln_delta(s[0], s[1], s[2])
    };
    // The curve has its maximum between `start` and two steps later.
    let (mut a, mut b) = (0.0, span);
    for _ in 0..60 {
        let left = b - ratio * (b - a);
        let right = a + ratio * (b - a);
        if value(left) > value(right) {
            b = right
        } else {
            a = left
        }
    }
    value(0.5 * (a + b))
}

/// One classical Runge–Kutta step of u'' = −eᵘ − (j/x) u'.
fn advance(s: [f64; 3], h: f64, j: f64) -> [f64; 3] {
    let slope = |x: f64, u: f64, v: f64| {
        // At the centre u'' = −1/(1 + j) by symmetry.
        let curvature = if x > 0.0 {
            -u.exp() - j * v / x
        } else {
            -1.0 / (1.0 + j)
        };
        (v, curvature)
    };
    let [x, u, v] = s;
    let (a1, b1) = slope(x, u, v);
    let (a2, b2) = slope(x + 0.5 * h, u + 0.5 * h * a1, v + 0.5 * h * b1);
    let (a3, b3) = slope(x + 0.5 * h, u + 0.5 * h * a2, v + 0.5 * h * b2);
    let (a4, b4) = slope(x + h, u + h * a3, v + h * b3);
    [
        x + h,
        u + h / 6.0 * (a1 + 2.0 * a2 + 2.0 * a3 + a4),
        v + h / 6.0 * (b1 + 2.0 * b2 + 2.0 * b3 + b4),
    ]
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
    #[must_use]
    pub fn rate(&self, t: f64) -> f64 {
        self.pre_exponential * (-self.activation_energy / (GAS_CONSTANT * t)).exp()
    }

    /// Frank-Kamenetskii parameter δ of a body of half-thickness or radius `r` (m) whose wall is
    /// at `wall` (K).
    #[must_use]
    pub fn delta(&self, r: f64, wall: f64) -> f64 {
        self.activation_energy * self.reaction_heat * self.density * self.rate(wall) * r * r
            / (self.thermal_conductivity * GAS_CONSTANT * wall * wall)
    }

    /// Semenov parameter ψ of a layer of thickness `depth` (m) that loses its heat through one
    /// face with `heat_transfer` (W/(m² K)) to something at `wall` (K).
    #[must_use]
    pub fn psi(&self, depth: f64, heat_transfer: f64, wall: f64) -> f64 {
        self.activation_energy * self.reaction_heat * self.density * self.rate(wall) * depth
            / (heat_transfer * GAS_CONSTANT * wall * wall)
    }

    /// Thickness (m) below which a layer on a wall at `wall` (K) cannot run away: one face loses
    /// heat with `heat_transfer`, the other is taken as insulated, so r is the whole thickness.
    ///
    /// Solves δ(r) = δ_cr(h r / λ) by bisection; `None` if Q ≤ 0 or no such depth below 1 m.
    #[must_use]
    pub fn critical_depth(&self, heat_transfer: f64, wall: f64) -> Option<f64> {
        if self.reaction_heat <= 0.0 || heat_transfer <= 0.0 {
            return None;
        }
        let excess = |r: f64| {
            let biot = heat_transfer * r / self.thermal_conductivity;
            critical_delta(Shape::Slab, biot).map(|d| (self.delta(r, wall) / d).ln())
        };
        let (mut low, mut high) = (1.0e-7_f64.ln(), 0.0_f64);
        if excess(high.exp())? < 0.0 || excess(low.exp())? > 0.0 {
            return None;
        }
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if excess(middle.exp())? < 0.0 {
                low = middle
            } else {
                high = middle
            }
        }
        Some((0.5 * (low + high)).exp())
    }
}

/// Pre-exponential factor A (1/s) of a first-order reaction whose differential-thermal-analysis
/// peak lies at `peak` (K) under the heating rate `rate` (K/s), for a chosen activation energy
/// (J/mol): A = (E β / (R T_p²)) exp(E / (R T_p)).
///
/// Source: H. E. Kissinger, Anal. Chem. 29 (1957) 1702 (from memory).
#[must_use]
pub fn kissinger_pre_exponential(activation_energy: f64, peak: f64, rate: f64) -> f64 {
    let e = activation_energy / (GAS_CONSTANT * peak);
    e * rate / peak * e.exp()
}

/// Temperature (K) of the peak of a first-order reaction at the heating rate `rate` (K/s), the
/// inverse of [`kissinger_pre_exponential`]; `None` when no peak lies between 200 and 3000 K.
#[must_use]
pub fn kissinger_peak(activation_energy: f64, pre_exponential: f64, rate: f64) -> Option<f64> {
    let excess =
        |t: f64| (kissinger_pre_exponential(activation_energy, t, rate) / pre_exponential).ln();
    let (mut low, mut high) = (200.0, 3000.0);
    if !(excess(low) > 0.0 && excess(high) < 0.0) {
        return None;
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if excess(middle) > 0.0 {
            low = middle
        } else {
            high = middle
        }
    }
    Some(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Largest value of `f` over a geometric grid refined thrice.
    fn largest(f: impl Fn(f64) -> f64, low: f64, high: f64) -> f64 {
        let (mut a, mut b) = (low, high);
        for _ in 0..6 {
            let n = 400;
            let x = |i: usize| a * (b / a).powf(i as f64 / n as f64);
            let best = (0..=n)
                .max_by(|&i, &k| f(x(i)).total_cmp(&f(x(k))))
                .unwrap();
            let (left, right) = (x(best.saturating_sub(1)), x((best + 1).min(n)));
            (a, b) = (left, right);
        }
        f((a * b).sqrt())
    }

    #[test]
    fn critical_values_at_infinite_biot_number_are_the_textbook_ones() {
        // Frank-Kamenetskii 1969: 0.88, 2.00, 3.32; more digits in Bowes 1984 (from memory)
        // and in the project's fact sheet: 0.8785, 2.0000, 3.3220.
        let inf = f64::INFINITY;
        assert!((critical_delta(Shape::Slab, inf).unwrap() - 0.878_458).abs() < 1e-6);
        assert!((critical_delta(Shape::Cylinder, inf).unwrap() - 2.0).abs() < 1e-7);
        assert!((critical_delta(Shape::Sphere, inf).unwrap() - 3.3220).abs() < 1e-4);
    }

    #[test]
    fn critical_values_at_finite_biot_number_match_the_closed_forms() {
        for bi in [0.05, 0.1, 1.0, 5.0, 20.0, 300.0] {
            // Slab: δ = 2 s² exp(−2 s tanh s / Bi − 2 ln cosh s), largest over s.
            let slab = largest(
                |s| 2.0 * s * s * (-2.0 * s * s.tanh() / bi - 2.0 * s.cosh().ln()).exp(),
                1e-3,
                5.0,
            );
            // Cylinder: δ = 8 B exp(−4 B / (Bi (1 + B)) − 2 ln(1 + B)), largest over B.
            let cylinder = largest(
                |b| 8.0 * b * (-4.0 * b / (bi * (1.0 + b)) - 2.0 * b.ln_1p()).exp(),
                1e-5,
                5.0,
            );
            assert_relative_eq!(
                critical_delta(Shape::Slab, bi).unwrap(),
                slab,
                max_relative = 1e-7
            );
            assert_relative_eq!(
                critical_delta(Shape::Cylinder, bi).unwrap(),
                cylinder,
                max_relative = 1e-7
            );
        }
    }

    #[test]
    fn sphere_at_finite_biot_number_matches_tabulated_values() {
        // Four digits computed apart from this program, exponential approximation.
        for (bi, want) in [(20.0, 3.0110), (5.0, 2.2932), (1.0, 0.9010), (0.1, 0.1082)] {
            assert!((critical_delta(Shape::Sphere, bi).unwrap() - want).abs() < 6e-5);
        }
    }

    #[test]
    fn small_biot_number_gives_semenov_limit() {
        for (shape, n) in [
            (Shape::Slab, 1.0),
            (Shape::Cylinder, 2.0),
            (Shape::Sphere, 3.0),
        ] {
            let bi = 1e-4;
            let psi = critical_delta(shape, bi).unwrap() / (n * bi);
            assert_relative_eq!(psi, semenov_critical(), max_relative = 1e-4);
        }
        assert_relative_eq!(semenov_critical(), 0.367_879_441_171, max_relative = 1e-11);
    }

    #[test]
    fn no_criterion_without_a_positive_biot_number() {
        for bi in [0.0, -1.0, f64::NAN] {
            assert!(critical_delta(Shape::Slab, bi).is_none());
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
        let delta = critical_delta(Shape::Slab, bi).unwrap();
        assert_relative_eq!(gel.delta(depth, 473.15), delta, max_relative = 1e-9);
        // The fact sheet's own estimate for this film: 30 to 55 µm at ψ between 0.6 and 1.2;
        // the bare criterion ψ = 1/e is the lower bound of it.
        assert!(depth > 10e-6 && depth < 55e-6, "{depth}");
        assert!(gel.critical_depth(730.0, 400.0).unwrap() > depth);
    }

    #[test]
    fn kissinger_relation_inverts_and_matches_the_rate_maximum() {
        let (e, peak, rate) = (120e3, 473.15, 10.0 / 60.0);
        let a = kissinger_pre_exponential(e, peak, rate);
        assert_relative_eq!(
            kissinger_peak(e, a, rate).unwrap(),
            peak,
            max_relative = 1e-10
        );
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
