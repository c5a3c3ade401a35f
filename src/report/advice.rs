//! Cautions, violence, vessel, fumes and room as JSON.

use super::view::{Ends, Named, WordEnds, ends, list, view};
use crate::advice::{Advice, Violence, Warning};
use crate::quantity::units::{
    bar, cubic_meter_per_hour, kelvin, liter_per_second, meter_per_second, milligram, milliliter,
    millimeter, mole, ratio, second,
};
use crate::quantity::{Band, Time};
use crate::room::Exposure;
use crate::vessel::VesselCheck;

view! {
    /// A warning.
    WarningView(warning: &Warning) {
        /// "stop", "danger", "caution" or "note".
        severity: String = warning.severity.to_string(),
        /// Code, the same in all versions.
        code: String = warning.code.clone(),
        /// "before", "heating", "flame", "after" or "waste".
        moment: String = warning.moment.to_string(),
        /// True if it holds for every batch.
        standing: bool = warning.standing,
        /// As a sentence.
        text: String = warning.text.clone(),
        /// Keys of its sources.
        sources: Vec<String> = warning.sources.iter().map(ToString::to_string).collect(),
        /// How it was found: document, computed, from memory or estimated.
        seen: String = warning.seen.to_string(),
    }
}

view! {
    /// Violence, vessel, fumes and air of the room.
    Safety(advice: &Advice) {
        /// How violent the burn is.
        violence: BurnViolence = BurnViolence::from(advice),
        /// The vessel; null if none is stated.
        vessel: Option<VesselAnswer> = advice.vessel.as_ref().map(VesselAnswer::from),
        /// Smallest vessel of the tables that holds the froth; null if none does.
        smallest_vessel: Option<String> = advice.smallest_vessel.as_ref().map(|v| v.name.clone()),
        /// Time until it may be touched; null if it is not known.
        touchable_after_s: Option<Ends> = advice.touchable_after.map(seconds),
        /// Harmful gases.
        fumes_mol: Named<Ends> = advice.fumes.gases.iter()
            .map(|fume| (fume.gas.clone(), ends(fume.amount, |n| n.get::<mole>())))
            .collect(),
        /// Dust that is carried out.
        dust_mg: Ends = ends(advice.fumes.dust, |m| m.get::<milligram>()),
        /// Air of the room against exposure limits.
        exposures: Vec<RoomExposure> = list(&advice.exposures),
        /// Time until the air is clear; null without a room.
        clear_after_s: Option<Ends> = advice.clear_after.map(seconds),
    }
}

fn seconds(band: Band<Time>) -> Ends {
    ends(band, |t| t.get::<second>())
}

view! {
    /// How violent the burn is.
    BurnViolence(advice: &Advice) {
        /// Band of levels.
        level: WordEnds = levels(&advice.violence),
        /// Hot gas per gram of dry batch and second at the peak.
        index_l_per_g_s: Ends = ends(advice.violence.index_l_per_g_s, |v| v),
        /// Time in which it burns.
        burn_time_s: Ends = seconds(advice.violence.burn_time),
        /// True if the file states it.
        burn_time_stated: bool = advice.violence.burn_time_stated,
        /// What would calm it.
        calming: Vec<String> = advice.calming.iter().map(ToString::to_string).collect(),
    }
}

pub(super) fn levels(violence: &Violence) -> WordEnds {
    WordEnds::from((
        violence.level.low.to_string(),
        violence.level.high.to_string(),
    ))
}

view! {
    /// What is in the air of the room against a limit.
    RoomExposure(exposure: &Exposure) {
        /// What is in the air.
        agent: String = exposure.name.clone(),
        /// Concentration over the limit.
        times_limit: Ends = ends(exposure.times_limit, |r| r.get::<ratio>()),
        /// The limit as text.
        limit: String = exposure.limit.value.to_string(),
        /// Who set it.
        limit_body: String = exposure.limit.body.clone(),
        /// In which list.
        limit_list: String = exposure.limit.list.clone(),
        /// Over which time it holds.
        limit_kind: String = exposure.limit.kind.to_string(),
        /// Year of the list.
        limit_year: u16 = exposure.limit.year,
        /// How the limit was found: document, computed, from memory or estimated.
        limit_seen: String = exposure.limit.seen.to_string(),
        /// Time until the air is clear.
        clear_after_s: Option<Ends> = exposure.clear_after.map(seconds),
        /// Exhaust that keeps the limit.
        exhaust_needed_m3_per_h: f64 = exposure.exhaust_needed.get::<cubic_meter_per_hour>(),
    }
}

view! {
    /// The vessel during the burn.
    VesselAnswer(check: &VesselCheck) {
        /// Name, as in the tables.
        name: String = check.choice.vessel.name.clone(),
        /// Its cover.
        cover: String = check.choice.cover.to_string(),
        /// Its volume to the brim.
        brimful_ml: f64 = check.brimful.get::<milliliter>(),
        /// Depth of the solution.
        depth_mm: f64 = check.depth.get::<millimeter>(),
        /// Volume of the froth.
        froth_ml: Ends = ends(check.froth, |v| v.get::<milliliter>()),
        /// Mean flow of gas.
        mean_flow_l_per_s: Ends = ends(check.mean_flow, |v| v.get::<liter_per_second>()),
        /// Peak flow of gas.
        peak_flow_l_per_s: Ends = ends(check.peak_flow, |v| v.get::<liter_per_second>()),
        /// Speed of the gas at the mouth.
        mouth_speed_m_per_s: Ends = ends(check.mouth_speed, |v| v.get::<meter_per_second>()),
        /// That speed over the speed at which the powder falls.
        speed_over_powder_fall: Ends = ends(check.carry_over, |r| r.get::<ratio>()),
        /// Temperature of the wall.
        wall_temperature_k: Ends = ends(check.wall, |t| t.get::<kelvin>()),
        /// Pressure that a closed vessel would see.
        pressure_if_closed_bar: f64 = check.pressure_if_closed.get::<bar>(),
        /// True if this vessel is refused.
        refused: bool = !check.refusals.is_empty(),
    }
}
