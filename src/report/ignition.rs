//! The course of heating as a document: the answer on one screen, the rest in full.

use super::burn::{DEFERENCE, SCREEN_LINES, SCREEN_WIDTH, serious};
use super::document::{Cell, Document, LABELS, Section, Table, percent_text, time_text};
use super::expected::expected_line;
use super::layout::broken;
use super::number::{celsius_text, significant, subscripts, whole};
use super::shown::{Shown, more};
use crate::ignition::{
    Chance, Comparison, Course, Ending, Judged, LitPlace, MicrowaveNote, Reason, Setting, duration,
    watts,
};
use crate::names::capital;
use crate::prepared::Prepared;
use crate::quantity::units::{
    kelvins, kilojoule, micrometer, millimeter, millimole, ratio, second,
};
use crate::quantity::{Energy, Length, Ratio, Time};
use crate::tables::Tables;

/// Energies below this are rounding, kJ.
const FAINT_ENERGY: f64 = 5e-4;

/// How good the times are.
const CAUTION: &str = "within a factor of about two until calibrated with water; they never say how \
                       long it is safe to stand near";

/// Sections behind the answer, by name.
pub const IGNITE_SECTIONS: [&str; 7] = [
    "why", "stages", "losses", "layer", "energy", "cautions", "basis",
];
/// Most and fewest lines of cautions in the answer.
const CAUTION_LINES: (usize, usize) = (7, 3);

/// The course of heating on one way: its answer, and the sections that are asked for.
pub fn course_document(prepared: &Prepared<'_>, judged: &Judged, shown: &Shown) -> Document {
    let course = &judged.course;
    let document = |sections| Document::new(prepared.batch.name.clone(), sections);
    if *shown == Shown::Answer {
        let (most, fewest) = CAUTION_LINES;
        let (head, mut tail) = (answer(judged, prepared), rules());
        tail.fact("More", more(&IGNITE_SECTIONS));
        let whole = |cautions| document(vec![head.clone(), cautions, tail.clone()]);
        let taken = whole(Section::default()).text(SCREEN_WIDTH).lines().count();
        let left = SCREEN_LINES.saturating_sub(taken).clamp(fewest, most);
        return whole(short_cautions(course, left));
    }
    let mut sections = Vec::new();
    if shown.answer() {
        sections.push(answer(judged, prepared));
    }
    sections.extend(shown.pick(named(judged, prepared.tables, shown)));
    sections.push(rules());
    document(sections)
}

/// The sections of one way by their names.
fn named(judged: &Judged, tables: &Tables, shown: &Shown) -> [(&'static str, Section); 7] {
    let course = &judged.course;
    [
        ("why", why(&judged.reasons())),
        ("stages", stages(course)),
        ("losses", losses(course)),
        ("layer", layer(course, shown)),
        ("energy", energy(course)),
        ("cautions", cautions(course)),
        ("basis", basis(course, tables)),
    ]
}

fn why(reasons: &[Reason]) -> Section {
    let mut section = Section::new("Why");
    let sentences: Vec<String> = reasons.iter().map(Reason::to_string).collect();
    section.text(sentences.join(" "));
    section
}

/// All reasons of a comparison: the general ones, then a paragraph a way.
pub(super) fn reasons_by_way(reasons: &[Reason]) -> Section {
    let mut section = Section::default();
    for group in reasons.chunk_by(|a, b| a.way() == b.way()) {
        let sentences: Vec<String> = group.iter().map(Reason::to_string).collect();
        match group[0].way() {
            Some(_) => section.item(sentences.join(" ")),
            None => section.text(sentences.join(" ")),
        }
    }
    section
}

/// What sets the ways apart, and why some fail: ways that fail for the same reason together.
fn main_reasons(reasons: &[Reason]) -> String {
    let mut sentences = Vec::new();
    // What to do about it, and the further numbers of it, are told with each way.
    let brief = |reason: &'_ str| {
        reason
            .split([':', ';'])
            .next()
            .unwrap_or_default()
            .to_owned()
    };
    let mut failing: Vec<(String, Vec<&str>)> = Vec::new();
    for reason in reasons.iter().filter(|reason| reason.is_main()) {
        let Reason::Fails { way, reason } = reason else {
            sentences.push(reason.to_string());
            continue;
        };
        let reason = brief(reason);
        match failing.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, ways)) => ways.push(way),
            None => failing.push((reason, vec![way])),
        }
    }
    if !failing.is_empty() {
        let list = failing
            .iter()
            .map(|(reason, ways)| format!("{}: {reason}", ways.join(", ")));
        let list = list.collect::<Vec<_>>().join("; ");
        sentences.push(format!(
            "Not lit at middle values: {list}. A gel that has not lit is live: it may ignite late."
        ));
    }
    sentences.join(" ")
}

