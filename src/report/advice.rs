//! Cautions, violence, vessel, fumes and room, as text and as JSON.

use super::number::{celsius_text, significant, volume_text};
use super::text::{heading, wrapped};
use crate::advice::{Advice, Severity, Warning};
use crate::quantity::{Band, Ratio, Time};
use crate::vessel::VesselCheck;
use serde_json::{Value, json};
use std::fmt::{self, Write};
use uom::si::amount_of_substance::{micromole, mole};
use uom::si::length::millimeter;
use uom::si::mass::milligram;
use uom::si::pressure::bar;
use uom::si::ratio::{percent, ratio};
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::{minute, second};
use uom::si::velocity::meter_per_second;
use uom::si::volume::milliliter;
use uom::si::volume_rate::{cubic_meter_per_hour, liter_per_second};

/// Exposures below this share of the limit are left out of the text.
const WORTH_SAYING: f64 = 0.1;

/// Two numbers as `a to b`, one if they print alike, `up to b` from zero on: a lower end of zero
/// promises nothing.
pub(super) fn band_text<Q: Copy>(band: Band<Q>, digits: i32, show: impl Fn(Q) -> f64) -> String {
    let low = significant(show(band.low), digits);
    let high = significant(show(band.high), digits);
    if low == high {
        low
    } else if low == "0" {
        format!("up to {high}")
    } else {
        format!("{low} to {high}")
    }
}

/// A time band in seconds, minutes or hours, whichever suits the upper end.
pub(super) fn time_text(band: Band<Time>) -> String {
    let seconds = band.high.get::<second>();
    if seconds < 120.0 {
        format!("{} s", band_text(band, 2, |t| t.get::<second>()))
    } else if seconds < 7200.0 {
        format!("{} min", band_text(band, 2, |t| t.get::<minute>()))
    } else {
        format!(
            "{} h",
            band_text(band, 2, |t| t.get::<uom::si::time::hour>())
        )
    }
}

/// Writes the warnings that need a decision (stop and danger), right after the answer.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub(super) fn dangers_text(advice: &Advice, out: &mut impl Write) -> fmt::Result {
    let serious: Vec<&Warning> = advice
        .warnings
        .iter()
        .filter(|w| w.severity <= Severity::Danger)
        .collect();
    if serious.is_empty() {
        return Ok(());
    }
    heading(out, "Dangers: decide these first")?;
    for warning in serious {
        wrapped(out, 0, &format!("! {}", warning.text))?;
    }
    Ok(())
}

/// Writes violence, vessel, fumes and clearing times.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub(super) fn safety_text(advice: &Advice, out: &mut impl Write) -> fmt::Result {
    heading(
        out,
        "How violent, vessel, fumes (bands: from the calmest to the worst case)",
    )?;
    let violence = &advice.violence;
    let stated = if violence.burn_time_stated {
        "as the file states"
    } else {
        "assumed for the fuel"
    };
    let text = if violence.is_decided() {
        format!(
            "Violence: {}; {} L of hot gas per g of dry batch and second; flame {}, {stated}.",
            violence.words(),
            band_text(violence.index_l_per_g_s, 2, |v| v),
            time_text(violence.burn_time),
        )
    } else {
        format!(
            "Violence: {}, to be reckoned with until a first small burn says otherwise: up to {} L \
             of hot gas per g of dry batch and second; a flame of {}, {stated}, decides no more. \
             Write what was seen as `flame_lasts` under [vessel].",
            violence.words(),
            significant(violence.index_l_per_g_s.high, 2),
            time_text(violence.burn_time),
        )
    };
    wrapped(out, 0, &text)?;
    for change in &advice.calming {
        wrapped(out, 2, &format!("calmer: {change}"))?;
    }
    match (&advice.vessel, &advice.smallest_vessel) {
        (Some(check), _) => vessel_text(check, advice.touchable_after, out)?,
        (None, Some(vessel)) => wrapped(
            out,
            0,
            &format!(
                "Vessel: none named; the smallest listed one that holds it: {}.",
                vessel.name
            ),
        )?,
        (None, None) => wrapped(
            out,
            0,
            "Vessel: none of the listed ones holds this batch with its froth; make it smaller.",
        )?,
    }
    fumes_text(advice, out)
}

