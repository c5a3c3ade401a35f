//! The valence sum, the fuel ratio by every definition, and the equation.

use crate::batch::Batch;
use crate::plan::Plan;
use crate::quantity::Ratio;
use crate::quantity::units::{millimole, ratio};
use crate::redox::{StateOrigin, ValenceLine};
use crate::report::document::{Cell, Section, Table};
use crate::report::number::{plain, significant};

pub(super) fn section(plan: &Plan) -> Section {
    let mut section = Section::new("Valence sum: what reduces (+), what oxidises (−)");
    section.table(valences(plan));
    section.text(format!("Reducing over oxidising: {}.", sum(plan)));
    section.table(definitions(plan));
    states_note(&plan.batch, &mut section);
    section
}

/// Reducing over oxidising, and φ.
pub(in crate::report) fn sum(plan: &Plan) -> String {
    let redox = &plan.redox;
    format!(
        "{} mmol / {} mmol = φ {}",
        significant(redox.reducing.get::<millimole>(), 4),
        significant(redox.oxidising.get::<millimole>(), 4),
        significant(redox.equivalence_ratio.get::<ratio>(), 4),
    )
}

pub(in crate::report) fn valences(plan: &Plan) -> Table {
    let head = [
        "substance",
        "sum of the valences",
        "per formula",
        "amount / mmol",
        "total / mmol",
    ];
    let mut table = Table::new("Valence sum", head);
    for line in &plan.redox.lines {
        table.row([
            line.formula.anhydrous().to_string().into(),
            sum_words(line).into(),
            Cell::new(line.per_formula, signed(line.per_formula)),
            Cell::number(line.amount.get::<millimole>(), 4),
            Cell::number(line.total.get::<millimole>(), 4),
        ]);
    }
    table
}

pub(in crate::report) fn definitions(plan: &Plan) -> Table {
    let definitions = &plan.redox.definitions;
    let number = |value: Ratio| Cell::number(value.get::<ratio>(), 4);
    let optional = |value: Option<Ratio>| value.map_or(Cell::Absent, number);
    let mut table = Table::new(
        "Definitions of the fuel ratio",
        ["the same ratio as others state it", "value"],
    );
    for (name, value) in [
        (
            "φ, fuel over oxidiser by valence",
            number(definitions.equivalence_ratio),
        ),
        (
            "oxidiser over fuel (also λ)",
            number(definitions.oxidiser_to_fuel),
        ),
        (
            "mol fuel per mol nitrate ion",
            optional(definitions.fuel_per_nitrate),
        ),
        (
            "mol fuel per mol metal",
            optional(definitions.fuel_per_metal),
        ),
        (
            "percent of stoichiometric",
            Cell::number(definitions.percent_of_stoichiometric, 4),
        ),
    ] {
        table.row([name.into(), value]);
    }
    table
}

/// The terms of a valence sum, such as `Al +3, N 3×0, O 9×(−2)`.
fn sum_words(line: &ValenceLine) -> String {
    let terms: Vec<String> = line
        .terms
        .iter()
        .map(|term| {
            let state = signed(term.oxidation_state);
            match plain(term.count, 4).as_str() {
                "1" => format!("{} {state}", term.element),
                count if term.oxidation_state < 0.0 => {
                    format!("{} {count}×({state})", term.element)
                }
                count => format!("{} {count}×{state}", term.element),
            }
        })
        .collect();
    terms.join(", ")
}

/// An oxidation state or a valence with its sign.
fn signed(value: f64) -> String {
    let sign = if value > 0.0 { "+" } else { "" };
    format!("{sign}{}", plain(value, 4))
}

fn states_note(batch: &Batch, section: &mut Section) {
    let mut chosen = Vec::new();
    for element in batch
        .dry_elements()
        .keys()
        .filter(|element| element.is_metal())
    {
        let Some(entry) = batch.states.entry(*element) else {
            continue;
        };
        let why = match entry.origin {
            StateOrigin::Default => continue,
            StateOrigin::Chosen => "as the file says",
            StateOrigin::Target => "from the target's oxygen",
        };
        chosen.push(format!("{element} {} ({why})", signed(entry.state)));
    }
    if !chosen.is_empty() {
        let chosen = chosen.join(", ");
        section.text(format!("Oxidation states in the product: {chosen}."));
    }
    if let Some((metals, other)) = batch.ratio_counted_as_salt() {
        let metals = metals
            .iter()
            .map(|(element, charge)| format!("{element} (0, not {})", signed(*charge)));
        section.text(format!(
            "Convention of φ: a metal that the powder holds as metal counts 0: {}. Counted with the \
             charge of its salt, as many papers do, this batch has φ = {}.",
            metals.collect::<Vec<_>>().join(", "),
            significant(other.equivalence_ratio.get::<ratio>(), 4)
        ));
    }
    if batch.unbound_oxygen.abs() > 0.0 {
        let side = if batch.unbound_oxygen > 0.0 {
            "more"
        } else {
            "less"
        };
        section.text(format!(
            "The target's formula holds {} oxygen per formula unit {side} than its metals bind; the \
             balance uses what they bind.",
            significant(batch.unbound_oxygen.abs(), 2)
        ));
    }
}

pub(super) fn equation(plan: &Plan) -> Section {
    let mut section = Section::new("Overall equation (added water left out)");
    section.text(plan.equation.to_string());
    if plan.product.model.is_mixture() {
        let parts: Vec<String> = plan
            .product
            .phases
            .iter()
            .map(|phase| {
                let amount = significant(phase.amount.get::<millimole>(), 4);
                format!("{amount} mmol {}", phase.formula)
            })
            .collect();
        section.text(format!(
            "For its heat the powder is taken as {} (lowest enthalpy at 25 °C, ideal mixing).",
            parts.join(" + ")
        ));
    }
    section
}
