//! A range of a quantity that is known only within bounds.

/// A quantity known only to lie from `low` to `high`. Both ends may be the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band<Q> {
    /// Lower end.
    pub low: Q,
    /// Upper end.
    pub high: Q,
}

impl<Q: Copy + PartialOrd> Band<Q> {
    /// The band between two values, whichever is the lower.
    pub fn between(a: Q, b: Q) -> Self {
        if b < a {
            Self { low: b, high: a }
        } else {
            Self { low: a, high: b }
        }
    }

    /// A band of no width.
    pub fn exactly(value: Q) -> Self {
        Self {
            low: value,
            high: value,
        }
    }

    /// The band that a function makes of both ends; a falling function turns them round.
    pub fn map<R: Copy + PartialOrd>(self, mut f: impl FnMut(Q) -> R) -> Band<R> {
        Band::between(f(self.low), f(self.high))
    }

    /// The narrowest band that holds both.
    pub fn hull(self, other: Self) -> Self {
        Self {
            low: if other.low < self.low {
                other.low
            } else {
                self.low
            },
            high: if other.high > self.high {
                other.high
            } else {
                self.high
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_falling_function_turns_the_ends_round() {
        let band = Band {
            low: 2.0,
            high: 4.0,
        }
        .map(|x| 1.0 / x);
        assert_eq!(
            band,
            Band {
                low: 0.25,
                high: 0.5
            }
        );
    }

    #[test]
    fn the_hull_holds_both() {
        let hull = Band {
            low: 1.0,
            high: 2.0,
        }
        .hull(Band {
            low: 0.5,
            high: 1.5,
        });
        assert_eq!(
            hull,
            Band {
                low: 0.5,
                high: 2.0
            }
        );
    }
}