fn vessel_text(
    check: &VesselCheck,
    touchable: Option<Band<Time>>,
    out: &mut impl Write,
) -> fmt::Result {
    wrapped(
        out,
        0,
        &format!(
            "Vessel: {}, {}; holds {}, liquid {} mm deep, froth up to {} mL ({} % of it).",
            check.choice.vessel.name,
            check.choice.cover,
            volume_text(check.brimful),
            significant(check.depth.get::<millimeter>(), 2),
            significant(check.froth.high.get::<milliliter>(), 2),
            significant(check.froth_fill.high.get::<percent>(), 2),
        ),
    )?;
    wrapped(
        out,
        2,
        &format!(
            "gas leaves at {} L/s, {} m/s through the mouth, {} times as fast as loose powder falls; \
             wall {} to {}.",
            band_text(check.mean_flow, 2, |v| v.get::<liter_per_second>()),
            band_text(check.mouth_speed, 2, |v| v.get::<meter_per_second>()),
            band_text(check.carry_over, 2, |r| r.get::<ratio>()),
            celsius_text(check.wall.low),
            celsius_text(check.wall.high),
        ),
    )?;
    match touchable {
        Some(time) => wrapped(
            out,
            2,
            &format!("may be touched after {}.", time_text(time)),
        ),
        None => Ok(()),
    }
}

fn fumes_text(advice: &Advice, out: &mut impl Write) -> fmt::Result {
    let gases: Vec<String> = advice
        .fumes
        .gases
        .iter()
        .filter(|fume| fume.amount.high.get::<micromole>() > 0.5)
        .map(|fume| {
            format!(
                "{} {} µmol",
                fume.gas,
                band_text(fume.amount, 2, |n| n.get::<micromole>())
            )
        })
        .collect();
    if !gases.is_empty() {
        wrapped(
            out,
            0,
            &format!("Fumes besides the main gas: {}.", gases.join("; ")),
        )?;
    }
    wrapped(
        out,
        0,
        &format!(
            "Dust into the air: {} mg. Air: {}, {} m³{}.",
            band_text(advice.fumes.dust, 2, |m| m.get::<milligram>()),
            advice.air.place,
            significant(advice.air.volume.get::<uom::si::volume::cubic_meter>(), 3),
            if advice.air.stated {
                ""
            } else {
                " (assumed: the file has no [room])"
            },
        ),
    )?;
    let mut worst: Vec<_> = advice
        .exposures
        .iter()
        .filter(|e| e.times_limit.high.get::<ratio>() > WORTH_SAYING)
        .collect();
    worst.truncate(6);
    for exposure in worst {
        wrapped(
            out,
            2,
            &format!(
                "{}: {} to {}, {} × the limit ({} {}, {}, {}); needs {} m³/h of exhaust",
                exposure.name,
                exposure.concentration.low,
                exposure.concentration.high,
                band_text(exposure.times_limit, 2, |r| r.get::<ratio>()),
                exposure.limit.body,
                exposure.limit.list,
                exposure.limit.kind,
                exposure.limit.year,
                significant(exposure.exhaust_needed.get::<cubic_meter_per_hour>(), 2),
            ),
        )?;
    }
    match advice.clear_after {
        Some(time) => wrapped(
            out,
            0,
            &format!("Until the air is below all limits: {}.", time_text(time)),
        ),
        None => Ok(()),
    }
}

/// Writes the cautions and notes, and the sentence that defers to those in charge.
///
/// # Errors
/// [`fmt::Error`] if `out` cannot take more.
pub(super) fn cautions_text(advice: &Advice, out: &mut impl Write) -> fmt::Result {
    heading(out, "Cautions")?;
    for warning in advice
        .warnings
        .iter()
        .filter(|w| w.severity > Severity::Danger)
    {
        wrapped(out, 0, &format!("{}: {}", warning.severity, warning.text))?;
    }
    Ok(())
}