/// All heating ways side by side with the main reasons, and the sections that are asked for of each.
pub fn comparison_document(
    prepared: &Prepared<'_>,
    comparison: &Comparison,
    shown: &Shown,
) -> Document {
    let mut sections = Vec::new();
    if shown.answer() {
        let mut answer = side_by_side(prepared, comparison);
        answer.text(main_reasons(&comparison.why));
        sections.push(answer);
    }
    for judged in comparison.judged() {
        let own = shown.pick(named(judged, prepared.tables, shown));
        sections.extend(own.into_iter().map(|section| Section {
            title: format!("{}: {}", capital(&judged.course.way), section.title),
            ..section
        }));
    }
    let mut closing = rules();
    if *shown == Shown::Answer {
        closing.fact("More", more(&IGNITE_SECTIONS));
    }
    sections.push(closing);
    Document::new(prepared.batch.name.clone(), sections)
}

/// The verdicts of all ways in a table.
fn side_by_side(prepared: &Prepared<'_>, comparison: &Comparison) -> Section {
    let mut section = Section::default();
    section.text("The same batch on every way at its usual setting; the stated one as stated.");
    section.text(serious(&prepared.advice.warnings));
    section.table(ways(comparison));
    for way in &comparison.ways {
        if let Err(error) = &way.judged {
            section.item(format!("{}: {error}", way.way));
        }
    }
    section
}

fn rules() -> Section {
    let mut section = Section::default();
    section.fact("Times", CAUTION);
    section.fact("Rules", DEFERENCE);
    section
}

/// The cautions in a line each, in at most `most` lines.
fn short_cautions(course: &Course, most: usize) -> Section {
    let mut section = Section::default();
    let mut lines = 0;
    let all: Vec<_> = in_order(course).collect();
    for (at, (moment, text)) in all.iter().enumerate() {
        // The first clause tells what to do; the rest why.
        let brief = text.split([';', ':']).next().unwrap_or(text);
        let needs = broken(brief, SCREEN_WIDTH - LABELS).len();
        let more = all.len() - at;
        // The last line tells how many are not told.
        if lines + needs + usize::from(more > 1) > most {
            section.fact("", format!("{more} more under --show cautions"));
            break;
        }
        lines += needs;
        section.fact(moment, brief);
    }
    section
}

fn share(share: Ratio) -> Cell {
    Cell::new(share.get::<ratio>(), percent_text(share))
}

fn ways(comparison: &Comparison) -> Table {
    let head = [
        "way",
        "verdict",
        "at the",
        "gel then",
        "water left",
        "fuel lost",
        "nitrate lost",
        "floor−mid / K",
        "too wet",
        "power / W",
    ];
    let mut table = Table::new("Heating ways", head);
    for Judged { course, verdict } in comparison.judged() {
        let place = match &course.ending {
            Ending::Ignites { place, .. } => place.to_string().into(),
            Ending::Fails { .. } => Cell::Absent,
        };
        table.row([
            course.way.clone().into(),
            verdict.brief().into(),
            place,
            Cell::celsius(course.start_temperature),
            share(course.water_left),
            share(course.fuel_lost),
            share(course.nitrate_lost),
            Cell::whole(course.wall_minus_centre.get::<kelvins>()),
            share(course.still_wet),
            Cell::whole(watts(course.energy.mean_power)),
        ]);
    }
    let mut table = table.on_its_side();
    // What no way loses takes no line.
    table
        .rows
        .retain(|row| row[1..].iter().any(|cell| cell.shown() != "0 %"));
    table
}

