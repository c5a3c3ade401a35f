//! How hot: flame temperatures, fates of surplus fuel, and the energy ledger.

use super::layout::{heading, wrapped};
use crate::batch::SpeciesChoice;
use crate::enthalpy::WaterStateName;
use crate::flame::{CompleteCombustion, Flame};
use crate::plan::{Plan, StateResult, SurplusFate};
use crate::report::number::{
    celsius_or_dash, celsius_text, interval_text, significant, temperature_text, whole,
};
use crate::tables::{Role, Tables};
use std::fmt::{self, Write};
use uom::si::amount_of_substance::millimole;
use uom::si::energy::kilojoule;
use uom::si::ratio::percent;

/// Where a burn ends, in words.
pub(in crate::report) fn flame_words(burn: &CompleteCombustion) -> String {
    match &burn.flame {
        Flame::At(t) => temperature_text(*t),
        Flame::OnTransition {
            temperature,
            from,
            to,
            fraction,
        } => format!(
            "{}, on {from} → {to}, {} % of it through",
            temperature_text(*temperature),
            whole(fraction.get::<percent>())
        ),
        Flame::TooWet { short_by } => format!(
            "no flame: its heat falls short by {} kJ",
            significant(short_by.get::<kilojoule>(), 3)
        ),
    }
}

pub(in crate::report) fn flame_text(result: &StateResult) -> String {
    let mut text = flame_words(&result.complete);
    if let Some(equilibrium) = result.equilibrium_temperature() {
        let _ = write!(text, "; in equilibrium {}", celsius_text(equilibrium));
    }
    text
}

pub(in crate::report) fn flames(plan: &Plan, tables: &Tables, out: &mut impl Write) -> fmt::Result {
    heading(
        out,
        "How hot (adiabatic: nothing lost but what the file states)",
    )?;
    let every = "full set: every tabulated species";
    let fast = "fast set: without methane, ammonia, carbon and hydroxides, which form too slowly \
                below about 1000 K";
    let (chosen, other_set, other) = match plan.batch.conditions.species {
        SpeciesChoice::Full => (every, fast, "fast set"),
        SpeciesChoice::Fast => (fast, every, "full set"),
    };
    writeln!(
        out,
        "{:<12} {:>10} {:>22} {:>10} {:>12} {:>12}",
        "water", "left/mmol", "complete combustion", "±", "equilibrium", other
    )?;
    for result in &plan.states {
        let left = result.state.solvent + result.state.crystal_water(&plan.batch);
        let complete = result.complete.flame.temperature();
        writeln!(
            out,
            "{:<12} {:>10} {:>22} {:>10} {:>12} {:>12}",
            result.state.name.to_string(),
            significant(left.get::<millimole>(), 4),
            complete.map_or("no flame".to_owned(), temperature_text),
            complete.map_or("–".to_owned(), |_| interval_text(
                result.spread.half_width
            )),
            celsius_or_dash(result.equilibrium_temperature()),
            celsius_or_dash(result.other_set_temperature()),
        )?;
    }
    wrapped(
        out,
        0,
        &format!("Equilibrium: {chosen}. Last column: {other_set}."),
    )?;

    data_limits(plan, tables, out)?;
    let Some(result) = plan.state(WaterStateName::BoiledDown) else {
        return Ok(());
    };
    let largest: Vec<String> = result
        .spread
        .contributions
        .iter()
        .take(3)
        .map(|c| format!("{} ({})", c.what, interval_text(c.temperature)))
        .collect();
    if !largest.is_empty() {
        wrapped(
            out,
            0,
            &format!("The ± comes most from: {}.", largest.join("; ")),
        )?;
    }
    if !result.spread.without_band.is_empty() {
        let list = result.spread.without_band.join("; ");
        wrapped(
            out,
            0,
            &format!("Without a known band, so not in it: {list}."),
        )?;
    }
    Ok(())
}

