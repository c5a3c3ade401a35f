//! Two heating ways side by side: every way at several settings, worked out beforehand, so that a
//! page can show them without the tool, and a still picture of the two to begin with.

use super::number::{celsius_text, significant, whole};
use super::svg::{Picture, trace_picture};
use crate::batch::Batch;
use crate::ignition::{
    Chance, Comparison, Course, CoursePoint, Ending, Judged, course, thinned, watts,
};
use crate::names::capital;
use crate::quantity::units::{degree_celsius, kelvins, minute, percent, second};
use crate::quantity::{TemperatureInterval, ThermodynamicTemperature};
use crate::tables::Tables;
use crate::tables::heating::HeatingKind;
use rayon::prelude::*;
use serde::Serialize;

/// Settings below and above the usual one, in the middle: factors on a power, steps of a
/// temperature in K.
const POWERS: [f64; 5] = [0.5, 0.7, 1.0, 1.4, 2.0];
const STEPS: [f64; 5] = [-100.0, -50.0, 0.0, 50.0, 100.0];
const USUAL: usize = 2;
/// Most points of a course on a page.
const POINTS: usize = 40;
/// What is said of everything but the plan itself.
const NOT_CHECKED: &str = " Not checked for danger.";

/// What the panel of two ways starts from.
#[derive(Debug, Clone, Serialize)]
pub struct TwoWays {
    /// The two it begins with, places in `ways`.
    pub first: [usize; 2],
    pub ways: Vec<WayCourses>,
    /// The two it begins with, for paper and for a page without scripts.
    #[serde(skip)]
    pub still: Picture,
}

/// A way with its courses.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WayCourses {
    /// Name of the way.
    pub way: String,
    /// Place of its usual or stated setting in the list.
    pub usual: usize,
    /// From the weakest setting to the strongest.
    pub settings: Vec<SettingCourse>,
}

/// The course at one setting, drawn with every input at its middle. Times in min, temperatures in °C.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SettingCourse {
    /// The setting in words.
    pub label: String,
    /// What becomes of the batch, in words: the verdict over the sampled inputs first.
    pub says: String,
    /// When it lights; none if it does not.
    pub lights: Option<f64>,
    /// When eight of ten of the sampled courses that light do; none if none does.
    pub band: Option<[f64; 2]>,
    /// Where it lights: 0 floor, 1 middle, 2 surface.
    pub place: Option<usize>,
    /// Time.
    pub t: Vec<f64>,
    /// Temperatures at floor, middle and surface.
    pub places: [Vec<f64>; 3],
    /// Water left, %.
    pub water: Vec<f64>,
}

/// The ways of `comparison` at several settings; none if fewer than two have a course.
pub fn two_ways(batch: &Batch, tables: &Tables, comparison: &Comparison) -> Option<TwoWays> {
    let judged: Vec<&Judged> = comparison.judged().collect();
    let stated = batch.heating.as_ref().and_then(|plan| plan.way.as_deref());
    let first = first(&judged, stated)?;
    Some(TwoWays {
        first,
        still: trace_picture(&first.map(|at| judged[at]))?,
        ways: judged
            .par_iter()
            .map(|judged| of_way(batch, tables, judged, stated))
            .collect(),
    })
}

/// The stated way, else the first to light, and the one that differs most from it.
fn first(judged: &[&Judged], stated: Option<&str>) -> Option<[usize; 2]> {
    let time = |at: &usize| match judged[*at].verdict.time {
        Some(band) if judged[*at].verdict.chance() == Chance::Lights => band.low.get::<second>(),
        _ => f64::INFINITY,
    };
    let mut order: Vec<usize> = (0..judged.len()).collect();
    order.sort_by(|a, b| time(a).total_cmp(&time(b)));
    let own = |at: &usize| Some(judged[*at].course.way.as_str()) == stated;
    let one = order.iter().copied().find(own).or(order.first().copied())?;
    order.retain(|at| *at != one);
    let quick = *order.first()?;
    let slow = *order
        .iter()
        .rev()
        .max_by(|a, b| time(a).total_cmp(&time(b)))?;
    // The stated way may be the slow one: then the first to light is what it differs from.
    let other = if time(&one) < time(&slow) {
        slow
    } else {
        quick
    };
    Some([one, other])
}

