//! What the gas is made of, by water state.

use super::axes::{Panel, bounds};
use super::bars::{KINDS, piece};
use super::canvas::{Anchor, Canvas, text_width};
use super::picture::{Picture, WIDTH};
use super::scale::Scale;
use crate::burn::StateResult;
use crate::names::capital;
use crate::plan::Plan;
use crate::quantity::units::{cubic_meter_per_kilogram, mole};
use crate::report::number::{significant, subscripts};
use std::collections::BTreeMap;

const LEFT: f64 = 78.0;
const RIGHT: f64 = 326.0;
const TOP: f64 = 10.0;
const ROW: f64 = 36.0;
/// Pieces below this share of the longest bar cannot be seen and join the rest.
const THINNEST: f64 = 0.01;

/// The gases that have a fill of their own, the same in every picture; the rest share the last.
const GASES: [&str; KINDS - 1] = ["H2O", "CO2", "O2", "CO", "H2", "N2"];

/// Numbers of the gases in [`GASES`] that can be seen in any state.
fn species(plan: &Plan) -> Vec<usize> {
    let mut most: BTreeMap<&str, f64> = BTreeMap::new();
    for result in &plan.states {
        for (id, volume) in volumes(result) {
            let entry = most.entry(id).or_insert(0.0);
            *entry = entry.max(volume);
        }
    }
    let longest = most.values().sum::<f64>();
    let seen = |id: &str| most.get(id).is_some_and(|v| *v > THINNEST * longest);
    (0..GASES.len()).filter(|kind| seen(GASES[*kind])).collect()
}

fn volumes(result: &StateResult) -> impl Iterator<Item = (&str, f64)> {
    let per_product = result.gas.per_product.get::<cubic_meter_per_kilogram>();
    let all = result.gas.amount.get::<mole>();
    result.gas.by_species.iter().map(move |gas| {
        let share = gas.amount.get::<mole>() / all;
        (gas.id.as_str(), per_product * share)
    })
}

/// Draws the gas of complete combustion as one stacked bar a water state.
pub fn gas_picture(plan: &Plan) -> Option<Picture> {
    let per_product = |result: &StateResult| {
        let value = result.gas.per_product;
        value.get::<cubic_meter_per_kilogram>()
    };
    let (_, most) = bounds(plan.states.iter().map(per_product))?;
    let kinds = species(plan);
    let bottom = TOP + ROW * plan.states.len() as f64;
    let x = Scale::rounded(0.0, most, 5, LEFT, RIGHT);
    let panel = Panel::of_rows(x, [LEFT, RIGHT], [TOP, bottom]);
    let mut canvas = Canvas::default();
    panel.draw_x_grid(&mut canvas, 5);
    let mut numbers = Vec::new();
    let mut words = Vec::new();
    for (at, result) in plan.states.iter().enumerate() {
        let (top, bottom) = (
            TOP + ROW * at as f64 + 5.0,
            TOP + ROW * (at + 1) as f64 - 5.0,
        );
        let name = result.state.name.to_string();
        let label = (LEFT - 8.0, (top + bottom) / 2.0 + 3.8);
        canvas.text("", label, Anchor::End, &name);
        let of: BTreeMap<&str, f64> = volumes(result).collect();
        let mut row = vec![name.clone()];
        let mut end = 0.0;
        for &kind in &kinds {
            let id = GASES[kind];
            let volume = of.get(id).copied().unwrap_or(0.0);
            row.push(significant(volume, 3));
            if volume > 0.0 {
                let ends = (panel.x.at(end), panel.x.at(end + volume));
                piece(&mut canvas, kind, ends, (top, bottom), &subscripts(id));
                end += volume;
            }
        }
        let total = per_product(result);
        if total - end > 1e-9 * total {
            let ends = (panel.x.at(end), panel.x.at(total));
            piece(&mut canvas, KINDS - 1, ends, (top, bottom), "");
        }
        row.push(significant((total - end).max(0.0), 2));
        row.push(significant(total, 3));
        words.push(sentence(&name, &of, total));
        numbers.push(row);
    }
    panel.draw_x(&mut canvas, 5, "gas at 25 °C / L per g of powder");
    let height = legend(&mut canvas, bottom + 46.0, &kinds);
    let mut head = vec!["water".to_owned()];
    let names = kinds.iter().map(|&kind| subscripts(GASES[kind]));
    head.extend(names.map(|name| format!("{name} / L/g")));
    head.extend(["others / L/g".to_owned(), "all / L/g".to_owned()]);
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let title = "What the gas is made of, by the water that is still there";
    Some(Picture::new("gas", title, words.join(" "), canvas, height).with_numbers(&head, numbers))
}

fn sentence(name: &str, of: &BTreeMap<&str, f64>, total: f64) -> String {
    let mut list: Vec<(&str, f64)> = of.iter().map(|(&id, &v)| (id, v)).collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    let parts: Vec<String> = list
        .into_iter()
        .filter(|(_, volume)| *volume > THINNEST * total)
        .map(|(id, volume)| format!("{id} {} %", significant(100.0 * volume / total, 2)))
        .collect();
    format!(
        "{}: {} L/g, {}.",
        capital(name),
        significant(total, 3),
        parts.join(", ")
    )
}

/// A legend of all pieces, for those too narrow to bear their name.
fn legend(canvas: &mut Canvas, top: f64, kinds: &[usize]) -> f64 {
    let (mut x, mut y) = (4.0, top);
    let named = kinds.iter().map(|&kind| (kind, subscripts(GASES[kind])));
    for (kind, name) in named.chain([(KINDS - 1, "others".to_owned())]) {
        let width = 34.0 + text_width(&name, 10.0);
        if x + width > WIDTH {
            x = 4.0;
            y += 20.0;
        }
        piece(canvas, kind, (x, x + 18.0), (y - 12.0, y + 3.0), "");
        canvas.text("small", (x + 23.0, y), Anchor::Start, &name);
        x += width;
    }
    y + 10.0
}
