//! How hot: flame temperatures, what becomes of surplus fuel, and the energy ledger.

use crate::batch::SpeciesChoice;
use crate::burn::BurnError;
use crate::enthalpy::WaterStateName;
use crate::plan::{Plan, StateResult, SurplusFuel};
use crate::quantity::units::{kelvin, kelvins, kilojoule, millimole};
use crate::report::document::{Cell, Section, Table, percent_text};
use crate::report::expected::expected_section;
use crate::report::number::{interval_text, temperature_text};
use crate::tables::Role;

/// What stands for the temperature of a burn that has none.
const NO_FLAME: &str = "no flame";
const NAMED_CAUSES: usize = 3;

pub(super) fn section(plan: &Plan) -> Section {
    let mut section = expected_section(&plan.expected);
    section.subtitle("Limits (adiabatic: nothing lost but what the file states)");
    section.table(flames(plan));
    let every = "full set: every tabulated species";
    let fast = "fast set: without methane, ammonia, carbon and hydroxides, which form too slowly \
                below about 1000 K";
    let (chosen, other) = match plan.batch.conditions.species {
        SpeciesChoice::Full => (every, fast),
        SpeciesChoice::Fast => (fast, every),
    };
    section.text(format!("Equilibrium: {chosen}. Last column: {other}."));
    data_limits(plan, &mut section);
    spread_notes(plan, &mut section);
    let surplus = surplus(plan);
    if !surplus.rows.is_empty() {
        section.subtitle("Rich batch: what becomes of the surplus fuel decides");
        section.table(surplus);
    }
    section.subtitle("Where the heat goes (complete combustion)");
    section.table(ledger(plan));
    let left_out = plan
        .states
        .first()
        .map(|result| &result.reactants.solution_left_out);
    if let Some(left_out) = left_out.filter(|list| !list.is_empty()) {
        let list: Vec<&str> = left_out.iter().map(String::as_str).collect();
        let list = list.join(", ");
        section.text(format!(
            "Enthalpy of solution unknown and left out for: {list}."
        ));
    }
    section
}

/// Where a burn in equilibrium ends.
fn end(burn: &StateResult) -> Cell {
    match &burn.equilibrium {
        Ok(burn) => Cell::celsius(burn.equilibrium.temperature),
        Err(error) if error.is_no_flame() => NO_FLAME.into(),
        Err(_) => Cell::Absent,
    }
}

/// The same of a burn that may not be there.
fn end_of(burn: &Result<StateResult, BurnError>) -> Cell {
    burn.as_ref().map_or(Cell::Absent, end)
}

pub(in crate::report) fn flames(plan: &Plan) -> Table {
    let other = match plan.batch.conditions.species {
        SpeciesChoice::Full => "fast set",
        SpeciesChoice::Fast => "full set",
    };
    let head = [
        "water",
        "left / mmol",
        "complete combustion",
        "±",
        "equilibrium",
        other,
    ];
    let mut table = Table::new("Flame temperatures", head);
    for (result, other) in plan.states.iter().zip(plan.other_burns()) {
        let left = result.state.solvent + result.state.crystal_water(&plan.batch);
        let flame = result.complete.flame.temperature();
        let half = result.band.half_width;
        table.row([
            result.state.name.to_string().into(),
            Cell::number(left.get::<millimole>(), 4),
            flame.map_or_else(
                || NO_FLAME.into(),
                |t| Cell::new(t.get::<kelvin>(), temperature_text(t)),
            ),
            flame.map_or(Cell::Absent, |_| {
                Cell::new(half.get::<kelvins>(), interval_text(half))
            }),
            end(result),
            end_of(&other.other_set),
        ]);
    }
    table
}

fn spread_notes(plan: &Plan, section: &mut Section) {
    let Some(result) = plan.state(WaterStateName::BoiledDown) else {
        return;
    };
    let largest = causes(result);
    if !largest.is_empty() {
        section.text(format!("The ± comes most from: {}.", largest.join("; ")));
    }
    if !result.band.without_band.is_empty() {
        let list = result.band.without_band.join("; ");
        section.text(format!("Without a known band, so not in it: {list}."));
    }
}

