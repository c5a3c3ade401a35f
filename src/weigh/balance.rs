//! Which balance to use, and how far off the mass will be.
//!
//! A net mass is the difference of two readings (tare and load). Each is rounded to the scale
//! interval d, which alone gives a standard deviation of d √(2/12) = 0.41 d; the repeatability as
//! stated counts if it is greater. Linearity adds half its band / √3 (even distribution). The
//! error printed is the expanded one, coverage factor 2.

use crate::batch::Balance;
use crate::quantity::Mass as M;
use crate::quantity::units::{gram, ratio};
use crate::quantity::{Mass, Ratio};
use crate::tables::balances::WeighingRules;
use thiserror::Error;

/// Coverage factor of every error printed on the sheet: about 95 % of a normal distribution.
pub const COVERAGE: f64 = 2.0;

/// Why a mass cannot be weighed.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum WeighingError {
    #[error(
        "{mass_g:.3} g is above the capacity of every balance ({most_g:.3} g at most): split the mass or the batch"
    )]
    TooHeavy { mass_g: f64, most_g: f64 },
    #[error("no balance is given: add a [[balance]] section with a name and a readability")]
    NoBalance,
    #[error("a mass of {mass_g} g cannot be weighed")]
    NoMass { mass_g: f64 },
}

/// One mass on one balance.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighing {
    /// Name of the balance.
    pub balance: String,
    /// Its readability d.
    pub readability: Mass,
    /// Mass wanted.
    pub mass: Mass,
    /// Standard uncertainty of the net mass.
    pub standard_uncertainty: Mass,
    /// Least mass that the balance should weigh.
    pub minimum_weight: Mass,
}

impl Weighing {
    /// Expanded relative error (k = 2).
    pub fn relative_error(&self) -> Ratio {
        COVERAGE * self.standard_uncertainty / self.mass
    }

    /// Whether the mass lies below the minimum weight.
    pub fn is_below_minimum(&self) -> bool {
        self.mass < self.minimum_weight
    }
}

/// Decimals of a gram needed to write a multiple of `readability`: 2 for 0.01 g and for 0.02 g.
pub fn decimals(readability: Mass) -> usize {
    let d = readability.get::<gram>();
    // 1e-9: the logarithm of 0.001 shall not come out a hair above 3.
    let places = (-d.log10() - 1e-9).ceil();
    if places > 0.0 {
        places.min(9.0) as usize
    } else {
        0
    }
}

/// Standard deviation of a net mass: the stated repeatability, at least the floor of the rules.
fn repeatability(balance: &Balance, rules: &WeighingRules) -> Mass {
    let floor = rules.minimum_weight.repeatability_floor.value * balance.readability;
    balance
        .repeatability
        .map_or(floor, |stated| if stated > floor { stated } else { floor })
}

/// Standard uncertainty of a net mass on this balance, u(m).
pub fn standard_uncertainty(balance: &Balance, rules: &WeighingRules) -> Mass {
    let s = repeatability(balance, rules).get::<gram>();
    let linearity = balance
        .linearity
        .unwrap_or(rules.usual.linearity.value * balance.readability)
        .get::<gram>();
    // √3: even distribution of half width `linearity`.
    M::new::<gram>(s.hypot(linearity / 3.0_f64.sqrt()))
}

/// Least mass that this balance should weigh: the lab's own, else coverage factor times
/// repeatability over the tolerance of the rules.
pub fn minimum_weight(balance: &Balance, rules: &WeighingRules) -> Mass {
    balance.minimum_weight.unwrap_or_else(|| {
        rules.minimum_weight.coverage_factor.value * repeatability(balance, rules)
            / rules.minimum_weight.weighing_tolerance.value.get::<ratio>()
    })
}

/// How one mass comes out on one balance.
pub fn weighing(balance: &Balance, mass: Mass, rules: &WeighingRules) -> Weighing {
    Weighing {
        balance: balance.name.clone(),
        readability: balance.readability,
        mass,
        standard_uncertainty: standard_uncertainty(balance, rules),
        minimum_weight: minimum_weight(balance, rules),
    }
}

