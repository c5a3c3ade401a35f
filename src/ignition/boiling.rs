//! The boiling curve of a nitrate–fuel solution: how much water it can still hold at each
//! temperature while the steam above it has the pressure of the room.
//!
//! There is no plateau at 100 °C. As water leaves, its activity falls and the boiling point
//! climbs, through the syrup and into the hydrate water of the gel, without a break.
//!
//! Symbols, coherent SI: T temperature, p room pressure, a water activity, w water per dry mass
//! (kg/kg), r moles of adsorption sites per kilogram of dry mass, ε binding energy (J/mol),
//! c = exp(ε/RT), B heat by which the bound water lies below free water (J per kg dry mass).
//!
//! Equations: water of the salts by the adsorption isotherm in the form of R. H. Stokes and
//! R. A. Robinson, J. Am. Chem. Soc. 70 (1948) 1870, w/M = r c a / ((1 − a)(1 + (c − 1) a));
//! fuel molecules by the same with c = 1 (Raoult's law); the amounts of water add up at equal
//! activity (R. H. Stokes, R. A. Robinson, J. Phys. Chem. 70 (1966) 2126, from memory).
//! On the curve a = p/p_sat(T), so w follows from T in closed form. B = ε times the water of
//! the first layer, which is what the isotherm itself implies for the enthalpy.

use crate::quantity::{GAS_CONSTANT, REFERENCE_TEMPERATURE};

/// Highest temperature (K) at which water is taken to boil: a gel that still holds some there is
/// practically dry.
pub const DRIEST: f64 = 1000.0;

/// Properties of water; coherent SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Molar mass, kg/mol.
    pub molar_mass: f64,
    /// Heat capacity of the liquid, mean from 25 °C to the boiling range, J/(kg K).
    pub liquid_heat_capacity: f64,
    /// Heat capacity of steam at the pressure of the room, J/(kg K).
    pub vapour_heat_capacity: f64,
    /// Heat of vaporisation at `latent_heat_temperature`, J/kg.
    pub latent_heat: f64,
    /// Temperature of that heat, K.
    pub latent_heat_temperature: f64,
    /// Density of the liquid, kg/m³.
    pub density: f64,
    /// Thermal conductivity of the liquid, W/(m K).
    pub thermal_conductivity: f64,
    /// Antoine equation ln(p/Pa) = a − b/(T + c): a.
    pub antoine_a: f64,
    /// b, K.
    pub antoine_b: f64,
    /// c, K.
    pub antoine_c: f64,
}

impl Water {
    /// Saturation pressure at `t` (K), Pa.
    pub fn saturation_pressure(&self, t: f64) -> f64 {
        (self.antoine_a - self.antoine_b / (t + self.antoine_c)).exp()
    }

    /// Temperature (K) at which pure water boils under `pressure` (Pa).
    pub fn boiling_temperature(&self, pressure: f64) -> f64 {
        self.antoine_b / (self.antoine_a - pressure.ln()) - self.antoine_c
    }

    /// Enthalpy of steam at `t` over liquid water at the reference temperature, J/kg.
    pub fn vapour_enthalpy(&self, t: f64) -> f64 {
        let to_latent = self.latent_heat_temperature - REFERENCE_TEMPERATURE;
        self.latent_heat
            + self.liquid_heat_capacity * to_latent
            + self.vapour_heat_capacity * (t - self.latent_heat_temperature)
    }

    /// Heat of vaporisation of free water at `t`, J/kg.
    pub fn latent_heat_at(&self, t: f64) -> f64 {
        self.vapour_enthalpy(t) - self.liquid_heat_capacity * (t - REFERENCE_TEMPERATURE)
    }
}

/// What holds water back, per kilogram of dry mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sorption {
    /// Sites on ions, mol/kg.
    pub ionic_sites: f64,
    /// Dissolved molecules that bind no water of their own (fuel), mol/kg.
    pub molecules: f64,
    /// Binding energy of a site, J/mol.
    pub binding_energy: f64,
}

