//! How violent, vessel, fumes and room, and the cautions by moment.

use crate::advice::{Advice, Level, Moment, Severity, Violence, Warning};
use crate::quantity::units::{
    cubic_meter, cubic_meter_per_hour, liter_per_second, meter_per_second, micromole, milligram,
    milliliter, millimeter, millimole, percent, ratio,
};
use crate::quantity::{Band, Time};
use crate::report::document::{Cell, Section, Table, band_text, time_text};
use crate::report::number::{celsius_text, significant, volume_text};
use crate::tables::limits::Concentration;
use crate::vessel::VesselCheck;

/// Rates of hot gas below this, in L/(g s), are not told by their number.
const SLOWEST: f64 = 0.01;
/// Exposures below this share of their limit are not told.
const WORTH_SAYING: f64 = 0.1;
/// Fumes that stay below this many micromoles are not told.
const FAINT_FUME: f64 = 0.5;

pub(super) fn section(advice: &Advice) -> Section {
    let mut section = Section::new("How violent, vessel, fumes (calmest to worst case)");
    section.fact("Violence", violence(advice));
    for change in &advice.calming {
        section.item(format!("calmer: {change}"));
    }
    section.fact("Vessel", vessel(advice));
    if let Some(check) = &advice.vessel {
        section.item(outflow(check));
    }
    if let Some(time) = advice.touchable_after {
        section.fact("Touch", format!("the vessel after {}", time_text(time)));
    }
    section.fact("Air", air(advice));
    section.subtitle("What comes off besides the main gases");
    section.table(fumes(advice));
    let exposures = exposures(advice);
    if !exposures.rows.is_empty() {
        section.subtitle("In the air of the room, against the limits");
        section.table(exposures);
    }
    section.subtitle("Cautions for this batch");
    cautions(advice, |warning| !warning.standing, &mut section);
    section.subtitle("Standing rules");
    cautions(advice, |warning| warning.standing, &mut section);
    section
}

/// Cautions by moment, most severe first within each.
pub(in crate::report) fn cautions(
    advice: &Advice,
    wanted: impl Fn(&Warning) -> bool,
    section: &mut Section,
) {
    for moment in Moment::ALL {
        for warning in &advice.warnings {
            if warning.moment == moment && wanted(warning) {
                section.fact(&moment.to_string(), told(warning));
            }
        }
    }
}

/// The text of a warning; a severe one says so.
pub(in crate::report) fn told(warning: &Warning) -> String {
    match warning.severity {
        Severity::Stop | Severity::Danger => format!("{}: {}", warning.severity, warning.text),
        Severity::Caution | Severity::Note => warning.text.clone(),
    }
}

/// The word for how it burns, with its reason.
pub(in crate::report) fn violence(advice: &Advice) -> String {
    let violence = &advice.violence;
    let word = violence.words();
    let stated = if violence.burn_time_stated {
        "as the file states"
    } else {
        "assumed for the fuel"
    };
    if !violence.is_decided() {
        return format!(
            "{word}, to be reckoned with until a first small burn says otherwise: up to {} L of hot \
             gas per g of dry batch and second; a flame of {}, {stated}, decides no more. Write what \
             was seen as `flame_lasts` under [vessel]",
            significant(violence.index_l_per_g_s.high, 2),
            time_text(violence.burn_time),
        );
    }
    format!(
        "{word}: {} L of hot gas per g of dry batch and second; flame {}, {stated}",
        band_text(violence.index_l_per_g_s, 2, |v| v),
        time_text(violence.burn_time),
    )
}

/// The word for how it burns at worst, with its reason; `lights` if a peak is expected.
pub(super) fn violence_word(violence: &Violence, lights: bool) -> String {
    let worst = violence.level.high;
    let words = match (worst, violence.wettest) {
        (Level::NoFlame, _) if lights => {
            return "no flame of its own; surplus fuel burns as air comes to it".to_owned();
        }
        (Level::NoFlame, _) => return "no flame in any state of the water".to_owned(),
        _ if violence.level.low == worst => format!("{worst} by every estimate"),
        (_, wettest) if wettest == worst => format!("{worst} at worst"),
        (_, wettest) => format!("{wettest}, {worst} where dry"),
    };
    let most = violence.index_l_per_g_s.high;
    let most = if most < SLOWEST {
        format!("less than {SLOWEST}")
    } else {
        format!("up to {}", significant(most, 2))
    };
    format!("{words}: {most} L/(g s) of hot gas")
}