fn of_way(batch: &Batch, tables: &Tables, judged: &Judged, stated: Option<&str>) -> WayCourses {
    let usual = &judged.course;
    let own = stated == Some(usual.way.as_str());
    let steps: Vec<usize> = (0..POWERS.len()).collect();
    let settings: Vec<(usize, SettingCourse)> = steps
        .into_par_iter()
        .filter_map(|step| {
            if step == USUAL {
                return Some((step, setting_course(judged, own)));
            }
            let changed = at_setting(batch, usual, step, own)?;
            let judged = course(&changed, tables, Some(&usual.way)).and_then(Judged::new);
            Some((step, setting_course(&judged.ok()?, false)))
        })
        .collect();
    let place = settings.iter().position(|(step, _)| *step == USUAL);
    WayCourses {
        way: usual.way.clone(),
        usual: place.unwrap_or_default(),
        settings: settings.into_iter().map(|(_, course)| course).collect(),
    }
}

/// The batch on the way of `usual` at another setting; none where a test with water holds for the
/// stated setting alone.
fn at_setting(batch: &Batch, usual: &Course, step: usize, own: bool) -> Option<Batch> {
    let mut plan = batch.heating.clone().unwrap_or_default();
    let tested = match usual.kind {
        HeatingKind::Plate => plan.boil_test.is_some(),
        HeatingKind::Microwave => plan.load_test.is_some(),
        _ => false,
    };
    if tested {
        return None;
    }
    if !own {
        // What the file states holds for its own way.
        (plan.setting, plan.cycle) = (None, None);
        (plan.power, plan.temperature) = (None, None);
        plan.way = Some(usual.way.clone());
    }
    if let Some(temperature) = usual.setting.temperature {
        let change = TemperatureInterval::new::<kelvins>(STEPS[step]);
        plan.temperature = Some(temperature + change);
    } else {
        // Another power than that of the test.
        plan.oven_test = None;
        plan.power = Some(POWERS[step] * usual.setting.power?);
    }
    let mut changed = batch.clone();
    changed.heating = Some(plan);
    Some(changed)
}

fn middle_lights(course: &Course) -> Option<String> {
    match &course.ending {
        Ending::Ignites { time, place, .. } => Some(format!(
            "after {} min {}",
            significant(time.get::<minute>(), 2),
            place.words()
        )),
        Ending::Fails { .. } => None,
    }
}

/// The verdict with its band, and the course that is drawn.
fn says(judged: &Judged, planned: bool) -> String {
    let verdict = &judged.verdict;
    let drawn = match (middle_lights(&judged.course), verdict.chance()) {
        (Some(lights), _) => format!("; the course drawn lights {lights}"),
        (None, Chance::DoesNotLight) => "; the dry gel is live".to_owned(),
        (None, _) => "; the course drawn does not, and its dry gel is live".to_owned(),
    };
    let reason = judged.course.no_ignition();
    let reason = reason.map(|reason| format!(" {}.", capital(&reason.to_string())));
    let caveat = if planned { "" } else { NOT_CHECKED };
    format!("{verdict}{drawn}.{}{caveat}", reason.unwrap_or_default())
}

fn setting_course(judged: &Judged, planned: bool) -> SettingCourse {
    let course = &judged.course;
    let says = says(judged, planned);
    let setting = &course.setting;
    let label = match (setting.temperature, setting.power) {
        (Some(temperature), _) => celsius_text(temperature),
        (None, power) => power.map_or(String::new(), |power| format!("{} W", whole(watts(power)))),
    };
    let points = thinned(&course.trace, POINTS);
    let list = |value: &dyn Fn(&CoursePoint) -> f64| points.iter().copied().map(value).collect();
    let celsius = |t: ThermodynamicTemperature| t.get::<degree_celsius>().round();
    SettingCourse {
        says: format!("{}, {label}: {says}", capital(&course.way)),
        label,
        lights: course.time_to_ignition().map(|t| short(t.get::<minute>())),
        band: judged
            .verdict
            .time
            .map(|band| [band.low, band.high].map(|t| short(t.get::<minute>()))),
        place: match &course.ending {
            Ending::Ignites { place, .. } => Some(*place as usize),
            Ending::Fails { .. } => None,
        },
        t: list(&|p| short(p.time.get::<minute>())),
        places: [
            list(&|p| celsius(p.floor)),
            list(&|p| celsius(p.middle)),
            list(&|p| celsius(p.surface)),
        ],
        water: list(&|p| p.water_left.get::<percent>().round()),
    }
}

