//! What leaves the gel before it burns: fuel and nitrate as pools that go at their own temperature.
//!
//! Symbols: s_i share of pool i, k_i = A exp(−E/RT) its rate constant, g the share of the whole
//! that has gone. The pools go one after the other, so g alone tells what is left of each: pool i
//! spans s_1 + … + s_{i−1} to s_1 + … + s_i, and dg/dt = Σ k_i (what is left of pool i). What is in
//! no pool stays.

use crate::quantity::GAS_CONSTANT;

/// Pools of one substance.
pub const POOLS: usize = 4;

/// Share of a pool in a step below which none of it leaves: the rounding of what is left.
const NOTHING: f64 = 1e-15;

/// A part of a substance that leaves by a first-order step.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Pool {
    /// Share of the substance.
    pub share: f64,
    /// Activation energy, J/mol.
    pub activation_energy: f64,
    /// Pre-exponential factor, 1/s.
    pub pre_exponential: f64,
    /// Temperature (K) at which it begins to leave, within [`ONSET_RANGE`].
    pub onset: f64,
}

/// Range (K) about an onset in which a pool comes to its full rate (assumed, as narrow as any
/// melting point of a gel is known): with a jump instead, a gel that the loss cools would cross it
/// back and forth.
const ONSET_RANGE: f64 = 2.0;

impl Pool {
    fn rate(&self, t: f64) -> f64 {
        let begun = (0.5 + (t - self.onset) / ONSET_RANGE).min(1.0);
        if begun <= 0.0 {
            return 0.0;
        }
        begun * self.pre_exponential * (-self.activation_energy / (GAS_CONSTANT * t)).exp()
    }
}

/// A substance that leaves, pool by pool; the pools that go first stand first.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Leaving {
    pub pools: [Pool; POOLS],
}

impl Leaving {
    /// What goes in `dt` (s) at `t` (K) of a substance of which the share `gone` has gone, while
    /// the share `unburnt` of the gel has not reacted.
    pub fn step(&self, gone: f64, t: f64, dt: f64, unburnt: f64) -> f64 {
        self.sum(gone, |pool, left| {
            let rate = pool.rate(t) * unburnt * dt;
            if rate < NOTHING {
                return 0.0;
            }
            -left * (-rate).exp_m1()
        })
    }

    /// Rate (1/s) of the same.
    pub fn rate(&self, gone: f64, t: f64, unburnt: f64) -> f64 {
        self.sum(gone, |pool, left| left * pool.rate(t) * unburnt)
    }

    fn sum(&self, gone: f64, part: impl Fn(&Pool, f64) -> f64) -> f64 {
        let mut start = 0.0;
        let mut total = 0.0;
        for pool in &self.pools {
            let end = start + pool.share;
            let left = end - gone.max(start);
            if left > 0.0 {
                total += part(pool, left);
            }
            start = end;
        }
        total
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn pool(share: f64, rate: f64, onset: f64) -> Pool {
        Pool {
            share,
            activation_energy: 0.0,
            pre_exponential: rate,
            onset,
        }
    }

    #[test]
    fn one_pool_decays_exponentially_and_steps_add_up() {
        let leaving = Leaving {
            pools: [
                pool(1.0, 0.01, 400.0),
                Pool::default(),
                Pool::default(),
                Pool::default(),
            ],
        };
        let once = leaving.step(0.0, 450.0, 100.0, 1.0);
        assert_relative_eq!(once, 1.0 - (-1.0_f64).exp(), max_relative = 1e-12);
        let half = leaving.step(0.0, 450.0, 50.0, 1.0);
        let twice = half + leaving.step(half, 450.0, 50.0, 1.0);
        assert_relative_eq!(once, twice, max_relative = 1e-12);
        assert_eq!(
            leaving.step(0.0, 399.0, 100.0, 1.0).to_bits(),
            0.0_f64.to_bits()
        );
    }

    #[test]
    fn a_held_pool_waits_for_its_onset_and_the_rest_stays_for_ever() {
        let leaving = Leaving {
            pools: [
                pool(0.3, 1.0, 400.0),
                pool(0.5, 1.0, 470.0),
                Pool::default(),
                Pool::default(),
            ],
        };
        assert_relative_eq!(
            leaving.step(0.0, 450.0, 1e3, 1.0),
            0.3,
            max_relative = 1e-12
        );
        assert_relative_eq!(
            leaving.step(0.3, 480.0, 1e3, 1.0),
            0.5,
            max_relative = 1e-12
        );
        assert!(leaving.step(0.8, 480.0, 1e3, 1.0).abs() < 1e-15);
    }
}