fn setting_text(setting: &Setting) -> String {
    let parts = [
        setting
            .power
            .map(|power| format!("{} W", whole(watts(power)))),
        setting
            .duty
            .map(|duty| format!("on {} of the time", percent_text(duty))),
        setting.temperature.map(celsius_text),
    ];
    let parts = parts.into_iter().flatten();
    parts.map(|part| format!(", {part}")).collect()
}

fn answer(judged: &Judged, prepared: &Prepared<'_>) -> Section {
    let Judged { course, verdict } = judged;
    let mut section = Section::default();
    section.text(serious(&prepared.advice.warnings));
    let setting = setting_text(&course.setting);
    section.fact("Heating", format!("{}{setting}", course.way));
    section.fact("Verdict", verdict.to_string());
    section.fact("Middle", ending(&course.ending));
    section.fact(
        "Left then",
        format!(
            "{} of all water; φ of what burns {}",
            percent_text(course.water_left),
            significant(course.equivalence_ratio.get::<ratio>(), 3)
        ),
    );
    section.fact(
        "Evenness",
        format!(
            "floor − middle {} K; {} of the layer still too wet to burn by itself",
            whole(course.wall_minus_centre.get::<kelvins>()),
            percent_text(course.still_wet)
        ),
    );
    fumes(course, &mut section);
    burn(judged, prepared, &mut section);
    section
}

/// What is left of water, fuel and nitrate at ignition.
fn losses(course: &Course) -> Section {
    let mut section = Section::new("What was lost on the way");
    section.fact(
        "Water",
        format!(
            "{} of all water is left at ignition: {} of the solvent, {} of the water of \
             crystallisation",
            percent_text(course.water_left),
            percent_text(course.free_water_left),
            percent_text(course.hydrate_water_left)
        ),
    );
    let lost = percent_text(course.fuel_lost);
    section.fact(
        "Fuel",
        format!("{lost} of it (by valence) left by decomposition"),
    );
    section.fact(
        "Nitrate",
        format!(
            "{} of it (by valence) left as nitric acid or nitrogen oxides; φ of the rest {}",
            percent_text(course.nitrate_lost),
            significant(course.equivalence_ratio.get::<ratio>(), 3)
        ),
    );
    fumes(course, &mut section);
    section
}

/// The gases that came off before any flame.
fn fumes(course: &Course, section: &mut Section) {
    let gases: Vec<String> = course
        .early_gases
        .iter()
        .map(|gas| {
            let amount = significant(gas.amount.get::<millimole>(), 2);
            format!("{} {amount} mmol", subscripts(&gas.formula))
        })
        .collect();
    if !gases.is_empty() {
        let text = format!("before any flame: {}; draw them off", gases.join(", "));
        section.fact("Fumes", text);
    }
}

fn ending(ending: &Ending) -> String {
    match ending {
        Ending::Ignites {
            time,
            place,
            temperature,
        } => {
            let place = place.words();
            format!(
                "at middle values after {}, {place}, which has {} then",
                duration(time.get::<second>()),
                celsius_text(*temperature)
            )
        }
        Ending::Fails { time, reason } => {
            format!(
                "at middle values not (over after {}): {reason}",
                duration(time.get::<second>())
            )
        }
    }
}

fn stages(course: &Course) -> Section {
    let mut table = Table::new(
        "Time line",
        ["stage", "from / s", "to / s", "mean at its end"],
    );
    let seconds = |time: Time| Cell::whole(time.get::<second>());
    for stage in &course.stages {
        table.row([
            stage.name.to_string().into(),
            seconds(stage.start),
            seconds(stage.end),
            Cell::celsius(stage.temperature),
        ]);
    }
    let mut section = Section::new("Time line at middle values");
    section.table(table);
    section
}

