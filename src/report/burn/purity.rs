//! Impurities of the powder: by element, whence, and against what they are known to spoil.

use crate::plan::Plan;
use crate::purity::{BetterBottle, Budget, Spoiling, Standing, Trace};
use crate::quantity::{Band, Ratio};
use crate::report::document::{Cell, Section, Table, band_text, percent_text};
use crate::report::number::mass_text;
use crate::source::Seen;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use uom::si::mass::gram;
use uom::si::ratio::part_per_million;

/// Elements that a better bottle is told of.
const TOLD_CHANGES: usize = 4;

pub(super) fn section(plan: &Plan) -> Section {
    let mut section = Section::new("Purity of the powder");
    let Some(budget) = &plan.purity else {
        section.text(
            "No bottle states its purity. With `grade` (\"technical\", \"pure\", \"for analysis\", \
             \"high purity\"; of water \"tap\", \"distilled\", \"deionised\") or `impurities = \
             { Fe = \"5 ppm\" }` under [[ingredient]] the impurities of the powder are told here.",
        );
        return section;
    };
    section.table(table(budget));
    section.text(format!(
        "In {} of powder. Ranges of a grade are typical ones, no certificate: put the values of \
         your label under `impurities`.",
        mass_text(budget.powder_mass)
    ));
    for trace in &budget.traces {
        for spoiling in &trace.spoils {
            if spoiling.standing > Standing::Below {
                section.item(spoils(trace, spoiling));
            }
        }
    }
    if let Some(better) = &budget.better {
        section.fact("Better", better_text(better));
    }
    if !budget.not_counted.is_empty() {
        let list = budget.not_counted.join(", ");
        section.fact("Left out", format!("{list}: the file does not say"));
    }
    section.fact("Ranges", sources(budget));
    section
}

fn table(budget: &Budget) -> Table {
    let head = ["element", "in the powder / ppm", "most from", "its share"];
    let mut table = Table::new("Purity of the powder", head);
    for trace in &budget.traces {
        let first = &trace.portions[0];
        let share = first.mass.high / (trace.content.high * budget.powder_mass);
        table.row([
            trace.element.symbol().into(),
            ppm(trace.content).into(),
            first.from.as_str().into(),
            Cell::from(percent_text(share)),
        ]);
    }
    table
}

fn ppm(content: Band<Ratio>) -> String {
    band_text(content, 2, |x| x.get::<part_per_million>())
}

fn spoils(trace: &Trace, spoiling: &Spoiling) -> String {
    let standing = match spoiling.standing {
        Standing::Above => "above",
        Standing::Open => "within or near",
        Standing::Below => "below",
    };
    format!(
        "{} in a {}: {}; known level {} ppm, here {} it [{}, {}]",
        trace.element,
        spoiling.of_use,
        spoiling.effect,
        ppm(spoiling.level),
        standing,
        spoiling.source,
        spoiling.seen
    )
}

fn better_text(better: &BetterBottle) -> String {
    let changes = better.changes.iter().take(TOLD_CHANGES);
    let changes: Vec<String> = changes
        .map(|(element, now, then)| format!("{element} {} → {} ppm", ppm(*now), ppm(*then)))
        .collect();
    format!(
        "{} \"{}\" instead of \"{}\" helps most: {}",
        better.name,
        better.to,
        better.from,
        changes.join(", ")
    )
}

/// The sources of the ranges, the least certain way of each.
fn sources(budget: &Budget) -> String {
    let mut used: BTreeMap<&str, Seen> = BTreeMap::new();
    for portion in budget.traces.iter().flat_map(|trace| &trace.portions) {
        if let Some((source, seen)) = &portion.source {
            let worst = used.entry(&source.0).or_insert(*seen);
            *worst = (*worst).max(*seen);
        }
    }
    let list: Vec<String> = used
        .into_iter()
        .map(|(source, seen)| format!("{source} ({seen})"))
        .collect();
    if list.is_empty() {
        "the labels".to_owned()
    } else {
        list.join(", ")
    }
}

/// The impurities in one line; `None` if there are none to tell.
pub(in crate::report) fn line(budget: Option<&Budget>) -> Option<String> {
    let budget = budget?;
    let told: Vec<String> = budget
        .traces
        .iter()
        .take(3)
        .map(|trace| format!("{} {} ppm", trace.element, ppm(trace.content)))
        .collect();
    let first = budget.traces.first()?;
    Some(format!(
        "{}; most {} from {}",
        told.join(", "),
        first.element,
        first.portions[0].from
    ))
}

fn band_json(band: Band<Ratio>) -> Value {
    json!({
        "low_ppm": band.low.get::<part_per_million>(),
        "high_ppm": band.high.get::<part_per_million>(),
    })
}

/// The budget as JSON; `null` if the file says nothing of purity.
pub(in crate::report) fn purity_json(budget: Option<&Budget>) -> Value {
    let Some(budget) = budget else {
        return Value::Null;
    };
    let traces: Vec<Value> = budget.traces.iter().map(trace_json).collect();
    json!({
        "powder_mass_g": budget.powder_mass.get::<gram>(),
        "traces": traces,
        "better_bottle": budget.better.as_ref().map(|better| json!({
            "name": better.name,
            "from": better.from.name(),
            "to": better.to.name(),
            "changes": better.changes.iter().map(|(element, now, then)| json!({
                "element": element.symbol(),
                "now": band_json(*now),
                "then": band_json(*then),
            })).collect::<Vec<_>>(),
        })),
        "not_counted": budget.not_counted,
    })
}

fn trace_json(trace: &Trace) -> Value {
    json!({
        "element": trace.element.symbol(),
        "content": band_json(trace.content),
        "portions": trace.portions.iter().map(|portion| json!({
            "from": portion.from,
            "low_g": portion.mass.low.get::<gram>(),
            "high_g": portion.mass.high.get::<gram>(),
            "source": portion.source.as_ref().map(|(source, _)| source.to_string()),
            "seen": portion.source.as_ref().map(|(_, seen)| seen.to_string()),
        })).collect::<Vec<_>>(),
        "spoils": trace.spoils.iter().map(|spoiling| json!({
            "use": spoiling.of_use.name(),
            "effect": spoiling.effect,
            "level": band_json(spoiling.level),
            "standing": match spoiling.standing {
                Standing::Below => "below",
                Standing::Open => "open",
                Standing::Above => "above",
            },
            "source": spoiling.source.to_string(),
            "seen": spoiling.seen.to_string(),
        })).collect::<Vec<_>>(),
    })
}