/// Warnings as JSON.
#[must_use]
pub fn warnings_json(warnings: &[Warning]) -> Vec<Value> {
    warnings
        .iter()
        .map(|warning| {
            json!({
                "severity": warning.severity.to_string(),
                "code": warning.code,
                "text": warning.text,
                "sources": warning.sources.iter().map(ToString::to_string).collect::<Vec<_>>(),
                "seen": warning.seen.to_string(),
            })
        })
        .collect()
}

fn band_json<Q: Copy>(band: Band<Q>, show: impl Fn(Q) -> f64) -> Value {
    json!({ "low": show(band.low), "high": show(band.high) })
}

/// Violence, vessel, fumes and room as JSON.
#[must_use]
pub fn safety_json(advice: &Advice) -> Value {
    let violence = &advice.violence;
    let fumes: serde_json::Map<String, Value> = advice
        .fumes
        .gases
        .iter()
        .map(|fume| {
            (
                fume.gas.clone(),
                band_json(fume.amount, |n| n.get::<mole>()),
            )
        })
        .collect();
    let exposures: Vec<Value> = advice
        .exposures
        .iter()
        .map(|exposure| {
            json!({
                "agent": exposure.name,
                "times_limit": band_json(exposure.times_limit, |r: Ratio| r.get::<ratio>()),
                "limit": exposure.limit.value.to_string(),
                "limit_body": exposure.limit.body,
                "limit_list": exposure.limit.list,
                "limit_kind": exposure.limit.kind.to_string(),
                "limit_year": exposure.limit.year,
                "limit_seen": exposure.limit.seen.to_string(),
                "clear_after_s": exposure.clear_after.map(|t| band_json(t, |t| t.get::<second>())),
                "exhaust_needed_m3_per_h": exposure.exhaust_needed.get::<cubic_meter_per_hour>(),
            })
        })
        .collect();
    json!({
        "violence": {
            "level": { "low": violence.level.low.to_string(), "high": violence.level.high.to_string() },
            "index_l_per_g_s": band_json(violence.index_l_per_g_s, |v| v),
            "burn_time_s": band_json(violence.burn_time, |t| t.get::<second>()),
            "burn_time_stated": violence.burn_time_stated,
            "calming": advice.calming.iter().map(ToString::to_string).collect::<Vec<_>>(),
        },
        "vessel": advice.vessel.as_ref().map(vessel_json),
        "smallest_vessel": advice.smallest_vessel.as_ref().map(|vessel| vessel.name.clone()),
        "touchable_after_s": advice.touchable_after.map(|t| band_json(t, |t| t.get::<second>())),
        "fumes_mol": fumes,
        "dust_mg": band_json(advice.fumes.dust, |m| m.get::<milligram>()),
        "exposures": exposures,
        "clear_after_s": advice.clear_after.map(|t| band_json(t, |t| t.get::<second>())),
    })
}

fn vessel_json(check: &VesselCheck) -> Value {
    json!({
        "name": check.choice.vessel.name,
        "cover": check.choice.cover.to_string(),
        "brimful_ml": check.brimful.get::<milliliter>(),
        "depth_mm": check.depth.get::<millimeter>(),
        "froth_ml": band_json(check.froth, |v| v.get::<milliliter>()),
        "mean_flow_l_per_s": band_json(check.mean_flow, |v| v.get::<liter_per_second>()),
        "peak_flow_l_per_s": band_json(check.peak_flow, |v| v.get::<liter_per_second>()),
        "mouth_speed_m_per_s": band_json(check.mouth_speed, |v| v.get::<meter_per_second>()),
        "speed_over_powder_fall": band_json(check.carry_over, |r| r.get::<ratio>()),
        "wall_temperature_k": band_json(check.wall, |t| t.get::<kelvin>()),
        "pressure_if_closed_bar": check.pressure_if_closed.get::<bar>(),
        "refused": !check.refusals.is_empty(),
    })
}
