//! The first screen: may I burn this, how, what will happen.
//!
//! At most [`LINES`] lines. What must be said always has its place and its most lines; the
//! cautions that are special to the batch take what is left, the most severe first.

use super::gas::phases;
use super::safety::{longest, violence_word};
use crate::advice::{Severity, Warning};
use crate::batch::Ingredient;
use crate::cooling::cooled;
use crate::gas::ideal_gas_volume;
use crate::ignition::{Chance, Ending, Judged};
use crate::names::capital;
use crate::plan::Plan;
use crate::product::ProductModel;
use crate::quantity::AmountOfSubstance;
use crate::quantity::units::{
    cubic_meter_per_kilogram, degree_celsius, gram, mole, percent, ratio,
};
use crate::report::document::{Document, LABELS, Part, Section, band_text, percent_text};
use crate::report::expected::{peak_band, peak_text};
use crate::report::layout::broken;
use crate::report::number::{celsius_text, mass_text, plain, significant, volume_text, whole};
use crate::tables::Role;

/// Lines of the screen at its full width.
pub const LINES: usize = 30;
/// Columns of the screen at most.
pub const WIDTH: usize = 80;
/// Lines that cautions special to the batch have in any case.
const CAUTION_LINES: usize = 3;
/// What every output says that someone could act on.
pub(in crate::report) const DEFERENCE: &str =
    "Local codes, your safety officer and licensed practice decide.";

/// Where the rest is.
const MORE: &str = "--show heat,gas,safety,sources,… or --full; `emberpot weigh`";

/// Columns beside the labels.
const ROOM: usize = WIDTH - LABELS;

/// The first screen of `plan` as text of at most `width` columns; a narrower one has the same words
/// in more lines.
pub fn first_screen(plan: &Plan, width: usize) -> String {
    let mut head = Section::default();
    head.parts
        .push(Part::Text(clipped(&verdict(plan), 3, WIDTH)));
    for (label, most, value) in facts(plan) {
        head.fact(label, clipped(&value, most, ROOM));
    }
    let mut tail = Section::default();
    for (at, warning) in plan
        .advice
        .warnings
        .iter()
        .filter(|w| w.is_fixed())
        .enumerate()
    {
        tail.fact(if at == 0 { "Always" } else { "" }, warning.brief());
    }
    tail.fact("Rules", DEFERENCE);
    tail.fact("More", MORE);
    let document = |cautions: Section| {
        Document::new(
            plan.batch.name.clone(),
            vec![head.clone(), cautions, tail.clone()],
        )
    };
    let taken = document(Section::default()).text(WIDTH).lines().count();
    let left = LINES.saturating_sub(taken).max(CAUTION_LINES);
    document(special(plan, left)).text(width.clamp(LABELS + 20, WIDTH))
}

/// `text` cut to `most` lines of `width` columns.
fn clipped(text: &str, most: usize, width: usize) -> String {
    if broken(text, width).len() <= most {
        return text.to_owned();
    }
    let mut words: Vec<&str> = text.split(' ').collect();
    loop {
        words.pop();
        let cut = format!("{} …", words.join(" "));
        if words.len() < 2 || broken(&cut, width).len() <= most {
            return cut;
        }
    }
}

/// Stop, decide first, or plan complete, with the reasons.
pub(in crate::report) fn verdict(plan: &Plan) -> String {
    let of = |severity: Severity| {
        let list = plan.advice.warnings.iter();
        let list: Vec<&str> = list
            .filter(|warning| warning.severity == severity)
            .map(Warning::brief)
            .collect();
        list.join(" ")
    };
    let (stops, dangers) = (of(Severity::Stop), of(Severity::Danger));
    if !stops.is_empty() {
        return format!("STOP. {stops}");
    }
    if !dangers.is_empty() {
        return format!("DECIDE FIRST. {dangers}");
    }
    let unlit = if stays_unlit(plan) {
        " It does not light this way; treat it as live all the same."
    } else {
        ""
    };
    let mut unchecked = Vec::new();
    if plan.advice.vessel.is_none() {
        unchecked.push("froth and wall (no [vessel])");
    }
    if !plan.advice.air.stated {
        unchecked.push("your room (no [room])");
    }
    let unchecked = if unchecked.is_empty() {
        String::new()
    } else {
        format!(" Not checked: {}.", unchecked.join(", "))
    };
    format!(
        "PLAN COMPLETE, YOU DECIDE.{unlit} No check came out as a danger; cautions below.{unchecked}"
    )
}

