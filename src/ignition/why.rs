//! Why the heating ways differ: sentences chosen from the numbers of a comparison. Each is a value
//! with its numbers, so that it can be checked against the courses; the words come last.

use super::calibration::watts;
use super::course::{Course, Ending, LitPlace, StageName};
use super::verdict::{Chance, Judged, WayResult};
use super::words::{duration, span};
use crate::names::capital;
use crate::quantity::units::{kelvins, percent, second};
use crate::quantity::{Band, Time};
use std::fmt;

/// Where the heat enters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Entrance {
    /// Through the floor of the vessel.
    Floor,
    /// Through the free surface.
    Surface,
    /// Made inside by microwaves.
    Inside,
}

/// One reason.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// No way lights it.
    NoneLights,
    /// One way alone may or will light it.
    OneLights {
        /// Which.
        way: String,
    },
    /// Which comes first and last of those that light, with the time of eight of ten.
    Order {
        /// First, with its band.
        first: (String, Band<Time>),
        /// Last.
        last: (String, Band<Time>),
    },
    /// Which brings the most and the least power until the solvent has gone, W.
    Power {
        /// Most.
        most: (String, f64),
        /// Least.
        least: (String, f64),
    },
    /// Where most of the heat of a way enters.
    Heat {
        /// Way.
        way: String,
        /// Where.
        through: Entrance,
        /// Share of all heat taken up, %.
        share: f64,
    },
    /// Where it lights with every input at its middle.
    Lights {
        /// Way.
        way: String,
        /// Where.
        place: LitPlace,
    },
    /// How long the gel takes from setting to the end, s, and what has left by then, %.
    Gel {
        /// Way.
        way: String,
        /// Time.
        seconds: f64,
        /// Fuel lost, by valence.
        fuel: f64,
        /// Nitrate lost, by valence.
        nitrate: f64,
    },
    /// How much hotter the floor is than the middle at the end, K; negative if it is cooler.
    Uneven {
        /// Way.
        way: String,
        /// Difference.
        difference_k: f64,
    },
    /// Share of the layer still too wet to burn by itself, %.
    Wet {
        /// Way.
        way: String,
        /// Share.
        share: f64,
    },
    /// The powder goes on taking up microwaves.
    GoesOn {
        /// Way.
        way: String,
    },
    /// Why it does not light with every input at its middle.
    Fails {
        /// Way.
        way: String,
        /// Reason.
        reason: String,
    },
}

/// Least share (%), difference (K) and time (s) that are worth a sentence.
const WORTH_PERCENT: f64 = 1.0;
const WORTH_KELVINS: f64 = 5.0;
const WORTH_SECONDS: f64 = 1.0;

/// The reasons of a comparison, general ones first, then way by way.
pub(super) fn reasons(ways: &[WayResult]) -> Vec<Reason> {
    let judged: Vec<&Judged> = ways.iter().filter_map(|w| w.judged.as_ref().ok()).collect();
    let mut reasons = Vec::new();
    reasons.extend(order(&judged));
    reasons.extend(power(&judged));
    for one in judged {
        reasons.extend(one.reasons());
    }
    reasons
}

fn order(judged: &[&Judged]) -> Option<Reason> {
    let live: Vec<&&Judged> = judged
        .iter()
        .filter(|c| c.verdict.chance() != Chance::DoesNotLight)
        .collect();
    match live.as_slice() {
        [] => return (!judged.is_empty()).then_some(Reason::NoneLights),
        [one] => {
            return Some(Reason::OneLights {
                way: one.course.way.clone(),
            });
        }
        _ => {}
    }
    let mut lit: Vec<(String, Band<Time>)> = judged
        .iter()
        .filter(|c| c.verdict.chance() == Chance::Lights)
        .filter_map(|c| Some((c.course.way.clone(), c.verdict.time?)))
        .collect();
    let middle = |w: &(String, Band<Time>)| (w.1.low + w.1.high).get::<second>();
    lit.sort_by(|a, b| middle(a).total_cmp(&middle(b)));
    let last = lit.pop()?;
    let first = lit.into_iter().next()?;
    Some(Reason::Order { first, last })
}

/// Mean power (W) until the solvent has gone; `None` if that takes no time.
fn wet_power(course: &Course) -> Option<f64> {
    let wet = course
        .stages
        .iter()
        .filter(|s| matches!(s.name, StageName::HeatUp | StageName::BoilOff));
    let (mut heat, mut time) = (0.0, 0.0);
    for stage in wet {
        let long = (stage.end - stage.start).get::<second>();
        heat += watts(stage.power) * long;
        time += long;
    }
    (time > 0.0).then(|| heat / time)
}

fn power(judged: &[&Judged]) -> Option<Reason> {
    let mut powers: Vec<(String, f64)> = judged
        .iter()
        .filter_map(|j| Some((j.course.way.clone(), wet_power(&j.course)?)))
        .collect();
    powers.sort_by(|a, b| a.1.total_cmp(&b.1));
    let most = powers.pop()?;
    let least = powers.into_iter().next()?;
    Some(Reason::Power { most, least })
}

impl Judged {
    /// What its own numbers tell of this way: where the heat enters, what happens in the gel, how
    /// even it is, why it does not light.
    pub fn reasons(&self) -> Vec<Reason> {
        of_way(self)
    }
}

