//! Dangers, vessel, fumes and room on the page.

use super::tables::{Table, strings};
use super::view::{Fact, WarningLine};
use crate::advice::Advice;
use crate::report::advice::time_text;
use crate::report::number::{significant, subscripts};
use uom::si::amount_of_substance::millimole;
use uom::si::mass::milligram;
use uom::si::ratio::{percent, ratio};
use uom::si::volume::milliliter;

/// Exposures below this share of their limit are left out of the page.
const WORTH_A_LINE: f64 = 0.01;

pub(super) fn warnings(advice: &Advice) -> Vec<WarningLine> {
    advice
        .warnings
        .iter()
        .map(|warning| WarningLine {
            severity: warning.severity.to_string(),
            text: warning.text.clone(),
        })
        .collect()
}

/// Two ends with their unit, or one number if they read the same.
fn band(low: f64, high: f64, unit: &str) -> String {
    let (low, high) = (significant(low, 2), significant(high, 2));
    if low == high {
        format!("{low} {unit}")
    } else if low == "0" {
        format!("up to {high} {unit}")
    } else {
        format!("{low} to {high} {unit}")
    }
}

pub(super) fn facts(advice: &Advice) -> Vec<Fact> {
    let violence = &advice.violence;
    let index = &violence.index_l_per_g_s;
    let mut facts = vec![Fact {
        label: "How it burns".to_owned(),
        value: violence.words(),
        note: format!(
            "{} of hot gas from the dry batch, over {}",
            band(index.low, index.high, "L per g and s"),
            time_text(violence.burn_time)
        ),
    }];
    match (&advice.vessel, &advice.smallest_vessel) {
        (Some(check), _) => facts.push(Fact {
            label: "Froth in the vessel".to_owned(),
            value: format!(
                "up to {} % of the brim",
                significant(check.froth_fill.high.get::<percent>(), 2)
            ),
            note: format!(
                "up to {} mL of froth in {}, {} mL to the brim",
                significant(check.froth.high.get::<milliliter>(), 2),
                check.choice.vessel.name,
                significant(check.brimful.get::<milliliter>(), 3)
            ),
        }),
        (None, Some(vessel)) => facts.push(Fact {
            label: "Vessel".to_owned(),
            value: format!("at least: {}", vessel.name),
            note: "the file names none; this is the smallest named one that holds the froth"
                .to_owned(),
        }),
        (None, None) => facts.push(Fact {
            label: "Vessel".to_owned(),
            value: "no named vessel holds it".to_owned(),
            note: "divide the batch into smaller ones".to_owned(),
        }),
    }
    if let Some(after) = &advice.clear_after {
        facts.push(Fact {
            label: "Until the air is clear again".to_owned(),
            value: time_text(*after),
            note: "every agent below its limit".to_owned(),
        });
    }
    if let Some(after) = &advice.touchable_after {
        facts.push(Fact {
            label: "Vessel may be touched".to_owned(),
            value: format!("after {}", time_text(*after)),
            note: "in still air of 25 °C".to_owned(),
        });
    }
    facts
}

pub(super) fn fumes(advice: &Advice) -> Table {
    let mut rows: Vec<Vec<String>> = advice
        .fumes
        .gases
        .iter()
        .map(|fume| {
            let amount = &fume.amount;
            vec![
                subscripts(&fume.gas),
                band(
                    amount.low.get::<millimole>(),
                    amount.high.get::<millimole>(),
                    "mmol",
                ),
                band(
                    (amount.low * fume.molar_mass).get::<milligram>(),
                    (amount.high * fume.molar_mass).get::<milligram>(),
                    "mg",
                ),
            ]
        })
        .collect();
    let dust = &advice.fumes.dust;
    rows.push(vec![
        "dust of the powder".to_owned(),
        "–".to_owned(),
        band(
            dust.low.get::<milligram>(),
            dust.high.get::<milligram>(),
            "mg",
        ),
    ]);
    Table {
        name: "What comes off besides the main gases",
        head: strings(["comes off", "amount", "mass"]),
        rows,
    }
}

pub(super) fn exposures(advice: &Advice) -> Table {
    let rows = advice
        .exposures
        .iter()
        .filter(|exposure| exposure.times_limit.high.get::<ratio>() >= WORTH_A_LINE)
        .map(|exposure| {
            let limit = &exposure.limit;
            let (low, high) = (exposure.concentration.low, exposure.concentration.high);
            vec![
                subscripts(&exposure.name),
                format!("{low} to {high}"),
                limit.value.to_string(),
                band(
                    exposure.times_limit.low.get::<ratio>(),
                    exposure.times_limit.high.get::<ratio>(),
                    "×",
                ),
                format!("{} {}, {}", limit.body, limit.list, limit.year),
            ]
        })
        .collect();
    Table {
        name: "Concentrations against limits",
        head: strings(["agent", "in the air", "limit", "of the limit", "set by"]),
        rows,
    }
}
