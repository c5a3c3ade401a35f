//! What goes in.

use crate::batch::{Dissolution, Ingredient};
use crate::plan::Plan;
use crate::quantity::units::{gram, gram_per_mole, millimole, percent, ratio};
use crate::report::document::{Cell, Section, Table};
use crate::report::number::{mass_text, plain, significant, volume_text};

pub(super) fn section(plan: &Plan) -> Section {
    let batch = &plan.batch;
    let mut section = Section::new("What goes in");
    let head = ["substance", "amount / mmol", "mass", "molar mass / (g/mol)"];
    let mut table = Table::new("What goes in", head);
    for ingredient in &batch.weighed {
        let molar_mass = ingredient
            .reactant
            .formula
            .molar_mass()
            .get::<gram_per_mole>();
        table.row([
            label(ingredient).into(),
            Cell::number(ingredient.amount.get::<millimole>(), 4),
            Cell::new(ingredient.mass.get::<gram>(), mass_text(ingredient.mass)),
            Cell::new(molar_mass, format!("{molar_mass:.3}")),
        ]);
    }
    section.table(table);
    if let Some(dissolution) = batch.dissolution() {
        section.text(in_acid(&dissolution));
    }
    section.text(format!(
        "Without the added water {}; water added {} mmol, in crystals {} mmol.",
        mass_text(batch.weighed_mass()),
        significant(batch.solvent_water().get::<millimole>(), 4),
        significant(batch.crystal_water().get::<millimole>(), 4),
    ));
    section
}

/// What the nitric acid makes of the sources.
fn in_acid(dissolution: &Dissolution) -> String {
    let made = dissolution.salts.iter().map(|(source, salt, amount)| {
        let amount = significant(amount.get::<millimole>(), 4);
        format!("{source} becomes {amount} mmol {salt}")
    });
    format!(
        "In the acid {}; that uses up {} mmol of HNO3, {} mmol are left over and oxidise; {} mmol \
         of CO2 leave. All that follows is counted with what is then in the pot.",
        made.collect::<Vec<_>>().join(", "),
        significant(dissolution.needed.get::<millimole>(), 4),
        significant(dissolution.left_over().get::<millimole>(), 3),
        significant(dissolution.carbon_dioxide.get::<millimole>(), 3),
    )
}

/// Name, formula and what the file says of the bottle.
fn label(ingredient: &Ingredient) -> String {
    let reactant = &ingredient.reactant;
    let mut notes = Vec::new();
    if ingredient.assay.get::<ratio>() < 1.0 {
        let assay = plain(ingredient.assay.get::<percent>(), 4);
        notes.push(format!("assay {assay} %"));
    }
    if let Some(asked) = &ingredient.hydrate_open {
        notes.push(format!("the hydrate that is sold as \"{asked}\""));
    }
    if let Some(stock) = ingredient.stock {
        let volume = volume_text(stock.volume);
        notes.push(format!("as {volume} of stock solution"));
    } else if let Some(volume) = ingredient.volume {
        notes.push(format!("measured as {}", volume_text(volume)));
    }
    let name = format!("{} ({})", reactant.name, reactant.formula);
    if notes.is_empty() {
        name
    } else {
        format!("{name}, {}", notes.join(", "))
    }
}
