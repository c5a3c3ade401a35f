//! What runs taught, as a document and as JSON.

use super::document::{Cell, Document, Section, Table, band_text, percent_text, time_text};
use super::expected::{hotter_text, runs_text};
use super::number::{celsius_text, interval_text, plain, significant, whole};
use super::svg::{Picture, RunBar, runs_picture};
use super::view::{json_of, list, view};
use crate::batch::{FUMES, Fumes, LitAt, PLACES};
use crate::expected::Draw;
use crate::learn::{
    Course, FlameOutlook, Habits, Lesson, Misses, Outlier, Outlook, PlaceOutlook, PotLesson,
    RunLesson, ScaleLesson, Share, SignOutlook, Trend,
};
use crate::learned::PotName;
use crate::quantity::units::{degree_celsius, kelvin, kelvins, percent, ratio, second};
use crate::quantity::{Band, Ratio, ThermodynamicTemperature, Time};
use serde_json::Value;

/// The lesson: pot by pot, misses first.
pub fn lesson_document(lesson: &Lesson) -> Document {
    let mut sections: Vec<Section> = lesson.pots.iter().map(pot).collect();
    sections.extend(lesson.trends.iter().map(trend));
    if !lesson.unused.is_empty() {
        let mut section = Section::new("Not learned from");
        for unused in &lesson.unused {
            section.item(format!("{}: {}.", unused.run, unused.reason));
        }
        sections.push(section);
    }
    if !lesson.set_aside.is_empty() {
        let mut section = Section::new("Read, but not weighed");
        for reason in &lesson.set_aside {
            section.item(*reason);
        }
        sections.push(section);
    }
    Document::new("What the runs teach".to_owned(), sections)
}

fn trend(trend: &Trend) -> Section {
    let mut section = Section::new(format!(
        "{} over {}: {}",
        trend.series, trend.over, trend.measure
    ));
    section.text(trend_text(trend));
    let mut table = Table::new("Readings", ["level", trend.measure]);
    let plain_cell = |value: f64| Cell::new(value, plain(value, 4));
    for (level, value) in &trend.points {
        table.row([plain_cell(*level), plain_cell(*value)]);
    }
    section.table(table);
    section
}

/// How the reading goes, and what a next level would tell.
fn trend_text(trend: &Trend) -> String {
    let number = |value: f64| plain(value, 3);
    let level = |value: f64| {
        format!("{} {}", plain(value, 3), trend.unit)
            .trim()
            .to_owned()
    };
    let unit = match trend.unit.as_str() {
        "" => "unit of the level",
        unit => unit,
    };
    let way = if trend.slope < 0.0 { "Falls" } else { "Rises" };
    let slope = format!(
        "by {} per {unit}, 8 of 10 within ±{}",
        number(trend.slope.abs()),
        significant(trend.slope_band, 2)
    );
    let (next, predicted) = (level(trend.next.0), number(trend.next.1));
    let scatter = significant(trend.scatter, 2);
    let twice = significant(2.0 * trend.scatter, 2);
    match trend.course {
        Course::None => format!(
            "No trend beyond scatter ({} {slope}). A next level of {next} tells nothing unless it \
             does more than the scatter of {scatter}.",
            way.to_lowercase()
        ),
        Course::Steady => format!(
            "{way} all along ({slope}). At {next} it would come to {predicted}; a reading {twice} off \
             that, twice the scatter, would say that it stops."
        ),
        Course::Plateau { from } => format!(
            "{way} up to {} ({slope}) and changes nothing beyond. At {next} it would still come to \
             {predicted}; a reading {twice} off that, twice the scatter, would say that it goes on.",
            level(from)
        ),
    }
}

fn pot_text(name: &PotName) -> String {
    let vessel = name.vessel.as_deref().unwrap_or("vessel not stated");
    let way = name.way.as_deref().unwrap_or("way not stated");
    let course = if name.way.is_some() && !name.course {
        ", where the heating model finds no ignition"
    } else {
        ""
    };
    format!("{vessel}, {way}{course}")
}

