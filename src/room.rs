//! Can the room take it: concentrations after a release, time until they are below the limits,
//! air that has to be taken away, and the hood.
//!
//! The release is taken as one puff: a burn lasts seconds to a minute, the room clears in minutes
//! to hours. In a well-mixed room of volume V with the air flow Q, C(t) = C₀ e^(−Q t/V). A real
//! room is worse by the mixing factor K: the air one breathes holds up to K C₀, and it clears as
//! with Q/K. Mean over the time τ: C₀ (1 − e^(−λτ))/(λτ) with λ = Q/V or Q/(K V).

use crate::batch::{BurnPlace, Room};
use crate::fumes::{Fume, Fumes};
use crate::gas::ideal_gas_volume;
use crate::quantity::Frequency;
use crate::quantity::units::{hertz, minute, ratio, second};
use crate::quantity::{
    AmountOfSubstance, Area, Band, Mass, Ratio, Time, Velocity, Volume, VolumeRate,
};
use crate::tables::fumes::AirAssumptions;
use crate::tables::limits::{Agent, Concentration, ExposureLimit, LimitKind, limit_air};
use std::collections::BTreeMap;

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

/// What one breathes of one agent, against the limit that it comes closest to or passes most.
#[derive(Debug, Clone, PartialEq)]
pub struct Exposure {
    /// Name of the agent.
    pub name: String,
    /// Concentration over the time that `limit` counts for.
    pub concentration: Band<Concentration>,
    /// The limit in question, the most restrictive one.
    pub limit: ExposureLimit,
    /// Concentration over limit.
    pub times_limit: Band<Ratio>,
    /// Peak over the level that is dangerous at once, upper end, if such a level is known.
    pub over_immediate_danger: Option<Ratio>,
    /// Time until the concentration is below the lowest limit of the agent; none if the air
    /// stands still.
    pub clear_after: Option<Band<Time>>,
    /// Air to be taken away so that a mean over 15 minutes stays below that limit.
    pub exhaust_needed: VolumeRate,
}

/// Time over which the exhaust is asked to keep a mean below the limit.
const EXHAUST_OVER_MINUTES: f64 = 15.0;

/// Exposures to every agent that comes off and has a limit, the worst first. Outdoors none.
pub fn exposures(fumes: &Fumes, air: &Air, limits: &[ExposureLimit]) -> Vec<Exposure> {
    if air.place == BurnPlace::Outdoors {
        return Vec::new();
    }
    let mut found = Vec::new();
    for release in releases(fumes, limits) {
        found.extend(exposure(&release, air));
    }
    found.sort_by(|a, b| {
        let (a_high, b_high) = (a.times_limit.high.value, b.times_limit.high.value);
        b_high.total_cmp(&a_high).then_with(|| a.name.cmp(&b.name))
    });
    found
}

/// What gets into the air of one agent, and the limits on it.
struct Release<'a> {
    quantity: Released,
    limits: Vec<&'a ExposureLimit>,
}

#[derive(Clone, Copy)]
enum Released {
    Gas(Band<AmountOfSubstance>),
    Dust(Band<Mass>),
}

fn releases<'a>(fumes: &Fumes, limits: &'a [ExposureLimit]) -> Vec<Release<'a>> {
    let mut by_agent: BTreeMap<String, Vec<&ExposureLimit>> = BTreeMap::new();
    for limit in limits {
        by_agent.entry(key(&limit.agent)).or_default().push(limit);
    }
    let mut found = Vec::new();
    for limits in by_agent.into_values() {
        let quantity = match limits.first().map(|limit| &limit.agent) {
            Some(Agent::Gas(formula)) => gas(fumes, &formula.to_string()).map(Released::Gas),
            Some(Agent::Element(element)) => fumes
                .dust_elements
                .get(element)
                .map(|band| Released::Dust(*band)),
            Some(Agent::Dust) => Some(Released::Dust(fumes.dust)),
            None => None,
        };
        if let Some(quantity) = quantity {
            found.push(Release { quantity, limits });
        }
    }
    found
}

fn key(agent: &Agent) -> String {
    match agent {
        Agent::Gas(formula) => format!("gas {formula}"),
        Agent::Element(element) => format!("element {}", element.symbol()),
        Agent::Dust => "dust".to_owned(),
    }
}

/// The band of a gas. NO turns into NO2 in air: the upper end of NO2 counts it too.
fn gas(fumes: &Fumes, name: &str) -> Option<Band<AmountOfSubstance>> {
    let own = fumes
        .gases
        .iter()
        .find(|fume: &&Fume| fume.gas == name)
        .map(|fume| fume.amount);
    match (name, own, fumes.amount("NO")) {
        ("NO2", Some(own), Some(no)) => Some(Band {
            low: own.low,
            high: own.high + no.high,
        }),
        ("NO2", None, Some(no)) => Some(Band {
            low: AmountOfSubstance::default(),
            high: no.high,
        }),
        _ => own,
    }
}

