//! Concentrations in the room against the limits.

use super::{Air, clearing_time, mean_share};
use crate::batch::BurnPlace;
use crate::fumes::{Fume, Fumes};
use crate::gas::ideal_gas_volume;
use crate::quantity::{AmountOfSubstance, Band, Mass, Ratio, Time, VolumeRate};
use crate::tables::limits::{Agent, Concentration, ExposureLimit, LimitKind, limit_air};
use std::collections::BTreeMap;
use uom::si::ratio::ratio;
use uom::si::time::minute;

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