fn pot(pot: &PotLesson) -> Section {
    let mut section = Section::new(pot_text(&pot.name));
    section.text(format!(
        "{}; {} of {} draws count.",
        runs_text(pot.runs.len()),
        whole(pot.effective_draws),
        pot.draws
    ));
    if pot.rough {
        section.text(
            "So few draws are left that the ends of the bands are rough: the runs say more than the \
             assumed bands hold, or they contradict each other.",
        );
        section.text(one_sided(pot));
    }
    section.text(help_text(pot.help));
    if let Some(off) = pot.still_off {
        let (size, way) = hotter_text(off);
        section.text(format!(
            "What was read is still {size} {way} than what is learned from it: the assumed bands reach \
             no further, and a batch that takes this in is told so."
        ));
    }
    section.table(runs_table(pot));
    for text in outlier_texts(pot) {
        section.item(text);
    }
    for run in &pot.runs {
        let seen = seen_text(run);
        if !seen.is_empty() {
            section.item(format!("{}: {}.", run.name, seen.join("; ")));
        }
    }
    section.table(habits_table(&pot.before, &pot.after));
    if let Some(time) = &pot.time {
        let what = "Time to ignition over that of the heating model";
        section.text(format!("{what}: {}.", scale_text(time)));
    }
    if let Some(froth) = &pot.froth {
        section.text(format!(
            "Froth over the middle of its band: {}. The check of the vessel keeps the whole band.",
            scale_text(froth)
        ));
    }
    section
}

/// What would have to be true if all runs lie on one side of what was predicted.
fn one_sided(pot: &PotLesson) -> &'static str {
    let read = || {
        pot.runs
            .iter()
            .filter_map(|run| Some((run.reading.peak?.0, run.before.band)))
    };
    if read().all(|(peak, band)| peak < band.low) {
        "All were colder than 9 of 10 draws: this pot loses more heat or keeps more water than is \
         assumed for any, or the instrument reads low."
    } else if read().all(|(peak, band)| peak > band.high) {
        "All were hotter than 9 of 10 draws: this pot is drier, loses less heat or finds more air \
         than is assumed for any, or the instrument reads high."
    } else {
        "They lie to both sides of what was predicted: see what was different between them."
    }
}

/// `1.3 to 1.7 (2 runs; 0.41 to 2.4 before)`.
fn scale_text(lesson: &ScaleLesson) -> String {
    let band = |band| band_text(band, 2, |factor: Ratio| factor.get::<ratio>());
    let (after, before) = (band(lesson.after), band(lesson.before));
    format!("{after} ({}; {before} before)", runs_text(lesson.runs))
}

fn flame_text(flame: &FlameOutlook) -> String {
    let others = flame.without.map_or(String::new(), |band| {
        format!(", {} by the others", time_text(band))
    });
    format!(
        "flame {}, predicted {} before{others}",
        time_text(Band::exactly(flame.read)),
        time_text(flame.before)
    )
}

/// How long it burnt and what the eye saw, each with what was predicted.
fn seen_text(run: &RunLesson) -> Vec<String> {
    let fumes = run.fumes.map(|(fumes, outlook)| {
        let chance = |value: Ratio| format!("{} %", whole(value.get::<percent>()));
        let others = outlook.without.map_or(String::new(), |value| {
            format!(", {} by the others", chance(value))
        });
        let colour = match fumes {
            Fumes::None => "no",
            seen => word(FUMES, seen),
        };
        let before = chance(outlook.before);
        format!("{colour} fumes, a chance of {before} before{others}")
    });
    let place = run.place.map(|place| {
        let seen = match place.seen {
            LitAt::Floor => "at the floor",
            LitAt::Wall => "at the wall",
            LitAt::Middle => "in the middle",
            LitAt::Surface => "on the surface",
            LitAt::Throughout => "in many places at once",
        };
        match place.courses {
            None => format!("lit {seen}; without a course of heating that tells nothing"),
            Some((0, of)) => format!(
                "lit {seen}, where none of {of} sampled courses light: the first light was elsewhere, \
                 or contact, filling or power are not what the model takes"
            ),
            Some((there, of)) => {
                format!("lit {seen}, where {there} of {of} sampled courses light")
            }
        }
    });
    let flame = run.flame.as_ref().map(flame_text);
    flame.into_iter().chain(fumes).chain(place).collect()
}

