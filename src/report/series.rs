//! A planned series, as a document and as JSON.

use super::burn::DEFERENCE;
use super::document::{Cell, Document, Section, Table, band_text};
use super::expected::peak_text;
use super::expected::runs_text;
use super::json::SCHEMA_VERSION;
use super::number::{mass_text, plain, significant, volume_text, whole};
use crate::quantity::{Mass, Volume};
use crate::series::{Apart, Member, Purpose, Series};
use serde_json::{Value, json};
use uom::si::mass::gram;
use uom::si::ratio::{percent, ratio};
use uom::si::temperature_interval::kelvin as kelvins;
use uom::si::thermodynamic_temperature::{degree_celsius, kelvin};
use uom::si::volume::milliliter;

/// The series: what it is, what to prepare, what to weigh for each, what it can tell, what to watch for.
#[must_use]
pub fn series_document(series: &Series<'_>) -> Document {
    let mut sections = vec![
        safety(series),
        members(series),
        prepare(series),
        weigh(series),
        apart(series),
        buy(series),
    ];
    if series.blind {
        sections.push(key(series));
    }
    // Levels stand behind the key, where labels tell nothing.
    sections.extend(levels(series));
    Document {
        title: format!(
            "{}: a series over {}",
            series.name,
            series.factors.join(" and ")
        ),
        sections,
    }
}

/// What a member is: its levels, or its purpose.
fn what(series: &Series<'_>, member: &Member<'_>) -> String {
    let levels: Vec<String> = series
        .factors
        .iter()
        .zip(&member.levels)
        .map(|(factor, level)| format!("{factor} {level}"))
        .collect();
    let purpose = match member.purpose {
        Purpose::Level => "",
        Purpose::Reference => "reference",
        Purpose::Blank => "blank",
    };
    let parts = [purpose.to_owned(), levels.join(", ")];
    let parts: Vec<String> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    parts.join(": ")
}

fn safety(series: &Series<'_>) -> Section {
    let mut section = Section::new("Before anything is mixed");
    for (warning, labels) in &series.dangers {
        section.text(format!(
            "DECIDE FIRST ({}). {}",
            labels.join(", "),
            warning.text
        ));
    }
    let together = &series.together;
    section.text(format!(
        "All {} together are {} of oxidiser and fuel.",
        runs_text(series.order.len()),
        mass_text(together.mass)
    ));
    for stop in &together.stops {
        section.text(format!("Never mixed at the same time: {}", stop.text));
    }
    if together.stops.is_empty() {
        section.text("Add fuel to one portion at a time, and burn or drown it before the next.");
    } else {
        section.text(format!(
            "At most {} may lie mixed at the same time; better one, burnt or drowned before the next.",
            runs_text(together.at_once)
        ));
    }
    section.text(DEFERENCE);
    section
}

fn members(series: &Series<'_>) -> Section {
    let mut section = Section::new("Members");
    let mut table = Table::new(
        "Members",
        ["label", "what", "φ", "±", "peak / °C", "8 of 10", "runs"],
    );
    for member in &series.members {
        let expected = &member.prepared.expected;
        let celsius =
            |t: crate::quantity::ThermodynamicTemperature| whole(t.get::<degree_celsius>());
        let end = |t: Option<_>| t.map_or("no flame".to_owned(), celsius);
        let described = if series.blind {
            Cell::Absent
        } else {
            what(series, member).into()
        };
        table.row([
            member.label.clone().into(),
            described,
            Cell::number(member.prepared.redox.equivalence_ratio.get::<ratio>(), 3),
            Cell::number(member.ratio_band.half_width.get::<ratio>(), 1),
            expected
                .temperature
                .map_or("none".into(), |t| Cell::whole(t.get::<degree_celsius>())),
            format!("{} to {}", end(expected.low), end(expected.high)).into(),
            Cell::whole(member.runs as f64),
        ]);
    }
    section.table(table);
    section.text(learned_text(series));
    let own = series
        .members
        .iter()
        .map(|m| m.ratio_band.own.get::<ratio>());
    section.text(format!(
        "±: how far φ may be off, two standard deviations by balance, assay and crystal water. The \
         bottles err alike in all: between members it is ±{} at most.",
        significant(own.fold(0.0, f64::max), 1)
    ));
    let order: Vec<&str> = series
        .order
        .iter()
        .map(|at| series.members[*at].label.as_str())
        .collect();
    section.fact(
        "Order",
        format!("{} (random, seed {})", order.join(", "), series.seed),
    );
    section
}

