//! From values to positions: linear and logarithmic axes with round ticks.

use crate::report::number::whole;

/// Where a value stands and what is written there.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tick {
    pub(super) value: f64,
    /// Empty for a tick without a number.
    pub(super) label: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Linear,
    Logarithmic,
}

/// One axis: values from `low` to `high`, positions from `start` to `end`.
#[derive(Debug, Clone)]
pub(super) struct Scale {
    kind: Kind,
    step: Option<f64>,
    pub(super) low: f64,
    pub(super) high: f64,
    start: f64,
    end: f64,
}

impl Scale {
    /// A linear axis from `low` to `high`; widened if they are (nearly) the same.
    pub(super) fn linear(low: f64, high: f64, start: f64, end: f64) -> Self {
        let (low, high) = ordered(low, high);
        let least = 1e-9 * low.abs().max(high.abs()).max(1e-9);
        let (low, high) = if high - low > least {
            (low, high)
        } else {
            let half = 0.05 * low.abs().max(1.0);
            (low - half, high + half)
        };
        Self {
            kind: Kind::Linear,
            step: None,
            low,
            high,
            start,
            end,
        }
    }

    /// A linear axis that ends on ticks, about `count` of them.
    pub(super) fn rounded(low: f64, high: f64, count: usize, start: f64, end: f64) -> Self {
        let mut scale = Self::linear(low, high, start, end);
        let step = scale.step(count);
        // 1e-9: a bound that is a tick but for rounding stays.
        scale.low = (scale.low / step + 1e-9).floor() * step;
        scale.high = (scale.high / step - 1e-9).ceil() * step;
        scale.step = Some(step);
        scale
    }

    /// A logarithmic axis over whole decades around positive values.
    pub(super) fn decades(low: f64, high: f64, start: f64, end: f64) -> Self {
        let (low, high) = ordered(low, high);
        let low = low.max(f64::MIN_POSITIVE).log10();
        let high = high.max(f64::MIN_POSITIVE).log10();
        let floor = (low + 1e-9).floor();
        let ceiling = (high - 1e-9).ceil().max(floor + 1.0);
        Self {
            kind: Kind::Logarithmic,
            step: None,
            low: 10f64.powf(floor),
            high: 10f64.powf(ceiling),
            start,
            end,
        }
    }

    /// Position of a value, kept within one axis length beyond the ends.
    pub(super) fn at(&self, value: f64) -> f64 {
        let share = match self.kind {
            Kind::Linear => (value - self.low) / (self.high - self.low),
            Kind::Logarithmic => {
                let value = value.max(f64::MIN_POSITIVE);
                (value / self.low).log10() / (self.high / self.low).log10()
            }
        };
        self.start + share.clamp(-1.0, 2.0) * (self.end - self.start)
    }

    /// Whether a value lies on the axis.
    pub(super) fn holds(&self, value: f64) -> bool {
        let room = match self.kind {
            Kind::Linear => 1e-9 * (self.high - self.low),
            Kind::Logarithmic => 1e-9 * value.abs(),
        };
        value >= self.low - room && value <= self.high + room
    }

    /// Distance of about `count` ticks; that of the ends, for an axis that ends on ticks.
    fn step(&self, count: usize) -> f64 {
        self.step
            .unwrap_or_else(|| round_step((self.high - self.low) / count.max(1) as f64))
    }

    /// Ticks at round values, about `count` of them; the decades of a logarithmic axis.
    pub(super) fn ticks(&self, count: usize) -> Vec<Tick> {
        match self.kind {
            Kind::Linear => self.linear_ticks(count),
            Kind::Logarithmic => self.decade_ticks(count),
        }
    }

    fn linear_ticks(&self, count: usize) -> Vec<Tick> {
        let step = self.step(count);
        let decimals = usize::try_from(-(step.log10() + 1e-9).floor() as i64).unwrap_or(0);
        let first = (self.low / step - 1e-9).ceil() as i64;
        let last = (self.high / step + 1e-9).floor() as i64;
        (first..=last)
            .map(|at| {
                let value = at as f64 * step;
                Tick {
                    value,
                    label: fixed(value, decimals),
                }
            })
            .collect()
    }

