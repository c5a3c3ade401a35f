//! How long the vessel stays too hot to touch: one temperature, convection and radiation.

/// Stefan–Boltzmann constant, W/(m² K⁴) (exact in the SI of 2019 to the digits given).
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// A body that cools in the room; coherent SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoolingBody {
    /// Heat capacity, J/K.
    pub heat_capacity: f64,
    /// Area that gives off heat, m².
    pub area: f64,
    /// Coefficient of convection, W/(m² K).
    pub transfer: f64,
    pub emissivity: f64,
    /// Temperature of the room, K.
    pub room: f64,
}

impl CoolingBody {
    /// Heat given off at `t` (K), W.
    pub fn loss(&self, t: f64) -> f64 {
        let radiation = self.emissivity * STEFAN_BOLTZMANN * (t.powi(4) - self.room.powi(4));
        self.area * (self.transfer * (t - self.room) + radiation)
    }

    /// Time (s) to cool from `from` to `to` (K): t = ∫ C/Φ(T) dT, by Gauss–Legendre quadrature
    /// over ln(T − T_room), in which the integrand is nearly constant. Zero if `from` ≤ `to`;
    /// `None` if `to` is not above the room or nothing is given off.
    pub fn time(&self, from: f64, to: f64) -> Option<f64> {
        if from <= to {
            return Some(0.0);
        }
        let (low, high) = (to - self.room, from - self.room);
        if !(low > 0.0 && self.heat_capacity > 0.0 && self.area > 0.0) {
            return None;
        }
        // Nodes and weights of the 3-point rule.
        let node = 0.6_f64.sqrt();
        let (intervals, width) = (40, (high / low).ln() / 40.0);
        let mut sum = 0.0;
        for k in 0..intervals {
            let middle = low.ln() + (f64::from(k) + 0.5) * width;
            for (x, weight) in [(-node, 5.0 / 9.0), (0.0, 8.0 / 9.0), (node, 5.0 / 9.0)] {
                let excess = (middle + 0.5 * width * x).exp();
                sum += 0.5 * width * weight * excess / self.loss(self.room + excess);
            }
        }
        let time = self.heat_capacity * sum;
        time.is_finite().then_some(time)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn convection_alone_follows_newtons_law() {
        let body = CoolingBody {
            heat_capacity: 200.0,
            area: 0.03,
            transfer: 8.0,
            emissivity: 0.0,
            room: 293.0,
        };
        let want = 200.0 / (0.03 * 8.0) * (480.0_f64 / 40.0).ln();
        assert_relative_eq!(body.time(773.0, 333.0).unwrap(), want, max_relative = 1e-12);
    }

    #[test]
    fn radiation_alone_follows_its_closed_form() {
        // ∫ dT/(T⁴ − a⁴) = [ln((T − a)/(T + a)) − 2 atan(T/a)] / (4 a³).
        let body = CoolingBody {
            heat_capacity: 200.0,
            area: 0.03,
            transfer: 0.0,
            emissivity: 0.9,
            room: 293.0,
        };
        let a = 293.0_f64;
        let primitive =
            |t: f64| (((t - a) / (t + a)).ln() - 2.0 * (t / a).atan()) / (4.0 * a.powi(3));
        let want = 200.0 / (0.03 * 0.9 * STEFAN_BOLTZMANN) * (primitive(1200.0) - primitive(333.0));
        assert_relative_eq!(body.time(1200.0, 333.0).unwrap(), want, max_relative = 1e-9);
    }

    #[test]
    fn a_cold_body_needs_no_time_and_the_room_is_never_reached() {
        let body = CoolingBody {
            heat_capacity: 200.0,
            area: 0.03,
            transfer: 8.0,
            emissivity: 0.9,
            room: 293.0,
        };
        assert_relative_eq!(body.time(320.0, 333.0).unwrap(), 0.0);
        assert!(body.time(400.0, 293.0).is_none());
    }
}
