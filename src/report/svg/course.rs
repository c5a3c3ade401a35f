//! The batch on one time axis: it boils, sets, lights, burns, may be touched, and the air is clear.

use super::axes::{Panel, bounds};
use super::canvas::{Anchor, Canvas};
use super::picture::{PAGE_WIDTH, Picture, WIDTH};
use super::scale::Scale;
use super::style::Marker;
use crate::ignition::{Ending, duration};
use crate::names::capital;
use crate::plan::Plan;
use crate::quantity::Band;
use crate::quantity::Time;
use crate::quantity::units::{minute, second};
use crate::report::document::time_text;
use crate::report::number::significant;

const LEFT: f64 = 116.0;
/// Room for the words at the right of the panel.
const WORDS: f64 = 114.0;
const TOP: f64 = 10.0;
const ROW: f64 = 22.0;
/// The logarithmic axis starts at this share of the first event.
const BEFORE: f64 = 0.5;

/// What happens, from when to when, in the time since the heating began.
struct Event {
    name: String,
    from: Time,
    to: Time,
    /// The time as words.
    words: String,
    /// Whether both ends are a band of one moment, not the length of a stage.
    moment: bool,
}

/// Draws the course of the batch; none if no course of heating is known or it does not light.
pub fn course_picture(plan: &Plan) -> Option<Picture> {
    let events = events(plan)?;
    Some(drawn(&events, WIDTH)?.with_wide(drawn(&events, PAGE_WIDTH)?))
}

fn drawn(events: &[Event], width: f64) -> Option<Picture> {
    let right = width - WORDS;
    let minutes = |time: Time| time.get::<minute>();
    let ends = events.iter().flat_map(|event| [event.from, event.to]);
    let (_, last) = bounds(ends.map(minutes))?;
    let first = events.iter().map(|event| minutes(event.to));
    let (first, _) = bounds(first.filter(|time| *time > 0.0))?;
    let bottom = TOP + ROW * events.len() as f64;
    let x = Scale::decades(BEFORE * first, last, LEFT, right);
    let panel = Panel::of_rows(x, [LEFT, right], [TOP, bottom]);
    let mut canvas = Canvas::default();
    panel.draw_x_grid(&mut canvas, 6);
    panel.draw_x(&mut canvas, 6, "minutes since the heating began");
    for (at, event) in events.iter().enumerate() {
        draw(&mut canvas, &panel, event, TOP + ROW * (at as f64 + 0.5));
    }
    let told = events
        .iter()
        .map(|event| format!("{}: {}.", capital(&event.name), event.words));
    let description = told.collect::<Vec<_>>().join(" ");
    let rows = events.iter().map(|event| {
        let seconds = |time: Time| significant(time.get::<second>(), 3);
        vec![event.name.clone(), seconds(event.from), seconds(event.to)]
    });
    let rows = rows.collect();
    let title = "When: from the first heat to clear air";
    let picture = Picture::new("course", title, description, canvas, bottom + 36.0);
    Some(picture.with_numbers(&["what", "from / s", "to / s"], rows))
}

fn draw(canvas: &mut Canvas, panel: &Panel, event: &Event, y: f64) {
    let place = |time: Time| (panel.x.at(time.get::<minute>()).max(LEFT), y);
    let (from, to) = (place(event.from), place(event.to));
    let name = (LEFT - 8.0, y + 3.6);
    canvas.text("small", name, Anchor::End, &event.name);
    canvas.line(if event.moment { "thin1" } else { "line0" }, from, to);
    if event.moment {
        canvas.marker("ring1", Marker::Diamond, from);
        canvas.marker("dot1", Marker::Diamond, to);
    } else {
        canvas.marker("dot0", Marker::Disc, to);
    }
    let words = (panel.right + 8.0, y + 3.6);
    canvas.text("small", words, Anchor::Start, &event.words);
}

fn events(plan: &Plan) -> Option<Vec<Event>> {
    let judged = &plan.heated.as_ref()?.judged;
    let course = &judged.course;
    let Ending::Ignites { time: lit, .. } = course.ending else {
        return None;
    };
    let stages = course.stages.iter().map(|stage| Event {
        name: stage.name.to_string(),
        from: stage.start,
        to: stage.end,
        words: format!("to {}", duration(stage.end.get::<second>())),
        moment: false,
    });
    let after = |name: &str, band: Band<Time>, words: String| Event {
        name: name.to_owned(),
        from: lit + band.low,
        to: lit + band.high,
        words,
        moment: true,
    };
    let longest = |band: Band<Time>| format!("up to {} later", time_text(Band::exactly(band.high)));
    let advice = &plan.advice;
    let mut events: Vec<Event> = stages.collect();
    if let Some(band) = judged.verdict.time {
        let words = time_text(band);
        events.push(Event {
            name: "lights".to_owned(),
            from: band.low,
            to: band.high,
            words,
            moment: true,
        });
    }
    let flame = advice.violence.burn_time;
    events.push(after("flame out", flame, longest(flame)));
    if let Some(touch) = advice.touchable_after {
        events.push(after("touch it", touch, longest(touch)));
    }
    if let Some(clear) = advice.clear_after {
        events.push(after("air clear", clear, longest(clear)));
    }
    Some(events)
}