/// The balance for a mass: the coarsest that carries it and whose minimum weight it reaches; if
/// none, the one with the least error among those that carry it.
pub fn choose(
    balances: &[Balance],
    mass: Mass,
    rules: &WeighingRules,
) -> Result<Weighing, WeighingError> {
    let mass_g = mass.get::<gram>();
    if !(mass_g > 0.0 && mass_g.is_finite()) {
        return Err(WeighingError::NoMass { mass_g });
    }
    let most = balances
        .iter()
        .map(|balance| {
            balance
                .capacity
                .map_or(f64::INFINITY, |most| most.get::<gram>())
        })
        .fold(None, |most: Option<f64>, g| {
            Some(most.map_or(g, |m| m.max(g)))
        });
    let Some(most_g) = most else {
        return Err(WeighingError::NoBalance);
    };
    let able: Vec<Weighing> = balances
        .iter()
        .filter(|balance| balance.capacity.is_none_or(|most| mass <= most))
        .map(|balance| weighing(balance, mass, rules))
        .collect();
    let coarsest = able
        .iter()
        .filter(|weighing| !weighing.is_below_minimum())
        .max_by(|a, b| a.readability.value.total_cmp(&b.readability.value));
    let finest = able.iter().min_by(|a, b| {
        a.standard_uncertainty
            .value
            .total_cmp(&b.standard_uncertainty.value)
    });
    coarsest
        .or(finest)
        .cloned()
        .ok_or(WeighingError::TooHeavy { mass_g, most_g })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::milligram;
    use crate::tables::Tables;
    use approx::assert_relative_eq;

    fn balance(name: &str, readability_mg: f64) -> Balance {
        Balance {
            name: name.into(),
            readability: Mass::new::<milligram>(readability_mg),
            capacity: None,
            repeatability: None,
            linearity: None,
            minimum_weight: None,
        }
    }

    fn rules() -> WeighingRules {
        WeighingRules::clone(&Tables::built_in().unwrap().weighing_rules)
    }

    #[test]
    fn the_minimum_weight_is_820_scale_intervals() {
        // USP <41>: smallest possible sample 820 d.
        let rules = rules();
        for (d_mg, expected_g) in [(0.1, 0.082), (1.0, 0.82), (10.0, 8.2)] {
            let found = minimum_weight(&balance("b", d_mg), &rules);
            assert_relative_eq!(found.get::<gram>(), expected_g, max_relative = 1e-12);
        }
    }

    #[test]
    fn two_roundings_give_the_floor_of_the_repeatability() {
        // Closed form: two even distributions of width d have the variance 2 d²/12; the rule
        // rounds √(1/6) = 0.408 to 0.41.
        let floor = rules().minimum_weight.repeatability_floor.value;
        assert_relative_eq!(floor, (2.0_f64 / 12.0).sqrt(), epsilon = 0.005);
    }

    #[test]
    fn uncertainty_is_the_root_of_the_squares() {
        let mut b = balance("b", 1.0);
        b.repeatability = Some(Mass::new::<milligram>(0.9));
        b.linearity = Some(Mass::new::<milligram>(1.2 * 3.0_f64.sqrt()));
        let u = standard_uncertainty(&b, &rules());
        assert_relative_eq!(u.get::<milligram>(), 1.5, max_relative = 1e-12);
    }

    #[test]
    fn the_coarsest_balance_that_will_do_is_taken() {
        let all = [
            balance("fine", 0.1),
            balance("middle", 1.0),
            balance("coarse", 10.0),
        ];
        let rules = rules();
        for (mass_g, name) in [
            (9.0, "coarse"),
            (5.0, "middle"),
            (0.5, "fine"),
            (0.01, "fine"),
        ] {
            let found = choose(&all, Mass::new::<gram>(mass_g), &rules).unwrap();
            assert_eq!(found.balance, name, "{mass_g} g");
            assert_eq!(found.is_below_minimum(), mass_g < 0.05);
        }
    }

    #[test]
    fn a_load_above_the_capacity_goes_elsewhere_or_is_refused() {
        let mut fine = balance("fine", 0.1);
        fine.capacity = Some(Mass::new::<gram>(100.0));
        let rules = rules();
        let heavy = Mass::new::<gram>(150.0);
        assert!(matches!(
            choose(std::slice::from_ref(&fine), heavy, &rules),
            Err(WeighingError::TooHeavy { .. })
        ));
        let both = [fine, balance("coarse", 10.0)];
        assert_eq!(choose(&both, heavy, &rules).unwrap().balance, "coarse");
        assert!(matches!(
            choose(&[], heavy, &rules),
            Err(WeighingError::NoBalance)
        ));
        for bad in [0.0, -1.0, f64::NAN] {
            let bad = Mass::new::<gram>(bad);
            assert!(matches!(
                choose(&both, bad, &rules),
                Err(WeighingError::NoMass { .. })
            ));
        }
    }

    #[test]
    fn decimals_follow_the_readability() {
        for (d_mg, places) in [
            (0.01, 5),
            (0.1, 4),
            (1.0, 3),
            (2.0, 3),
            (10.0, 2),
            (500.0, 1),
            (1000.0, 0),
        ] {
            assert_eq!(decimals(Mass::new::<milligram>(d_mg)), places, "{d_mg} mg");
        }
    }
}