fn of_way(judged: &Judged) -> Vec<Reason> {
    let course = &judged.course;
    let way = || course.way.clone();
    let mut reasons = Vec::new();
    reasons.extend(entrance(course));
    if judged.verdict.chance() == Chance::DoesNotLight {
        if let Ending::Fails { reason, .. } = &course.ending {
            let reason = reason.to_string();
            reasons.push(Reason::Fails { way: way(), reason });
        }
        return reasons;
    }
    if let Ending::Ignites { place, .. } = course.ending {
        reasons.push(Reason::Lights { way: way(), place });
    }
    let gel: f64 = course
        .stages
        .iter()
        .filter(|s| s.name >= StageName::Gel)
        .map(|s| (s.end - s.start).get::<second>())
        .sum();
    let fuel = course.fuel_lost.get::<percent>();
    let nitrate = course.nitrate_lost.get::<percent>();
    if gel >= WORTH_SECONDS {
        reasons.push(Reason::Gel {
            way: way(),
            seconds: gel,
            fuel,
            nitrate,
        });
    }
    let difference_k = course.wall_minus_centre.get::<kelvins>();
    reasons.push(Reason::Uneven {
        way: way(),
        difference_k,
    });
    let wet = course.still_wet.get::<percent>();
    if wet >= WORTH_PERCENT {
        reasons.push(Reason::Wet {
            way: way(),
            share: wet,
        });
    }
    let goes_on = course.microwave.as_ref().and_then(|m| m.product_goes_on);
    if goes_on == Some(true) {
        reasons.push(Reason::GoesOn { way: way() });
    }
    if let Ending::Fails { reason, .. } = &course.ending {
        let reason = reason.to_string();
        reasons.push(Reason::Fails { way: way(), reason });
    }
    reasons
}

fn entrance(course: &Course) -> Option<Reason> {
    let ways = [Entrance::Floor, Entrance::Surface, Entrance::Inside];
    let shares = ways.into_iter().zip(course.energy.shares()?);
    let (through, share) = shares.max_by(|a, b| a.1.value.total_cmp(&b.1.value))?;
    Some(Reason::Heat {
        way: course.way.clone(),
        through,
        share: share.get::<percent>(),
    })
}

impl Reason {
    /// Whether it sets the ways apart or tells why one fails.
    pub fn is_main(&self) -> bool {
        self.way().is_none() || matches!(self, Self::OneLights { .. } | Self::Fails { .. })
    }

    /// The way it is about, if it is about one.
    pub fn way(&self) -> Option<&str> {
        match self {
            Self::NoneLights | Self::Order { .. } | Self::Power { .. } => None,
            Self::OneLights { way }
            | Self::Heat { way, .. }
            | Self::Lights { way, .. }
            | Self::Gel { way, .. }
            | Self::Uneven { way, .. }
            | Self::Wet { way, .. }
            | Self::GoesOn { way }
            | Self::Fails { way, .. } => Some(way),
        }
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoneLights => write!(f, "No heating way lights this batch."),
            Self::OneLights { way } => write!(f, "Of these ways the {way} alone can light it."),
            Self::Order { first, last } => {
                write!(
                    f,
                    "The {} lights it first, after {}, the {} last, after {}",
                    first.0,
                    span(first.1),
                    last.0,
                    span(last.1)
                )?;
                if first.1.high >= last.1.low {
                    write!(f, "; the two bands overlap, so that order is not sure")?;
                }
                write!(f, ".")
            }
            Self::Power { most, least } => write!(
                f,
                "Until the solvent has gone the {} brings most power to the batch, {:.0} W on \
                 average, the {} least, {:.0} W.",
                most.0, most.1, least.0, least.1
            ),
            Self::Heat {
                way,
                through,
                share,
            } => {
                let how = match through {
                    Entrance::Floor => "enters through the floor",
                    Entrance::Surface => "enters through the free surface",
                    Entrance::Inside => "is made inside by microwaves",
                };
                write!(f, "{}: {share:.0} % of its heat {how}.", capital(way))
            }
            Self::Lights { place, .. } => {
                write!(f, "At middle values it lights {}.", place.words())
            }
            Self::Gel {
                seconds,
                fuel,
                nitrate,
                ..
            } => {
                let long = duration(*seconds);
                write!(
                    f,
                    "Its gel takes {long}; {}.",
                    lost_by_then(*fuel, *nitrate)
                )
            }
            Self::Uneven { difference_k, .. } => {
                if difference_k.abs() < WORTH_KELVINS {
                    write!(f, "Floor and middle are then within {WORTH_KELVINS:.0} K.")
                } else {
                    let how = if *difference_k > 0.0 {
                        "hotter"
                    } else {
                        "cooler"
                    };
                    write!(
                        f,
                        "The floor is then {:.0} K {how} than the middle.",
                        difference_k.abs()
                    )
                }
            }
            Self::Wet { share, .. } => write!(
                f,
                "{share:.0} % of the layer is still wet then and cools the burn."
            ),
            Self::GoesOn { .. } => write!(
                f,
                "The powder goes on heating after the burn unless the power is cut."
            ),
            Self::Fails { way, reason } => {
                write!(f, "At middle values the {way} does not light it: {reason}.")
            }
        }
    }
}

/// What has left the gel, as a clause.
fn lost_by_then(fuel: f64, nitrate: f64) -> String {
    let lost: Vec<String> = [("fuel", fuel), ("nitrate", nitrate)]
        .into_iter()
        .filter(|(_, share)| *share >= WORTH_PERCENT)
        .map(|(name, share)| format!("{share:.0} % of the {name}"))
        .collect();
    match lost.is_empty() {
        true => "hardly any fuel or nitrate has left by then".to_owned(),
        false => format!("by then {} have left", lost.join(" and ")),
    }
}