/// Point of the boiling curve, with slopes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// Water held, kg per kg dry mass.
    pub water: f64,
    /// dw/dT, 1/K.
    pub water_slope: f64,
    /// Heat of binding B, J per kg dry mass.
    pub binding: f64,
    /// dB/dT, J/(kg K).
    pub binding_slope: f64,
}

/// The boiling curve of one solution at one pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoilingCurve {
    /// Properties of water.
    pub water: Water,
    /// What holds the water.
    pub sorption: Sorption,
    /// Pressure of the room, Pa.
    pub pressure: f64,
}

impl BoilingCurve {
    /// The curve at `t` (K); `None` at or below the boiling point of pure water.
    pub fn at(&self, t: f64) -> Option<CurvePoint> {
        let Water {
            molar_mass,
            antoine_b,
            antoine_c,
            ..
        } = self.water;
        let Sorption {
            ionic_sites: r,
            molecules,
            binding_energy,
        } = self.sorption;
        let a = self.pressure / self.water.saturation_pressure(t);
        if a.is_nan() || a >= 1.0 {
            return None;
        }
        let a_slope = -a * antoine_b / (t + antoine_c).powi(2);
        let c = (binding_energy / (GAS_CONSTANT * t)).exp();
        let c_slope = -c * binding_energy / (GAS_CONSTANT * t * t);
        let free = 1.0 - a;
        let bound = 1.0 + (c - 1.0) * a;
        // First layer n1 = r c a / bound; salt water n1/free; fuel water m a/free.
        let layer = r * c * a / bound;
        let layer_a = r * c / (bound * bound);
        let layer_c = r * a * free / (bound * bound);
        let layer_slope = layer_a * a_slope + layer_c * c_slope;
        let total = (layer + molecules * a) / free;
        let total_slope = (layer_slope + molecules * a_slope + total * a_slope) / free;
        Some(CurvePoint {
            water: molar_mass * total,
            water_slope: molar_mass * total_slope,
            binding: binding_energy * layer,
            binding_slope: binding_energy * layer_slope,
        })
    }

    /// Temperature (K) at which a solution with `w` kg water per kg dry mass boils.
    ///
    /// Between the boiling point of pure water and 1000 K; above 1000 K for water contents that
    /// are practically nil, where 1000 K is returned.
    pub fn boiling_temperature(&self, w: f64) -> f64 {
        let mut low = self.water.boiling_temperature(self.pressure);
        let mut high = DRIEST;
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if self.at(middle).is_none_or(|p| p.water > w) {
                low = middle
            } else {
                high = middle
            }
            if high - low < 1e-10 {
                break;
            }
        }
        0.5 * (low + high)
    }

    /// The same as [`BoilingCurve::boiling_temperature`] by Newton's method from a near `guess`.
    pub fn boiling_temperature_near(&self, w: f64, guess: f64) -> f64 {
        let pure = self.water.boiling_temperature(self.pressure);
        let mut t = guess.max(pure + 1e-6);
        for _ in 0..20 {
            let Some(point) = self.at(t) else { break };
            // Newton in ln(T − T_pure) and ln w, nearly a straight line.
            let excess = t - pure;
            let slope = point.water_slope * excess / point.water;
            let change = ((w / point.water).ln() / slope).clamp(-2.0, 2.0);
            t = pure + excess * change.exp();
            if change.abs() < 1e-12 {
                return t;
            }
        }
        self.boiling_temperature(w)
    }

    /// The same for a `w` below the water held at `from`: a few steps of that method, good for
    /// following a gel as it dries. At most [`DRIEST`].
    pub fn boiling_temperature_after(&self, w: f64, from: f64) -> f64 {
        let pure = self.water.boiling_temperature(self.pressure);
        let mut t = from.max(pure + 1e-6);
        for _ in 0..8 {
            let Some(point) = self.at(t) else { break };
            let excess = t - pure;
            let slope = point.water_slope * excess / point.water;
            let change = ((w.max(1e-300) / point.water).ln() / slope).clamp(-1.0, 1.0);
            t = (pure + excess * change.exp()).min(DRIEST);
            if change.abs() < 1e-9 || t >= DRIEST {
                break;
            }
        }
        t
    }

    /// Heat of binding B (J per kg dry mass) of a solution with `w` at its boiling point; zero
    /// for a solution so thin that the curve cannot resolve it.
    pub fn binding(&self, w: f64) -> f64 {
        self.at(self.boiling_temperature(w))
            .map_or(0.0, |p| p.binding)
    }
}

