//! The tables of the page: flames, valences, heat and equilibria.

use crate::batch::SpeciesChoice;
use crate::plan::Plan;
use crate::quantity::Ratio;
use crate::report::number::{
    celsius_or_dash, celsius_text, interval_text, significant, subscripts, whole,
};
use crate::report::text::{fate_words, flame_words, signed, sum_words};
use askama::Template;
use uom::si::amount_of_substance::{millimole, mole};
use uom::si::energy::kilojoule;
use uom::si::ratio::{percent, ratio};

/// Gas species below this share of the gas are left out of the page.
const MAIN_SHARE: f64 = 1e-3;

/// Condensed phases below this share of them all are left out of the page.
const WORTH_A_LINE: f64 = 1e-4;

/// A table with a head; shown as HTML.
#[derive(Debug, Default, Template)]
#[template(path = "table.html", config = "src/report/askama.toml")]
pub(super) struct Table {
    /// What it shows, for screen readers.
    pub(super) name: &'static str,
    pub(super) head: Vec<String>,
    pub(super) rows: Vec<Vec<String>>,
}

/// A short cell with its words kept on one line; a longer one may be broken.
fn kept(text: &str) -> String {
    if text.chars().count() <= 14 {
        text.replace(' ', "\u{a0}")
    } else {
        text.to_owned()
    }
}

pub(super) fn strings<const N: usize>(texts: [&str; N]) -> Vec<String> {
    texts.into_iter().map(str::to_owned).collect()
}

pub(super) fn flames(plan: &Plan) -> Table {
    let rows = plan
        .states
        .iter()
        .map(|result| {
            let left = result.state.solvent + result.state.crystal_water(&plan.batch);
            let flame = result.complete.flame.temperature();
            vec![
                result.state.name.to_string(),
                significant(left.get::<millimole>(), 4),
                flame_words(&result.complete),
                flame.map_or("–".to_owned(), |_| {
                    interval_text(result.spread.half_width)
                }),
                celsius_or_dash(result.equilibrium_temperature()),
                celsius_or_dash(result.other_set_temperature()),
            ]
        })
        .collect();
    let other = match plan.batch.conditions.species {
        SpeciesChoice::Full => "equilibrium without slow species",
        SpeciesChoice::Fast => "equilibrium with every species",
    };
    let head = [
        "water",
        "water left / mmol",
        "complete combustion",
        "±",
        "equilibrium",
        other,
    ];
    Table {
        name: "Flame temperatures",
        head: strings(head),
        rows,
    }
}

pub(super) fn valences(plan: &Plan) -> Table {
    let rows = plan
        .redox
        .lines
        .iter()
        .map(|line| {
            vec![
                subscripts(&line.formula.anhydrous().to_string()),
                sum_words(line),
                signed(line.per_formula),
                significant(line.amount.get::<millimole>(), 5),
                significant(line.total.get::<millimole>(), 5),
            ]
        })
        .collect();
    let head = [
        "substance",
        "sum of the valences",
        "per formula",
        "amount / mmol",
        "total / mmol",
    ];
    Table {
        name: "Valence sum",
        head: strings(head),
        rows,
    }
}

pub(super) fn definitions(plan: &Plan) -> Table {
    let definitions = &plan.redox.definitions;
    let number = |value: Ratio| significant(value.get::<ratio>(), 4);
    let optional = |value: Option<Ratio>| value.map_or("–".to_owned(), number);
    let rows = [
        (
            "φ, fuel over oxidiser",
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
            significant(definitions.percent_of_stoichiometric, 4),
        ),
    ];
    Table {
        name: "Definitions of the fuel ratio",
        head: strings(["the fuel ratio as others state it", "value"]),
        rows: rows
            .into_iter()
            .map(|(name, value)| vec![name.to_owned(), value])
            .collect(),
    }
}

pub(super) fn fates(plan: &Plan) -> Table {
    let Some(longest) = plan.states.iter().max_by_key(|result| result.fates.len()) else {
        return Table::default();
    };
    if longest.fates.is_empty() {
        return Table::default();
    }
    let mut head = vec!["surplus fuel; flame in equilibrium".to_owned()];
    head.extend(
        plan.states
            .iter()
            .map(|result| result.state.name.to_string()),
    );
    let rows = longest
        .fates
        .iter()
        .map(|fate| {
            let mut row = vec![fate_words(fate.fate)];
            row.extend(plan.states.iter().map(|result| {
                let same = result.fates.iter().find(|other| other.fate == fate.fate);
                same.map_or("–".to_owned(), |fate| {
                    celsius_or_dash(fate.equilibrium_temperature())
                })
            }));
            row
        })
        .collect();
    Table {
        name: "Fates of the surplus fuel",
        head,
        rows,
    }
}

pub(super) fn ledger(plan: &Plan) -> Table {
    let entries = plan.states.iter().flat_map(|r| &r.complete.ledger.entries);
    let mut items: Vec<_> = entries.map(|entry| entry.item).collect();
    items.sort_unstable();
    items.dedup();
    let mut head = vec!["heat of the whole batch / kJ".to_owned()];
    head.extend(
        plan.states
            .iter()
            .map(|result| result.state.name.to_string()),
    );
    let rows = items
        .into_iter()
        .map(|item| {
            let mut row = vec![item.to_string()];
            row.extend(plan.states.iter().map(|result| {
                let energy = result.complete.ledger.energy(item).get::<kilojoule>();
                if energy.abs() > 0.0 {
                    format!("{energy:+.2}").replace('-', "−")
                } else {
                    "–".to_owned()
                }
            }));
            row
        })
        .collect();
    Table {
        name: "Energy ledger",
        head,
        rows,
    }
}

pub(super) fn equilibria(plan: &Plan) -> Table {
    let rows = plan
        .states
        .iter()
        .filter_map(|result| Some((result, result.settled()?)))
        .map(|(result, equilibrium)| {
            let gas = equilibrium.gas_amount.get::<mole>();
            let solid: f64 = equilibrium
                .condensed()
                .map(|s| s.amount.get::<mole>())
                .sum();
            let gases: Vec<String> = equilibrium
                .gases()
                .map(|species| (&species.id, species.amount.get::<mole>() / gas))
                .filter(|(_, share)| *share >= MAIN_SHARE)
                .map(|(id, share)| {
                    format!("{} {} %", subscripts(id), significant(100.0 * share, 2))
                })
                .collect();
            let condensed: Vec<String> = equilibrium
                .condensed()
                .filter(|species| species.amount.get::<mole>() > WORTH_A_LINE * solid)
                .map(|species| {
                    let amount = significant(species.amount.get::<millimole>(), 3);
                    format!("{} {amount} mmol", subscripts(&species.id))
                })
                .collect();
            let molten = equilibrium.molten_fraction;
            vec![
                result.state.name.to_string(),
                celsius_text(equilibrium.temperature),
                gases.join(", "),
                condensed.join(", "),
                molten.map_or("–".to_owned(), |f| {
                    format!("{} %", whole(f.get::<percent>()))
                }),
                equilibrium
                    .log10_oxygen_pressure
                    .map_or("–".to_owned(), |log| significant(log, 3)),
            ]
        })
        .collect();
    let head = [
        "water",
        "temperature",
        "gas",
        "powder",
        "molten",
        "log₁₀(p(O₂)/bar)",
    ];
    Table {
        name: "Equilibrium at the flame",
        head: strings(head),
        rows,
    }
}