/// What the expected peaks come from.
fn learned_text(series: &Series<'_>) -> String {
    let Some(learned) = &series.learned else {
        return "Peaks as foretold without runs: note some in the file, and the plan learns from them."
            .to_owned();
    };
    let counts = series
        .members
        .iter()
        .filter_map(|m| m.prepared.expected.learned.as_ref());
    let (known, others): (Vec<_>, Vec<_>) = counts.partition(|from| from.runs > 0);
    let runs = known.iter().map(|from| from.runs).max().unwrap_or(0);
    let rest = match (known.len(), others.len()) {
        (_, 0) => "",
        (0, _) => {
            " But none is of this vessel on this way: the peaks stay as foretold without runs."
        }
        _ => " Of the members on another way or in another vessel no run is known.",
    };
    format!(
        "Peaks learned from {} ({}).{rest}",
        runs_text(runs),
        learned.file
    )
}

fn prepare(series: &Series<'_>) -> Section {
    let mut section = Section::new("Prepare");
    match &series.mother {
        Some(mother) => {
            let parts: Vec<String> = mother
                .ingredients
                .iter()
                .map(|(_, name, mass)| format!("{} {name}", mass_text(*mass)))
                .collect();
            section.fact(
                "Mother",
                format!(
                    "{}, dissolved together: {} portions of {} and a twentieth to spare; split by \
                     mass. No fuel goes into it.",
                    parts.join(" + "),
                    mother.portions,
                    mass_text(mother.portion)
                ),
            );
        }
        None => {
            section.text("Nothing is shared that is worth a common solution: weigh each member.")
        }
    }
    if let Some(stock) = &series.stock {
        section.fact(
            "Stock",
            format!(
                "{} {} made up to {} with water; drawn with a piston pipette of {} in steps of {}. {}",
                mass_text(stock.mass),
                stock.name,
                volume_text(stock.flask),
                volume_text(stock.pipette),
                microlitres(stock.step),
                if stock.stated {
                    "Its water is counted, and more of it cools the burn: to change the dopant alone, \
                     take as much less of the added water."
                } else {
                    "Its water is not counted: give every member, the blank too, water up to one \
                     filling, so that all have the same."
                }
            ),
        );
    }
    section
}

/// What balance and glassware make of the levels; `None` without a stock solution.
fn levels(series: &Series<'_>) -> Option<Section> {
    let stock = series.stock.as_ref()?;
    let mut section = Section::new("How far off the levels may be");
    let head = ["label", "level / mol %", "within ±", "of it alike in all"];
    let mut table = Table::new("Levels as drawn", head);
    for member in &series.members {
        let Some(band) = member.band else { continue };
        table.row([
            member.label.clone().into(),
            Cell::number(band.level.get::<percent>(), 4),
            Cell::number(band.half_width.get::<percent>(), 2),
            Cell::number(band.common.get::<percent>(), 2),
        ]);
    }
    section.table(table);
    let pipette = if stock.assumed {
        " The file lists no piston pipette ([glassware] piston_pipettes): a usual one is taken."
    } else {
        ""
    };
    section.text(format!(
        "Two standard deviations, from the balance, the flask, the pipette and the host's portion. \
         What is alike in all is the stock's: it moves no level against another.{pipette}"
    ));
    Some(section)
}

fn microlitres(volume: Volume) -> String {
    format!("{} µL", plain(1000.0 * volume.get::<milliliter>(), 5))
}

fn weigh(series: &Series<'_>) -> Section {
    let mut section = Section::new("Weigh for each run");
    for member in &series.members {
        let mut parts = Vec::new();
        if let Some(mother) = &series.mother {
            parts.push(format!("{} mother solution", mass_text(mother.portion)));
        }
        if let Some(volume) = member.stock {
            parts.push(format!("{} stock", microlitres(volume)));
        }
        let one = |(name, mass): &(String, Mass)| format!("{} {name}", mass_text(*mass));
        parts.extend(member.weighed.iter().map(one));
        section.fact(&member.label, parts.join(" + "));
    }
    section
}

fn apart(series: &Series<'_>) -> Section {
    let mut section = Section::new("What it can tell");
    let mut table = Table::new(
        "Neighbours",
        ["from", "to", "peak / K", "8 of 10", "runs of each"],
    );
    for pair in &series.apart {
        let band = band_text(pair.band, 2, |off| off.get::<kelvins>());
        table.row([
            pair.first.clone().into(),
            pair.second.clone().into(),
            Cell::Number {
                value: pair.peak.get::<kelvins>(),
                shown: signed(pair.peak.get::<kelvins>()),
            },
            band.into(),
            pair.runs_needed
                .map_or("too many".into(), |runs| Cell::whole(f64::from(runs))),
        ]);
    }
    section.table(table);
    section.text(
        "Runs of each that a thermocouple needs to tell them apart by the peak. Colour, size or \
         light may tell more: judge every powder the same way, and the reference each time.",
    );
    section
}