/// Where the table above stands on thin ground: salts that cannot be dried whole, and powder
/// beyond the range of its data.
fn data_limits(plan: &Plan, tables: &Tables, out: &mut impl Write) -> fmt::Result {
    let hydrolysing: Vec<String> = plan
        .batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role == Role::Oxidiser && i.reactant.formula.crystal_water() > 0.0)
        .flat_map(|i| i.reactant.formula.amounts().keys())
        .map(ToString::to_string)
        .filter(|symbol| tables.safety.fumes.hydrolysing.contains(symbol))
        .collect();
    if !hydrolysing.is_empty() {
        let text = format!(
            "Dried is notional here: nitrate of {} gives off HNO3 with its last water.",
            hydrolysing.join(", ")
        );
        wrapped(out, 0, &text)?;
    }
    for result in &plan.states {
        let Some(hot) = result.complete.flame.temperature() else {
            continue;
        };
        let beyond: Vec<&str> = result
            .complete
            .condensed
            .iter()
            .filter(|product| {
                tables
                    .species_by_id(&product.id)
                    .is_some_and(|s| s.is_extrapolated(hot))
            })
            .map(|product| product.id.as_str())
            .collect();
        if !beyond.is_empty() {
            let name = result.state.name;
            let list = beyond.join(", ");
            wrapped(
                out,
                0,
                &format!("{name}: beyond the range of its data: {list}."),
            )?;
        }
    }
    Ok(())
}

pub(in crate::report) fn fates(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    if plan.states.iter().all(|result| result.fates.is_empty()) {
        return Ok(());
    }
    heading(out, "Rich batch: what becomes of the surplus fuel decides")?;
    write!(out, "{:<44}", "flame in equilibrium")?;
    for result in &plan.states {
        write!(out, "{:>14}", result.state.name.to_string())?;
    }
    writeln!(out)?;
    let count = plan
        .states
        .iter()
        .map(|result| result.fates.len())
        .max()
        .unwrap_or(0);
    for at in 0..count {
        let words = plan.states.iter().find_map(|result| result.fates.get(at));
        let Some(words) = words.map(|fate| fate_words(fate.fate)) else {
            continue;
        };
        write!(out, "{words:<44}")?;
        for result in &plan.states {
            let text = result.fates.get(at).map_or("–".to_owned(), |fate| {
                celsius_or_dash(fate.equilibrium_temperature())
            });
            write!(out, "{text:>14}")?;
        }
        writeln!(out)?;
    }
    Ok(())
}

pub(in crate::report) fn fate_words(fate: SurplusFate) -> String {
    match fate {
        SurplusFate::Leaves => "it leaves first, φ falls to 1".to_owned(),
        SurplusFate::OwnGas => "it cracks in its own gas".to_owned(),
        SurplusFate::Air(share) => {
            format!(
                "it burns with {} % of the air it needs",
                whole(share.get::<percent>())
            )
        }
    }
}

pub(in crate::report) fn ledgers(plan: &Plan, out: &mut impl Write) -> fmt::Result {
    heading(out, "Where the heat goes, kJ (complete combustion)")?;
    write!(out, "{:<40}", "")?;
    for result in &plan.states {
        write!(out, "{:>14}", result.state.name.to_string())?;
    }
    writeln!(out)?;
    let mut items: Vec<_> = plan
        .states
        .iter()
        .flat_map(|result| {
            result
                .complete
                .ledger
                .entries
                .iter()
                .map(|entry| entry.item)
        })
        .collect();
    items.sort_unstable();
    items.dedup();
    for item in items {
        write!(out, "{item:<40}")?;
        for result in &plan.states {
            let energy = result.complete.ledger.energy(item).get::<kilojoule>();
            let text = if energy.abs() > 0.0 {
                format!("{energy:+.2}").replace('-', "−")
            } else {
                "–".to_owned()
            };
            write!(out, "{text:>14}")?;
        }
        writeln!(out)?;
    }
    let left_out: Vec<&str> = plan
        .states
        .first()
        .map(|result| {
            result
                .reactants
                .solution_left_out
                .iter()
                .map(String::as_str)
                .collect()
        })
        .unwrap_or_default();
    if !left_out.is_empty() {
        let text = format!(
            "Enthalpy of solution unknown and left out for: {}.",
            left_out.join(", ")
        );
        wrapped(out, 0, &text)?;
    }
    Ok(())
}