/// What moves the flame temperature most within the bands of the data.
pub(in crate::report) fn causes(result: &StateResult) -> Vec<String> {
    let contributions = result.band.contributions.iter().take(NAMED_CAUSES);
    contributions
        .map(|cause| format!("{} ({})", cause.what, interval_text(cause.temperature)))
        .collect()
}

/// Salts that cannot be dried whole, and powder beyond the range of its data.
fn data_limits(plan: &Plan, section: &mut Section) {
    let hydrolysing: Vec<String> = plan
        .batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role == Role::Oxidiser && i.reactant.formula.crystal_water() > 0.0)
        .flat_map(|i| i.reactant.formula.amounts().keys())
        .map(ToString::to_string)
        .filter(|symbol| plan.tables.safety.fumes.hydrolysing.contains(symbol))
        .collect();
    if !hydrolysing.is_empty() {
        let metals = hydrolysing.join(", ");
        section.text(format!(
            "Dried is notional here: nitrate of {metals} gives off HNO3 with its last water."
        ));
    }
    for result in &plan.states {
        let Some(hot) = result.complete.flame.temperature() else {
            continue;
        };
        let beyond: Vec<&str> = result
            .complete
            .condensed
            .iter()
            .map(|product| product.id.as_str())
            .filter(|id| {
                let species = plan.tables.species_by_id(id);
                species.is_some_and(|species| species.is_extrapolated(hot))
            })
            .collect();
        if !beyond.is_empty() {
            let (name, list) = (result.state.name, beyond.join(", "));
            section.text(format!("{name}: beyond the range of its data: {list}."));
        }
    }
}

/// A table with a column for each state of the water.
fn by_state(plan: &Plan, name: &str, first: &str) -> Table {
    let states = plan
        .states
        .iter()
        .map(|result| result.state.name.to_string());
    Table::new(name, std::iter::once(first.to_owned()).chain(states))
}

/// The flame of a rich batch by what becomes of its surplus fuel; no rows unless it is rich.
pub(in crate::report) fn surplus(plan: &Plan) -> Table {
    let mut table = by_state(
        plan,
        "What becomes of surplus fuel",
        "flame in equilibrium, if",
    );
    let states = plan.other_burns();
    let Some(longest) = states.iter().max_by_key(|state| state.surplus.len()) else {
        return table;
    };
    for burn in &longest.surplus {
        let mut row = vec![Cell::from(way_words(burn.way))];
        row.extend(states.iter().map(|state| {
            let same = state.surplus.iter().find(|other| other.way == burn.way);
            same.map_or(Cell::Absent, |same| end_of(&same.burn))
        }));
        table.row(row);
    }
    table
}

fn way_words(way: SurplusFuel) -> String {
    match way {
        SurplusFuel::Leaves => "it leaves first, φ falls to 1".to_owned(),
        SurplusFuel::OwnGas => "it cracks in its own gas".to_owned(),
        SurplusFuel::Air(share) => {
            format!("it burns with {} of the air it needs", percent_text(share))
        }
    }
}

/// Every kilojoule of the complete combustion, by state of the water.
pub(in crate::report) fn ledger(plan: &Plan) -> Table {
    let mut table = by_state(plan, "Energy ledger", "heat of the whole batch / kJ");
    let entries = plan.states.iter().flat_map(|r| &r.complete.ledger.entries);
    let mut items: Vec<_> = entries.map(|entry| entry.item).collect();
    items.sort_unstable();
    items.dedup();
    for item in items {
        let mut row = vec![Cell::from(item.to_string())];
        row.extend(plan.states.iter().map(|result| {
            let energy = result.complete.ledger.energy(item).get::<kilojoule>();
            if energy.abs() > 0.0 {
                Cell::change(energy)
            } else {
                Cell::Absent
            }
        }));
        table.row(row);
    }
    table
}
