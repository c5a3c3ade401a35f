//! Can the room take it: concentrations after a release, time until they are below the limits,
//! air that has to be taken away, and the hood.
//!
//! The release is taken as one puff: a burn lasts seconds to a minute, the room clears in minutes
//! to hours. In a well-mixed room of volume V with the air flow Q, C(t) = C₀ e^(−Q t/V). A real
//! room is worse by the mixing factor K: the air one breathes holds up to K C₀, and it clears as
//! with Q/K. Mean over the time τ: C₀ (1 − e^(−λτ))/(λτ) with λ = Q/V or Q/(K V).

mod exposure;

pub use exposure::{Exposure, exposures};

use crate::batch::{BurnPlace, Room};
use crate::quantity::{Area, Band, Ratio, Time, Velocity, Volume, VolumeRate};
use crate::tables::fumes::AirAssumptions;
use uom::si::f64::Frequency;
use uom::si::frequency::hertz;
use uom::si::ratio::ratio;
use uom::si::time::second;

/// The air that fumes go into.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Where the burn is done.
    pub place: BurnPlace,
    /// Volume of the room.
    pub volume: Volume,
    /// Clearing rate λ, from the badly mixed to the well-mixed room.
    pub clearing: Band<Frequency>,
    /// Concentration that one breathes over that of a well-mixed room.
    pub mixing: Band<Ratio>,
    /// Share of the fumes that gets into the room.
    pub escape: Band<Ratio>,
    /// The hood, if it is done in one.
    pub hood: Option<Hood>,
    /// Whether a room is described at all.
    pub stated: bool,
    /// Whether its volume is.
    pub volume_stated: bool,
}

/// A fume hood as it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hood {
    /// Air speed through the opening, stated or from flow and opening; none if not known.
    pub face_velocity: Option<Velocity>,
    /// Air that it takes away; none if not known.
    pub exhaust: Option<VolumeRate>,
    /// Whether the speed lies in the usual band.
    pub draws_well: bool,
}

/// The air of `room`, with the assumptions for what is not stated.
pub fn air(room: Option<&Room>, assumed: &AirAssumptions) -> Air {
    let place = room.map_or(BurnPlace::Room, |room| room.place);
    let volume_stated = room.is_some_and(|room| room.volume.is_some());
    let volume = room
        .and_then(|room| room.volume)
        .unwrap_or(assumed.room_volume.value);
    let hood = room
        .filter(|room| room.place == BurnPlace::Hood)
        .map(|room| hood(room, assumed));
    // a hood clears the room it stands in as well
    let fan: Frequency = hood
        .and_then(|hood| hood.exhaust)
        .or_else(|| room.and_then(|room| room.exhaust))
        .map_or(Frequency::new::<hertz>(0.0), |exhaust| {
            per_volume(exhaust, volume)
        });
    let stated = room.and_then(|room| room.air_changes);
    let changes = match stated {
        Some(changes) => changes,
        None if fan > Frequency::new::<hertz>(0.0) => fan,
        None => assumed.air_changes.value,
    };
    let mixing = assumed.mixing_factor.value;
    let nothing = Ratio::new::<ratio>(0.0);
    let escape = match (place, hood) {
        (BurnPlace::Outdoors, _) => Band::exactly(nothing),
        (BurnPlace::Room, _) | (BurnPlace::Hood, None) => Band::exactly(Ratio::new::<ratio>(1.0)),
        (BurnPlace::Hood, Some(hood)) if hood.draws_well => assumed.escape.value,
        (BurnPlace::Hood, Some(_)) => assumed.escape_of_weak_hood.value,
    };
    Air {
        place,
        volume,
        clearing: Band::between(changes / mixing.high, changes / mixing.low),
        mixing,
        escape,
        hood,
        stated: room.is_some(),
        volume_stated,
    }
}

