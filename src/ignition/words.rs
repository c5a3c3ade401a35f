//! Numbers of a course in words.

use crate::quantity::units::{degree_celsius, hour, kelvin, meter, millimeter, minute, second};
use crate::quantity::{Band, Length, ThermodynamicTemperature, Time};

/// A time in words: seconds below two minutes, minutes up to three hours, else hours.
pub fn duration(seconds: f64) -> String {
    let minutes = Time::new::<second>(seconds).get::<minute>();
    if minutes < 2.0 {
        format!("{seconds:.0} s")
    } else if minutes < 10.0 {
        format!("{minutes:.1} min")
    } else if minutes > 180.0 {
        let hours = Time::new::<second>(seconds).get::<hour>();
        format!("{hours:.0} h")
    } else {
        format!("{minutes:.0} min")
    }
}

/// A band of times in words, in the unit of its upper end; one time if both ends read alike.
pub fn span(time: Band<Time>) -> String {
    let (from, to) = (time.low.get::<second>(), time.high.get::<second>());
    let minutes = |s: f64| Time::new::<second>(s).get::<minute>();
    let number = |value: f64, upper: f64| match upper < 10.0 {
        true => format!("{value:.1}"),
        false => format!("{value:.0}"),
    };
    let (low, high, unit) = if minutes(to) < 2.0 {
        (format!("{from:.0}"), format!("{to:.0}"), "s")
    } else {
        let upper = minutes(to);
        (number(minutes(from), upper), number(upper, upper), "min")
    };
    if low == high {
        format!("{high} {unit}")
    } else {
        format!("{low} to {high} {unit}")
    }
}

/// A temperature in K as °C, for messages.
pub(super) fn in_celsius(k: f64) -> f64 {
    ThermodynamicTemperature::new::<kelvin>(k).get::<degree_celsius>()
}

/// A length in m as mm, for messages.
pub(super) fn in_millimetre(m: f64) -> f64 {
    Length::new::<meter>(m).get::<millimeter>()
}
