//! The water of the bench sheet.

use crate::quantity::units::{gram, kilojoule, minute, percent, ratio, watt};
use crate::quantity::{Mass, Power, Ratio, Time};
use crate::report::document::Section;
use crate::report::number::{celsius_text, significant, volume_text};
use crate::weigh::sheet::Sheet;
use crate::weigh::water::{NEARLY_SATURATED, WaterAdvice, WaterNeed};
use crate::weigh::water_sheet::{BoilingModel, WaterSheet};

fn need_text(need: &WaterNeed) -> String {
    let nearest = need
        .nearest
        .as_ref()
        .filter(|(_, share)| share.get::<ratio>() > NEARLY_SATURATED)
        .map_or(String::new(), |(name, share)| {
            format!(
                "; {name} alone {} %",
                significant(share.get::<percent>(), 2)
            )
        });
    let unknown = if need.unknown.is_empty() {
        String::new()
    } else {
        format!("; no data: {}", need.unknown.len())
    };
    let Some(saturation) = need.saturation else {
        return format!("no water; least solvent {}{unknown}", grams(need.least));
    };
    format!(
        "{} % saturated; least solvent {} ({} if shared){nearest}{unknown}",
        significant(saturation.get::<percent>(), 2),
        grams(need.least),
        grams(need.least_shared),
    )
}

fn grams(mass: Mass) -> String {
    format!("{} g", significant(mass.get::<gram>(), 2))
}

fn advice_text(sheet: &WaterSheet) -> String {
    let nearly = Ratio::new::<ratio>(NEARLY_SATURATED);
    match &sheet.advice {
        WaterAdvice::DissolvesCold if sheet.room.saturation > Some(nearly) => {
            "dissolves at room temperature, the last of it slowly: warm to save time".to_owned()
        }
        WaterAdvice::DissolvesCold => "dissolves at room temperature".to_owned(),
        WaterAdvice::WarmAndGoOn { enough, first } => {
            let first = first
                .as_ref()
                .map_or(String::new(), |name| format!(", {name} first"));
            format!(
                "warm to {} to dissolve it and go on at once: on cooling it crystallises{first}. With {} of solvent it stays dissolved",
                celsius_text(sheet.warm.temperature),
                grams(*enough)
            )
        }
        WaterAdvice::AddWater { enough } => format!(
            "too little water even at {}: have at least {} of solvent, or melt the hydrates in their own water",
            celsius_text(sheet.warm.temperature),
            grams(*enough)
        ),
    }
}

pub(super) fn water(sheet: &Sheet) -> Section {
    let water = &sheet.water;
    let mut section = Section::new("Water");
    let carried = match water.carried {
        carried if carried.value > 0.0 => {
            format!("; {} come with the stocks", volume_text(carried))
        }
        _ => String::new(),
    };
    let (solvent, crystal) = (grams(water.solvent), grams(water.crystal));
    section.fact(
        "in all",
        format!("{solvent} solvent, {crystal} crystal water{carried}"),
    );
    for need in [&water.room, &water.warm] {
        section.fact(&celsius_text(need.temperature), need_text(need));
    }
    section.fact("advice", advice_text(water));
    if !water.melting.is_empty() {
        let list: Vec<String> = water
            .melting
            .iter()
            .map(|(name, t)| format!("{name} ({})", celsius_text(*t)))
            .collect();
        section.fact(
            "melts",
            format!("in own crystal water: {}", list.join(", ")),
        );
    }
    if let Some((boiling, model)) = water.boiling {
        let ideal = match model {
            BoilingModel::Sorption => "",
            BoilingModel::Ideal => " (ideal, a lower bound)",
        };
        let time = match &water.time {
            Some(time) => format!(
                "{}: {} min to the boil, {} min to boil off",
                time.way,
                significant(time.heat_up.get::<minute>(), 2),
                significant(time.boil_off.get::<minute>(), 2)
            ),
            None => {
                // A round power, for the order of magnitude.
                let time: Time = water.cost.energy / Power::new::<watt>(100.0);
                format!("{} min at 100 W", significant(time.get::<minute>(), 2))
            }
        };
        let text = format!(
            "from {} up{ideal}; boiling off takes {} kJ; {time}",
            celsius_text(boiling),
            significant(water.cost.energy.get::<kilojoule>(), 2),
        );
        section.fact("boils", text);
    }
    section
}
