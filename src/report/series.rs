//! A planned series, as a document and as JSON.

use super::burn::DEFERENCE;
use super::document::{Cell, Document, Section, Table, band_text};
use super::expected::{peak_number, peak_text, runs_text};
use super::number::{mass_text, plain, significant, volume_text};
use super::view::{NamedMass, json_of, list, view};
use crate::advice::Warning;
use crate::quantity::units::{degree_celsius, gram, kelvin, kelvins, milliliter, percent, ratio};
use crate::quantity::{Mass, Volume};
use crate::series::{
    Apart, DopantStock, LevelBand, Member, Mother, Purpose, RatioBand, Series, Together,
};
use serde_json::Value;

/// The series: what it is, what to prepare, what to weigh for each, what it can tell, what to watch for.
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
    Document::new(
        format!(
            "{}: a series over {}",
            series.name,
            series.factors.join(" and ")
        ),
        sections,
    )
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
        let end = |t: Option<_>| t.map_or("no flame".to_owned(), |t| peak_number(expected, t));
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
            expected.temperature.map_or("none".into(), |t| {
                Cell::new(t.get::<degree_celsius>(), peak_number(expected, t))
            }),
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
        return "Peaks as predicted without runs: note some in the file, and the plan learns from them."
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
            " But none is of this vessel on this way: the peaks stay as predicted without runs."
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
            Cell::new(
                pair.peak.get::<kelvins>(),
                signed(pair.peak.get::<kelvins>()),
            ),
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

/// The series as JSON.
pub fn series_json(series: &Series<'_>) -> Value {
    json_of(PlannedSeries::from(series))
}

view! {
    /// What `series` writes.
    result PlannedSeries(series: &Series<'_>) {
        /// Name of the batch.
        name: String = series.name.clone(),
        /// What changes.
        over: Vec<String> = series.factors.clone(),
        /// The members.
        members: Vec<PlannedMember> = list(&series.members),
        /// Labels in the order of burning.
        order: Vec<String> = series.order.iter().map(|at| series.members[*at].label.clone()).collect(),
        /// Seed of that order.
        seed: u64 = series.seed,
        /// Runs that the expected peaks were learned from; null without any.
        learned_from: Option<Vec<String>> = series.learned.as_ref().map(|learned| learned.from.clone()),
        /// The mother solution that all share; null without one.
        mother: Option<SharedSolution> = series.mother.as_ref().map(SharedSolution::from),
        /// The stock solution; null without one.
        stock: Option<SeriesStock> = series.stock.as_ref().map(SeriesStock::from),
        /// What is needed in all.
        purchases: Vec<NamedMass> = list(&series.purchases),
        /// How far neighbours lie apart.
        apart: Vec<NeighboursApart> = list(&series.apart),
        /// What stands together on the bench.
        together: BenchTogether = BenchTogether::from(&series.together),
        /// Dangers.
        dangers: Vec<MemberDanger> = list(&series.dangers),
    }
}

view! {
    /// A member of the series.
    PlannedMember(member: &Member<'_>) {
        /// Label.
        label: String = member.label.clone(),
        /// "level", "reference" or "blank".
        purpose: &'static str = match member.purpose {
            Purpose::Level => "level",
            Purpose::Reference => "reference",
            Purpose::Blank => "blank",
        },
        /// Levels, one for each thing that changes.
        levels: Vec<String> = member.levels.clone(),
        /// Fuel ratio φ: total reducing valence over total oxidising valence.
        equivalence_ratio: f64 = member.prepared.redox.equivalence_ratio.get::<ratio>(),
        /// How far φ may be off by balance, assay and crystal water (k = 2).
        equivalence_ratio_band: WeighedRatio = WeighedRatio::from(member.ratio_band),
        /// Expected peak as text.
        peak: String = peak_text(&member.prepared.expected),
        /// Expected peak: the median; null without flame.
        peak_k: Option<f64> = member.prepared.expected.temperature.map(|t| t.get::<kelvin>()),
        /// Number of runs.
        runs: usize = member.runs,
        /// What to weigh.
        weighed: Vec<NamedMass> = list(&member.weighed),
        /// Volume of the stock solution; null without one.
        stock_ml: Option<f64> = member.stock.map(|volume| volume.get::<milliliter>()),
        /// What balance and glassware make of the dopant's level (k = 2); null without a
        /// stock solution.
        level_band: Option<DopantLevel> = member.band.map(DopantLevel::from),
    }
}

view! {
    /// How far the φ of a member may be off.
    WeighedRatio(band: RatioBand) {
        /// Half width of its band.
        half_width: f64 = band.half_width.get::<ratio>(),
        /// What of it the weighing of this member makes; the rest is alike in all.
        own: f64 = band.own.get::<ratio>(),
    }
}

view! {
    /// The level of a dopant as it is drawn.
    DopantLevel(band: LevelBand) {
        /// Share of the site, as drawn.
        level: f64 = band.level.get::<ratio>(),
        /// Half width of its band.
        half_width: f64 = band.half_width.get::<ratio>(),
        /// What of it is alike in all members: the stock's.
        common: f64 = band.common.get::<ratio>(),
    }
}

view! {
    /// The mother solution.
    SharedSolution(mother: &Mother) {
        /// Mass of a portion.
        portion_g: f64 = mother.portion.get::<gram>(),
        /// Number of portions.
        portions: usize = mother.portions,
        /// What goes in, as weighed.
        ingredients: Vec<NamedMass> = mother.ingredients.iter()
            .map(|(_, name, mass)| NamedMass::from((name.as_str(), *mass)))
            .collect(),
    }
}

view! {
    /// The stock solution of a dopant.
    SeriesStock(stock: &DopantStock) {
        /// What is dissolved.
        name: String = stock.name.clone(),
        /// Mass of it.
        mass_g: f64 = stock.mass.get::<gram>(),
        /// Flask.
        flask_ml: f64 = stock.flask.get::<milliliter>(),
        /// Volume from level to level.
        step_ml: f64 = stock.step.get::<milliliter>(),
    }
}

view! {
    /// How far two neighbours lie apart.
    NeighboursApart(pair: &Apart) {
        /// Label of the one.
        from: String = pair.first.clone(),
        /// Label of the other.
        to: String = pair.second.clone(),
        /// Difference of their expected peaks.
        peak_k: f64 = pair.peak.get::<kelvins>(),
        /// Lower end: a tenth of the draws is below.
        low_k: f64 = pair.band.low.get::<kelvins>(),
        /// Upper end: a tenth of the draws is above.
        high_k: f64 = pair.band.high.get::<kelvins>(),
        /// Runs that would tell them apart; null if none would.
        runs_needed: Option<u32> = pair.runs_needed,
    }
}

view! {
    /// All members together on the bench.
    BenchTogether(together: &Together) {
        /// Mass of dry oxidiser and fuel.
        mass_g: f64 = together.mass.get::<gram>(),
        /// Refusals for all together.
        stops: Vec<String> = together.stops.iter().map(|stop| stop.text.clone()).collect(),
        /// Members that may stand ready at once.
        at_once: usize = together.at_once,
    }
}

view! {
    /// A danger and whom it concerns.
    MemberDanger((warning, labels): &(Warning, Vec<String>)) {
        /// Code, the same in all versions.
        code: String = warning.code.clone(),
        /// As a sentence.
        text: String = warning.text.clone(),
        /// Labels of the members.
        members: Vec<String> = labels.clone(),
    }
}