/// Points of a [`DryingTable`]: the cubic between them is off by 1e-8 of the heat of binding.
const POINTS: usize = 128;

/// The boiling curve of a drying gel against the water left: cubic between points at even steps of
/// ln w, from a wettest gel to what still boils at [`DRIEST`].
#[derive(Debug, Clone)]
pub struct DryingTable {
    curve: BoilingCurve,
    /// Boiling point of pure water, K.
    pure: f64,
    /// Water of the driest point, kg per kg dry mass, its logarithm, and the step to the next.
    driest: f64,
    log_driest: f64,
    step: f64,
    /// ln(T − pure) and B (J per kg dry mass), each with its slope over a step, by point.
    points: Vec<Point>,
}

#[derive(Debug, Clone, Copy)]
struct Point {
    excess: [f64; 2],
    binding: [f64; 2],
}

/// Cubic through the values and slopes of two points, and its slope, `x` of the way between.
fn cubic([y0, s0]: [f64; 2], [y1, s1]: [f64; 2], x: f64) -> (f64, f64) {
    let rise = y1 - y0;
    let (second, third) = (3.0 * rise - 2.0 * s0 - s1, s0 + s1 - 2.0 * rise);
    (
        y0 + x * (s0 + x * (second + x * third)),
        s0 + x * (2.0 * second + 3.0 * x * third),
    )
}

impl DryingTable {
    /// Tabulates the curve from `wettest` (kg water per kg dry mass) on.
    pub fn new(curve: BoilingCurve, wettest: f64) -> Self {
        let pure = curve.water.boiling_temperature(curve.pressure);
        let driest = curve.at(DRIEST).map_or(1.0, |point| point.water);
        let dry = driest.ln();
        let step = (wettest.ln() - dry) / (POINTS - 1) as f64;
        let mut t = DRIEST;
        let mut points = Vec::with_capacity(POINTS);
        for at in 0..POINTS {
            let w = (dry + step * at as f64).exp();
            t = curve.boiling_temperature_near(w, t);
            if let Some(point) = curve.at(t) {
                let per_step = step * w / point.water_slope;
                let excess = t - pure;
                points.push(Point {
                    excess: [excess.ln(), per_step / excess],
                    binding: [point.binding, per_step * point.binding_slope],
                });
            }
        }
        Self {
            curve,
            pure,
            driest,
            log_driest: dry,
            step,
            points,
        }
    }

    /// The points around `w` and how far it lies between them; none outside the table.
    fn around(&self, w: f64) -> Option<(&Point, &Point, f64)> {
        let place = (w.ln() - self.log_driest) / self.step;
        if place < 0.0 {
            return None;
        }
        let below = place as usize;
        let pair = self.points.get(below..)?.get(..2)?;
        Some((&pair[0], &pair[1], place - below as f64))
    }

    /// Whether `w` is less than what boils at [`DRIEST`].
    fn is_dry(&self, w: f64) -> bool {
        w < self.driest
    }

    /// Temperature (K) at which a gel with `w` kg water per kg dry mass boils, at most [`DRIEST`];
    /// off by some 1e-6 K.
    pub fn boiling_temperature(&self, w: f64) -> f64 {
        if self.is_dry(w) {
            return DRIEST;
        }
        let Some((low, high, x)) = self.around(w) else {
            return self.curve.boiling_temperature(w);
        };
        self.pure + cubic(low.excess, high.excess, x).0.exp()
    }

