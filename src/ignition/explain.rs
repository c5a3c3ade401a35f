//! Reasons in plain words: why it does not ignite, whether the product goes on heating.

use super::adapter::{Common, Setup};
use super::history::{End, History};
use super::words::{duration, in_celsius, in_millimetre};
use crate::formula::Formula;
use crate::product::expected_product;
use std::fmt;

/// Adiabatic rise (K) under which a gel cannot sustain a runaway: three times R T²/E at 500 K
/// and 120 kJ/mol, 17 K, is far below; a glow needs some hundreds (assumed).
const LEAST_RISE: f64 = 200.0;
/// Share of the reaction heat whose loss with the fuel counts as the reason.
const HEAT_GONE: f64 = 0.3;

/// Why a batch does not ignite. Temperatures in K, lengths in mm.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum NoIgnition {
    /// The mixture has too little heat in itself.
    TooLittleHeat {
        /// Temperature rise if all its heat stayed in it.
        rise_k: f64,
    },
    /// There is still liquid when heating is given up.
    StillWet {
        /// Share of all water left.
        water_left: f64,
        /// Time of heating, s.
        time_s: f64,
    },
    /// The gel never gets hot enough.
    TooCold {
        /// Hottest temperature reached.
        reached_k: f64,
        /// Temperature of the measured reaction peak.
        peak_k: f64,
    },
    /// The layer is thinner than the criterion asks for.
    TooThin {
        /// Depth of the dry gel.
        depth_mm: f64,
        /// Depth below which it cannot run away.
        critical_mm: f64,
    },
    /// Too much fuel left by decomposition.
    FuelGone {
        /// Share of the fuel lost.
        lost: f64,
    },
    /// The heat of reaction leaked away as fast as it came, part by part.
    Smoulders {
        /// Hottest temperature reached.
        reached_k: f64,
    },
}

impl NoIgnition {
    /// A short code for files.
    pub fn code(&self) -> &'static str {
        match self {
            Self::TooLittleHeat { .. } => "too_little_heat",
            Self::StillWet { .. } => "still_wet",
            Self::TooCold { .. } => "too_cold",
            Self::TooThin { .. } => "too_thin",
            Self::FuelGone { .. } => "fuel_gone",
            Self::Smoulders { .. } => "smoulders",
        }
    }
}

impl fmt::Display for NoIgnition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLittleHeat { rise_k } if *rise_k <= 0.0 => f.write_str(
                "what is dry takes up more heat than its reaction gives: check masses and fuel",
            ),
            Self::TooLittleHeat { rise_k } => write!(
                f,
                "the dry mixture would warm by only {rise_k:.0} K with all its heat: check masses and fuel"
            ),
            Self::StillWet { water_left, time_s } => write!(
                f,
                "after {} {:.0} % of the water is still there: start with less water or use another heating way",
                duration(*time_s),
                100.0 * water_left
            ),
            Self::TooCold { reached_k, peak_k } => write!(
                f,
                "the gel reaches {:.0} °C, its reaction peaks near {:.0} °C: the heating way is too cold for this fuel; do not leave the gel there, it may still ignite late",
                in_celsius(*reached_k),
                in_celsius(*peak_k)
            ),
            Self::TooThin {
                depth_mm,
                critical_mm,
            } => write!(
                f,
                "the dry gel is {depth_mm:.2} mm deep, too thin to keep its heat; below {critical_mm:.2} mm it loses its heat to the wall as fast as it makes it, so it reacts without a flame: use the ordinary depth"
            ),
            Self::FuelGone { lost } => write!(
                f,
                "{:.0} % of the fuel decomposed and left while the layer warmed up slowly: use a faster heating way or a less volatile fuel",
                100.0 * lost
            ),
            Self::Smoulders { reached_k } => write!(
                f,
                "the gel reacts part by part and its heat leaks away (hottest {:.0} °C): it smoulders, and the product is unevenly burnt; another heating way warms it more evenly",
                in_celsius(*reached_k)
            ),
        }
    }
}

/// The reason for a run that ended without ignition.
pub(super) fn reason(setup: &Setup, history: &History, fuel_lost: f64) -> NoIgnition {
    let charge = &setup.charge;
    let rise = charge.adiabatic_rise();
    if rise < LEAST_RISE {
        return NoIgnition::TooLittleHeat { rise_k: rise };
    }
    let decomposed = history.mean_of(|cell| cell.lost);
    let reached = history
        .samples
        .iter()
        .map(|s| s.hottest)
        .fold(0.0, f64::max);
    if history.end == End::TimeLimit {
        let water = history.mean_of(|cell| cell.w);
        if water > charge.gel.set_water {
            return NoIgnition::StillWet {
                water_left: water / charge.initial_water(),
                time_s: history.state.time,
            };
        }
        // Where some of it has been hotter than its peak, it reacted part by part.
        if reached < charge.reaction.peak {
            return NoIgnition::TooCold {
                reached_k: reached,
                peak_k: charge.reaction.peak,
            };
        }
    }
    if let Some(critical) = critical_depth(setup) {
        if charge.dry_depth() < critical {
            return NoIgnition::TooThin {
                depth_mm: in_millimetre(charge.dry_depth()),
                critical_mm: in_millimetre(critical),
            };
        }
    }
    if 1.0 - charge.heat_share(decomposed, 0.0) > HEAT_GONE {
        return NoIgnition::FuelGone { lost: fuel_lost };
    }
    NoIgnition::Smoulders { reached_k: reached }
}

/// Depth (m) below which the dry gel cannot run away on this way, evaluated at the temperature of
/// the reaction peak: a hotter wall reacts the gel on the way up. In a microwave oven the layer
/// loses heat to the room only.
pub(super) fn critical_depth(setup: &Setup) -> Option<f64> {
    let (bottom, top) = (&setup.heater.bottom, &setup.heater.top);
    let charge = &setup.charge;
    let peak = charge.reaction.peak;
    let hottest = bottom.source.max(top.source);
    let own_heat = setup.heater.oven.is_some() || top.imposed_flux > 0.0;
    let at = if own_heat { peak } else { peak.min(hottest) };
    let floor = setup.wall.thickness / setup.wall.thermal_conductivity;
    let below = 1.0 / (1.0 / bottom.total_transfer(bottom.source, at).max(1e-6) + floor);
    charge
        .self_heating()
        .critical_depth(below + top.total_transfer(top.source, at), at)
}

/// Whether the expected powder goes on taking up microwaves; `None` if no row tells.
pub(super) fn product_goes_on(common: &Common<'_>) -> Option<bool> {
    let product = expected_product(common.batch(), common.tables()).ok()?;
    let mut known = None;
    for phase in &product.phases {
        let row = common
            .tables()
            .heating
            .absorbers
            .iter()
            .find(|row| same(&row.formula, &phase.formula));
        match row {
            Some(row) if row.strong => return Some(true),
            Some(_) => known = Some(false),
            // A mixed oxide of a strong absorber's metal, such as a ferrite, is taken as one.
            None => {
                let shared = common.tables().heating.absorbers.iter().any(|row| {
                    row.strong
                        && row
                            .formula
                            .amounts()
                            .keys()
                            .any(|e| e.is_metal() && phase.formula.amount_of(*e) > 0.0)
                });
                if shared {
                    return Some(true);
                }
            }
        }
    }
    known
}

fn same(a: &Formula, b: &Formula) -> bool {
    a.amounts() == b.amounts()
}
