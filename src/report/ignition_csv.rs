//! The course of heating over time as comma-separated values, fields as in its JSON.

use super::document::{Cell, Table};
use crate::ignition::{Comparison, CoursePoint, Judged};
use crate::quantity::units::{kelvin, ratio, second, watt};

const HEAD: [&str; 10] = [
    "heating_way",
    "time_s",
    "floor_k",
    "middle_k",
    "surface_k",
    "water_left_fraction",
    "fuel_left_fraction",
    "nitrate_left_fraction",
    "power_w",
    "stage",
];

/// The course on one way, one line a point.
pub fn course_csv(judged: &Judged) -> String {
    table([judged]).csv()
}

/// All ways one after the other; a way without a course has no lines.
pub fn comparison_csv(comparison: &Comparison) -> String {
    table(comparison.judged()).csv()
}

fn table<'a>(all: impl IntoIterator<Item = &'a Judged>) -> Table {
    let mut table = Table::new("Course of heating", HEAD);
    for Judged { course, .. } in all {
        for point in &course.trace {
            table.row(row(&course.way, point));
        }
    }
    table
}

fn row(way: &str, point: &CoursePoint) -> [Cell; 10] {
    [
        way.to_owned().into(),
        Cell::plain(point.time.get::<second>()),
        Cell::plain(point.floor.get::<kelvin>()),
        Cell::plain(point.middle.get::<kelvin>()),
        Cell::plain(point.surface.get::<kelvin>()),
        Cell::plain(point.water_left.get::<ratio>()),
        Cell::plain(point.fuel_left.get::<ratio>()),
        Cell::plain(point.nitrate_left.get::<ratio>()),
        Cell::plain(point.power.get::<watt>()),
        point.stage.code().into(),
    ]
}