/// A whole number with its sign; nothing has none.
fn signed(value: f64) -> String {
    if value.abs() < 0.5 {
        return "0".to_owned();
    }
    format!("{value:+.0}").replace('-', "−")
}

fn buy(series: &Series<'_>) -> Section {
    let mut section = Section::new("For all runs");
    let parts: Vec<String> = series
        .purchases
        .iter()
        .map(|(name, mass)| format!("{} {name}", mass_text(*mass)))
        .collect();
    section.fact("Needs", parts.join(" + "));
    section
}

fn key(series: &Series<'_>) -> Section {
    let mut section = Section::new("Key, for after the powders are judged");
    for member in &series.members {
        section.fact(&member.label, what(series, member));
    }
    section
}

/// The series as JSON: `members[]` with `label`, `purpose`, `levels`, `peak_k`, `runs`,
/// `weighed[]`, `stock_ml`, `level_band`; `order`, `mother`, `stock`, `purchases`, `apart[]`, `together`, `dangers[]`.
#[must_use]
pub fn series_json(series: &Series<'_>) -> Value {
    let masses = |list: &[(String, Mass)]| -> Vec<Value> {
        let one =
            |(name, mass): &(String, Mass)| json!({ "name": name, "mass_g": mass.get::<gram>() });
        list.iter().map(one).collect()
    };
    let members: Vec<Value> = series
        .members
        .iter()
        .map(|member| {
            json!({
                "label": member.label,
                "purpose": match member.purpose {
                    Purpose::Level => "level",
                    Purpose::Reference => "reference",
                    Purpose::Blank => "blank",
                },
                "levels": member.levels,
                "equivalence_ratio": member.prepared.redox.equivalence_ratio.get::<ratio>(),
                "equivalence_ratio_band": {
                    "half_width": member.ratio_band.half_width.get::<ratio>(),
                    "own": member.ratio_band.own.get::<ratio>(),
                },
                "peak": peak_text(&member.prepared.expected),
                "peak_k": member.prepared.expected.temperature.map(|t| t.get::<kelvin>()),
                "runs": member.runs,
                "weighed": masses(&member.weighed),
                "stock_ml": member.stock.map(|volume| volume.get::<milliliter>()),
                "level_band": member.band.map(|band| json!({
                    "level": band.level.get::<ratio>(),
                    "half_width": band.half_width.get::<ratio>(),
                    "common": band.common.get::<ratio>(),
                })),
            })
        })
        .collect();
    let labels: Vec<&str> = series
        .order
        .iter()
        .map(|at| series.members[*at].label.as_str())
        .collect();
    json!({
        "schema_version": SCHEMA_VERSION,
        "name": series.name,
        "over": series.factors,
        "members": members,
        "order": labels,
        "seed": series.seed,
        "learned_from": series.learned.as_ref().map(|learned| learned.from.clone()),
        "mother": series.mother.as_ref().map(|mother| json!({
            "portion_g": mother.portion.get::<gram>(),
            "portions": mother.portions,
            "ingredients": mother.ingredients.iter().map(|(_, name, mass)| {
                json!({ "name": name, "mass_g": mass.get::<gram>() })
            }).collect::<Vec<_>>(),
        })),
        "stock": series.stock.as_ref().map(|stock| json!({
            "name": stock.name,
            "mass_g": stock.mass.get::<gram>(),
            "flask_ml": stock.flask.get::<milliliter>(),
            "step_ml": stock.step.get::<milliliter>(),
        })),
        "purchases": masses(&series.purchases),
        "apart": series.apart.iter().map(apart_json).collect::<Vec<_>>(),
        "together": {
            "mass_g": series.together.mass.get::<gram>(),
            "stops": series.together.stops.iter().map(|stop| stop.text.clone()).collect::<Vec<_>>(),
            "at_once": series.together.at_once,
        },
        "dangers": series.dangers.iter().map(|(warning, labels)| {
            json!({ "code": warning.code, "text": warning.text, "members": labels })
        }).collect::<Vec<_>>(),
    })
}

fn apart_json(pair: &Apart) -> Value {
    json!({
        "from": pair.first,
        "to": pair.second,
        "peak_k": pair.peak.get::<kelvins>(),
        "low_k": pair.band.low.get::<kelvins>(),
        "high_k": pair.band.high.get::<kelvins>(),
        "runs_needed": pair.runs_needed,
    })
}