/// The dangers among `warnings` in at most three lines, for outputs about a part of the batch; empty
/// if there are none.
pub(in crate::report) fn serious(warnings: &[Warning]) -> String {
    let dangers = warnings.iter().filter(|w| w.severity <= Severity::Danger);
    let dangers: Vec<&str> = dangers.map(Warning::brief).collect();
    if dangers.is_empty() {
        String::new()
    } else {
        clipped(&format!("DECIDE FIRST. {}", dangers.join(" ")), 3, WIDTH)
    }
}

/// The lines of the screen: label, most lines, words.
pub(in crate::report) fn facts(plan: &Plan) -> Vec<(&'static str, usize, String)> {
    let mut facts = vec![
        ("Weigh", 2, weigh(plan)),
        ("Ratio", 1, fuel_ratio(plan)),
        ("Equation", 2, plan.equation.to_string()),
        ("Heating", 1, heating(plan)),
        ("Peak", 2, peak(plan)),
        ("Powder", 3, powder(plan)),
        ("Gas", 1, gas(plan)),
        ("Vessel", 1, vessel(plan)),
        (
            "Violence",
            1,
            violence_word(&plan.advice.violence, plan.expected.temperature.is_some()),
        ),
    ];
    let wait = wait(plan);
    if !wait.is_empty() {
        facts.push(("Wait", 1, wait));
    }
    if let Some(line) = super::purity::line(plan.purity.as_ref()) {
        facts.push(("Purity", 1, line));
    }
    facts.push(("Weakest", 2, weakest(plan)));
    facts
}

fn weigh(plan: &Plan) -> String {
    let list = |name: fn(&Ingredient) -> String| {
        let portions = plan.batch.weighed.iter().map(|ingredient| {
            let amount = match (ingredient.stock, ingredient.volume) {
                (Some(stock), _) => format!("{} stock of", volume_text(stock.volume)),
                (None, Some(volume)) => volume_text(volume),
                (None, None) => mass_text(ingredient.mass),
            };
            format!("{amount} {}", name(ingredient))
        });
        portions.collect::<Vec<_>>().join(" + ")
    };
    let names = list(|ingredient| ingredient.reactant.name.clone());
    if broken(&names, ROOM).len() <= 2 {
        names
    } else {
        list(short_name)
    }
}

/// The formula; the name for an acid, a sol or a sold solution, whose water is weighed with it.
fn short_name(ingredient: &Ingredient) -> String {
    let wet = ingredient.carried_water > AmountOfSubstance::new::<mole>(0.0);
    if wet || ingredient.reactant.role == Role::Acid {
        ingredient.reactant.name.clone()
    } else {
        ingredient.reactant.formula.to_string()
    }
}

fn fuel_ratio(plan: &Plan) -> String {
    let definitions = &plan.redox.definitions;
    let number = |value: crate::quantity::Ratio| significant(value.get::<ratio>(), 3);
    let per_metal = definitions.fuel_per_metal.map_or(String::new(), |value| {
        format!("; fuel/metal {} (mol)", number(value))
    });
    format!(
        "φ {} {} (fuel over oxidiser); λ {}{per_metal}",
        number(plan.redox.equivalence_ratio),
        plan.redox.mixture,
        number(definitions.oxidiser_to_fuel),
    )
}

fn heating(plan: &Plan) -> String {
    let Some(heated) = &plan.heated else {
        let heating = plan.batch.heating.as_ref();
        let way = heating.and_then(|heating| heating.way.as_ref());
        return match (way, heating.and_then(|heating| heating.temperature)) {
            (Some(way), Some(t)) => {
                format!(
                    "{way} at {}; `emberpot ignite` tells when it lights",
                    celsius_text(t)
                )
            }
            (Some(way), None) => format!("{way}; `emberpot ignite` tells when it lights"),
            (None, _) => "no way is named under [heating], so when it lights is open".to_owned(),
        };
    };
    let Judged { course, verdict } = &heated.judged;
    let way = &course.way;
    match (verdict.chance(), &course.ending) {
        (Chance::DoesNotLight, Ending::Fails { reason, .. }) => {
            let reasoned = format!("{way}: {verdict}; {reason}");
            match broken(&reasoned, ROOM).len() {
                1 => reasoned,
                _ => format!("{way}: {verdict}; why: `emberpot ignite`"),
            }
        }
        (Chance::MayLight, _) => format!("{way}: {verdict}"),
        _ => {
            let by_model = percent_text(course.water_left);
            let left = match heated.stated_water.map(percent_text) {
                Some(stated) if stated != by_model => {
                    format!("; water {stated} (model {by_model})")
                }
                _ => format!(", {by_model} of water left"),
            };
            format!("{way}: {verdict}{left}")
        }
    }
}