/// A picture needs no finer time than a thousandth of a minute.
fn short(minutes: f64) -> f64 {
    (minutes * 1e3).round() / 1e3
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ignition::all_ways;
    use std::path::Path;

    fn panel(file: &str, tables: &Tables) -> (Batch, TwoWays) {
        let batch = Batch::read(Path::new(file), tables).unwrap();
        let comparison = all_ways(&batch, tables).unwrap();
        let two = two_ways(&batch, tables, &comparison).unwrap();
        (batch, two)
    }

    #[test]
    fn every_way_has_its_own_setting_and_a_stronger_one_lights_no_later() {
        let tables = Tables::built_in().unwrap();
        for file in ["zinc-aluminate-blue", "nickel-zinc-ferrite"] {
            let (batch, two) = panel(&format!("examples/{file}.toml"), &tables);
            assert_ne!(two.first[0], two.first[1]);
            let stated = batch.heating.as_ref().unwrap().way.as_deref().unwrap();
            assert_eq!(two.ways[two.first[0]].way, stated);
            for way in &two.ways {
                let direct = course(&batch, &tables, Some(&way.way)).unwrap();
                let usual = &way.settings[way.usual];
                let lights = direct.time_to_ignition().map(|t| t.get::<minute>());
                assert_eq!(usual.lights, lights.map(short), "{}", way.way);
                let mut before = f64::INFINITY;
                for (at, setting) in way.settings.iter().enumerate() {
                    let time = setting.lights.unwrap_or(f64::INFINITY);
                    assert!(time <= 1.001 * before, "{} {}", way.way, setting.label);
                    before = time;
                    assert!(setting.t.is_sorted() && setting.t.len() <= POINTS);
                    // Only the planned way at its own setting is what the verdict was made for.
                    let planned = way.way == stated && at == way.usual;
                    let caveat = setting.says.ends_with(NOT_CHECKED);
                    assert_eq!(caveat, !planned, "{}", setting.says);
                }
            }
            // The panel may add 150 kB to a page with all it has.
            assert!(serde_json::to_string(&two).unwrap().len() < 60_000);
        }
    }

    #[test]
    fn a_way_tested_with_water_has_the_tested_setting_alone() {
        let tables = Tables::built_in().unwrap();
        let (mut batch, _) = panel("examples/zinc-aluminate.toml", &tables);
        let test = "[heating]\nway = \"hot plate\"\n[heating.boil_test]\nwater = \"50 g\"\n\
                    from = \"20 °C\"\nto = \"95 °C\"\ntime = \"10 min\"\n";
        let text = std::fs::read_to_string("examples/zinc-aluminate.toml").unwrap();
        let mut kept: toml::Table = toml::from_str(&text).unwrap();
        kept.extend(toml::from_str::<toml::Table>(test).unwrap());
        let text = toml::to_string(&kept).unwrap();
        batch.heating = Batch::parse(&text, "tested", &tables).unwrap().heating;
        let comparison = all_ways(&batch, &tables).unwrap();
        let two = two_ways(&batch, &tables, &comparison).unwrap();
        for way in two.ways {
            let settings = if way.way == "hot plate" { 1 } else { 5 };
            assert_eq!(way.settings.len(), settings, "{}", way.way);
        }
    }

    #[test]
    fn what_does_not_light_is_still_called_live() {
        let tables = Tables::built_in().unwrap();
        let (_, two) = panel("examples/zinc-aluminate.toml", &tables);
        let dark = two.ways.iter().flat_map(|way| {
            let changed = way.settings.iter().enumerate();
            let changed = changed.filter(|(at, _)| *at != way.usual);
            changed.map(|(_, setting)| setting)
        });
        let dark: Vec<_> = dark.filter(|setting| setting.lights.is_none()).collect();
        assert!(!dark.is_empty());
        for setting in dark {
            assert!(setting.says.contains("dry gel is live"), "{}", setting.says);
        }
    }
}