    /// Heat of binding B (J per kg dry mass) of a gel with `w`, and its slope with `w` (J/kg); in
    /// proportion to the water where it is drier than the curve goes.
    pub fn binding(&self, w: f64) -> (f64, f64) {
        if self.is_dry(w) {
            let per_water = self.points[0].binding[0] / self.driest;
            return (per_water * w, per_water);
        }
        match self.around(w) {
            Some((low, high, x)) => {
                let (binding, slope) = cubic(low.binding, high.binding, x);
                (binding, slope / (self.step * w))
            }
            None => (self.curve.at(self.curve.boiling_temperature(w)))
                .map_or((0.0, 0.0), |p| (p.binding, p.binding_slope / p.water_slope)),
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use approx::assert_relative_eq;

    pub(crate) fn water() -> Water {
        // Antoine constants 100–374 °C in mmHg and °C: 8.14019, 1810.94, 244.485 (from memory).
        let ln10 = std::f64::consts::LN_10;
        Water {
            molar_mass: 0.018_015,
            liquid_heat_capacity: 4220.0,
            vapour_heat_capacity: 1950.0,
            latent_heat: 2.257e6,
            latent_heat_temperature: 373.15,
            density: 958.0,
            thermal_conductivity: 0.68,
            antoine_a: ln10 * 8.140_19 + 133.322_f64.ln(),
            antoine_b: ln10 * 1810.94,
            antoine_c: 244.485 - 273.15,
        }
    }

    /// Nickel nitrate hexahydrate without fuel: 1 mol in 0.18270 kg anhydrous salt.
    fn nickel_nitrate() -> BoilingCurve {
        BoilingCurve {
            water: water(),
            sorption: Sorption {
                ionic_sites: 5.0 / 0.1827,
                molecules: 0.0,
                binding_energy: 8000.0,
            },
            pressure: 101_325.0,
        }
    }

    #[test]
    fn steam_pressure_gives_the_tabulated_activities() {
        // From the steam pressure, p_sat a = 1 atm (steam tables).
        let table = [
            (101.0, 0.96),
            (105.0, 0.84),
            (110.0, 0.71),
            (120.0, 0.51),
            (135.0, 0.33),
            (150.0, 0.21),
            (180.0, 0.10),
        ];
        for (celsius, want) in table {
            let a = 101_325.0 / water().saturation_pressure(celsius + 273.15);
            // Two printed digits: half a unit in the last place and 1 % of the fit.
            assert!((a - want).abs() < 0.006 + 0.01 * want, "{celsius}: {a}");
        }
    }

    #[test]
    fn heat_of_vaporisation_falls_as_in_steam_tables() {
        // Steam tables: 2257, 2114, 2014 kJ/kg at 100, 150, 180 °C. The linear form leaves out
        // that steam at 10 bar is not ideal: 3 % at 180 °C.
        for (celsius, want, tolerance) in [
            (100.0, 2257e3, 1.0),
            (150.0, 2114e3, 0.02 * 2114e3),
            (180.0, 2014e3, 0.035 * 2014e3),
        ] {
            assert!((water().latent_heat_at(celsius + 273.15) - want).abs() <= tolerance);
        }
    }

    #[test]
    fn boiling_point_climbs_without_end_as_water_leaves() {
        let curve = nickel_nitrate();
        let mut last = curve.water.boiling_temperature(curve.pressure);
        for w in [20.0, 5.0, 2.0, 1.0, 0.59, 0.3, 0.1, 0.03] {
            let t = curve.boiling_temperature(w);
            assert!(t > last);
            assert_relative_eq!(curve.at(t).unwrap().water, w, max_relative = 1e-6);
            assert_relative_eq!(
                curve.boiling_temperature_near(w, 400.0),
                t,
                max_relative = 1e-10
            );
            last = t;
        }
    }

    #[test]
    fn dilute_limit_is_raoults_law() {
        let mut curve = nickel_nitrate();
        curve.sorption = Sorption {
            ionic_sites: 0.0,
            molecules: 2.0,
            binding_energy: 8000.0,
        };
        let w = 1.0;
        let amount = w / curve.water.molar_mass;
        let saturation = curve
            .water
            .saturation_pressure(curve.boiling_temperature(w));
        assert_relative_eq!(
            curve.pressure / saturation,
            amount / (amount + 2.0),
            max_relative = 1e-9
        );
    }

    #[test]
    fn slopes_are_those_of_the_curve() {
        let mut curve = nickel_nitrate();
        curve.sorption.molecules = 3.0;
        for t in [376.0, 400.0, 450.0, 550.0] {
            let (p, m) = (curve.at(t + 1e-3).unwrap(), curve.at(t - 1e-3).unwrap());
            let at = curve.at(t).unwrap();
            assert_relative_eq!(
                at.water_slope,
                (p.water - m.water) / 2e-3,
                max_relative = 1e-6
            );
            assert_relative_eq!(
                at.binding_slope,
                (p.binding - m.binding) / 2e-3,
                max_relative = 1e-6
            );
        }
    }

    #[test]
    fn binding_heat_agrees_with_the_temperature_dependence_of_the_activity() {
        // Gibbs–Helmholtz: R d ln a / d(1/T) at fixed w = partial heat of binding, negative.
        let sorption = nickel_nitrate().sorption;
        let amount = |a: f64, t: f64| {
            let c = (sorption.binding_energy / (GAS_CONSTANT * t)).exp();
            sorption.ionic_sites * c * a / ((1.0 - a) * (1.0 + (c - 1.0) * a))
        };
        let layer = |a: f64, t: f64| amount(a, t) * (1.0 - a);
        let activity = |n: f64, t: f64| {
            let (mut low, mut high) = (0.0, 1.0);
            for _ in 0..100 {
                let a = 0.5 * (low + high);
                if amount(a, t) > n { high = a } else { low = a }
            }
            0.5 * (low + high)
        };
        let (n, t) = (80.0, 420.0);
        let slope = |d: f64| activity(n, 1.0 / (1.0 / t + d)).ln();
        let from_activity = -GAS_CONSTANT * (slope(1e-6) - slope(-1e-6)) / 2e-6;
        let q = |n: f64| sorption.binding_energy * layer(activity(n, t), t);
        let from_isotherm = (q(n + 1e-3) - q(n - 1e-3)) / 2e-3;
        assert_relative_eq!(from_activity, from_isotherm, max_relative = 1e-4);
        // The known range of the extra heat for the last water, 3–15 kJ/mol (from memory).
        let dry = (q(1.0 + 1e-3) - q(1.0 - 1e-3)) / 2e-3;
        assert!(dry > 3e3 && dry < 15e3, "{dry}");
    }

    #[test]
    fn the_table_of_a_drying_gel_is_the_curve() {
        let mut curve = nickel_nitrate();
        curve.sorption.molecules = 3.0;
        let table = DryingTable::new(curve, 0.4);
        for w in [0.5, 0.4, 0.399, 0.2, 0.1, 0.031, 0.007] {
            let t = curve.boiling_temperature(w);
            assert_relative_eq!(table.boiling_temperature(w), t, max_relative = 1e-8);
            let point = curve.at(t).unwrap();
            let (binding, slope) = table.binding(w);
            // The error of a cubic with true slopes, step⁴/384 of the fourth derivative.
            assert_relative_eq!(binding, point.binding, max_relative = 1e-7);
            let true_slope = point.binding_slope / point.water_slope;
            assert_relative_eq!(slope, true_slope, max_relative = 1e-4);
        }
        // Drier than the curve goes: all of the first layer, in proportion to the water.
        let (driest, per_water) = table.binding(1e-9);
        assert_relative_eq!(table.boiling_temperature(1e-9), DRIEST);
        assert_relative_eq!(driest, 1e-9 * per_water);
    }
}