/// The word of the file for `value`.
fn word<T: Copy + PartialEq>(words: &[(&'static str, T)], value: T) -> &'static str {
    let found = words.iter().find(|(_, known)| *known == value);
    found.map_or("", |(word, _)| word)
}

fn help_text(help: Option<Misses>) -> String {
    let Some(help) = help else {
        return "One measured peak: whether learning helps shows with the next.".to_owned();
    };
    let (before, after) = (interval_text(help.before), interval_text(help.left_out));
    if help.helps() {
        format!(
            "Each run predicted by the others is missed by {after} on average, {before} before."
        )
    } else {
        format!(
            "Learning does not help: each run predicted by the others is missed by {after} on \
             average, {before} before. The runs differ in something that the file does not say, or \
             scatter by more than the expectation is off."
        )
    }
}

fn runs_table(pot: &PotLesson) -> Table {
    let head = [
        "run",
        "read / °C",
        "before / °C",
        "by the others / °C",
        "off / K",
    ];
    let mut table = Table::new("Readings predicted, misses first", head);
    for run in &pot.runs {
        let read = match (run.reading.peak, run.reading.lit) {
            (Some((peak, _)), _) => Cell::whole(peak.get::<degree_celsius>()),
            (None, Some(false)) => "did not light".into(),
            (None, Some(true)) => "lit".into(),
            (None, None) => Cell::Absent,
        };
        let off = run.miss().map_or(Cell::Absent, |miss| {
            Cell::new(
                miss.get::<kelvins>(),
                format!("{:+.0}", miss.get::<kelvins>()).replace('-', "−"),
            )
        });
        let without = run
            .without
            .map_or(Cell::Absent, |outlook| outlook_text(outlook).into());
        table.row([
            run.name.clone().into(),
            read,
            outlook_text(run.before).into(),
            without,
            off,
        ]);
    }
    table
}

fn outlook_text(outlook: Outlook) -> String {
    let celsius = |t: ThermodynamicTemperature| whole(t.get::<degree_celsius>());
    let band = outlook.band;
    format!(
        "{} ({} to {})",
        celsius(outlook.middle),
        celsius(band.low),
        celsius(band.high)
    )
}

/// Runs that stand alone, those with the same reason together.
fn outlier_texts(pot: &PotLesson) -> Vec<String> {
    let mut reasons: Vec<(String, Vec<&str>)> = Vec::new();
    for run in &pot.runs {
        let Some(outlier) = &run.outlier else {
            continue;
        };
        let reason = outlier_text(run, outlier);
        match reasons.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, names)) => names.push(&run.name),
            None => reasons.push((reason, vec![&run.name])),
        }
    }
    let told = |(reason, names): (String, Vec<&str>)| format!("{}: {reason}", names.join("; "));
    reasons.into_iter().map(told).collect()
}

fn outlier_text(run: &RunLesson, outlier: &Outlier) -> String {
    let read = run
        .reading
        .peak
        .map_or(String::new(), |(peak, _)| celsius_text(peak));
    match outlier {
        Outlier::Contradicted => format!(
            "the other runs of this pot do not give {read}. It stands alone and weighs little; see \
             what was different."
        ),
        Outlier::Unexplained { nearest } => format!(
            "nothing assumed here explains {read}. Nearest comes {}. For {read} there would have to \
             be {}, or the reading is not that of the hottest powder, or the masses are not those of \
             the file.",
            draw_text(nearest),
            beyond(run, nearest)
        ),
    }
}

fn draw_text(draw: &Draw) -> String {
    let peak = draw.peak.map_or("no flame".to_owned(), celsius_text);
    format!(
        "{peak} with {} of the heat lost, {} of the water and {} of the fuel gone",
        percent_text(draw.heat_lost),
        percent_text(draw.water_left),
        percent_text(draw.fuel_lost)
    )
    .replace("of the water and", "of the water left and")
}

/// What lies beyond the nearest draw.
fn beyond(run: &RunLesson, nearest: &Draw) -> &'static str {
    let reached = nearest.peak.unwrap_or(nearest.start);
    match run.reading.peak {
        Some((peak, _)) if peak < reached => "still more heat lost or water left",
        _ => "heat from outside, more air, or a drier gel",
    }
}

fn habits_table(before: &Habits, after: &Habits) -> Table {
    let mut table = Table::new(
        "What the pot does, 8 of 10",
        ["share / %", "before", "after"],
    );
    let text = |share: Share| -> Cell {
        let middle = plain(share.middle.get::<percent>(), 2);
        let band = band_text(share.band, 2, |value| value.get::<percent>());
        format!("{middle} ({band})").into()
    };
    for (name, of) in [
        ("heat lost", (|h| h.heat_lost) as fn(&Habits) -> Share),
        ("water left", |h| h.water_left),
        ("fuel lost", |h| h.fuel_lost),
        ("air found", |h| h.air),
    ] {
        table.row([name.into(), text(of(before)), text(of(after))]);
    }
    table
}

/// The lesson as JSON.
pub fn lesson_json(lesson: &Lesson) -> Value {
    json_of(Learned::from(lesson))
}