fn millimetres(length: Length) -> String {
    format!("{} mm", significant(length.get::<millimeter>(), 2))
}

fn layer(course: &Course, shown: &Shown) -> Section {
    let mut section = Section::new("Layer");
    let layer = &course.layer;
    let assumed = if layer.assumed_area {
        " (assumed: the file names no vessel)"
    } else {
        ""
    };
    section.fact(
        "Solution",
        format!("{} deep{assumed}", millimetres(layer.solution_depth)),
    );
    section.fact(
        "Dry gel",
        format!("{} with its froth", millimetres(layer.gel_depth)),
    );
    if let Some(critical) = layer.critical_depth {
        let micrometres = critical.get::<micrometer>();
        let words = if micrometres < 1000.0 {
            format!("{} µm", significant(micrometres, 2))
        } else {
            millimetres(critical)
        };
        section.fact(
            "Too thin",
            format!("below {words}: such a film loses its heat as fast as it makes it"),
        );
    }
    let (hottest, limit) = (course.floor_hottest, course.floor_limit);
    let above = if hottest > limit {
        "; hotter than its material stands: choose another vessel or a cooler setting"
    } else {
        ""
    };
    section.fact(
        "Floor",
        format!(
            "reaches {}; its limit is {}{above}",
            celsius_text(hottest),
            celsius_text(limit)
        ),
    );
    if let Some(note) = &course.microwave {
        microwave(note, &mut section);
    }
    // Another run of the layer: only where it is shown.
    if *shown != Shown::Answer {
        stirring(course, &mut section);
    }
    section
}

/// Change of the time to ignition, of the time, below which stirring hardly matters: the width of
/// the band of one course.
const HARDLY: f64 = 0.1;

/// What stirring changes: the mixed liquid of the courses against one that does not mix.
fn stirring(course: &Course, section: &mut Section) {
    let Ok(layers) = course.unstirred() else {
        return;
    };
    let lights = |time: Option<Time>| match time {
        Some(time) => format!("lights after {}", duration(time.get::<second>())),
        None => "does not light".to_owned(),
    };
    let (mixed, apart) = (course.time_to_ignition(), layers.time);
    let shift = mixed.zip(apart).map(|(a, b)| ((b - a) / a).get::<ratio>());
    let matters = match (mixed, apart, shift) {
        (None, None, _) => "stirring does not decide whether it lights",
        (_, _, Some(shift)) if shift.abs() < HARDLY => "stirring hardly matters for the time",
        (_, _, Some(shift)) if shift > 0.0 => "stirring makes it light sooner",
        (_, _, Some(_)) => "stirring makes it light later",
        (Some(_), _, None) => "without stirring it may not light at all",
        (None, _, None) => "it lights only where it is not stirred",
    };
    // Hot liquid rises: heated from below a layer turns over by itself, heated from above it stays.
    let by_itself = match layers.hottest {
        LitPlace::Wall => "; hot liquid rises from there, so that much of it mixes by itself",
        LitPlace::Centre => "",
        LitPlace::Top => "; hot liquid stays there unless it boils or is stirred",
    };
    section.fact(
        "Stirring",
        format!(
            "kept mixed, as counted here, it {}; in layers that do not mix it {}: {matters}. Before \
             the gel sets such layers are up to {} K hotter {} than where it is coldest{by_itself}",
            lights(mixed),
            lights(apart),
            whole(layers.spread.get::<kelvins>()),
            layers.hottest.words(),
        ),
    );
}

