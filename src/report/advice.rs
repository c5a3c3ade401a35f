//! Cautions, violence, vessel, fumes and room as JSON.

use crate::advice::{Advice, Warning};
use crate::quantity::{Band, Ratio};
use crate::vessel::VesselCheck;
use serde_json::{Value, json};
use uom::si::amount_of_substance::mole;
use uom::si::length::millimeter;
use uom::si::mass::milligram;
use uom::si::pressure::bar;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;
use uom::si::velocity::meter_per_second;
use uom::si::volume::milliliter;
use uom::si::volume_rate::{cubic_meter_per_hour, liter_per_second};

/// Warnings as JSON.
#[must_use]
pub fn warnings_json(warnings: &[Warning]) -> Vec<Value> {
    warnings
        .iter()
        .map(|warning| {
            json!({
                "severity": warning.severity.to_string(),
                "code": warning.code,
                "moment": warning.moment.to_string(),
                "standing": warning.standing,
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