fn hood(room: &Room, assumed: &AirAssumptions) -> Hood {
    let opening: Option<Area> = room.opening.map(|(width, height)| width * height);
    let face_velocity = room
        .face_velocity
        .or_else(|| Some(room.exhaust? / opening?));
    let exhaust = room
        .exhaust
        .or_else(|| Some(room.face_velocity? * opening?));
    let usual = assumed.face_velocity.value;
    let draws_well = face_velocity.is_some_and(|v| v >= usual.low && v <= usual.high);
    Hood {
        face_velocity,
        exhaust,
        draws_well,
    }
}

fn per_volume(flow: VolumeRate, volume: Volume) -> Frequency {
    flow / volume
}

/// Mean of a concentration that decays at the rate `clearing` over the time `over` from the
/// release on, as a share of the concentration at the start.
pub fn mean_share(clearing: Frequency, over: Time) -> Ratio {
    let x = clearing.get::<hertz>() * over.get::<second>();
    // (1 − e^(−x))/x tends to 1; exp_m1 keeps its digits for small x
    let share = if x > 0.0 { -(-x).exp_m1() / x } else { 1.0 };
    Ratio::new::<ratio>(share)
}

/// Time until a concentration of `times` its limit is down to the limit, t = ln(C₀/C)/λ; none if
/// the air stands still, zero if it is below from the start.
pub fn clearing_time(times: Ratio, clearing: Frequency) -> Option<Time> {
    let times = times.get::<ratio>();
    if times <= 1.0 {
        return Some(Time::new::<second>(0.0));
    }
    let rate = clearing.get::<hertz>();
    (rate > 0.0).then(|| Time::new::<second>(times.ln() / rate))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use uom::si::frequency::cycle_per_hour;
    use uom::si::time::minute;

    #[test]
    fn clearing_times_are_those_of_the_published_table() {
        // CDC, MMWR 43 (RR-13), 28 October 1994, table S3-1, minutes for 99 % and 99.9 % removal
        // at perfect mixing; the table rounds to whole minutes
        for (changes, minutes_99, minutes_999) in [
            (1.0, 276.0, 414.0),
            (2.0, 138.0, 207.0),
            (6.0, 46.0, 69.0),
            (12.0, 23.0, 35.0),
            (50.0, 6.0, 8.0),
        ] {
            let rate = Frequency::new::<cycle_per_hour>(changes);
            let time = |left: f64| {
                clearing_time(Ratio::new::<ratio>(left), rate)
                    .unwrap()
                    .get::<minute>()
            };
            assert!(
                (time(100.0) - minutes_99).abs() < 0.6,
                "{changes}: {}",
                time(100.0)
            );
            assert!(
                (time(1000.0) - minutes_999).abs() < 0.6,
                "{changes}: {}",
                time(1000.0)
            );
        }
    }

    #[test]
    fn the_tracer_room_clears_as_measured() {
        // Jayjock, A simple tracer gas technique (2013): 20 m3, half-life 1.4 h, Q = 9.9 m3/h
        let rate = Frequency::new::<cycle_per_hour>(9.9 / 20.0);
        let half = clearing_time(Ratio::new::<ratio>(2.0), rate).unwrap();
        assert_relative_eq!(half.get::<uom::si::time::hour>(), 1.4, max_relative = 1e-3);
    }

    #[test]
    fn the_mean_of_still_air_is_its_peak() {
        let still = Frequency::new::<hertz>(0.0);
        let mean = mean_share(still, Time::new::<minute>(15.0)).get::<ratio>();
        assert_relative_eq!(mean, 1.0);
        assert!(clearing_time(Ratio::new::<ratio>(2.0), still).is_none());
        // six changes an hour over a quarter of an hour: x = 1.5, (1 − e^−1.5)/1.5 = 0.5179
        let six = Frequency::new::<cycle_per_hour>(6.0);
        let share = mean_share(six, Time::new::<minute>(15.0)).get::<ratio>();
        assert_relative_eq!(share, 0.517_913_2, max_relative = 1e-6);
    }
}