fn microwave(note: &MicrowaveNote, section: &mut Section) {
    section.fact(
        "Oven",
        format!(
            "gives {} W to the solution, {} W to the gel",
            whole(watts(note.absorbed_first)),
            whole(watts(note.absorbed_gel))
        ),
    );
    section.fact(
        "Reach",
        format!(
            "the power falls to 37 % in {} of solution, in {} of dry gel",
            millimetres(note.penetration_first),
            millimetres(note.penetration_gel)
        ),
    );
    if !note.lambert_holds {
        section.text(
            "The layer is thinner than 2.7 such depths: the field inside is a standing wave, not \
             the falling exponential that the model takes; the heat is more even or in other \
             places than shown.",
        );
    }
    match note.product_goes_on {
        Some(true) => section.text(
            "The powder goes on taking up microwaves after the burn: cut the power at the flame.",
        ),
        Some(false) => {
            section.text("The dry powder hardly takes up microwaves: it cools once it has burnt.")
        }
        None => {}
    }
}

fn energy(course: &Course) -> Section {
    let mut section = Section::new("Energy until then");
    let book = &course.energy;
    let mut table = Table::new("Energy until ignition", ["energy", "kJ"]);
    let mut line = |name: &str, energy: Energy| {
        let value = energy.get::<kilojoule>();
        if value.abs() >= FAINT_ENERGY {
            table.row([name.into(), Cell::change(value)]);
        }
    };
    line("through the floor", book.from_below);
    line("through the free surface", book.from_above);
    line("microwaves", book.microwaves);
    line("reaction before ignition", book.reaction);
    line("carried off by steam", -book.steam);
    line("carried off by gas and decomposing fuel", -book.gas);
    line("stored in floor and layer", -book.stored);
    section.table(table);
    let mean = whole(watts(book.mean_power));
    section.text(format!("Mean power taken up: {mean} W."));
    section
}

/// What to do about a batch that may light.
pub(super) const MAY_LIGHT: &str = "It may light late and without warning: nobody near the open \
                                    vessel while it is hot, the sash down, and no one moves it \
                                    until it has cooled";

fn burn(judged: &Judged, prepared: &Prepared<'_>, section: &mut Section) {
    let course = &judged.course;
    match judged.verdict.chance() {
        Chance::Lights => {}
        Chance::MayLight => section.fact("May light", MAY_LIGHT),
        Chance::DoesNotLight => return,
    }
    section.fact("Peak", expected_line(&prepared.expected));
    let burn_time = time_text(prepared.advice.violence.burn_time);
    section.fact(
        "Duration",
        format!("the flame lasts {burn_time}, by fuel and temperature"),
    );
    if let Some(furnace) = course.cooling.furnace {
        let held = celsius_text(furnace);
        section.fact(
            "In it",
            format!("the furnace keeps it at {held} until switched off and cooled"),
        );
    }
    if let Some(time) = course.cooling.time {
        section.fact(
            "Cooling",
            format!(
                "{} from {} to {} in still air, once nothing heats it",
                duration(time.get::<second>()),
                celsius_text(course.cooling.from),
                celsius_text(course.cooling.to)
            ),
        );
    }
}

/// The cautions of the heating, by moment.
fn in_order(course: &Course) -> impl Iterator<Item = (&str, &str)> {
    let moments = ["always", "before", "boiling", "gel", "burn", "after"];
    moments.into_iter().flat_map(|moment| {
        let at = course.hazards.iter().filter(move |h| h.when == moment);
        at.map(move |hazard| (moment, hazard.text.as_str()))
    })
}

fn cautions(course: &Course) -> Section {
    let mut section = Section::new("While heating");
    for (moment, text) in in_order(course) {
        section.fact(moment, text);
    }
    section
}

fn basis(course: &Course, tables: &Tables) -> Section {
    let mut section = Section::new("What the heating way's numbers rest on");
    let Some(way) = tables.heating.way(&course.way) else {
        return section;
    };
    for number in way.numbers() {
        let name = number.name.replace('_', " ");
        let unit = match number.unit {
            "1" => String::new(),
            "degC" => " °C".to_owned(),
            unit => format!(" {unit}"),
        };
        let line = format!(
            "{name} {}{unit}: {} ({}; {})",
            significant(number.written, 3),
            number.locator,
            number.seen,
            number.source
        );
        section.text(line);
    }
    section
}