view! {
    /// What `learn` writes.
    result Learned(lesson: &Lesson) {
        /// Pots.
        pots: Vec<LearnedPot> = list(&lesson.pots),
        /// Trends of series.
        trends: Vec<SeriesTrend> = list(&lesson.trends),
        /// Runs that teach nothing.
        unused: Vec<crate::learn::Unused> = lesson.unused.clone(),
        /// Readings that weight nothing, with the reason.
        set_aside: Vec<&'static str> = lesson.set_aside.clone(),
    }
}

view! {
    /// What the runs in one pot teach.
    LearnedPot(pot: &PotLesson) {
        /// The vessel; null if it is not stated.
        vessel: Option<String> = pot.name.vessel.clone(),
        /// The heating way; null if it is not stated.
        way: Option<String> = pot.name.way.clone(),
        /// True if it is about a course of heating that ends in ignition.
        course: bool = pot.name.course,
        /// Draws that count, 1/Σw².
        effective_draws: f64 = pot.effective_draws,
        /// All draws.
        draws: usize = pot.draws,
        /// True if too few draws count.
        rough: bool = pot.rough,
        /// How much hotter the peaks were than what is learned predicts; null if it predicts them.
        still_off_k: Option<f64> = pot.still_off.map(|off| off.get::<kelvins>()),
        /// How far the peaks were missed before; null with one run.
        error_before_k: Option<f64> = pot.help.map(|help| help.before.get::<kelvins>()),
        /// How far each is missed by what the others teach; null with one run.
        error_left_out_k: Option<f64> = pot.help.map(|help| help.left_out.get::<kelvins>()),
        /// True if learning helps; null if it cannot be told.
        helps: Option<bool> = pot.help.map(|help| help.helps()),
        /// Before learning.
        before: PotHabits = PotHabits::from(&pot.before),
        /// After learning.
        after: PotHabits = PotHabits::from(&pot.after),
        /// Time to ignition over that of the course; null without times.
        time_factor: Option<LearnedScale> = pot.time.as_ref().map(LearnedScale::from),
        /// Froth over the middle of its band; null without a height in a known vessel.
        froth_factor: Option<LearnedScale> = pot.froth.as_ref().map(LearnedScale::from),
        /// The runs.
        runs: Vec<LearnedRun> = list(&pot.runs),
    }
}

view! {
    /// What was read over what was predicted.
    LearnedScale(lesson: &ScaleLesson) {
        /// Lower end: 8 of 10 lie in the band.
        low: f64 = lesson.after.low.get::<ratio>(),
        /// Median.
        middle: f64 = lesson.middle.get::<ratio>(),
        /// Upper end.
        high: f64 = lesson.after.high.get::<ratio>(),
        /// Runs with a reading.
        runs: usize = lesson.runs,
    }
}

view! {
    /// What a pot does.
    PotHabits(habits: &Habits) {
        /// Share of the heat lost.
        heat_lost: LearnedShare = habits.heat_lost.into(),
        /// Share of the water left.
        water_left: LearnedShare = habits.water_left.into(),
        /// Share of the fuel lost.
        fuel_lost: LearnedShare = habits.fuel_lost.into(),
        /// Share of the surplus fuel's air drawn in.
        air: LearnedShare = habits.air.into(),
    }
}

view! {
    /// A share, its median and the band that holds 8 of 10.
    LearnedShare(share: Share) {
        /// Lower end.
        low: f64 = share.band.low.get::<ratio>(),
        /// Median.
        middle: f64 = share.middle.get::<ratio>(),
        /// Upper end.
        high: f64 = share.band.high.get::<ratio>(),
    }
}

view! {
    /// A run in a pot.
    LearnedRun(run: &RunLesson) {
        /// Its name.
        run: String = run.name.clone(),
        /// Peak that was read; null if none was.
        peak_k: Option<f64> = run.reading.peak.map(|(peak, _)| peak.get::<kelvin>()),
        /// Standard deviation of that reading.
        deviation_k: Option<f64> = run.reading.peak.map(|(_, deviation)| deviation.get::<kelvins>()),
        /// Whether it lit; null if that is not known.
        lit: Option<bool> = run.reading.lit,
        /// Peak predicted before.
        before: PredictedPeak = run.before.into(),
        /// Peak predicted after learning from all runs.
        after: PredictedPeak = run.after.into(),
        /// What the other runs predict; null with one run.
        by_the_others: Option<PredictedPeak> = run.without.map(PredictedPeak::from),
        /// How long the flame lasted; null if it was not read.
        flame: Option<PredictedFlame> = run.flame.map(PredictedFlame::from),
        /// Colour of the fumes; null if none was told.
        fumes: Option<PredictedFumes> = run.fumes.map(PredictedFumes::from),
        /// Where it lit; null if it was not told.
        lit_at: Option<PredictedPlace> = run.place.map(PredictedPlace::from),
        /// "unexplained" or "contradicted" if it stands alone; null else.
        lone: Option<&'static str> = run.outlier.map(|outlier| match outlier {
            Outlier::Unexplained { .. } => "unexplained",
            Outlier::Contradicted => "contradicted",
        }),
    }
}