/// Whether the heating of the file, with all that is uncertain of it, does not light the batch.
fn stays_unlit(plan: &Plan) -> bool {
    let heated = plan.heated.as_ref();
    heated.is_some_and(|heated| heated.judged.verdict.chance() == Chance::DoesNotLight)
}

fn peak(plan: &Plan) -> String {
    if stays_unlit(plan) {
        return format!(
            "none this way; should it light all the same: {}, with gas, violence and waiting as below",
            peak_band(&plan.expected)
        );
    }
    let limits: Vec<String> = plan
        .states
        .iter()
        .map(|result| {
            let flame = result.equilibrium_temperature();
            let flame = flame.map_or("none".to_owned(), |t| whole(t.get::<degree_celsius>()));
            format!("{} {flame}", result.state.name)
        })
        .collect();
    format!(
        "{}; limits / °C: {}",
        peak_text(&plan.expected),
        limits.join(", ")
    )
}

fn powder(plan: &Plan) -> String {
    let mass = plain(plan.product.mass.get::<gram>(), 4);
    let model = match plan.product.model {
        ProductModel::Tabulated => "",
        ProductModel::EndMembers => " (heat by end members)",
        ProductModel::NoPhase => " (no data of its own: told as if it did not form)",
        ProductModel::SimpleOxides => " (no target named)",
    };
    let text = format!("{mass} g {}{model}", plan.product.name);
    let burns = !stays_unlit(plan);
    let (Some(peak), Some(cold)) = (plan.powder.first().filter(|_| burns), cooled(&plan.powder))
    else {
        return text;
    };
    let (hot, cold) = (phases(&peak.own_gas), phases(&cold.own_gas));
    let phases = if cold == hot {
        format!("hot and cooled {hot}")
    } else {
        format!("hot {hot}; cooled {cold}")
    };
    let by_mass = if phases.contains('%') {
        "; % by mass"
    } else {
        ""
    };
    format!("{text}; {phases}{by_mass}")
}

fn gas(plan: &Plan) -> String {
    let Some(main) = plan.main_state() else {
        return "none".to_owned();
    };
    let gas = &main.gas;
    let at_peak = plan.powder.first().map_or(String::new(), |peak| {
        let own = &peak.own_gas;
        let volume = ideal_gas_volume(own.gas_amount, own.temperature, own.pressure);
        format!(", {} at the peak", volume_text(volume))
    });
    format!(
        "{} at 25 °C, {} L per g of powder{at_peak}",
        volume_text(gas.volume_25c),
        significant(gas.per_product.get::<cubic_meter_per_kilogram>(), 3)
    )
}

fn vessel(plan: &Plan) -> String {
    match (&plan.advice.vessel, &plan.advice.smallest_vessel) {
        (Some(check), _) => format!(
            "{}, {}: froth {} % of it",
            check.choice.vessel.name,
            check.choice.cover,
            band_text(check.froth_fill, 2, |r| r.get::<percent>())
        ),
        (None, Some(vessel)) => format!("none named; at least {}", vessel.name),
        (None, None) => "no listed one holds it; make the batch smaller".to_owned(),
    }
}

fn wait(plan: &Plan) -> String {
    let mut parts = Vec::new();
    if let Some(time) = plan.advice.touchable_after {
        parts.push(format!("touch it after up to {}", longest(time)));
    }
    if let Some(time) = plan.advice.clear_after {
        parts.push(format!("air clear after up to {}", longest(time)));
    }
    parts.join("; ")
}

/// What the estimate hangs on most, and the line in the file that would narrow it.
fn weakest(plan: &Plan) -> String {
    let expected = &plan.expected;
    let Some(first) = expected.causes.first() else {
        return "no band: there is no flame to estimate".to_owned();
    };
    let share = percent_text(first.share);
    match expected.narrowed_by {
        Some(line) => format!(
            "{} ({share} of the spread); narrow it with {line}",
            first.name
        ),
        None => format!("{} ({share} of the spread)", first.name),
    }
}

/// The cautions that only this batch has, in at most `most` lines.
fn special(plan: &Plan, most: usize) -> Section {
    let mut section = Section::default();
    let mut lines = 0;
    let special: Vec<&Warning> = plan
        .advice
        .warnings
        .iter()
        .filter(|warning| !warning.standing && warning.severity > Severity::Danger)
        .collect();
    for (at, warning) in special.iter().enumerate() {
        let text = warning.brief();
        let needs = broken(text, ROOM).len();
        let after = special.len() - at - 1;
        // The last line tells how many are not told.
        if lines + needs + usize::from(after > 0) > most {
            let more = special.len() - at;
            section.fact("", format!("{more} more under --show safety"));
            break;
        }
        lines += needs;
        section.fact(&capital(&warning.moment.to_string()), text);
    }
    section
}
