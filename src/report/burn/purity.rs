//! Impurities of the powder: by element, whence, and against what they are known to spoil.

use crate::formula::Element;
use crate::plan::Plan;
use crate::purity::{BetterBottle, Budget, Impurity, Spoiling, Standing, Trace};
use crate::quantity::units::{gram, part_per_million};
use crate::quantity::{Band, Ratio};
use crate::report::document::{Cell, Section, Table, band_text, percent_text};
use crate::report::number::mass_text;
use crate::report::view::{list, view};
use crate::source::Seen;
use std::collections::BTreeMap;

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

view! {
    /// A content by mass.
    Content(band: Band<Ratio>) {
        /// Lower end.
        low_ppm: f64 = band.low.get::<part_per_million>(),
        /// Upper end.
        high_ppm: f64 = band.high.get::<part_per_million>(),
    }
}

view! {
    /// Impurities of the powder.
    PurityBudget(budget: &Budget) {
        /// Mass of the powder.
        powder_mass_g: f64 = budget.powder_mass.get::<gram>(),
        /// Foreign elements.
        traces: Vec<ForeignTrace> = list(&budget.traces),
        /// The one better bottle that changes most; null if none does.
        better_bottle: Option<OtherBottle> = budget.better.as_ref().map(OtherBottle::from),
        /// What is not counted in.
        not_counted: Vec<String> = budget.not_counted.clone(),
    }
}

view! {
    /// Another grade of a bottle.
    OtherBottle(better: &BetterBottle) {
        /// The bottle.
        name: String = better.name.clone(),
        /// Its grade now.
        from: &'static str = better.from.name(),
        /// The better grade.
        to: &'static str = better.to.name(),
        /// What it changes.
        changes: Vec<ContentChange> = list(&better.changes),
    }
}

view! {
    /// What a better bottle does to an element.
    ContentChange((element, now, then): &(Element, Band<Ratio>, Band<Ratio>)) {
        /// Symbol of the element.
        element: &'static str = element.symbol(),
        /// Content now.
        now: Content = Content::from(*now),
        /// Content then.
        then: Content = Content::from(*then),
    }
}

view! {
    /// A foreign element in the powder.
    ForeignTrace(trace: &Trace) {
        /// Symbol of the element.
        element: &'static str = trace.element.symbol(),
        /// Content of the powder.
        content: Content = Content::from(trace.content),
        /// Where it comes from.
        portions: Vec<TracePortion> = list(&trace.portions),
        /// What it spoils.
        spoils: Vec<SpoiledUse> = list(&trace.spoils),
    }
}

view! {
    /// Where a part of a foreign element comes from.
    TracePortion(portion: &Impurity) {
        /// Bottle, vessel or stirrer.
        from: String = portion.from.clone(),
        /// Lower end of its mass.
        low_g: f64 = portion.mass.low.get::<gram>(),
        /// Upper end of its mass.
        high_g: f64 = portion.mass.high.get::<gram>(),
        /// Key of the source; null if the file states it.
        source: Option<String> = portion.source.as_ref().map(|(source, _)| source.to_string()),
        /// How it was found; null if the file states it.
        seen: Option<Seen> = portion.source.as_ref().map(|(_, seen)| *seen),
    }
}

view! {
    /// A use that a foreign element spoils.
    SpoiledUse(spoiling: &Spoiling) {
        /// The use.
        #[serde(rename = "use")]
        of_use: &'static str = spoiling.of_use.name(),
        /// What it does.
        effect: String = spoiling.effect.clone(),
        /// Level from which on it does.
        level: Content = Content::from(spoiling.level),
        /// "below", "open" or "above" that level.
        standing: &'static str = match spoiling.standing {
            Standing::Below => "below",
            Standing::Open => "open",
            Standing::Above => "above",
        },
        /// Key of the source.
        source: String = spoiling.source.to_string(),
        /// How it was found.
        seen: Seen = spoiling.seen,
    }
}