    fn decade_ticks(&self, count: usize) -> Vec<Tick> {
        let first = self.low.log10().round() as i32;
        let last = self.high.log10().round() as i32;
        let decades = usize::try_from(last - first).unwrap_or(0);
        let every = i32::try_from(decades.div_ceil(count.max(1)))
            .unwrap_or(1)
            .max(1);
        let mut ticks = Vec::new();
        for exponent in first..=last {
            let value = 10f64.powi(exponent);
            let label = if (exponent - first) % every == 0 {
                power(exponent)
            } else {
                String::new()
            };
            ticks.push(Tick { value, label });
            if decades <= 3 && exponent < last {
                for factor in 2..10 {
                    ticks.push(Tick {
                        value: f64::from(factor) * value,
                        label: String::new(),
                    });
                }
            }
        }
        ticks
    }
}

/// 1, 2 or 5 times a power of ten, at least `least`.
fn round_step(least: f64) -> f64 {
    let decade = 10f64.powf(least.log10().floor());
    // 1e-9: a step that is round but for rounding stays.
    let factor = match least / decade {
        f if f <= 1.0 + 1e-9 => 1.0,
        f if f <= 2.0 + 1e-9 => 2.0,
        f if f <= 5.0 + 1e-9 => 5.0,
        _ => 10.0,
    };
    factor * decade
}

fn ordered(low: f64, high: f64) -> (f64, f64) {
    if low.is_finite() && high.is_finite() {
        (low.min(high), low.max(high))
    } else {
        (0.0, 1.0)
    }
}

/// A number with fixed decimals and a true minus sign.
fn fixed(value: f64, decimals: usize) -> String {
    if decimals == 0 {
        return whole(value);
    }
    format!("{:.decimals$}", value + 0.0).replace('-', "−")
}

/// A power of ten as on a logarithmic axis: plain between 0.001 and 1000.
fn power(exponent: i32) -> String {
    if (-3..=3).contains(&exponent) {
        let decimals = usize::try_from(-exponent).unwrap_or(0);
        return format!("{:.decimals$}", 10f64.powi(exponent));
    }
    let digits: String = exponent
        .to_string()
        .chars()
        .map(|c| match c {
            '-' => '⁻',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            '0' | '4'..='9' => char::from_u32(0x2070 + c as u32 - '0' as u32).unwrap_or(c),
            other => other,
        })
        .collect();
    format!("10{digits}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn labels(scale: &Scale, count: usize) -> Vec<String> {
        let ticks = scale.ticks(count);
        ticks.into_iter().map(|tick| tick.label).collect()
    }

    #[test]
    fn linear_ticks_are_round_and_within_the_axis() {
        let scale = Scale::rounded(-180.0, 2021.0, 5, 0.0, 100.0);
        assert_eq!(
            labels(&scale, 5),
            ["−500", "0", "500", "1000", "1500", "2000", "2500"]
        );
        assert_relative_eq!(scale.at(-500.0), 0.0, epsilon = 1e-9);
        assert_relative_eq!(scale.at(2500.0), 100.0, epsilon = 1e-9);
        let scale = Scale::rounded(0.5, 2.0, 6, 0.0, 100.0);
        assert_eq!(
            scale.ticks(4).last().map(|t| t.label.clone()),
            Some("2.0".to_owned())
        );
    }

    #[test]
    fn decades_are_written_as_powers() {
        let scale = Scale::decades(3e-5, 4.0, 0.0, 60.0);
        assert_eq!(
            labels(&scale, 9),
            ["10⁻⁵", "10⁻⁴", "0.001", "0.01", "0.1", "1", "10"]
        );
        assert_relative_eq!(scale.at(1e-2), 30.0, epsilon = 1e-9);
    }

    #[test]
    fn values_that_are_all_the_same_or_no_numbers_still_make_an_axis() {
        for scale in [
            Scale::rounded(5.0, 5.0, 4, 0.0, 10.0),
            Scale::rounded(0.0, 0.0, 4, 0.0, 10.0),
            Scale::rounded(f64::NAN, 1.0, 4, 0.0, 10.0),
            Scale::decades(1.0, 1.0, 0.0, 10.0),
            Scale::decades(0.0, 1.0, 0.0, 10.0),
        ] {
            assert!(scale.high > scale.low);
            assert!(scale.at(5.0).is_finite());
            assert!(scale.ticks(4).len() >= 2);
        }
    }
}