/// Peak concentration of a release in the room: mean of the well-mixed room from the lower end,
/// the badly mixed air from the upper end.
fn peak(quantity: Released, air: &Air) -> Band<Concentration> {
    let (temperature, pressure) = limit_air();
    let gas = |amount, escape: Ratio, mixing: Ratio| {
        let volume = ideal_gas_volume(amount, temperature, pressure);
        let fraction: Ratio = volume / air.volume;
        let full = Ratio::new::<ratio>(1.0);
        let fraction = escape * mixing * fraction;
        Concentration::OfGas(if fraction > full { full } else { fraction })
    };
    let dust = |mass: Mass, escape: Ratio, mixing: Ratio| {
        Concentration::OfDust(escape * mixing * (mass / air.volume))
    };
    match quantity {
        Released::Gas(band) => Band {
            low: gas(band.low, air.escape.low, air.mixing.low),
            high: gas(band.high, air.escape.high, air.mixing.high),
        },
        Released::Dust(band) => Band {
            low: dust(band.low, air.escape.low, air.mixing.low),
            high: dust(band.high, air.escape.high, air.mixing.high),
        },
    }
}

fn over(concentration: Concentration, limit: Concentration) -> Option<Ratio> {
    match (concentration, limit) {
        (Concentration::OfGas(c), Concentration::OfGas(l)) => Some(c / l),
        (Concentration::OfDust(c), Concentration::OfDust(l)) => Some(c / l),
        _ => None,
    }
}

fn scaled(concentration: Concentration, share: Ratio) -> Concentration {
    match concentration {
        Concentration::OfGas(c) => Concentration::OfGas(share * c),
        Concentration::OfDust(c) => Concentration::OfDust(share * c),
    }
}

fn exposure(release: &Release<'_>, air: &Air) -> Option<Exposure> {
    let peak = peak(release.quantity, air);
    let mut worst: Option<(Ratio, Band<Ratio>, Band<Concentration>, &ExposureLimit)> = None;
    let mut strictest: Option<Band<Ratio>> = None;
    let mut danger: Option<Ratio> = None;
    for limit in &release.limits {
        let times_peak = Band {
            low: over(peak.low, limit.value)?,
            high: over(peak.high, limit.value)?,
        };
        if limit.kind == LimitKind::ImmediateDanger {
            danger = Some(match danger {
                Some(old) if old > times_peak.high => old,
                _ => times_peak.high,
            });
            continue;
        }
        if strictest.is_none_or(|old| times_peak.high > old.high) {
            strictest = Some(times_peak);
        }
        // a mean is lowest where the room clears fastest
        let share = match limit.kind.averaging_time() {
            None => Band::exactly(Ratio::new::<ratio>(1.0)),
            Some(time) => air.clearing.map(|rate| mean_share(rate, time)),
        };
        let times = Band {
            low: times_peak.low * share.low,
            high: times_peak.high * share.high,
        };
        if worst.is_none_or(|(high, ..)| times.high > high) {
            let concentration = Band {
                low: scaled(peak.low, share.low),
                high: scaled(peak.high, share.high),
            };
            worst = Some((times.high, times, concentration, limit));
        }
    }
    let (_, times_limit, concentration, limit) = worst?;
    let strictest = strictest?;
    let clear_after = clearing_time(strictest.high, air.clearing.low)
        .zip(clearing_time(strictest.low, air.clearing.high));
    // Q = K V (C₀/L)/τ: the flow that dilutes the whole release to the limit within τ
    let volume = air.volume * strictest.high;
    Some(Exposure {
        name: limit.name.clone(),
        concentration,
        limit: limit.clone(),
        times_limit,
        over_immediate_danger: danger,
        clear_after: clear_after.map(|(slow, fast)| Band::between(fast, slow)),
        exhaust_needed: volume / Time::new::<minute>(EXHAUST_OVER_MINUTES),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::{cycle_per_hour, hour, minute};
    use approx::assert_relative_eq;

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
    fn a_badly_mixed_room_clears_slower_by_its_mixing_factor() {
        let tables = crate::tables::Tables::built_in().unwrap();
        let assumed = &tables.safety.fumes.assumed;
        let changes = Frequency::new::<cycle_per_hour>(6.0);
        let room = Room {
            place: BurnPlace::Room,
            volume: None,
            air_changes: Some(changes),
            exhaust: None,
            opening: None,
            face_velocity: None,
        };
        let air = air(Some(&room), assumed);
        assert!(air.clearing.low < air.clearing.high && air.clearing.high <= changes);
        let worst = (changes / air.clearing.low).get::<ratio>();
        let factor = assumed.mixing_factor.value.high.get::<ratio>();
        assert_relative_eq!(worst, factor, max_relative = 1e-12);
    }

    #[test]
    fn the_tracer_room_clears_as_measured() {
        // Jayjock, A simple tracer gas technique (2013): 20 m3, half-life 1.4 h, Q = 9.9 m3/h
        let rate = Frequency::new::<cycle_per_hour>(9.9 / 20.0);
        let half = clearing_time(Ratio::new::<ratio>(2.0), rate).unwrap();
        assert_relative_eq!(half.get::<hour>(), 1.4, max_relative = 1e-3);
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