fn vessel(advice: &Advice) -> String {
    match (&advice.vessel, &advice.smallest_vessel) {
        (Some(check), _) => format!(
            "{}, {}; holds {}, liquid {} mm deep, froth up to {} mL ({} % of it)",
            check.choice.vessel.name,
            check.choice.cover,
            volume_text(check.brimful),
            significant(check.depth.get::<millimeter>(), 2),
            significant(check.froth.high.get::<milliliter>(), 2),
            significant(check.froth_fill.high.get::<percent>(), 2),
        ),
        (None, Some(vessel)) => format!(
            "none named; the smallest listed one that holds it: {}",
            vessel.name
        ),
        (None, None) => {
            "none of the listed ones holds this batch with its froth; make it smaller".to_owned()
        }
    }
}

fn outflow(check: &VesselCheck) -> String {
    format!(
        "gas leaves at {} L/s, {} m/s through the mouth, {} times as fast as loose powder falls; \
         wall {} to {}",
        band_text(check.mean_flow, 2, |v| v.get::<liter_per_second>()),
        band_text(check.mouth_speed, 2, |v| v.get::<meter_per_second>()),
        band_text(check.carry_over, 2, |r| r.get::<ratio>()),
        celsius_text(check.wall.low),
        celsius_text(check.wall.high),
    )
}

fn air(advice: &Advice) -> String {
    let assumed = if advice.air.stated {
        ""
    } else {
        " (assumed: the file has no [room])"
    };
    let clear = advice.clear_after.map_or(String::new(), |time| {
        format!("; below all limits after {}", time_text(time))
    });
    format!(
        "{}, {} m³{assumed}{clear}",
        advice.air.place,
        significant(advice.air.volume.get::<cubic_meter>(), 3),
    )
}

/// The longest wait that the bands allow.
pub(super) fn longest(band: Band<Time>) -> String {
    time_text(Band::exactly(band.high))
}

fn band<Q: Copy>(band: Band<Q>, show: impl Fn(Q) -> f64) -> Cell {
    Cell::new(show(band.high), band_text(band, 2, show))
}

/// Fumes and dust.
pub(in crate::report) fn fumes(advice: &Advice) -> Table {
    let head = ["comes off", "amount / mmol", "mass / mg"];
    let mut table = Table::new("What comes off besides the main gases", head);
    let told = |high: f64| high > FAINT_FUME;
    for fume in &advice.fumes.gases {
        if told(fume.amount.high.get::<micromole>()) {
            table.row([
                fume.gas.clone().into(),
                band(fume.amount, |n| n.get::<millimole>()),
                band(fume.amount, |n| (n * fume.molar_mass).get::<milligram>()),
            ]);
        }
    }
    table.row([
        "dust of the powder".into(),
        Cell::Absent,
        band(advice.fumes.dust, |m| m.get::<milligram>()),
    ]);
    table
}

/// What an agent may reach in the air.
fn concentration(band: &Band<Concentration>) -> String {
    let number = |concentration: &Concentration| match concentration {
        Concentration::OfGas(share) => share.get::<ratio>(),
        Concentration::OfDust(density) => density.value,
    };
    if number(&band.low) <= 1e-3 * number(&band.high) {
        format!("up to {}", band.high)
    } else {
        format!("{} to {}", band.low, band.high)
    }
}

/// Concentrations against limits, those worth saying.
pub(in crate::report) fn exposures(advice: &Advice) -> Table {
    let head = [
        "agent",
        "in the air",
        "limit",
        "times the limit",
        "exhaust needed / (m³/h)",
        "set by",
    ];
    let mut table = Table::new("Concentrations against limits", head);
    let told = |times: f64| times > WORTH_SAYING;
    for exposure in &advice.exposures {
        if !told(exposure.times_limit.high.get::<ratio>()) {
            continue;
        }
        let limit = &exposure.limit;
        table.row([
            exposure.name.clone().into(),
            concentration(&exposure.concentration).into(),
            limit.value.to_string().into(),
            band(exposure.times_limit, |r| r.get::<ratio>()),
            Cell::number(exposure.exhaust_needed.get::<cubic_meter_per_hour>(), 2),
            limit.set_by().into(),
        ]);
    }
    table
}