view! {
    /// A peak that is predicted: the median and the band that holds 8 of 10.
    PredictedPeak(outlook: Outlook) {
        /// Lower end.
        low_k: f64 = outlook.band.low.get::<kelvin>(),
        /// Median.
        middle_k: f64 = outlook.middle.get::<kelvin>(),
        /// Upper end.
        high_k: f64 = outlook.band.high.get::<kelvin>(),
    }
}

view! {
    /// How long the flame lasted, read and predicted.
    PredictedFlame(flame: FlameOutlook) {
        /// As read.
        read_s: f64 = flame.read.get::<second>(),
        /// Predicted before, 8 of 10: both ends.
        before_s: [f64; 2] = seconds(flame.before),
        /// Predicted by the other runs; null with one run.
        by_the_others_s: Option<[f64; 2]> = flame.without.map(seconds),
    }
}

view! {
    /// Colour of the fumes, with the chance of it.
    PredictedFumes((fumes, outlook): (Fumes, SignOutlook)) {
        /// The word of the file.
        seen: &'static str = word(FUMES, fumes),
        /// Chance before anything was learned.
        chance_before: f64 = outlook.before.get::<ratio>(),
        /// Chance by the other runs of the pot; null with one run.
        chance_by_the_others: Option<f64> = outlook.without.map(|chance| chance.get::<ratio>()),
    }
}

view! {
    /// Where it lit, with the sampled courses that light there.
    PredictedPlace(place: PlaceOutlook) {
        /// The word of the file.
        seen: &'static str = word(PLACES, place.seen),
        /// Courses that light there; null without a course.
        courses_there: Option<usize> = place.courses.map(|(there, _)| there),
        /// Courses that light; null without a course.
        courses_lit: Option<usize> = place.courses.map(|(_, lit)| lit),
    }
}

fn seconds(band: Band<Time>) -> [f64; 2] {
    [band.low.get::<second>(), band.high.get::<second>()]
}

view! {
    /// A trend in a series.
    SeriesTrend(trend: &Trend) {
        /// The series.
        series: String = trend.series.clone(),
        /// What changes in it.
        over: String = trend.over.clone(),
        /// Unit of the levels; empty for plain numbers.
        level_unit: String = trend.unit.clone(),
        /// What was measured.
        measure: &'static str = trend.measure,
        /// "none", "steady" or "plateau".
        course: &'static str = match trend.course {
            Course::None => "none",
            Course::Steady => "steady",
            Course::Plateau { .. } => "plateau",
        },
        /// Level from which on it is flat; null without a plateau.
        plateau_from: Option<f64> = match trend.course {
            Course::Plateau { from } => Some(from),
            Course::None | Course::Steady => None,
        },
        /// Change of the measure per unit of the level.
        slope: f64 = trend.slope,
        /// Half width of its band.
        slope_band: f64 = trend.slope_band,
        /// Scatter of the measure about the trend.
        scatter: f64 = trend.scatter,
        /// Level that would tell most.
        next_level: f64 = trend.next.0,
        /// What the trend predicts there.
        next_value: f64 = trend.next.1,
        /// Levels and what was measured.
        points: Vec<[f64; 2]> = trend.points.iter().map(|&(level, value)| [level, value]).collect(),
    }
}

/// What was read against what was predicted before and after; `None` without a measured peak.
pub fn lesson_picture(lesson: &Lesson) -> Option<Picture> {
    let runs = lesson.pots.iter().flat_map(|pot| &pot.runs);
    let bars: Vec<RunBar> = runs
        .filter_map(|run| {
            Some(RunBar {
                name: run.name.clone(),
                before: run.before.band,
                after: Some(run.without.unwrap_or(run.after).band),
                read: run.reading.peak?.0,
            })
        })
        .collect();
    runs_picture(&bars)
}

/// How a batch takes the lesson in.
pub fn taking_in(file: &str) -> String {
    format!(
        "Written to {file}. A batch beside it takes it in with this line at its top:\n    learned = \
         {}\n",
        toml::Value::from(file_name(file))
    )
}

fn file_name(file: &str) -> &str {
    std::path::Path::new(file)
        .file_name()
        .and_then(|name| name.to_str())
        .unwrap_or(file)
}
